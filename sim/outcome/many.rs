//! Many trials at once, with verdicts that are those of the reference path.
//!
//! Trials run side by side ([`Trial::run_each`]). Their outcomes differ from those of single runs by less than
//! [`BAND`]; a trial with an outcome so near to a limit, or to a bound between two words, runs again alone. Checked in
//! tests/cross_code/lanes.rs.

use super::verdict::MOST_FRICTION;
use super::{Metric, Reading, Value, leg, metric};
use crate::error::SimError;
use crate::motion::stance_tasks::LegRun;
use crate::motion::{Motion, Trial};
use crate::scenario::Limit;

/// Distance from a limit, in units of its margin, and from a bound between words, in rad and rad/s, within which the
/// reference path decides.
pub const BAND: f64 = 1e-4;
/// The same, in shares of the value, for outcomes that are sums over the steps of the integration: the steps of two runs
/// differ.
pub const STEPS_BAND: f64 = 5e-3;
/// These outcomes.
pub const SUMS_OVER_STEPS: [&str; 5] = [
    "foot_held_down_bw_ms",
    "friction_needed",
    "greatest_ground_load_bw",
    "hip_work_j",
    "least_ground_load_bw",
];

/// Runs many trials and measures each motion; in their order. The verdicts on `limits` and on those of the scenarios are
/// those of the reference path.
#[must_use]
pub fn measure_each<R: Send>(
    trials: &[Trial],
    limits: &[Limit],
    measure: impl Fn(&Trial, Result<Motion, SimError>) -> R + Sync,
) -> Vec<R> {
    Trial::run_each(trials, |trial, motion| {
        let is_near = |m: &Motion| trial.scenario.limits.iter().chain(limits).any(|l| is_near(l, m));
        let motion = match motion {
            Ok(motion) if is_near(&motion) => trial.run(),
            decided => decided,
        };
        measure(trial, motion)
    })
}

/// Whether an outcome lies near its limit or near a bound between two words.
fn is_near(limit: &Limit, motion: &Motion) -> bool {
    let Some(metric) = metric(&limit.outcome) else { return false };
    if !metric.activities.contains(&motion.kind()) {
        return false;
    }
    let Reading { value, beside } = Reading::of(metric, motion);
    let friction = |v: &Value| {
        let near = |f: f64| (f - MOST_FRICTION).abs() < STEPS_BAND * MOST_FRICTION;
        v.as_number().is_some_and(|f| !metric.words.is_empty() && near(f))
    };
    let by_words =
        !metric.words.is_empty() && (legs(motion).any(|run| leg::is_near_a_word(motion, run, BAND)));
    is_near_bound(limit, metric, value)
        || by_words
        || beside.iter().flatten().any(|v| friction(v) || is_near_beside(limit, *v))
}

fn near(distance: f64) -> bool {
    distance.abs() < BAND
}

fn is_near_bound(limit: &Limit, metric: &Metric, value: Value) -> bool {
    let Value::Number(v) = value else { return false };
    let share = limit.band_pct.unwrap_or(0.0) / 100.0;
    let is_sum = SUMS_OVER_STEPS.contains(&metric.key);
    let band = if is_sum { STEPS_BAND * v.abs().max(1.0) } else { BAND * limit.unit_margin() };
    let bounds = [limit.min, limit.max].into_iter().flatten();
    metric.words.is_empty()
        && bounds
            .flat_map(|edge| [edge, edge * (1.0 - share), edge * (1.0 + share)])
            .any(|edge| (v - edge).abs() < band)
}

fn is_near_beside(limit: &Limit, value: Value) -> bool {
    value.as_number().zip(limit.beside_max).is_some_and(|(v, most)| near(v / most - 1.0))
}

fn legs(motion: &Motion) -> impl Iterator<Item = &LegRun> {
    (0..3).filter_map(|i| leg::band(motion, i)).chain(leg::leg(motion))
}
