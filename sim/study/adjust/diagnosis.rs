//! What a symptom can mean: whether the simulation of this person shows it, what each likely setting does to it,
//! and what else that breaks.

use rayon::prelude::*;

use super::readings::{Reading, readings};
use super::symptoms::{Adjustment, Indicator, Symptom};
use super::text::limit_text;
use super::trials::{Position, TrialResult, run_trial};
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::outcome::{Value, metric};
use crate::scenario::Scenario;
use crate::study::Tick;
use crate::units::within;

/// Steps of the larger of the two moves.
pub const SEVERAL_STEPS: usize = 4;
/// A gain below this share of the limit's own unit counts as none, as in `run`.
const LEAST_GAIN: f64 = 0.02;

/// What a move does to a symptom.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MoveResult {
    /// The symptom is gone in every scenario.
    Resolved,
    /// There is less of it, or it is further away.
    Confirmed,
    /// The outcome is not reached after it either, but what is judged beside it is better.
    Nearer,
    /// There is more of it: the rule of thumb fails here.
    Refuted,
    /// There is more of it after so few steps, and less after more.
    WorseAtFirst,
    /// No difference worth mentioning.
    NoEffect,
    /// The setting is at the end of its range, or the knee does not have it.
    NoRoom,
    /// The scenario cannot be followed there.
    CannotRun,
    /// The integrator gave up there.
    NotComputed,
}

impl MoveResult {
    /// The words in reports.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Resolved => "helps; now within limits",
            Self::Confirmed => "helps",
            Self::Nearer => "comes nearer",
            Self::Refuted => "makes it worse",
            Self::WorseAtFirst => "worse at first",
            Self::NoEffect => "no effect",
            Self::NoRoom => "no room",
            Self::CannotRun => "cannot run",
            Self::NotComputed => "could not be computed",
        }
    }
}

/// A move of a setting.
#[derive(Debug, Clone)]
pub struct Move {
    /// Rule of thumb.
    pub adjustment: Adjustment,
    /// Steps.
    pub steps: usize,
    /// From and to, percent; none for a knee without this setting.
    pub pct: Option<[f64; 2]>,
    /// The outcome after it.
    pub after: Value,
    /// What it does.
    pub result: MoveResult,
    /// Limits that were met and are not after it: broken or doubtful.
    pub breaks: Vec<String>,
}

/// Whether the simulation shows a symptom.
#[derive(Debug, Clone, PartialEq)]
pub enum Presence {
    /// Shown: the outcomes that show it, with their scenarios.
    Shown(Vec<String>),
    /// Not shown; the outcome nearest to it, if any says how near.
    NotShown(Option<String>),
    /// None of the scenarios has such an activity.
    NotTested,
}

/// A symptom with what the simulation says about it.
#[derive(Debug, Clone)]
pub struct Diagnosis {
    /// Symptom.
    pub symptom: &'static Symptom,
    /// Whether it is shown.
    pub presence: Presence,
    /// Everything that shows it is doubtful.
    pub doubtful: bool,
    /// Scenario, outcome and value by which the moves are compared.
    pub target: Option<(String, &'static str, Value)>,
    /// Moves, for each rule one step and several, and as many as it takes if they do not mend it and more do.
    pub moves: Vec<Move>,
}

impl Diagnosis {
    /// Shown by the simulation.
    #[must_use]
    pub fn shown(&self) -> bool {
        matches!(self.presence, Presence::Shown(_))
    }
}

/// Tests whether a symptom is there and what the likely settings do to it.
///
/// # Errors
/// A step out of range, a set-up that is wrong in itself, a failed integration.
pub fn diagnose(
    setup: &Setup,
    scenarios: &[Scenario],
    symptom: &'static Symptom,
    step_pct: Option<f64>,
    tick: Tick<'_>,
) -> Result<Diagnosis, SimError> {
    if let Some(step) = step_pct {
        within("step (percent)", step, 0.1..=50.0)?;
    }
    let at = Position::of(&setup.resolve()?.knee.settings);
    let before = run_all(setup, scenarios, at)?;
    let readings = readings(symptom, scenarios, &before);
    let mut diagnosis = Diagnosis {
        symptom,
        presence: Presence::NotTested,
        doubtful: false,
        target: None,
        moves: Vec::new(),
    };
    if !scenarios.iter().any(|s| symptom.activities.contains(&s.activity.kind())) {
        return Ok(diagnosis);
    }
    let shown: Vec<&Reading> = readings.iter().filter(|r| r.shown).collect();
    diagnosis.doubtful = !shown.is_empty() && shown.iter().all(|r| r.doubtful);
    let Some(target) = target(symptom, &readings) else {
        diagnosis.presence = Presence::NotShown(None);
        return Ok(diagnosis);
    };
    diagnosis.presence = if shown.is_empty() {
        Presence::NotShown(Some(target.text.clone()))
    } else {
        Presence::Shown(shown.iter().map(|r| r.text.clone()).collect())
    };
    diagnosis.target =
        Some((scenarios[target.scenario].name.clone(), target.indicator.outcome(), target.value));
    let start = Start { setup, scenarios, symptom, at, before: &before, target, shown: !shown.is_empty() };
    let moves: Vec<Vec<Move>> = symptom
        .adjustments
        .into_par_iter()
        .map(|a| start.moves(*a, step_pct, tick))
        .collect::<Result<_, SimError>>()?;
    diagnosis.moves = moves.concat();
    Ok(diagnosis)
}

fn run_all(setup: &Setup, scenarios: &[Scenario], at: Position) -> Result<Vec<TrialResult>, SimError> {
    scenarios.iter().map(|s| run_trial(setup, s, at)).collect()
}

/// What every move of a diagnosis starts from.
struct Start<'a> {
    setup: &'a Setup,
    scenarios: &'a [Scenario],
    symptom: &'static Symptom,
    at: Position,
    before: &'a [TrialResult],
    target: &'a Reading,
    shown: bool,
}

impl Start<'_> {
    /// One step and several; where the symptom is there and they do not mend it, several more at a time up to the end of
    /// the range. Added is the move that mends it or, where the near ones do not help at all, the first that does:
    /// beyond a cliff (a valve that never lets go) nothing near shows what helps.
    fn moves(
        &self,
        adjustment: Adjustment,
        step_pct: Option<f64>,
        tick: Tick<'_>,
    ) -> Result<Vec<Move>, SimError> {
        let mut moves = Vec::new();
        for steps in [1, SEVERAL_STEPS] {
            moves.push(self.try_move(adjustment, steps, step_pct)?);
            if moves.last().is_some_and(|m| m.result != MoveResult::NoRoom) {
                tick();
            }
        }
        let mended = |m: &Move| m.result == MoveResult::Resolved;
        let helps = |m: &Move| mended(m) || matches!(m.result, MoveResult::Confirmed | MoveResult::Nearer);
        if !self.shown || moves.iter().any(mended) {
            return Ok(moves);
        }
        let mut far = moves.iter().any(helps).then(|| moves[1].clone());
        let mut last = moves[1].clone();
        while !mended(&last) && last.pct.is_some_and(|[_, to]| to > 0.0 && to < 100.0) {
            last = self.try_move(adjustment, last.steps + SEVERAL_STEPS, step_pct)?;
            if mended(&last) || (far.is_none() && helps(&last)) {
                far = Some(last.clone());
            }
        }
        if let Some(far) = far.filter(|m| m.steps > SEVERAL_STEPS) {
            for near in moves.iter_mut().filter(|m| m.result == MoveResult::Refuted) {
                near.result = MoveResult::WorseAtFirst;
            }
            moves.push(far);
        }
        Ok(moves)
    }

    fn try_move(
        &self,
        adjustment: Adjustment,
        steps: usize,
        step_pct: Option<f64>,
    ) -> Result<Move, SimError> {
        let setting = adjustment.setting;
        let from = self.at.pct(setting);
        let step = step_pct.or_else(|| self.setup.knee.step_pct(setting));
        #[allow(clippy::cast_precision_loss)] // a handful
        let to = step.and_then(|s| self.at.moved(setting, adjustment.direction.factor() * s * steps as f64));
        let Some(to) = to else {
            return Ok(Move {
                adjustment,
                steps,
                pct: from.map(|p| [p, p]),
                after: self.target.value,
                result: MoveResult::NoRoom,
                breaks: vec![],
            });
        };
        let results = run_all(self.setup, self.scenarios, to)?;
        let (after, result) = self.compare(&results);
        Ok(Move {
            adjustment,
            steps,
            pct: from.zip(to.pct(setting)).map(|(a, b)| [a, b]),
            after,
            result,
            breaks: no_longer_met(self.scenarios, self.before, &results),
        })
    }

    /// What a move did, by the target and by whether the symptom is still shown anywhere.
    fn compare(&self, results: &[TrialResult]) -> (Value, MoveResult) {
        let (symptom, target) = (self.symptom, self.target);
        let a = match &results[target.scenario].assessment {
            Ok(a) => a,
            Err(e) if e.cannot_run() => return (Value::NotReached, MoveResult::CannotRun),
            Err(_) => return (Value::NotReached, MoveResult::NotComputed),
        };
        let after = a.outcomes.get(target.indicator.outcome()).unwrap_or(Value::NotReached);
        let better = match target.indicator {
            Indicator::Below(_) => 1.0,
            _ => -1.0,
        };
        let gain = match (target.value, after) {
            (Value::Number(x), Value::Number(y)) => better * (y - x) / target.unit,
            (Value::Number(_), Value::NotReached) if needs_landing(target.indicator) => {
                return (after, MoveResult::CannotRun);
            }
            (Value::Number(_), Value::NotReached) => gain_if_not_reached(symptom, target.indicator),
            (Value::NotReached, Value::Number(_)) => -gain_if_not_reached(symptom, target.indicator),
            (Value::NotReached, Value::NotReached) => {
                let now = a.limits.iter().find(|l| l.limit.outcome == target.indicator.outcome());
                now.zip(target.relative_margin).map_or(0.0, |(now, before)| now.relative_margin - before)
            }
            _ => 0.0,
        };
        let followed = results.iter().all(|r| r.assessment.is_ok());
        let still_shown = readings(symptom, self.scenarios, results).iter().any(|r| r.shown);
        let result = if self.shown && !still_shown && followed {
            MoveResult::Resolved
        } else if gain > LEAST_GAIN {
            if after == Value::NotReached && target.value == Value::NotReached {
                MoveResult::Nearer
            } else {
                MoveResult::Confirmed
            }
        } else if gain < -LEAST_GAIN {
            MoveResult::Refuted
        } else {
            MoveResult::NoEffect
        };
        (after, result)
    }
}

/// The reading by which moves are compared: the worst number that shows the symptom, else its measure
/// where it is nearest.
fn target<'r>(symptom: &Symptom, readings: &'r [Reading]) -> Option<&'r Reading> {
    let margin = |r: &&Reading| r.margin.unwrap_or(f64::INFINITY);
    let least = |keep: &dyn Fn(&&Reading) -> bool| {
        readings.iter().filter(keep).min_by(|a, b| margin(a).total_cmp(&margin(b)))
    };
    let is_measure = |r: &&Reading| r.indicator == symptom.measure;
    least(&|r| r.shown && r.margin.is_some())
        .or_else(|| least(&|r| is_measure(r) && readings.iter().any(|s| s.shown && s.scenario == r.scenario)))
        .or_else(|| least(&is_measure))
}

/// Gain where an outcome is not reached any more: a symptom that counts this as an indicator is worse; a symptom
/// of too much is gone (no end knock where the knee is never straight).
fn gain_if_not_reached(symptom: &Symptom, indicator: Indicator) -> f64 {
    let is_indicator =
        symptom.indicators.iter().any(|(s, _)| *s == Indicator::NotReached(indicator.outcome()));
    match indicator {
        Indicator::Above(_) | Indicator::AboveNumber(..) if !is_indicator => f64::INFINITY,
        _ => f64::NEG_INFINITY,
    }
}

/// Outcomes of the landing are unknown where the landing cannot be followed.
fn needs_landing(indicator: Indicator) -> bool {
    metric(indicator.outcome()).is_some_and(|m| m.by_landing && m.key != "support_after_ms")
}

/// Limits that were met before and are not now, broken or doubtful, by scenario.
fn no_longer_met(scenarios: &[Scenario], before: &[TrialResult], now: &[TrialResult]) -> Vec<String> {
    let mut all = Vec::new();
    for ((scenario, before), now) in scenarios.iter().zip(before).zip(now) {
        match (&before.assessment, &now.assessment) {
            (Ok(before), Ok(now)) => all.extend(
                before.no_longer_within(now).map(|l| format!("{}: {}", scenario.name, limit_text(l))),
            ),
            (Ok(_), Err(why)) => all.push(format!("{}: {why}", scenario.name)),
            _ => {}
        }
    }
    all
}
