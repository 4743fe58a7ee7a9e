//! What a sweep is asked for: its number of rows and its columns.

use crate::case::axis::Axis;
use crate::error::SimError;
use crate::outcome::{METRICS, Metric, metric};
use crate::scenario::Scenario;

/// A sweep of more rows than this is refused.
pub const MOST_ROWS: u64 = 1_000_000_000;

/// Columns besides inputs and outcomes that can be asked for.
pub const JUDGEMENTS: [&str; 3] = ["verdict", "limiting", "energy_residual"];

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

/// Outcomes and judgements.
type Columns = (Vec<&'static Metric>, Vec<&'static str>);

/// The requested outcome columns; by default all outcomes of the scenarios, and the judgements.
pub(super) fn columns(scenarios: &[Scenario], asked: &[String]) -> Result<Columns, SimError> {
    let has = |m: &Metric| scenarios.iter().any(|s| m.activities.contains(&s.activity.kind()));
    let known = METRICS.iter().filter(|m| has(m));
    if asked.is_empty() {
        return Ok((known.collect(), JUDGEMENTS.to_vec()));
    }
    for (i, key) in asked.iter().enumerate() {
        if !known.clone().any(|m| m.key == key) && !JUDGEMENTS.contains(&key.as_str()) {
            return Err(SimError::Unknown {
                kind: "outcome of these scenarios",
                name: key.clone(),
                known: known.map(|m| m.key).chain(JUDGEMENTS).collect::<Vec<_>>().join(", "),
            });
        }
        if asked[..i].contains(key) {
            return Err(SimError::Usage(format!("--outcomes: {key} is given twice")));
        }
    }
    let judgements = JUDGEMENTS.into_iter().filter(|j| asked.iter().any(|k| k == j)).collect();
    Ok((asked.iter().filter_map(|k| metric(k)).collect(), judgements))
}
