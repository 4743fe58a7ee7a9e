//! Models and scenarios read beforehand, by name, and the runs of legs with different settings in one of the
//! scenarios, each with an animation. The page and the lesson file ask here. Texts are those of `compare`
//! (`KEY=VALUE,…`) and pass the same checks; a model is taken only from this set, so no text leads to a file.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Instant;

use rayon::prelude::*;

use super::animation::Animation;
use super::challenges::scenario_with_goals;
use super::sheet::{SCENARIOS, Sheet, sheet};
use super::worst::worst_instant_s;
use crate::body::{Person, Prosthesis};
use crate::case::inputs::{Case, INPUTS, Input};
use crate::case::setup::{Resolved, Setup};
use crate::case::variant::{Change, Variant, WrittenChange};
use crate::case::variant::{Model, parse};
use crate::error::SimError;
use crate::joint::KneeFile;
use crate::motion::Motion;
use crate::motion::trial::Detail;
use crate::numerics::tolerances::Tolerances;
use crate::outcome::Assessment;
use crate::scenario::Scenario;
use crate::study::observation::observation;

/// Most legs in one answer.
pub const MOST_LEGS: usize = 4;

/// Models and scenarios.
#[derive(Debug, Clone)]
pub struct ModelSet {
    /// Set-up that the texts change; it has every drive that the scenarios need.
    pub base: Setup,
    /// Scenarios, in the order in which they are offered.
    pub scenarios: Vec<Scenario>,
    /// People.
    pub people: Vec<Person>,
    /// Prostheses below the knee axis.
    pub prostheses: Vec<Prosthesis>,
    /// Knees.
    pub knees: Vec<KneeFile>,
    /// The latest runs.
    pub cache: RunCache,
}

/// The latest runs: when one of two legs changes, the other does not run again.
#[derive(Debug, Clone, Default)]
pub struct RunCache(Arc<Mutex<VecDeque<CachedRun>>>);

/// The question as a key, and the leg.
type CachedRun = (String, Arc<LegRunView>);

/// Legs in the cache.
const MOST_CACHED: usize = 16;

impl RunCache {
    fn find(&self, key: &str) -> Option<Arc<LegRunView>> {
        let legs = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        legs.iter().find(|(k, _)| k == key).map(|(_, leg)| Arc::clone(leg))
    }

    fn keep(&self, key: String, leg: &Arc<LegRunView>) {
        let mut legs = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        legs.push_front((key, Arc::clone(leg)));
        legs.truncate(MOST_CACHED);
    }
}

/// Runs of one to four legs in one scenario.
#[derive(Debug)]
pub struct LegRuns {
    /// The scenario.
    pub scenario: Scenario,
    /// One per text, or why it cannot run.
    pub legs: Vec<Result<Arc<LegRunView>, FailedRun>>,
    /// What a watcher would notice of each leg compared with the first; none for the first.
    pub noticed: Vec<Option<String>>,
}

/// A leg that cannot run.
#[derive(Debug)]
pub struct FailedRun {
    /// Why not.
    pub why: SimError,
    /// Its inputs.
    pub setup: Setup,
}

/// Run of one leg as the page shows it.
#[derive(Debug, Clone)]
pub struct LegRunView {
    /// Inputs.
    pub setup: Setup,
    /// The inputs resolved to numbers.
    pub resolved: Resolved,
    /// Outcomes and limits.
    pub assessment: Assessment,
    /// Instant at which each limit is worst in the animation, s; none where it belongs to no instant.
    pub worst_s: Vec<Option<f64>>,
    /// Remarks for the reader.
    pub notes: Vec<String>,
    /// Stride time for walking, s.
    pub stride_time_s: Option<f64>,
    /// The motion to look at.
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

impl ModelSet {
    /// The same models for answers that have to be there at this instant: what is not is [`SimError::Stopped`].
    #[must_use]
    pub fn until(&self, deadline: Instant) -> Self {
        let mut models = self.clone();
        models.base.deadline = Some(deadline);
        models
    }

    /// The scenario of a name.
    ///
    /// # Errors
    /// None of that name.
    pub fn scenario(&self, name: &str) -> Result<&Scenario, SimError> {
        named("scenario", &self.scenarios, |s| &s.name, name)
    }

    /// Reads `KEY=VALUE,…` with models of this set.
    ///
    /// # Errors
    /// As [`parse`]; a model that is not in this set.
    pub fn variant(&self, text: &str) -> Result<Variant, SimError> {
        let change = |wanted| {
            Ok(match wanted {
                WrittenChange::Model(Model::Person, n) => {
                    Change::Person(Box::new(named("person", &self.people, |m| &m.name, &n)?.clone()))
                }
                WrittenChange::Model(Model::Prosthesis, n) => {
                    let found = named("prosthesis", &self.prostheses, |m| &m.name, &n)?;
                    Change::Prosthesis(Box::new(found.clone()))
                }
                WrittenChange::Model(Model::Knee, n) => {
                    Change::Knee(Box::new(named("knee", &self.knees, |m| &m.name, &n)?.clone()))
                }
                WrittenChange::Value(input, value) => Change::Value(input, value),
            })
        };
        let changes = parse(text)?.into_iter().map(change).collect::<Result<_, SimError>>()?;
        Ok(Variant { written: text.trim().to_owned(), changes })
    }

    /// Whether a sheet can take an input. It cannot take inputs of a scenario or a pace, since a sheet has
    /// scenarios and speeds of its own.
    #[must_use]
    pub fn sheet_takes(&self, input: &Input) -> bool {
        let untouched = |name: &&str, value: f64| {
            let Ok(scenario) = self.scenario(name) else { return true };
            let mut case = Case { setup: self.base.clone(), scenario: scenario.clone() };
            (input.set)(&mut case, value);
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
    /// [`SCENARIOS`] that is not in this set; a failed run.
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

    /// Runs one to [`MOST_LEGS`] legs in a scenario, each with an animation of at most `frames` frames.
    ///
    /// # Errors
    /// An unknown scenario, too few or too many legs, a text that is wrong. A leg that cannot run is reported
    /// in its place.
    pub fn answer<T: AsRef<str> + Sync>(
        &self,
        scenario: &str,
        legs: &[T],
        frames: usize,
    ) -> Result<LegRuns, SimError> {
        if legs.is_empty() || legs.len() > MOST_LEGS {
            return Err(SimError::Usage(format!("one to four legs are run, not {}", legs.len())));
        }
        let with_goals = scenario_with_goals(&self.scenarios, scenario);
        let scenario = match &with_goals {
            Some(scenario) => scenario,
            None => self.scenario(scenario)?,
        };
        let variants: Vec<Variant> =
            legs.iter().map(|t| self.variant(t.as_ref())).collect::<Result<_, _>>()?;
        let key = |v: &Variant| format!("{}|{frames}|{}", scenario.name, v.written);
        let known: Vec<Option<Arc<LegRunView>>> = variants.iter().map(|v| self.cache.find(&key(v))).collect();
        let run = |(variant, known): (&Variant, &Option<Arc<LegRunView>>)| match known {
            Some(leg) => Ok(Ok(Arc::clone(leg))),
            None => match self.leg(variant, scenario, frames) {
                // errors of the inputs, and the end of the time, refuse the whole request
                Err(e @ (SimError::OutOfRange { .. } | SimError::Usage(_) | SimError::Stopped)) => Err(e),
                Err(why) => Ok(Err(FailedRun { why, setup: variant.case(&self.base, scenario)?.setup })),
                Ok(leg) => {
                    let leg = Arc::new(leg);
                    self.cache.keep(key(variant), &leg);
                    Ok(Ok(leg))
                }
            },
        };
        // a single leg runs on this thread: another one would only cost time
        let legs: Vec<Result<Arc<LegRunView>, FailedRun>> =
            if known.iter().filter(|k| k.is_none()).count() < 2 {
                variants.iter().zip(&known).map(run).collect::<Result<_, SimError>>()?
            } else {
                variants.par_iter().zip(&known).map(run).collect::<Result<_, SimError>>()?
            };
        let first = legs[0].as_ref().ok();
        let said = |leg: &Result<Arc<LegRunView>, FailedRun>| {
            Some(observation(&first?.assessment, &leg.as_ref().ok()?.assessment))
        };
        let noticed = legs.iter().enumerate().map(|(i, l)| if i == 0 { None } else { said(l) }).collect();
        Ok(LegRuns { scenario: scenario.clone(), legs, noticed })
    }

    fn leg(&self, variant: &Variant, scenario: &Scenario, frames: usize) -> Result<LegRunView, SimError> {
        let case = variant.case(&self.base, scenario)?;
        // the tolerances of a scan suffice for an animation and rounded numbers; `run` uses tighter ones
        let trial = case.trial(Detail::default(), Tolerances::scan())?;
        let motion = trial.run()?;
        let assessment = Assessment::of_motion(&trial, &motion)?;
        Ok(LegRunView {
            resolved: case.setup.resolve()?,
            setup: case.setup,
            notes: assessment.notes(&motion),
            worst_s: assessment.limits.iter().map(|l| worst_instant_s(&motion, &l.limit.outcome)).collect(),
            assessment,
            stride_time_s: match &motion {
                Motion::Walk(w) => Some(w.stride.drive.stride_time_s),
                _ => None,
            },
            animation: Animation::of(&trial, &motion, frames),
        })
    }
}
