//! What a symptom can mean: is it there in the simulation of this person, and does each likely setting
//! mend it, move it, or not; what else breaks.

use rayon::prelude::*;

use super::session::said;
use super::symptoms::{Sign, Situation, Symptom, Turn};
use super::trials::{Look, Position, look};
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::outcome::{Assessment, Value, metric};
use crate::scenario::{Limit, Scenario};
use crate::study::Tick;
use crate::units::within;

/// Steps of the larger of the two moves.
pub const SEVERAL_STEPS: usize = 4;
/// A change below this share of the limit's own unit is none, as in `run`.
const LEAST_GAIN: f64 = 0.02;

/// What a move did to a symptom.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Worked {
    /// The symptom is gone in every scenario.
    Mends,
    /// There is less of it, or it is further away.
    Confirmed,
    /// There is more of it: the rule of thumb fails here.
    Refuted,
    /// Nothing to speak of.
    NoEffect,
    /// The setting is at the end of its range, or the knee has none.
    NoRoom,
    /// The scenario cannot be followed there.
    CannotRun,
}

impl Worked {
    /// The words in reports.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Mends => "confirmed, gone",
            Self::Confirmed => "confirmed",
            Self::Refuted => "refuted",
            Self::NoEffect => "no effect",
            Self::NoRoom => "no room",
            Self::CannotRun => "cannot run",
        }
    }
}

/// A setting moved.
#[derive(Debug, Clone)]
pub struct Move {
    /// Rule of thumb.
    pub turn: Turn,
    /// Steps.
    pub steps: usize,
    /// From and to, percent; none for a knee without this setting.
    pub pct: Option<[f64; 2]>,
    /// The outcome after it.
    pub after: Value,
    /// What it did.
    pub worked: Worked,
    /// Limits that held and are broken then.
    pub breaks: Vec<String>,
}

/// Whether a symptom is there.
#[derive(Debug, Clone, PartialEq)]
pub enum Standing {
    /// Shown: what is seen where.
    Shown(Vec<String>),
    /// Not shown; the outcome nearest to it, if any says how near.
    NotShown(Option<String>),
    /// None of the scenarios has such an activity.
    NotLookedFor,
}

/// A symptom examined.
#[derive(Debug, Clone)]
pub struct Examination {
    /// Symptom.
    pub symptom: &'static Symptom,
    /// Whether it is there.
    pub standing: Standing,
    /// Scenario, outcome and value by which the moves are judged.
    pub target: Option<(String, &'static str, Value)>,
    /// Moves, one step and several for each rule.
    pub moves: Vec<Move>,
}

impl Examination {
    /// Shown by the simulation.
    #[must_use]
    pub fn shown(&self) -> bool {
        matches!(self.standing, Standing::Shown(_))
    }
}

/// An outcome that shows a symptom, or could.
struct Reading {
    scenario: usize,
    sign: Sign,
    value: Value,
    /// What counts as one unit.
    unit: f64,
    /// Units inside the limit; negative outside; none where no limit or number says it.
    margin: Option<f64>,
    shown: bool,
    said: String,
}

/// Examines a symptom: is it there, and what do the likely settings do to it.
///
/// # Errors
/// A step out of range, a set-up that is wrong in itself, a failed integration.
pub fn examine(
    setup: &Setup,
    scenarios: &[Scenario],
    symptom: &'static Symptom,
    step_pct: Option<f64>,
    tick: Tick<'_>,
) -> Result<Examination, SimError> {
    if let Some(step) = step_pct {
        within("step (percent)", step, 0.1..=50.0)?;
    }
    let at = Position::of(&setup.resolve()?.knee.settings);
    let all = |at: Position| -> Result<Vec<Look>, SimError> {
        scenarios.iter().map(|s| look(setup, s, at)).collect()
    };
    let now = all(at)?;
    let readings = readings(symptom, scenarios, &now);
    let mut found =
        Examination { symptom, standing: Standing::NotLookedFor, target: None, moves: Vec::new() };
    if !scenarios.iter().any(|s| symptom.activities.contains(&s.activity.kind())) {
        return Ok(found);
    }
    let shown: Vec<&Reading> = readings.iter().filter(|r| r.shown).collect();
    let Some(target) = target(symptom, &readings) else {
        found.standing = Standing::NotShown(None);
        return Ok(found);
    };
    found.standing = if shown.is_empty() {
        Standing::NotShown(Some(target.said.clone()))
    } else {
        Standing::Shown(shown.iter().map(|r| r.said.clone()).collect())
    };
    found.target = Some((scenarios[target.scenario].name.clone(), target.sign.outcome(), target.value));
    let wanted: Vec<(Turn, usize)> =
        symptom.turns.iter().flat_map(|t| [(*t, 1), (*t, SEVERAL_STEPS)]).collect();
    found.moves = wanted
        .into_par_iter()
        .map(|(turn, steps)| {
            let step = step_pct.or_else(|| setup.knee.step_pct(turn.setting));
            #[allow(clippy::cast_precision_loss)] // a handful
            let to = step.and_then(|s| at.moved(turn.setting, turn.way.sign() * s * steps as f64));
            let Some(to) = to else {
                let pct = at.pct(turn.setting).map(|p| [p, p]);
                return Ok(Move {
                    turn,
                    steps,
                    pct,
                    after: target.value,
                    worked: Worked::NoRoom,
                    breaks: vec![],
                });
            };
            let then = all(to)?;
            tick();
            let pct = at.pct(turn.setting).zip(to.pct(turn.setting)).map(|(a, b)| [a, b]);
            let (after, worked) = judged(symptom, target, !shown.is_empty(), scenarios, &then);
            Ok(Move { turn, steps, pct, after, worked, breaks: breaks(scenarios, &now, &then) })
        })
        .collect::<Result<_, SimError>>()?;
    Ok(found)
}

/// The reading by which moves are judged: the worst number that shows the symptom, else its measure
/// where it is nearest.
fn target<'r>(symptom: &Symptom, readings: &'r [Reading]) -> Option<&'r Reading> {
    let nearest = |r: &&Reading| r.margin.unwrap_or(f64::INFINITY);
    let least = |keep: &dyn Fn(&&Reading) -> bool| {
        readings.iter().filter(keep).min_by(|a, b| nearest(a).total_cmp(&nearest(b)))
    };
    let measure = |r: &&Reading| r.sign == symptom.measure;
    least(&|r| r.shown && r.margin.is_some())
        .or_else(|| least(&|r| measure(r) && readings.iter().any(|s| s.shown && s.scenario == r.scenario)))
        .or_else(|| least(&measure))
}

/// Every sign of a symptom in every scenario that has it.
fn readings(symptom: &Symptom, scenarios: &[Scenario], looks: &[Look]) -> Vec<Reading> {
    let mut all = Vec::new();
    for (i, (scenario, look)) in scenarios.iter().zip(looks).enumerate() {
        let Ok(a) = &look.assessment else { continue };
        if !symptom.activities.contains(&scenario.activity.kind()) {
            continue;
        }
        let besides = Situation::of(&a.outcomes);
        for (sign, when) in symptom.signs {
            all.extend(read(i, scenario, a, *sign, besides.fits(*when)));
        }
        if !symptom.signs.iter().any(|(s, _)| *s == symptom.measure) {
            all.extend(read(i, scenario, a, symptom.measure, false));
        }
    }
    all
}

fn read(i: usize, scenario: &Scenario, a: &Assessment, sign: Sign, fits: bool) -> Option<Reading> {
    let value = a.outcomes.get(sign.outcome())?;
    let about = |l: &&crate::outcome::LimitVerdict| l.limit.outcome == sign.outcome() && side(sign, &l.limit);
    let verdict = a.limits.iter().find(about);
    let limit = verdict.map(|v| &v.limit);
    let label = metric(sign.outcome()).map_or("", |m| m.label);
    let said = match (verdict, metric(sign.outcome())) {
        (Some(v), _) => format!("{}: {}", scenario.name, said(v)),
        (None, Some(m)) => format!("{}: {label} {}", scenario.name, m.say(value)),
        (None, None) => return None,
    };
    let (unit, margin) = measured(sign, limit, value);
    let shown = fits
        && match (sign, limit) {
            (_, Some(l)) => sign.shown_by(l, value),
            (Sign::Beyond(_, edge), None) => value.as_number().is_some_and(|v| v > edge),
            (Sign::Word(_, words), None) => value.as_word().is_some_and(|w| words.contains(&w)),
            (Sign::Missing(_), None) => value == Value::NotReached,
            (Sign::Below(_) | Sign::Above(_), None) => false,
        };
    Some(Reading { scenario: i, sign, value, unit, margin, shown, said })
}

/// Whether a limit has the edge that a sign is about.
fn side(sign: Sign, limit: &Limit) -> bool {
    match sign {
        Sign::Below(_) => limit.min.is_some(),
        Sign::Above(_) | Sign::Beyond(..) => limit.max.is_some(),
        Sign::Missing(_) | Sign::Word(..) => true,
    }
}

/// Unit of an outcome and how many of them it lies inside the edge that the sign is about.
fn measured(sign: Sign, limit: Option<&Limit>, value: Value) -> (f64, Option<f64>) {
    let number = value.as_number();
    let unit = match (limit, sign) {
        (Some(l), _) => l.unit_margin(),
        (None, Sign::Beyond(_, edge)) => edge,
        (None, _) => number.map_or(1.0, f64::abs).max(1.0),
    };
    let inside = match (sign, limit) {
        (Sign::Below(_), Some(l)) => l.min.zip(number).map(|(min, v)| v - min),
        (Sign::Above(_) | Sign::Beyond(..), Some(l)) => l.max.zip(number).map(|(max, v)| max - v),
        (Sign::Beyond(_, edge), None) => number.map(|v| edge - v),
        _ => None,
    };
    (unit, inside.map(|x| x / unit))
}

/// What a move did, by the target and by whether the symptom is still shown anywhere.
fn judged(
    symptom: &'static Symptom,
    target: &Reading,
    was_shown: bool,
    scenarios: &[Scenario],
    then: &[Look],
) -> (Value, Worked) {
    let Ok(a) = &then[target.scenario].assessment else { return (Value::NotReached, Worked::CannotRun) };
    let after = a.outcomes.get(target.sign.outcome()).unwrap_or(Value::NotReached);
    let better = match target.sign {
        Sign::Below(_) => 1.0,
        _ => -1.0,
    };
    let gain = match (target.value, after) {
        (Value::Number(x), Value::Number(y)) => better * (y - x) / target.unit,
        (Value::Number(_), Value::NotReached) if read_off_landing(target.sign) => {
            return (after, Worked::CannotRun);
        }
        (Value::Number(_), Value::NotReached) => missing(symptom, target.sign),
        (Value::NotReached, Value::Number(_)) => -missing(symptom, target.sign),
        _ => 0.0,
    };
    let followed = then.iter().all(|l| l.assessment.is_ok());
    let still = readings(symptom, scenarios, then).iter().any(|r| r.shown);
    let worked = if was_shown && !still && followed {
        Worked::Mends
    } else if gain > LEAST_GAIN {
        Worked::Confirmed
    } else if gain < -LEAST_GAIN {
        Worked::Refuted
    } else {
        Worked::NoEffect
    };
    (after, worked)
}

/// What it is worth that an outcome no longer happens: a symptom that names it as a sign is worse; of what
/// was too much, nothing is left (no end knock where the knee is never straight).
fn missing(symptom: &Symptom, sign: Sign) -> f64 {
    let is_sign = symptom.signs.iter().any(|(s, _)| *s == Sign::Missing(sign.outcome()));
    match sign {
        Sign::Above(_) | Sign::Beyond(..) if !is_sign => f64::INFINITY,
        _ => f64::NEG_INFINITY,
    }
}

/// Without a landing that can be followed nothing is known of it.
fn read_off_landing(sign: Sign) -> bool {
    metric(sign.outcome()).is_some_and(|m| m.by_landing && m.key != "support_after_ms")
}

/// Limits that held and are broken then, by scenario.
fn breaks(scenarios: &[Scenario], now: &[Look], then: &[Look]) -> Vec<String> {
    let mut all = Vec::new();
    for ((scenario, now), then) in scenarios.iter().zip(now).zip(then) {
        match (&now.assessment, &then.assessment) {
            (Ok(_), Ok(_)) => all.extend(
                now.binding()
                    .zip(then.binding())
                    .filter(|(a, b)| a.holds() && !b.holds())
                    .map(|(_, b)| format!("{}: {}", scenario.name, said(b))),
            ),
            (Ok(_), Err(why)) => all.push(format!("{}: {why}", scenario.name)),
            _ => {}
        }
    }
    all
}
