//! The setting that acts most on a limit: each setting is moved alone, and the scenario runs again. No table of
//! rules is used: the answer holds for this person.
//!
//! Moves of ten points come first. Where none of them meets a limit that is missed, moves of 25 and 50 points and to
//! both ends of the range are tried. Two moves are named: the one that does most for the limit, with its price, that is the limits that then no longer hold, in this
//! scenario and in the others of the survey; and, where that one has a price, the best that has none.

use rayon::prelude::*;

use crate::case::setup::Setup;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::motion::trial::Detail;
use crate::numerics::tolerances::Tolerances;
use crate::outcome::{Assessment, LimitVerdict, Reading, Value, detail_for, detail_for_limits, metric};
use crate::scenario::Scenario;

/// How far each setting is moved, percentage points; the further moves only where the first do not help. The last
/// reaches both ends.
const MOVES_PCT: [f64; 4] = [10.0, 25.0, 50.0, 100.0];

/// The move of one setting that helps a limit.
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
    /// The limit is met after it.
    pub meets: bool,
    /// Gain of the worst margin of the scenario.
    pub worst_gain: f64,
    /// Keys of outcomes whose limits held and do not after the move: broken or doubtful.
    pub breaks: Vec<&'static str>,
    /// Other scenarios of the survey that held and do not after the move, each with the label of the
    /// outcome whose limit is then closest.
    pub elsewhere: Vec<(String, &'static str)>,
}

impl SettingSensitivity {
    /// Nothing that held is lost by it.
    #[must_use]
    pub fn costs_nothing(&self) -> bool {
        self.worst_gain > 0.0 && self.breaks.is_empty() && self.elsewhere.is_empty()
    }
}

/// Moves of less relative margin than this count as none.
const LEAST_GAIN: f64 = 0.02;
/// Moves that help the limit that limits `now`, the one that helps most first; all of one size, the smallest that
/// meets it, else the one that does most. Of a limit that holds, only those that better the scenario's worst margin.
///
/// # Errors
/// A set-up that is wrong in itself; a move that cannot be run or computed is passed over.
pub fn setting_moves(
    setup: &Setup,
    scenario: &Scenario,
    now: &Assessment,
) -> Result<Vec<SettingSensitivity>, SimError> {
    let Some(limit) = now.limiting() else { return Ok(vec![]) };
    let sizes = if limit.holds() { &MOVES_PCT[..1] } else { &MOVES_PCT[..] };
    let reached = |m: &SettingSensitivity| m.to != Value::NotReached;
    let mut best: Vec<SettingSensitivity> = Vec::new();
    for size in sizes {
        let found = moves_of_size(setup, scenario, now, limit, *size)?;
        let Some(first) = found.first() else { continue };
        if limit.holds() || first.meets {
            return Ok(found);
        }
        if best.first().is_none_or(|b| (reached(first), first.gain) > (reached(b), b.gain)) {
            best = found;
        }
    }
    Ok(best)
}

fn moves_of_size(
    setup: &Setup,
    scenario: &Scenario,
    now: &Assessment,
    limit: &LimitVerdict,
    size: f64,
) -> Result<Vec<SettingSensitivity>, SimError> {
    let Some(row) = metric(&limit.limit.outcome) else { return Ok(vec![]) };
    let knee = setup.resolve()?.knee;
    let trial = |name: SettingName, by: f64, detail: Detail| {
        let mut moved = setup.clone();
        moved.settings.set(name, knee.settings.get(name)?.moved_by_pct(by));
        let mut trial = moved.trial(scenario).ok()?;
        trial.tolerances = Tolerances::scan();
        trial.detail = detail;
        Some(trial)
    };
    let attempt = |(name, by): (SettingName, f64)| {
        let motion = trial(name, by, detail_for(std::iter::once(row)))?.run().ok()?;
        let after = LimitVerdict::of(&limit.limit, Reading::of(row, &motion));
        let gain = gain(limit, &after);
        if gain <= LEAST_GAIN {
            return None;
        }
        let all = Assessment::of_limits(&trial(name, by, detail_for_limits(&scenario.limits))?).ok()?;
        let breaks =
            now.no_longer_within(&all).filter_map(|l| metric(&l.limit.outcome).map(|m| m.key)).collect();
        // words that are within do not limit: infinite
        let worst = |a: &Assessment| a.worst_margin().min(f64::MAX);
        let worst_gain = worst(&all) - worst(now);
        Some(SettingSensitivity {
            setting: name,
            moved_pct: by,
            from: limit.value,
            to: after.value,
            gain,
            meets: after.holds(),
            worst_gain,
            breaks,
            elsewhere: vec![],
        })
    };
    let moves: Vec<(SettingName, f64)> = SettingName::ALL
        .into_iter()
        .filter_map(|name| knee.settings.get(name).map(|at| (name, at.pct())))
        .flat_map(|(name, at)| [size, -size].map(|by| (name, (at + by).clamp(0.0, 100.0) - at)))
        .filter(|(_, by)| by.abs() > 1e-9)
        .collect();
    let mut helping: Vec<SettingSensitivity> = moves.into_par_iter().filter_map(attempt).collect();
    helping.retain(|m| !limit.holds() || m.worst_gain > 0.0);
    // what meets the limit before what does not, what reaches the outcome before what only comes nearer; of equal gains
    // what betters the scenario more
    helping.sort_by(|a, b| {
        let rank = |m: &SettingSensitivity| (m.meets, m.to != Value::NotReached);
        let more = |f: fn(&SettingSensitivity) -> f64| f(b).total_cmp(&f(a));
        rank(b).cmp(&rank(a)).then(more(|m| m.gain)).then(more(|m| m.worst_gain))
    });
    Ok(helping)
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

/// The label of the closest limit that no longer holds in another scenario that held, or that it cannot run or be
/// computed any more; none if all its limits still hold.
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
    let after = match Assessment::of_limits(&trial) {
        Ok(after) => after,
        Err(e) => return Some(e.in_place_of_verdict()),
    };
    let broken = after.limiting().filter(|l| !l.holds())?;
    metric(&broken.limit.outcome).map(|m| m.label)
}
