//! Which setting acts on a limit: each of the four is moved by ten points both ways, alone, and the
//! scenario run again. Nothing is looked up: the answer is what the simulation says of this person.

use rayon::prelude::*;

use super::Setup;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::motion::Precision;
use crate::motion::trial::Detail;
use crate::outcome::{LimitVerdict, Value, metric};
use crate::scenario::Scenario;

/// How far each setting is moved, percentage points.
pub const NUDGE_PCT: f64 = 10.0;

/// The move of one setting that does most for a limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Acting {
    /// Setting.
    pub setting: SettingName,
    /// Move, percentage points; negative is towards open.
    pub moved_pct: f64,
    /// Outcome before and after.
    pub from: Value,
    /// Outcome after.
    pub to: Value,
    /// Gain of relative margin.
    pub gain: f64,
}

/// Moves of less relative margin than this count as none.
const LEAST_GAIN: f64 = 1e-3;

/// The setting whose move of ten points improves `limit` most; none if no move does.
///
/// # Errors
/// As the trials; a move that cannot be run is passed over.
pub fn acting_setting(
    setup: &Setup,
    scenario: &Scenario,
    limit: &LimitVerdict,
) -> Result<Option<Acting>, SimError> {
    let knee = setup.resolve()?.knee;
    let Some(row) = metric(&limit.limit.outcome) else { return Ok(None) };
    let detail = Detail { comparisons: row.by_comparison, landing: row.by_landing, hip_band: false };
    let moves: Vec<(SettingName, f64)> = SettingName::ALL
        .into_iter()
        .filter_map(|name| knee.settings.get(name).map(|at| (name, at.pct())))
        .flat_map(|(name, at)| {
            [-NUDGE_PCT, NUDGE_PCT]
                .into_iter()
                .map(move |by| (name, (at + by).clamp(0.0, 100.0) - at))
                .filter(|(_, by)| by.abs() > 1e-9)
        })
        .collect();
    let tried: Vec<Option<Acting>> = moves
        .into_par_iter()
        .map(|(name, by)| {
            let mut moved = setup.clone();
            let position = knee.settings.get(name)?.moved_by_pct(by);
            moved.settings.set(name, position);
            let mut trial = moved.trial(scenario).ok()?;
            trial.precision = Precision::scan();
            trial.detail = detail;
            let after = LimitVerdict::of(&limit.limit, (row.measure)(&trial.run().ok()?));
            // an allowed word is as good as a margin of one
            let margin = |v: &LimitVerdict| v.relative_margin.min(1.0);
            let gain = margin(&after) - margin(limit);
            Some(Acting { setting: name, moved_pct: by, from: limit.value, to: after.value, gain })
        })
        .collect();
    Ok(tried.into_iter().flatten().filter(|a| a.gain > LEAST_GAIN).fold(None, |best: Option<Acting>, a| {
        match best {
            Some(b) if b.gain >= a.gain => Some(b),
            _ => Some(a),
        }
    }))
}
