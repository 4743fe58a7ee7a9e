//! A check with its figure: the tests assert it, the README's accuracy table prints it.

/// Three kinds of evidence that are never mixed in one column.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// The equations are solved right.
    Verification,
    /// The model agrees with the data it is driven by.
    Consistency,
    /// Data it has not seen.
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

/// Greatest of some deviations; NaN is kept, so that a comparison with nothing fails.
pub fn greatest(deviations: impl IntoIterator<Item = f64>) -> f64 {
    deviations.into_iter().fold(f64::NAN, |a, b| if a.is_nan() || b.is_nan() || b > a { b } else { a })
}
