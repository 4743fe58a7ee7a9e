//! One input over a grid or a range: the axes of a sweep.
//!
//! ```text
//! mass_kg=50,75,100       a list
//! swing-flexion=0:100:10  from, to, step; the end is taken if a step falls on it
//! swing-flexion=0..100    drawn uniformly from [0, 100)
//! ```
//! A draw depends on seed, number of the sample and name of the input alone: the finaliser of SplitMix64
//! (Steele, Lea & Flood 2014, OOPSLA, doi:10.1145/2660193.2660195) over the three. So a sample is the same in
//! any shard, order or thread, and another input does not change it. Checked in tests/studies/sweep.rs.
//!
//! ```
//! use kneedamp::case::axis::Axis;
//! let axis = Axis::parse("swing-flexion=0:100:30").unwrap();
//! assert_eq!(axis.steps(), 4);
//! assert_eq!(axis.at(3), 90.0);
//! assert!(Axis::parse("swing-flexion=0:100:0").is_err());
//! ```

use super::inputs::{Input, input};
use crate::error::SimError;
use crate::numerics::random::uniform;
use crate::numerics::steps::Steps;
use crate::units::number as number_in;

/// Values of an axis.
#[derive(Debug, Clone, PartialEq)]
pub enum Values {
    /// A list.
    List(Vec<f64>),
    /// Evenly spaced.
    Steps(Steps),
    /// Drawn uniformly from a range.
    Drawn {
        /// Lower end.
        from: f64,
        /// Upper end.
        to: f64,
    },
}

/// One input and its values.
#[derive(Debug, Clone)]
pub struct Axis {
    /// Input.
    pub input: &'static Input,
    /// Values.
    pub values: Values,
}

/// The forms of an axis.
const FORMS: &str = "KEY=VALUE,VALUE,…, KEY=FROM:TO:STEP or, with --samples, KEY=LOW..HIGH";

impl Axis {
    /// Reads `KEY=VALUES`.
    ///
    /// # Errors
    /// An unknown key, a value outside the input's range, a step that is not positive, an empty range,
    /// a value given twice.
    pub fn parse(text: &str) -> Result<Self, SimError> {
        let wrong = |why: &str| SimError::Usage(format!("{text}: {why}"));
        let (key, values) = text.split_once('=').ok_or_else(|| wrong(&format!("wanted {FORMS}")))?;
        let input = input(key.trim())?;
        let number = |part: &str| {
            number_in(&format!("{text}: {}", input.key), part, input.least..=input.most, input.unit)
        };
        let values = if let Some((low, high)) = values.split_once("..") {
            let (from, to) = (number(low)?, number(high)?);
            if from >= to {
                return Err(wrong("the range is empty: the first value must be less than the second"));
            }
            Values::Drawn { from, to }
        } else if values.contains(':') {
            let parts: Vec<&str> = values.split(':').collect();
            let [from, to, step] = parts[..] else {
                return Err(wrong("wanted three numbers, FROM:TO:STEP"));
            };
            let (from, to) = (number(from)?, number(to)?);
            let step = step.trim().parse().map_err(|_| wrong("the step is not a number"))?;
            Values::Steps(Steps::new(from, to, step).map_err(|why| wrong(&why))?)
        } else {
            Values::List(values.split(',').map(number).collect::<Result<Vec<f64>, _>>()?)
        };
        let axis = Self { input, values };
        axis.check_distinct().map_err(|why| wrong(&why))?;
        Ok(axis)
    }

    fn check_distinct(&self) -> Result<(), String> {
        let Values::List(list) = &self.values else { return Ok(()) };
        let mut sorted = list.clone();
        sorted.sort_by(f64::total_cmp);
        match sorted.windows(2).find(|w| w[0].total_cmp(&w[1]).is_eq()) {
            Some(w) => Err(format!("{} is given twice", w[0])),
            None => Ok(()),
        }
    }

    /// Number of grid values; 1 for a drawn axis.
    #[must_use]
    pub fn steps(&self) -> u64 {
        match &self.values {
            Values::List(list) => list.len() as u64,
            Values::Steps(steps) => steps.count,
            Values::Drawn { .. } => 1,
        }
    }

    /// Whether it is drawn.
    #[must_use]
    pub fn is_drawn(&self) -> bool {
        matches!(self.values, Values::Drawn { .. })
    }

    /// Grid value `i`; the lower end of a drawn axis.
    #[must_use]
    pub fn at(&self, i: u64) -> f64 {
        match &self.values {
            Values::List(list) => list[i as usize],
            Values::Steps(steps) => steps.at(i),
            Values::Drawn { from, .. } => *from,
        }
    }

    /// Value in sample `n`; the first grid value if the axis is not drawn.
    #[must_use]
    pub fn drawn(&self, seed: u64, n: u64) -> f64 {
        match self.values {
            Values::Drawn { from, to } => from + (to - from) * uniform(seed, n, self.input.key),
            _ => self.at(0),
        }
    }

    /// Least and greatest value.
    #[must_use]
    pub fn ends(&self) -> (f64, f64) {
        match &self.values {
            Values::List(list) => {
                list.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), &v| (a.min(v), b.max(v)))
            }
            Values::Steps(steps) => (steps.from, steps.at(steps.count - 1)),
            Values::Drawn { from, to } => (*from, *to),
        }
    }
}
