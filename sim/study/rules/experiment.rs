//! How a rule is tried on one sample: runs of named scenarios with named inputs, and what they show.

use super::fixtures::Bench;
use super::measure::Read;
use super::population::{Sample, Values, drawn};
use super::table::{HURRIED, SIT, STAND, STUMBLE, WALK};
use crate::case::inputs::Case;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::motion::trial::Detail;
use crate::motion::{Motion, Trial, WalkMotion};
use crate::numerics::statistics::rounded;
use crate::numerics::tolerances::Tolerances;
use crate::outcome::Assessment;
use crate::units::GRAVITY_M_PER_S2;

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
    /// A whole fitting session in place of one scenario, with this order of settings.
    pub session: Option<&'static [SettingName]>,
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

impl Sense {
    /// Of an effect in the direction of the rule; one no greater than `noise` is no difference.
    #[must_use]
    pub fn of(effect: f64, noise: f64) -> Self {
        match effect {
            e if e > noise => Self::Agrees,
            e if e < -noise => Self::Disagrees,
            _ => Self::NoDifference,
        }
    }

    /// Of something that is so or not.
    #[must_use]
    pub fn so(agrees: bool) -> Self {
        if agrees { Self::Agrees } else { Self::Disagrees }
    }
}

/// What a sample shows.
#[derive(Debug, Clone)]
pub struct Seen {
    /// Which way.
    pub sense: Sense,
    /// Size of the effect in the direction of the rule; infinite where one reading is never reached.
    pub effect: f64,
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
}

impl<'a> Try<'a> {
    /// A sample on the bench.
    #[must_use]
    pub fn new(bench: &'a Bench, sample: &'a Sample, catch: Catch) -> Self {
        Self { bench, sample, catch }
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
            "assist_n_m" | "speed_m_per_s" => matches!(scenario, WALK | HURRIED),
            "mass_kg" | "stature_m" => true,
            _ => scenario != STAND,
        };
        let mut values = self.sample.values.clone();
        values.retain(|key, _| acts(key));
        if let Some(pct) = self.catch_pct().filter(|_| acts("catch-load")) {
            values.insert("catch-load", pct);
        }
        if self.bench.holds("stature_m") && values.contains_key("mass_kg") {
            // a stature that is held stays, also where the set-up takes it from the mass
            values.insert("stature_m", rounded(self.bench.setup.person.stature_m(), 3));
        }
        let prosthesis = self.sample.prosthesis;
        Run { scenario, joint: Joint::Own, prosthesis, landing: false, session: None, values }
    }

    /// The catch load of this try, percent; none if it is held.
    pub(super) fn catch_pct(&self) -> Option<f64> {
        let as_sampled = self.sample.apart.get("catch-load").copied()?;
        Some(match self.catch {
            Catch::AsSampled => as_sampled,
            Catch::Scaled => {
                let mass_kg =
                    self.sample.values.get("mass_kg").copied().unwrap_or(self.bench.setup.person.mass_kg);
                let file = &self.bench.setup.knee.stance.catch_load;
                let wanted_n = self.sample.of_rules.catch_share_bw * mass_kg * GRAVITY_M_PER_S2;
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
        if run.scenario == HURRIED {
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
        if let Some(v) = run.values.get(key).or_else(|| self.sample.apart.get(key)) {
            return Ok(*v);
        }
        let own = self.case(run)?.get(key);
        own.ok_or(Stop::Undecided("this joint has no such setting"))
    }

    /// The trial of a run; `never_closing` adds the stride with a valve that never closes.
    ///
    /// # Errors
    /// As [`crate::case::setup::Setup::trial`].
    pub fn trial(&self, run: &Run, never_closing: bool) -> Result<Trial, Stop> {
        let mut case = self.case(run)?;
        case.setup = case.setup.paced_for(&case.scenario);
        Ok(case.trial(Detail { never_closing, landing: run.landing, ..Detail::NONE }, Tolerances::scan())?)
    }

    /// A run with an input lower, and the same with it higher by the drawn step. Sampled values are drawn
    /// closer together so that both stay in the range; a held one is kept as one of the two.
    ///
    /// # Errors
    /// The joint has no such setting.
    pub fn moved_pair(&self, run: &Run, key: &'static str) -> Result<[Run; 2], Stop> {
        let own = self.own(run, key)?;
        let step = self.sample.steps.get(key).copied().unwrap_or(0.0);
        let (low, high, decimals) = drawn(key).map_or((0.0, 100.0, 2), |r| (r.low, r.high, r.decimals));
        let sampled = self.sample.values.contains_key(key) || self.sample.apart.contains_key(key);
        let from = if sampled {
            rounded(low + (own - low) * (high - low - step) / (high - low), decimals.max(1))
        } else if own + step <= high {
            own
        } else {
            own - step
        };
        let held_in = |v: f64| if sampled { v.clamp(low, high) } else { v };
        Ok([run.with(key, from), run.with(key, held_in(rounded(from + step, 6)))])
    }

    /// Motion of a run.
    ///
    /// # Errors
    /// The run cannot be followed, or the inputs are wrong.
    pub fn motion(&self, run: &Run) -> Result<Motion, Stop> {
        Ok(self.trial(run, false)?.run()?)
    }

    /// Motion of a run with what a reading takes.
    ///
    /// # Errors
    /// As [`Try::motion`].
    pub fn motion_read(&self, run: &Run, read: Read) -> Result<Motion, Stop> {
        Ok(self.trial(run, read.takes_never_closing())?.run()?)
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
        let motion = trial.run()?;
        let assessment = Assessment::of_motion(&trial, &motion)?;
        Ok((motion, assessment))
    }
}
