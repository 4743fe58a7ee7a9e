//! The setting that acts most on a limit: each setting is moved alone by ten points up and down, and the
//! scenario runs again. No table of rules is used: the answer holds for this person.
//! A move counts only if it improves the worst margin of the scenario: a stance valve that releases late, for
//! instance, straightens the knee early, but only because the knee hardly bends. The result names the limits
//! that the move breaks, in this scenario and in the others of the same survey.

use rayon::prelude::*;

use crate::case::setup::Setup;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::motion::trial::Detail;
use crate::numerics::tolerances::Tolerances;
use crate::outcome::{Assessment, LimitVerdict, Reading, Value, detail_for, detail_for_limits, metric};
use crate::scenario::Scenario;

/// How far each setting is moved, percentage points.
pub const NUDGE_PCT: f64 = 10.0;

/// The move of one setting that does most for a limit.
#[derive(Debug, Clone, PartialEq)]
pub struct SettingSensitivity {
    /// Setting.
    pub setting: SettingName,
    /// Move, percentage points; negative is towards open.
    pub moved_pct: f64,
    /// Outcome before.
    pub from: Value,
    /// Outcome after.
    pub to: Value,
    /// Gain of relative margin.
    pub gain: f64,
    /// Keys of outcomes whose limits held and are broken after the move.
    pub breaks: Vec<&'static str>,
    /// Other scenarios of the survey that held and do not after the move, each with the label of the
    /// outcome whose limit is then closest.
    pub elsewhere: Vec<(String, &'static str)>,
}

/// Moves of less relative margin than this count as none.
const LEAST_GAIN: f64 = 0.02;

/// Of the moves that improve the worst margin of the scenario, the one that improves the closest limit of
/// `now` most; none if no move does.
///
/// # Errors
/// A set-up that is wrong in itself; a move that cannot be run is passed over.
pub fn setting_sensitivity(
    setup: &Setup,
    scenario: &Scenario,
    now: &Assessment,
) -> Result<Option<SettingSensitivity>, SimError> {
    let Some(limit) = now.limiting() else { return Ok(None) };
    let Some(row) = metric(&limit.limit.outcome) else { return Ok(None) };
    let detail = detail_for(std::iter::once(row));
    let knee = setup.resolve()?.knee;
    let moved = |name: SettingName, by: f64, detail: Detail| {
        let mut moved = setup.clone();
        moved.settings.set(name, knee.settings.get(name)?.moved_by_pct(by));
        let mut trial = moved.trial(scenario).ok()?;
        trial.tolerances = Tolerances::scan();
        trial.detail = detail;
        Some(trial)
    };
    let attempt = |(name, by): (SettingName, f64)| {
        let motion = moved(name, by, detail)?.run().ok()?;
        let after = LimitVerdict::of(&limit.limit, Reading::of(row, &motion));
        let gain = gain(limit, &after);
        if gain <= LEAST_GAIN {
            return None;
        }
        let all = Assessment::of_limits(&moved(name, by, detail_for_limits(&scenario.limits))?).ok()?;
        let breaks = now
            .binding()
            .zip(all.binding())
            .filter(|(before, after)| before.holds() && !after.holds())
            .filter_map(|(before, _)| metric(&before.limit.outcome).map(|m| m.key))
            .collect();
        let found = SettingSensitivity {
            setting: name,
            moved_pct: by,
            from: limit.value,
            to: after.value,
            gain,
            breaks,
            elsewhere: vec![],
        };
        (all.worst_margin() > now.worst_margin()).then_some(found)
    };
    let moves: Vec<(SettingName, f64)> = SettingName::ALL
        .into_iter()
        .filter_map(|name| knee.settings.get(name).map(|at| (name, at.pct())))
        .flat_map(|(name, at)| [NUDGE_PCT, -NUDGE_PCT].map(|by| (name, (at + by).clamp(0.0, 100.0) - at)))
        .filter(|(_, by)| by.abs() > 1e-9)
        .collect();
    let mut helping: Vec<SettingSensitivity> = moves.into_par_iter().filter_map(attempt).collect();
    // stable: equal gains keep the order of the settings
    helping.sort_by(|a, b| b.gain.total_cmp(&a.gain));
    Ok(helping.into_iter().next())
}

/// Gain of margin, in units of the limit's own scale.
fn gain(before: &LimitVerdict, after: &LimitVerdict) -> f64 {
    match (before.margin, after.margin) {
        // not capped, so that a gain far outside the limit counts too
        (Some(a), Some(b)) => (b - a) / before.limit.unit_margin(),
        // an allowed word is as good as a margin of one
        _ => after.relative_margin.min(1.0) - before.relative_margin.min(1.0),
    }
}

/// The label of the closest limit that a move breaks in another scenario that held; none if all its limits
/// still hold or it cannot run.
#[must_use]
pub fn breaks_elsewhere(
    setup: &Setup,
    scenario: &Scenario,
    sensitivity: &SettingSensitivity,
) -> Option<&'static str> {
    let mut moved = setup.clone();
    let knee = setup.resolve().ok()?.knee;
    moved.settings.set(
        sensitivity.setting,
        knee.settings.get(sensitivity.setting)?.moved_by_pct(sensitivity.moved_pct),
    );
    let mut trial = moved.trial(scenario).ok()?;
    trial.tolerances = Tolerances::scan();
    trial.detail = detail_for_limits(&scenario.limits);
    let after = Assessment::of_limits(&trial).ok()?;
    let broken = after.limiting().filter(|l| !l.holds())?;
    metric(&broken.limit.outcome).map(|m| m.label)
}
