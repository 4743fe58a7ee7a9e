//! Content of the teaching sheet of a model person: ten questions answered by simulation, symptoms with the
//! effect of the likely settings, effects of usual changes. `report/sheet.rs` lays out the page.

mod answers;
mod plot;
mod words;

pub use answers::Answer;
use words::in_words;

use rayon::prelude::*;

use crate::case::foot_extra_mass_kg;
use crate::case::setup::Setup;
use crate::case::variant::Variant;
use crate::error::SimError;
use crate::findings::Plot;
use crate::outcome::{Assessment, Value, metric};
use crate::scenario::Scenario;
use crate::study::Tick;
use crate::study::adjust::diagnosis::{Diagnosis, MoveResult, diagnose};
use crate::study::adjust::symptom_data::SYMPTOMS;
use crate::study::recheck::RecheckStudy;
use crate::study::survey::{Survey, survey};
use crate::study::text::capitalised;
use crate::study::window::{Plan, Question, Windows};

/// The scenarios of a sheet, in its order.
pub const SCENARIOS: [&str; 10] = [
    "stand",
    "walk-slow",
    "walk-comfortable",
    "walk-fast",
    "walk-hurried",
    "sit-down",
    "ramp-down-1-in-12",
    "ramp-down-8-deg",
    "stairs-down",
    "stumble",
];
/// The scenarios that one yield setting must serve.
const SERVED: [&str; 3] = ["sit-down", "ramp-down-8-deg", "stairs-down"];

/// A change after which to look again.
pub struct UsualChange {
    /// Its name on the sheet.
    pub called: &'static str,
    /// The input that it changes.
    pub input: &'static str,
    /// Its value after, from the set-up before; none where that is no change.
    after: fn(&Setup) -> Option<f64>,
}

/// Changes after which to look again.
pub const USUAL_CHANGES: [UsualChange; 4] = [
    UsualChange {
        called: "heavier shoes, 0.5 kg more at the foot",
        input: "foot_extra_mass_kg",
        after: |s| Some(foot_extra_mass_kg(s) + 0.5),
    },
    UsualChange {
        called: "a cold morning, oil at 0 °C",
        input: "temperature_c",
        after: |s| Some(0.0).filter(|cold| s.temperature_c.unwrap_or(s.knee.reference_temperature_c) > *cold),
    },
    UsualChange {
        called: "another foot or heel, load line 1 cm further back",
        input: "foot_shift_m",
        after: |s| Some(s.alignment.foot_shift_m - 0.01),
    },
    UsualChange {
        called: "10 kg more body weight",
        input: "mass_kg",
        after: |s| Some(s.person.mass_kg + 10.0),
    },
];

/// A symptom and what can be done about it.
#[derive(Debug, Clone)]
pub struct SymptomRow {
    /// What a watcher sees.
    pub seen: &'static str,
    /// What to rule out first.
    pub first: String,
    /// The outcome by which the moves are judged, with its value now; empty where the model does not show it.
    pub now: String,
    /// Settings one step along; where the model shows it, with the outcome after the step.
    pub moves: Vec<String>,
    /// Whether the model shows it for this person with these settings.
    pub presence: SymptomPresence,
}

/// Whether the model shows a symptom; the first stands first on the sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SymptomPresence {
    /// It does.
    Shown,
    /// It is doubtful.
    Doubtful,
    /// It does not.
    NotShown,
}

/// The leg of a sheet's drawing, as it stands: lengths in m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandingLeg {
    /// From the hip to the knee axis.
    pub thigh_m: f64,
    /// From the knee axis to the sole.
    pub knee_to_sole_m: f64,
    /// Tip of the foot ahead of the shank line.
    pub toe_ahead_m: f64,
    /// Load line in front of the knee axis.
    pub load_line_ahead_m: f64,
}

/// What a change does.
#[derive(Debug, Clone)]
pub struct ChangeRow {
    /// What is changed.
    pub what: String,
    /// What it does and what to look at again.
    pub said: String,
}

/// Everything on a sheet.
#[derive(Debug)]
pub struct Sheet {
    /// The set-up with its outcomes.
    pub survey: Survey,
    /// The ten questions.
    pub answers: Vec<Answer>,
    /// The leg as it stands.
    pub leg: StandingLeg,
    /// Small curves.
    pub curves: Vec<Plot>,
    /// Symptoms, those shown first.
    pub symptoms: Vec<SymptomRow>,
    /// The change that led to this set-up, if it was given.
    pub came_from: Option<ChangeRow>,
    /// Changes after which to look again.
    pub changes: Vec<ChangeRow>,
}

/// Steps that [`sheet`] ticks.
pub const STEPS: u64 = 2 + SYMPTOMS.len() as u64 + USUAL_CHANGES.len() as u64;

/// Runs everything on a sheet. `before` holds the inputs that were different before.
///
/// # Errors
/// A set-up that is wrong in itself; a pace, since a sheet walks at its own; a failed run.
pub fn sheet(
    setup: &Setup,
    scenarios: &[Scenario],
    before: Option<&Variant>,
    tick: Tick,
) -> Result<Sheet, SimError> {
    if setup.speed_m_per_s.is_some() || setup.cadence_steps_per_min.is_some() {
        return Err(SimError::Usage(
            "a sheet walks at its own speeds: leave out --speed and --cadence".into(),
        ));
    }
    let survey = survey(setup.clone(), scenarios.to_vec())?;
    tick();
    let windows = yield_windows(setup, scenarios)?;
    tick();
    let symptoms = symptoms(setup, scenarios, tick)?;
    let changes = USUAL_CHANGES
        .par_iter()
        .map(|change| {
            let row = usual_change(setup, scenarios, change);
            tick();
            row
        })
        .collect::<Result<Vec<_>, _>>()?;
    let came_from = before.map(|b| came_from(setup, scenarios, b)).transpose()?;
    Ok(Sheet {
        leg: standing_leg(setup, &survey),
        answers: answers::answers(&survey, &windows),
        curves: plot::curves(setup, scenarios)?,
        symptoms,
        came_from,
        changes: changes.into_iter().flatten().collect(),
        survey,
    })
}

/// The leg with the load line that standing has.
fn standing_leg(setup: &Setup, survey: &Survey) -> StandingLeg {
    let stand = survey.runs.iter().find(|r| r.scenario.name == "stand").and_then(|r| r.result.as_ref().ok());
    let ahead_mm = stand.and_then(|r| r.assessment.outcomes.number("load_line_ahead_mm")).unwrap_or(0.0);
    StandingLeg {
        thigh_m: setup.person.thigh_length_m(),
        knee_to_sole_m: setup.person.knee_to_sole_m(),
        toe_ahead_m: setup.alignment.toe_m(&setup.person)[0],
        load_line_ahead_m: ahead_mm / 1e3,
    }
}

/// Where one yield setting serves chair, ramp and stairs.
fn yield_windows(setup: &Setup, scenarios: &[Scenario]) -> Result<Result<Windows, SimError>, SimError> {
    let served = scenarios.iter().filter(|s| SERVED.contains(&s.name.as_str()));
    let question = Question {
        setup: setup.clone(),
        scenarios: served.cloned().collect(),
        without: vec![],
        masses_kg: vec![],
        cadences_steps_per_min: vec![],
        bands: false,
    };
    let mut plan = Plan::new(&question)?;
    // no scenario can run, for instance with a locked joint
    if let Err(why) = plan.probe() {
        return Ok(Err(why));
    }
    plan.run(&|| ()).map(Ok)
}

fn symptoms(setup: &Setup, scenarios: &[Scenario], tick: Tick) -> Result<Vec<SymptomRow>, SimError> {
    let mut rows = SYMPTOMS
        .par_iter()
        .map(|s| {
            let found = diagnose(setup, scenarios, s, None, &|| ())?;
            tick();
            let presence = match (found.shown(), found.doubtful) {
                (false, _) => SymptomPresence::NotShown,
                (true, true) => SymptomPresence::Doubtful,
                (true, false) => SymptomPresence::Shown,
            };
            Ok(SymptomRow {
                seen: s.description,
                first: s.rule_out_first.join("; "),
                now: if found.shown() { in_words(&now(&found)) } else { String::new() },
                moves: one_step(&found),
                presence,
            })
        })
        .collect::<Result<Vec<_>, SimError>>()?;
    // stable: otherwise in the order of the table
    rows.sort_by_key(|r| r.presence);
    Ok(rows)
}

/// `walk-fast: 10.3° less bend than able-bodied`.
fn now(found: &Diagnosis) -> String {
    let said = |(scenario, key, value): &(String, &'static str, Value)| {
        metric(key).map(|m| format!("{scenario}: {}", m.sentence(*value)))
    };
    found.target.as_ref().and_then(said).unwrap_or_default()
}

/// `swing-flexion less, to 65 %: 6.8° less, helps`, one per rule of thumb; the setting and its direction alone where there
/// is nothing to mend.
fn one_step(found: &Diagnosis) -> Vec<String> {
    let say = |v: Value| {
        found.target.as_ref().and_then(|t| metric(t.1)).map_or_else(String::new, |m| m.say_short(v))
    };
    let moves = found.moves.iter().filter(|m| m.steps == 1);
    moves
        .map(|m| {
            let name = format!("{} {}", m.adjustment.setting, m.adjustment.direction.as_str());
            match (m.result, m.pct) {
                _ if !found.shown() => name,
                (MoveResult::NoRoom, _) | (_, None) => format!("{name}: no room"),
                (result @ MoveResult::NoEffect, Some([_, to])) if m.breaks.is_empty() => {
                    format!("{name}, to {to:.0} %: {}", result.as_str())
                }
                (result, Some([_, to])) => {
                    let broken = match m.breaks.len() {
                        0 => String::new(),
                        n => format!("; loses {n} limit{}", if n == 1 { "" } else { "s" }),
                    };
                    format!("{name}, to {to:.0} %: {}, {}{broken}", say(m.after), result.as_str())
                }
            }
        })
        .collect()
}

/// None where the set-up already has this value.
fn usual_change(
    setup: &Setup,
    scenarios: &[Scenario],
    change: &UsualChange,
) -> Result<Option<ChangeRow>, SimError> {
    let Some(to) = (change.after)(setup) else { return Ok(None) };
    let after = Variant::of_values(&format!("{}={to}", change.input));
    let recheck = |variant: Variant| {
        let (base, scenarios) = (setup.clone(), scenarios.to_vec());
        RecheckStudy { base, variant, scenarios, share: 0.25 }.run(&|| ())
    };
    let said = match after.and_then(recheck) {
        Ok(found) => in_words(&found.summary()),
        // beyond what an input may be: the person or the foot is at the end of the range already
        Err(e @ (SimError::OutOfRange { .. } | SimError::CannotRun(_))) => {
            in_words(&format!("Not tried: {e}."))
        }
        Err(e) => return Err(e),
    };
    Ok(Some(ChangeRow { what: change.called.into(), said }))
}

/// `walk-fast: outside before, now doubtful (landing doubtful)`, with the closest limit if it is not within now.
fn verdict_now(scenario: &Scenario, before: &Assessment, now: &Assessment) -> String {
    let furthest = now.limiting().filter(|l| !l.holds());
    let by = furthest.and_then(|l| metric(&l.limit.outcome).map(|m| format!(" ({})", m.sentence(l.value))));
    let (then, now) = (before.verdict().as_str(), now.verdict().as_str());
    let said = format!("{}: {then} before, now {now}{}.", scenario.name, by.unwrap_or_default());
    capitalised(&in_words(&said))
}

/// The change from the set-up before to the set-up now.
fn came_from(setup: &Setup, scenarios: &[Scenario], before: &Variant) -> Result<ChangeRow, SimError> {
    let said = scenarios
        .par_iter()
        .map(|s| {
            let then = before.case(setup, s)?;
            let now = setup.trial(s)?;
            let then = then.trial(now.detail, now.tolerances)?;
            let both = Assessment::of(&then).and_then(|a| Ok((a, Assessment::of(&now)?)));
            Ok(match both {
                Ok((a, b)) if a.verdict() != b.verdict() => Some(verdict_now(s, &a, &b)),
                Ok(_) => None,
                Err(e) => Some(capitalised(&in_words(&format!("{}: {e}.", s.name)))),
            })
        })
        .collect::<Result<Vec<_>, SimError>>()?;
    let said: Vec<String> = said.into_iter().flatten().collect();
    let said = if said.is_empty() { "No scenario changes its verdict.".into() } else { said.join(" ") };
    Ok(ChangeRow { what: before.from_to(setup, &scenarios[0]), said })
}
