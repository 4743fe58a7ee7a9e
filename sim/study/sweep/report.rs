//! Columns of a sweep: a sweep reports rows of data, no sentences.

use crate::error::SimError;
use crate::outcome::{METRICS, Metric, metric};
use crate::scenario::Scenario;

/// Columns besides inputs and outcomes that can be asked for.
pub const JUDGEMENTS: [&str; 3] = ["verdict", "limiting", "energy_residual"];

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
