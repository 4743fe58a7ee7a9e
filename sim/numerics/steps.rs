//! Evenly spaced values, as `FROM:TO:STEP` gives them.

/// Values `from`, `from + step`, … up to `to`, not stored.
///
/// ```
/// use kneedamp::numerics::steps::Steps;
/// let steps = Steps::new(0.0, 1.0, 0.1).unwrap();
/// assert_eq!((steps.count, steps.at(3), steps.at(10)), (11, 0.3, 1.0));
/// assert!(Steps::new(0.0, 1.0, 0.0).is_err());
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Steps {
    /// First value.
    pub from: f64,
    /// No value is above it; a value itself if a step falls on it.
    pub to: f64,
    /// Distance.
    pub step: f64,
    /// How many values.
    pub count: u64,
}

impl Steps {
    /// Counts them.
    ///
    /// # Errors
    /// What is wrong: ends that are not numbers or in the wrong order, a step that is not above 0.
    pub fn new(from: f64, to: f64, step: f64) -> Result<Self, String> {
        if !(from.is_finite() && to.is_finite()) {
            return Err("FROM and TO must be numbers".into());
        }
        if from > to {
            return Err("the range is empty: FROM is greater than TO".into());
        }
        if !(step.is_finite() && step > 0.0) {
            return Err("STEP must be greater than 0".into());
        }
        // a value that misses the end by rounding alone counts; `as` saturates
        let count = ((to - from) / step + 1e-9).floor() as u64;
        Ok(Self { from, to, step, count: count.saturating_add(1) })
    }

    /// Value `i`, without the rounding error of the sum: 0.3, not 0.30000000000000004.
    #[must_use]
    pub fn at(&self, i: u64) -> f64 {
        let v = self.from + i as f64 * self.step;
        format!("{v:.12e}").parse().unwrap_or(v).min(self.to)
    }

    /// All of them.
    pub fn values(self) -> impl Iterator<Item = f64> {
        (0..self.count).map(move |i| self.at(i))
    }
}
