//! Rule 12: one yield setting for chair, ramp and stairs.

use super::with_yield;
use crate::study::rules::evidence::{Abort, Agreement, Evidence, ExperimentResult};
use crate::study::rules::experiment::Experiment;
use crate::study::rules::scenario_names::{RAMP, SIT, STAIRS};

/// Positions of the yield setting that are tried, points apart.
const STEP_PCT: f64 = 5.0;
const POSITIONS: u32 = 21;

/// The positions at which every limit of a scenario is met. A position at which the scenario cannot be followed
/// does not serve; a scenario that cannot be followed at any position decides nothing.
fn serving(e: &Experiment, scenario: &'static str, among: &[f64]) -> Result<Vec<f64>, Abort> {
    let mut serving = Vec::new();
    let mut followed = 0;
    let mut failed = None;
    for &pct in among {
        match with_yield(e, scenario, pct) {
            Ok((_, _, a)) => {
                followed += 1;
                serving.extend(a.holds().then_some(pct));
            }
            Err(Abort::Undecided(why)) => failed = Some(why),
            Err(error) => return Err(error),
        }
    }
    match failed {
        Some(why) if followed == 0 => Err(Abort::Undecided(why)),
        _ => Ok(serving),
    }
}

pub(in crate::study::rules) fn one_yield_serves_all(e: &Experiment) -> ExperimentResult {
    let positions: Vec<f64> = (0..POSITIONS).map(|i| STEP_PCT * f64::from(i)).collect();
    // the chair last: it takes longest
    let stairs = serving(e, STAIRS, &positions)?;
    let both = serving(e, RAMP, &stairs)?;
    let all = serving(e, SIT, &both)?;
    if !all.is_empty() {
        return Ok(Evidence {
            agreement: Agreement::Agrees,
            effect: all.len() as f64,
            description: format!("all three {}", position_ranges(&all)),
            runs: vec![],
        });
    }
    let (chair, ramp) = (serving(e, SIT, &positions)?, serving(e, RAMP, &positions)?);
    let middle = |s: &[f64]| s.get(s.len() / 2).copied().unwrap_or(50.0);
    Ok(Evidence {
        agreement: Agreement::Disagrees,
        effect: 0.0,
        description: format!(
            "chair {}, ramp {}, stairs {}",
            position_ranges(&chair),
            position_ranges(&ramp),
            position_ranges(&stairs)
        ),
        runs: [(SIT, &ramp), (RAMP, &chair), (STAIRS, &chair)]
            .map(|(scenario, serving)| e.base(scenario).with("stance-yield", middle(serving)))
            .to_vec(),
    })
}

/// Positions as ranges without gaps: `15-30, 45 %`. Every grid position of a range serves.
///
/// ```
/// use kneedamp::study::rules::criteria::shared_yield::position_ranges;
/// assert_eq!(position_ranges(&[15.0, 20.0, 25.0, 45.0]), "15-25, 45 %");
/// assert_eq!(position_ranges(&[]), "none");
/// ```
#[must_use]
pub fn position_ranges(positions: &[f64]) -> String {
    let mut ranges: Vec<(f64, f64)> = Vec::new();
    for &pct in positions {
        match ranges.last_mut() {
            Some((_, last)) if pct - *last < 1.5 * STEP_PCT => *last = pct,
            _ => ranges.push((pct, pct)),
        }
    }
    if ranges.is_empty() {
        return "none".to_owned();
    }
    let text = |&(a, b): &(f64, f64)| if b > a { format!("{a:.0}-{b:.0}") } else { format!("{a:.0}") };
    format!("{} %", ranges.iter().map(text).collect::<Vec<_>>().join(", "))
}
