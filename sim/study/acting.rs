//! Which setting acts on a limit: each of the four is moved by ten points, up or else down, alone, and
//! the scenario run again. Nothing is looked up: the answer is what the simulation says of this person.
//! A move only counts if it leaves the scenario's worst margin better than it was: a stance valve that
//! lets go late, for instance, straightens the knee early, but only because it hardly bends. What the
//! move newly breaks is said.

use rayon::prelude::*;

use super::Setup;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::motion::Precision;
use crate::motion::trial::Detail;
use crate::outcome::{Assessment, LimitVerdict, Value, detail_for, metric};
use crate::scenario::Scenario;

/// How far each setting is moved, percentage points.
pub const NUDGE_PCT: f64 = 10.0;

/// The move of one setting that does most for a limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Acting {
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
}

/// Moves of less relative margin than this count as none.
const LEAST_GAIN: f64 = 0.02;

/// The setting whose move of ten points improves the closest limit of `now` most, of the moves that
/// better the worst margin of the scenario; none if no move does.
///
/// # Errors
/// A set-up that is wrong in itself; a move that cannot be run is passed over.
pub fn acting_setting(
    setup: &Setup,
    scenario: &Scenario,
    now: &Assessment,
) -> Result<Option<Acting>, SimError> {
    let Some(limit) = now.limiting() else { return Ok(None) };
    let Some(row) = metric(&limit.limit.outcome) else { return Ok(None) };
    let detail = detail_for(std::iter::once(row));
    let knee = setup.resolve()?.knee;
    let moved = |name: SettingName, by: f64, detail: Detail| {
        let mut moved = setup.clone();
        moved.settings.set(name, knee.settings.get(name)?.moved_by_pct(by));
        let mut trial = moved.trial(scenario).ok()?;
        trial.precision = Precision::scan();
        trial.detail = detail;
        Some(trial)
    };
    let attempt = |name: SettingName, by: f64| {
        let motion = moved(name, by, detail)?.run().ok()?;
        let after = LimitVerdict::of(&limit.limit, (row.measure)(&motion));
        // an allowed word is as good as a margin of one
        let margin = |v: &LimitVerdict| v.relative_margin.min(1.0);
        let gain = margin(&after) - margin(limit);
        let acting =
            Acting { setting: name, moved_pct: by, from: limit.value, to: after.value, gain, breaks: vec![] };
        (gain > LEAST_GAIN).then_some(acting)
    };
    let mut tried: Vec<Acting> = SettingName::ALL
        .into_par_iter()
        .filter_map(|name| {
            let at = knee.settings.get(name)?.pct();
            // one way helps or the other does
            [NUDGE_PCT, -NUDGE_PCT]
                .into_iter()
                .map(|by| (at + by).clamp(0.0, 100.0) - at)
                .filter(|by| by.abs() > 1e-9)
                .find_map(|by| attempt(name, by))
        })
        .collect();
    // stable: equal gains keep the order of the settings
    tried.sort_by(|a, b| b.gain.total_cmp(&a.gain));
    let everything = Detail { hip_band: false, ..Detail::default() };
    Ok(tried.into_iter().find_map(|a| {
        let after = Assessment::of_limits(&moved(a.setting, a.moved_pct, everything)?).ok()?;
        let breaks = now
            .binding()
            .zip(after.binding())
            .filter(|(before, after)| before.holds() && !after.holds())
            .filter_map(|(before, _)| metric(&before.limit.outcome).map(|m| m.key))
            .collect();
        (after.worst_margin() > now.worst_margin()).then_some(Acting { breaks, ..a })
    }))
}
