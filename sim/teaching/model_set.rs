//! A shelf: models and scenarios that have been read beforehand, by name; and what legs with different
//! settings do in one of them, with a animation of each. The page and the lesson file ask it. Texts are those of
//! `compare` (`KEY=VALUE,…`) and go through the same checks; a model is only ever taken from the shelf, so
//! that no text leads to a file.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

use rayon::prelude::*;

use super::animation::Animation;
use super::sheet::{SCENARIOS, Sheet, sheet};
use crate::body::{Person, Prosthesis};
use crate::case::inputs::{Case, INPUTS, Input};
use crate::case::setup::{Resolved, Setup};
use crate::case::variant::{Change, Variant, Wanted};
use crate::case::variant::{Model, parse};
use crate::error::SimError;
use crate::joint::KneeFile;
use crate::motion::Motion;
use crate::motion::trial::Detail;
use crate::numerics::tolerances::Tolerances;
use crate::outcome::Assessment;
use crate::scenario::Scenario;
use crate::study::observation::noticed;

/// Most legs that are run next to each other.
pub const MOST_LEGS: usize = 4;

/// Models and scenarios at hand.
#[derive(Debug, Clone)]
pub struct Shelf {
    /// What the texts change; it has every drive that the scenarios need.
    pub base: Setup,
    /// Scenarios, in the order in which they are offered.
    pub scenarios: Vec<Scenario>,
    /// People.
    pub people: Vec<Person>,
    /// Prostheses below the knee axis.
    pub prostheses: Vec<Prosthesis>,
    /// Knees.
    pub knees: Vec<KneeFile>,
    /// What has been run last.
    pub memory: Memory,
}

/// Legs that were run last: when one of two is moved, the other is not run again.
#[derive(Debug, Clone, Default)]
pub struct Memory(Arc<Mutex<VecDeque<Remembered>>>);

/// What was asked, and the leg.
type Remembered = (String, Arc<Leg>);

/// Legs that are remembered.
const REMEMBERED: usize = 16;

impl Memory {
    fn find(&self, key: &str) -> Option<Arc<Leg>> {
        let legs = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        legs.iter().find(|(k, _)| k == key).map(|(_, leg)| Arc::clone(leg))
    }

    fn keep(&self, key: String, leg: &Arc<Leg>) {
        let mut legs = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        legs.push_front((key, Arc::clone(leg)));
        legs.truncate(REMEMBERED);
    }
}

/// Legs in one scenario.
#[derive(Debug)]
pub struct Answer {
    /// The scenario.
    pub scenario: Scenario,
    /// One per text, or why it cannot run.
    pub legs: Vec<Result<Arc<Leg>, Failed>>,
    /// What a watcher would notice of each but the first against the first.
    pub noticed: Vec<Option<String>>,
}

/// A leg that cannot run.
#[derive(Debug)]
pub struct Failed {
    /// Why not.
    pub why: SimError,
    /// What was asked for.
    pub setup: Setup,
}

/// One leg.
#[derive(Debug, Clone)]
pub struct Leg {
    /// What was run.
    pub setup: Setup,
    /// The same in numbers that act.
    pub resolved: Resolved,
    /// Outcomes and limits.
    pub assessment: Assessment,
    /// What a reader has to know besides.
    pub notes: Vec<String>,
    /// Stride time for walking, s.
    pub stride_time_s: Option<f64>,
    /// What it looks like.
    pub animation: Animation,
}

fn named<'a, T>(
    kind: &'static str,
    all: &'a [T],
    name_of: impl Fn(&T) -> &str,
    name: &str,
) -> Result<&'a T, SimError> {
    all.iter().find(|m| name_of(m) == name).ok_or_else(|| SimError::Unknown {
        kind,
        name: name.chars().take(60).collect(),
        known: all.iter().map(&name_of).collect::<Vec<_>>().join(", "),
    })
}

impl Shelf {
    /// The scenario of a name.
    ///
    /// # Errors
    /// None of that name.
    pub fn scenario(&self, name: &str) -> Result<&Scenario, SimError> {
        named("scenario", &self.scenarios, |s| &s.name, name)
    }

    /// Reads `KEY=VALUE,…` with models from the shelf.
    ///
    /// # Errors
    /// As [`parse`]; a model that is not on the shelf.
    pub fn variant(&self, text: &str) -> Result<Variant, SimError> {
        let change = |wanted| {
            Ok(match wanted {
                Wanted::Model(Model::Person, n) => {
                    Change::Person(Box::new(named("person", &self.people, |m| &m.name, &n)?.clone()))
                }
                Wanted::Model(Model::Prosthesis, n) => {
                    let found = named("prosthesis", &self.prostheses, |m| &m.name, &n)?;
                    Change::Prosthesis(Box::new(found.clone()))
                }
                Wanted::Model(Model::Knee, n) => {
                    Change::Knee(Box::new(named("knee", &self.knees, |m| &m.name, &n)?.clone()))
                }
                Wanted::Value(input, value) => Change::Value(input, value),
            })
        };
        let changes = parse(text)?.into_iter().map(change).collect::<Result<_, SimError>>()?;
        Ok(Variant { written: text.trim().to_owned(), changes })
    }

    /// Whether a sheet can take an input: not one that belongs to a scenario, nor a pace, since a sheet has
    /// scenarios and speeds of its own.
    #[must_use]
    pub fn sheet_takes(&self, input: &Input) -> bool {
        let untouched = |name: &&str, value: f64| {
            let Ok(scenario) = self.scenario(name) else { return true };
            let mut case = Case { setup: self.base.clone(), scenario: scenario.clone() };
            (input.put)(&mut case, value);
            case.scenario == *scenario
                && case.setup.speed_m_per_s == self.base.speed_m_per_s
                && case.setup.cadence_steps_per_min == self.base.cadence_steps_per_min
        };
        SCENARIOS.iter().all(|n| untouched(n, input.least) && untouched(n, input.most))
    }

    /// The teaching sheet of a leg.
    ///
    /// # Errors
    /// A text that is wrong or has an input that a sheet cannot take ([`Self::sheet_takes`]); a scenario of
    /// [`SCENARIOS`] that is not on the shelf; a failed run.
    pub fn sheet(&self, text: &str) -> Result<Sheet, SimError> {
        let scenarios = SCENARIOS.iter().map(|n| self.scenario(n).cloned()).collect::<Result<Vec<_>, _>>()?;
        let variant = self.variant(text)?;
        let refused: Vec<&str> = INPUTS
            .iter()
            .filter(|i| variant.changes.iter().any(|c| c.key() == i.key) && !self.sheet_takes(i))
            .map(|i| i.key)
            .collect();
        if !refused.is_empty() {
            return Err(SimError::Usage(format!(
                "a sheet has scenarios and speeds of its own and cannot take {}: leave it out",
                refused.join(", ")
            )));
        }
        let setup = variant.case(&self.base, &scenarios[0])?.setup;
        sheet(&setup, &scenarios, None, &|| ())
    }

    /// Runs one to [`MOST_LEGS`] legs in a scenario, each with a animation of at most `frames` frames.
    ///
    /// # Errors
    /// An unknown scenario, too few or too many legs, a text that is wrong. A leg that cannot run is reported
    /// in its place.
    pub fn answer<T: AsRef<str> + Sync>(
        &self,
        scenario: &str,
        legs: &[T],
        frames: usize,
    ) -> Result<Answer, SimError> {
        if legs.is_empty() || legs.len() > MOST_LEGS {
            return Err(SimError::Usage(format!("one to four legs are run, not {}", legs.len())));
        }
        let scenario = self.scenario(scenario)?;
        let variants: Vec<Variant> =
            legs.iter().map(|t| self.variant(t.as_ref())).collect::<Result<_, _>>()?;
        let key = |v: &Variant| format!("{}|{frames}|{}", scenario.name, v.written);
        let known: Vec<Option<Arc<Leg>>> = variants.iter().map(|v| self.memory.find(&key(v))).collect();
        let run = |(variant, known): (&Variant, &Option<Arc<Leg>>)| match known {
            Some(leg) => Ok(Ok(Arc::clone(leg))),
            None => match self.leg(variant, scenario, frames) {
                // what the inputs are to blame for is told of the whole request
                Err(e @ (SimError::OutOfRange { .. } | SimError::Usage(_))) => Err(e),
                Err(why) => Ok(Err(Failed { why, setup: variant.case(&self.base, scenario)?.setup })),
                Ok(leg) => {
                    let leg = Arc::new(leg);
                    self.memory.keep(key(variant), &leg);
                    Ok(Ok(leg))
                }
            },
        };
        // one leg that was moved is run right here: handing it to another thread would only cost time
        let legs: Vec<Result<Arc<Leg>, Failed>> = if known.iter().filter(|k| k.is_none()).count() < 2 {
            variants.iter().zip(&known).map(run).collect::<Result<_, SimError>>()?
        } else {
            variants.par_iter().zip(&known).map(run).collect::<Result<_, SimError>>()?
        };
        let first = legs[0].as_ref().ok();
        let said = |leg: &Result<Arc<Leg>, Failed>| {
            Some(noticed(&first?.assessment, &leg.as_ref().ok()?.assessment))
        };
        let noticed = legs.iter().enumerate().map(|(i, l)| if i == 0 { None } else { said(l) }).collect();
        Ok(Answer { scenario: scenario.clone(), legs, noticed })
    }

    fn leg(&self, variant: &Variant, scenario: &Scenario, frames: usize) -> Result<Leg, SimError> {
        let case = variant.case(&self.base, scenario)?;
        // for the eye and for words this precision is plenty; `run` uses the tighter one
        let trial = case.trial(Detail::default(), Tolerances::scan())?;
        let motion = trial.run()?;
        Ok(Leg {
            resolved: case.setup.resolve()?,
            setup: case.setup,
            assessment: Assessment::of_motion(&trial, &motion)?,
            notes: motion.notes(),
            stride_time_s: match &motion {
                Motion::Walk(w) => Some(w.stride.drive.stride_time_s),
                _ => None,
            },
            animation: Animation::of(&trial, &motion, frames),
        })
    }
}
