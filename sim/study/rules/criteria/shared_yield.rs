//! Rule 12: one yield setting for chair, ramp and stairs.

use super::yielding;
use crate::study::rules::experiment::{Judged, Seen, Sense, Stop, Try};
use crate::study::rules::table::{RAMP, SIT, STAIRS};

/// Positions of the yield setting that are tried, points apart.
const STEP_PCT: f64 = 5.0;
const POSITIONS: u32 = 21;

/// The positions at which all limits of a scenario hold. A step that cannot be followed does not serve; a
/// scenario that never can decides nothing.
fn serving(t: &Try, scenario: &'static str, among: &[f64]) -> Result<Vec<f64>, Stop> {
    let mut serving = Vec::new();
    let mut followed = 0;
    let mut failed = None;
    for &pct in among {
        match yielding(t, scenario, pct) {
            Ok((_, _, a)) => {
                followed += 1;
                serving.extend(a.holds().then_some(pct));
            }
            Err(Stop::Undecided(why)) => failed = Some(why),
            Err(e) => return Err(e),
        }
    }
    match failed {
        Some(why) if followed == 0 => Err(Stop::Undecided(why)),
        _ => Ok(serving),
    }
}

pub(in crate::study::rules) fn one_yield_serves_all(t: &Try) -> Judged {
    let positions: Vec<f64> = (0..POSITIONS).map(|i| STEP_PCT * f64::from(i)).collect();
    // the chair last: it takes longest
    let stairs = serving(t, STAIRS, &positions)?;
    let both = serving(t, RAMP, &stairs)?;
    let all = serving(t, SIT, &both)?;
    if !all.is_empty() {
        return Ok(Seen {
            sense: Sense::Agrees,
            effect: all.len() as f64,
            said: format!("all three {}", span(&all)),
            runs: vec![],
        });
    }
    let (chair, ramp) = (serving(t, SIT, &positions)?, serving(t, RAMP, &positions)?);
    let middle = |s: &[f64]| s.get(s.len() / 2).copied().unwrap_or(50.0);
    Ok(Seen {
        sense: Sense::Disagrees,
        effect: 0.0,
        said: format!("chair {}, ramp {}, stairs {}", span(&chair), span(&ramp), span(&stairs)),
        runs: [(SIT, &ramp), (RAMP, &chair), (STAIRS, &chair)]
            .map(|(scenario, of)| t.base(scenario).with("stance-yield", middle(of)))
            .to_vec(),
    })
}

/// Positions as ranges without gaps: `15-30, 45 %`. A range says that its grid positions serve, all of them.
///
/// ```
/// use crate::study::rules::criteria::shared_yield::span;
/// assert_eq!(span(&[15.0, 20.0, 25.0, 45.0]), "15-25, 45 %");
/// assert_eq!(span(&[]), "none");
/// ```
#[must_use]
pub fn span(positions: &[f64]) -> String {
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
    let said = |&(a, b): &(f64, f64)| if b > a { format!("{a:.0}-{b:.0}") } else { format!("{a:.0}") };
    format!("{} %", ranges.iter().map(said).collect::<Vec<_>>().join(", "))
}
