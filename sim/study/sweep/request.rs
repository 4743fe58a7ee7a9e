//! Number of rows of a sweep.

use crate::case::axis::Axis;
use crate::error::SimError;
use crate::scenario::Scenario;

/// A sweep of more rows than this is refused.
pub const MOST_ROWS: u64 = 1_000_000_000;

/// Number of samples and their seed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Samples {
    /// How many.
    pub count: u64,
    /// Seed.
    pub seed: u64,
}

/// Number of rows, or why the sweep is refused; allocates nothing.
pub(super) fn row_count(
    axes: &[Axis],
    scenarios: &[Scenario],
    samples: Option<Samples>,
) -> Result<u64, SimError> {
    let drawn = axes.iter().find(|a| a.is_drawn());
    let times = match (drawn, samples) {
        (Some(axis), None) => {
            return Err(SimError::Usage(format!(
                "{} is a range to draw from: give --samples",
                axis.input.key
            )));
        }
        (None, Some(_)) => {
            return Err(SimError::Usage("--samples wants an input with a range, KEY=LOW..HIGH".into()));
        }
        (_, Some(s)) => s.count,
        (None, None) => 1,
    };
    let factors = axes.iter().map(Axis::steps).chain([scenarios.len() as u64, times]);
    let rows = factors.fold(1_u128, |n, f| n.saturating_mul(u128::from(f)));
    match u64::try_from(rows) {
        Ok(0) => Err(SimError::Usage("nothing to run: --samples must be at least 1".into())),
        Ok(rows) if rows <= MOST_ROWS => Ok(rows),
        _ => Err(SimError::Usage(format!(
            "this sweep has {rows} rows; the most that is run is {MOST_ROWS}: take fewer values or a longer step"
        ))),
    }
}
