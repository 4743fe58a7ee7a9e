//! A check with its figure: the tests assert it, the README's accuracy table prints it.

/// Four kinds of evidence that are never mixed in one column.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// The equations are solved right.
    Verification,
    /// The model agrees with the data it is driven by.
    Consistency,
    /// What a published simulation found; nothing was measured.
    OtherModel,
    /// Measured data it has not seen.
    Independent,
}

/// One check: the figure is a deviation and must not exceed the criterion, which was fixed before.
#[derive(Debug, Clone)]
pub struct Check {
    /// Short name, unique.
    pub id: &'static str,
    pub kind: Kind,
    /// What is compared.
    pub what: &'static str,
    /// With what: formula, code or paper.
    pub source: &'static str,
    /// Greatest deviation allowed.
    pub criterion: f64,
    /// Greatest deviation found.
    pub figure: f64,
    /// Unit of both.
    pub unit: &'static str,
}

impl Check {
    pub fn holds(&self) -> bool {
        self.figure <= self.criterion
    }

    /// Prints the figure and asserts the criterion.
    pub fn assert(&self) {
        println!(
            "{}: {} = {:.3e} {} (criterion {:.1e})",
            self.id, self.what, self.figure, self.unit, self.criterion
        );
        assert!(
            self.holds(),
            "{}: {} {:.3e} {} exceeds {:.1e}",
            self.id,
            self.what,
            self.figure,
            self.unit,
            self.criterion
        );
    }
}

/// Greatest of some deviations; NaN if one of them is NaN or there are none, so that a comparison
/// with nothing fails.
pub fn greatest(deviations: impl IntoIterator<Item = f64>) -> f64 {
    deviations.into_iter().reduce(|a, b| if a.is_nan() || a > b { a } else { b }).unwrap_or(f64::NAN)
}

#[test]
fn greatest_keeps_what_is_not_a_number() {
    assert!(greatest([]).is_nan());
    for list in [[f64::NAN, 1.0, 2.0], [1.0, f64::NAN, 2.0], [1.0, 2.0, f64::NAN]] {
        assert!(greatest(list).is_nan(), "{list:?}");
    }
    assert!((greatest([1.0, 3.0, 2.0]) - 3.0).abs() < 1e-15);
}
