//! How a rule is tried on one sample: runs of named scenarios with named inputs, and what they show.

use std::cell::OnceCell;
use std::collections::HashSet;

use super::population::{Sample, Values};
use super::table::{CROWD, SIT, STAND, STUMBLE, WALK};
use crate::body::Prosthesis;
use crate::error::SimError;
use crate::joint::KneeFile;
use crate::motion::trial::Detail;
use crate::motion::{Motion, Precision, Trial, WalkMotion};
use crate::outcome::Assessment;
use crate::quantity::GRAVITY_M_PER_S2;
use crate::scenario::Scenario;
use crate::study::sampling::rounded;
use crate::study::{Case, Setup, run_scan};

/// What is tried on, the same for all samples.
#[derive(Debug)]
pub struct Bench {
    /// Set-up that the sampled inputs are put into.
    pub setup: Setup,
    /// Prostheses to draw from.
    pub prostheses: Vec<Prosthesis>,
    /// Joint that rule 6 compares with.
    pub friction_knee: KneeFile,
    /// Scenarios of the rules, by their names.
    pub scenarios: Vec<Scenario>,
    /// Names of the population that stay as the set-up has them.
    pub held: HashSet<String>,
    /// How a reader names all this on the command line.
    pub names: Names,
}

/// Options of `run` that name the models.
#[derive(Debug, Clone, Default)]
pub struct Names {
    /// `--person`.
    pub person: String,
    /// `--knee`.
    pub knee: String,
    /// `--knee` of the joint that rule 6 compares with.
    pub friction_knee: String,
    /// `--prosthesis`, one for each to draw from.
    pub prostheses: Vec<String>,
    /// `--prosthesis` of the set-up.
    pub prosthesis: String,
    /// `--library`, if one was given.
    pub library: Option<String>,
}

/// The catch load of a try.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Catch {
    /// Drawn over the joint's range, or as held.
    AsSampled,
    /// A drawn share of body weight.
    Scaled,
}

impl Catch {
    /// As printed.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::AsSampled => "as sampled",
            Self::Scaled => "scaled",
        }
    }
}

/// Which joint a run has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Joint {
    /// That of the set-up.
    Own,
    /// That of rule 6.
    Friction,
}

/// A run by its inputs.
#[derive(Debug, Clone)]
pub struct Run {
    /// Scenario.
    pub scenario: &'static str,
    /// Joint.
    pub joint: Joint,
    /// Prosthesis of the bench; that of the set-up if it is held.
    pub prosthesis: Option<usize>,
    /// Whether the landing after a stride is run too.
    pub landing: bool,
    /// Inputs put into the set-up.
    pub values: Values,
}

impl Run {
    /// The same with one input changed.
    #[must_use]
    pub fn with(&self, key: &'static str, value: f64) -> Self {
        let mut run = self.clone();
        run.values.insert(key, value);
        run
    }

    /// The same without an input of its own.
    #[must_use]
    pub fn without(&self, key: &str) -> Self {
        let mut run = self.clone();
        run.values.remove(key);
        run
    }
}

/// Why a sample decides nothing, or an error of the set-up.
#[derive(Debug)]
pub enum Stop {
    /// The statement makes no sense for this sample, or a run could not be followed.
    Undecided(&'static str),
    /// The inputs are wrong.
    Error(SimError),
}

impl From<SimError> for Stop {
    fn from(e: SimError) -> Self {
        match e {
            SimError::FootLifts { .. } => Self::Undecided("the foot would leave the ground"),
            SimError::CannotRun(_) => Self::Undecided("the scenario cannot run"),
            SimError::Integration { .. } => Self::Undecided("the integration gave up"),
            SimError::EnergyBalance { .. } => Self::Undecided("the energy balance did not close"),
            other => Self::Error(other),
        }
    }
}

/// Which way a sample points.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sense {
    /// As the rule says.
    Agrees,
    /// The other way.
    Disagrees,
    /// No difference beyond the integration's errors.
    NoDifference,
}

/// What a sample shows.
#[derive(Debug, Clone)]
pub struct Seen {
    /// Which way.
    pub sense: Sense,
    /// Size of the effect in the direction of the rule, where it is a number.
    pub effect: Option<f64>,
    /// What was seen, in words.
    pub said: String,
    /// The runs it was seen in.
    pub runs: Vec<Run>,
}

/// Result of one statement on one sample.
pub type Judged = Result<Seen, Stop>;

/// One sample on the bench, with one way to set the catch load.
pub struct Try<'a> {
    /// Bench.
    pub bench: &'a Bench,
    /// Sample.
    pub sample: &'a Sample,
    /// Catch load.
    pub catch: Catch,
    /// Result of rule 6, of which two statements speak.
    pub(super) spreads: OnceCell<Result<Spreads, &'static str>>,
}

/// Spreads over speed of [peak °, margin ms] with the own joint and with constant friction, and the runs;
/// none for the margin where a knee is never straight at one of the speeds.
#[derive(Debug, Clone)]
pub(super) struct Spreads {
    pub own: [Option<f64>; 2],
    pub friction: [Option<f64>; 2],
    pub runs: Vec<Run>,
}

impl<'a> Try<'a> {
    /// A sample on the bench.
    #[must_use]
    pub fn new(bench: &'a Bench, sample: &'a Sample, catch: Catch) -> Self {
        Self { bench, sample, catch, spreads: OnceCell::new() }
    }

    /// The sample's run in a scenario, before anything is changed, with the inputs that act in it. Ramp and
    /// stairs keep their own hip moment (none): it outweighs the valve.
    #[must_use]
    pub fn base(&self, scenario: &'static str) -> Run {
        let acts = |key: &str| match key {
            "sitting_share" => scenario == SIT,
            "stumble_flexion_deg" => scenario == STUMBLE,
            "stand_slope_deg" => scenario == STAND,
            "hip_moment_n_m_per_kg" => matches!(scenario, STUMBLE | WALK),
            // loaded tasks leave the spring out, standing has no motion
            "assist_n_m" | "speed_m_per_s" => matches!(scenario, WALK | CROWD),
            "mass_kg" | "stature_m" => true,
            _ => scenario != STAND,
        };
        let mut values = self.sample.values.clone();
        values.retain(|key, _| acts(key));
        if let Some(pct) = self.catch_pct().filter(|_| acts("catch-load")) {
            values.insert("catch-load", pct);
        }
        Run { scenario, joint: Joint::Own, prosthesis: self.sample.prosthesis, landing: false, values }
    }

    /// A value drawn besides the inputs.
    #[must_use]
    pub fn besides(&self, key: &str) -> f64 {
        self.sample.besides.get(key).copied().unwrap_or(0.0)
    }

    fn catch_pct(&self) -> Option<f64> {
        let as_sampled = self.sample.besides.get("catch-load").copied()?;
        Some(match self.catch {
            Catch::AsSampled => as_sampled,
            Catch::Scaled => {
                let mass_kg =
                    self.sample.values.get("mass_kg").copied().unwrap_or(self.bench.setup.person.mass_kg);
                let file = &self.bench.setup.knee.stance.catch_load;
                let wanted_n = self.besides("catch_share_bw") * mass_kg * GRAVITY_M_PER_S2;
                let pct = 100.0 * (wanted_n - file.least_n) / (file.greatest_n - file.least_n);
                rounded(pct, 1).clamp(0.0, 100.0)
            }
        })
    }

    fn case(&self, run: &Run) -> Result<Case, SimError> {
        let scenario = self.bench.scenarios.iter().find(|s| s.name == run.scenario);
        let scenario = scenario.cloned().ok_or_else(|| SimError::Unknown {
            kind: "scenario",
            name: run.scenario.into(),
            known: self.bench.scenarios.iter().map(|s| s.name.as_str()).collect::<Vec<_>>().join(", "),
        })?;
        let mut case = Case { setup: self.bench.setup.clone(), scenario };
        if let Some(p) = run.prosthesis.and_then(|i| self.bench.prostheses.get(i)) {
            case.setup.prosthesis = p.clone();
        }
        if run.joint == Joint::Friction {
            case.setup.knee = self.bench.friction_knee.clone();
        }
        if run.scenario == CROWD {
            // hurried walking has a pace of its own
            case.setup.speed_m_per_s = None;
            case.setup.cadence_steps_per_min = None;
        }
        for (key, value) in &run.values {
            case.set(key, *value)?;
        }
        Ok(case)
    }

    /// The value that an input has before it is moved.
    ///
    /// # Errors
    /// The joint has no such setting.
    pub fn own(&self, run: &Run, key: &'static str) -> Result<f64, Stop> {
        if let Some(v) = run.values.get(key).or_else(|| self.sample.besides.get(key)) {
            return Ok(*v);
        }
        let own = self.case(run)?.own(key);
        own.ok_or(Stop::Undecided("this joint has no such setting"))
    }

    /// The trial of a run; `comparisons` adds the strides that a stride is compared with.
    ///
    /// # Errors
    /// As [`Setup::trial`].
    pub fn trial(&self, run: &Run, comparisons: bool) -> Result<Trial, Stop> {
        let mut case = self.case(run)?;
        if !matches!(case.scenario.activity, crate::scenario::Activity::Walk(_)) {
            // a pace held on the command line is about walking
            case.setup.speed_m_per_s = None;
            case.setup.cadence_steps_per_min = None;
        }
        Ok(case.trial(Detail { comparisons, landing: run.landing, hip_band: false }, Precision::scan())?)
    }

    /// Motion of a run.
    ///
    /// # Errors
    /// The run cannot be followed, or the inputs are wrong.
    pub fn motion(&self, run: &Run) -> Result<Motion, Stop> {
        Ok(run_scan(&self.trial(run, false)?)?)
    }

    /// A stride.
    ///
    /// # Errors
    /// As [`Try::motion`].
    pub fn walk(&self, run: &Run) -> Result<Box<WalkMotion>, Stop> {
        match self.motion(run)? {
            Motion::Walk(w) => Ok(w),
            _ => Err(Stop::Undecided("the scenario is no walking")),
        }
    }

    /// A run held against the limits of its scenario, with its motion.
    ///
    /// # Errors
    /// As [`Try::motion`].
    pub fn assessed(&self, run: &Run) -> Result<(Motion, Assessment), Stop> {
        let trial = self.trial(run, false)?;
        let motion = run_scan(&trial)?;
        let assessment = Assessment::of_motion(&trial, &motion)?;
        Ok((motion, assessment))
    }
}
