//! The experiment of a rule on one sample: runs of named scenarios with named inputs.

use super::evidence::{Abort, CatchLoadMode, KneeChoice, RunSpec};
use super::fixtures::Fixtures;
use super::measure::MotionMeasure;
use super::population::{Sample, range_of};
use super::scenario_names::{HURRIED, SIT, STAND, STUMBLE, WALK};
use crate::case::inputs::Case;
use crate::error::SimError;
use crate::motion::trial::Detail;
use crate::motion::{Motion, Trial, WalkMotion};
use crate::numerics::statistics::rounded;
use crate::numerics::tolerances::Tolerances;
use crate::outcome::Assessment;
use crate::units::GRAVITY_M_PER_S2;

/// Places at which a disagreeing sample is looked at over the range of the input that was moved.
const OVER_RANGE: usize = 5;

/// One sample with one way to set the catch load.
pub struct Experiment<'a> {
    /// What is the same for all samples.
    pub fixtures: &'a Fixtures,
    /// Sample.
    pub sample: &'a Sample,
    /// Catch load.
    pub catch_load: CatchLoadMode,
}

impl<'a> Experiment<'a> {
    /// An experiment on a sample.
    #[must_use]
    pub fn new(fixtures: &'a Fixtures, sample: &'a Sample, catch_load: CatchLoadMode) -> Self {
        Self { fixtures, sample, catch_load }
    }

    /// The sample's run in a scenario before anything is changed, with the inputs that act in it. Ramp and
    /// stairs keep their own hip moment (none): it outweighs the valve.
    #[must_use]
    pub fn base(&self, scenario: &'static str) -> RunSpec {
        let acts = |key: &str| match key {
            "sitting_share" => scenario == SIT,
            "stumble_flexion_deg" => scenario == STUMBLE,
            "stand_slope_deg" => scenario == STAND,
            "hip_moment_n_m_per_kg" => matches!(scenario, STUMBLE | WALK),
            // loaded tasks neglect the spring, standing has no motion
            "assist_n_m" | "speed_m_per_s" => matches!(scenario, WALK | HURRIED),
            "mass_kg" | "stature_m" => true,
            _ => scenario != STAND,
        };
        let mut values = self.sample.values.clone();
        values.retain(|key, _| acts(key));
        if let Some(pct) = self.catch_pct().filter(|_| acts("catch-load")) {
            values.insert("catch-load", pct);
        }
        if self.fixtures.is_fixed("stature_m") && values.contains_key("mass_kg") {
            // a fixed stature does not follow the mass, even where the set-up derives it from the mass
            values.insert("stature_m", rounded(self.fixtures.setup.person.stature_m(), 3));
        }
        let prosthesis = self.sample.prosthesis;
        RunSpec { scenario, knee: KneeChoice::Setup, prosthesis, landing: false, session: None, values }
    }

    /// The catch load, percent; none if it is fixed.
    pub(super) fn catch_pct(&self) -> Option<f64> {
        let as_sampled = self.sample.separate.get("catch-load").copied()?;
        Some(match self.catch_load {
            CatchLoadMode::AsSampled => as_sampled,
            CatchLoadMode::ScaledToWeight => {
                let mass_kg =
                    self.sample.values.get("mass_kg").copied().unwrap_or(self.fixtures.setup.person.mass_kg);
                let file = &self.fixtures.setup.knee.stance.catch_load;
                let target_n = self.sample.rule_draws.catch_share_bw * mass_kg * GRAVITY_M_PER_S2;
                let pct = 100.0 * (target_n - file.least_n) / (file.greatest_n - file.least_n);
                rounded(pct, 1).clamp(0.0, 100.0)
            }
        })
    }

    fn case(&self, run: &RunSpec) -> Result<Case, SimError> {
        let scenario = self.fixtures.scenarios.iter().find(|s| s.name == run.scenario);
        let scenario = scenario.cloned().ok_or_else(|| SimError::Unknown {
            kind: "scenario",
            name: run.scenario.into(),
            known: self.fixtures.scenarios.iter().map(|s| s.name.as_str()).collect::<Vec<_>>().join(", "),
        })?;
        let mut case = Case { setup: self.fixtures.setup.clone(), scenario };
        if let Some(p) = run.prosthesis.and_then(|i| self.fixtures.prostheses.get(i)) {
            case.setup.prosthesis = p.clone();
        }
        if run.knee == KneeChoice::ConstantFriction {
            case.setup.knee = self.fixtures.friction_knee.clone();
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

    /// The value of an input before it is moved.
    ///
    /// # Errors
    /// The joint has no such setting.
    pub fn value_before(&self, run: &RunSpec, key: &'static str) -> Result<f64, Abort> {
        if let Some(v) = run.values.get(key).or_else(|| self.sample.separate.get(key)) {
            return Ok(*v);
        }
        let own = self.case(run)?.get(key);
        own.ok_or(Abort::Undecided("this joint has no such setting"))
    }

    /// The trial of a run; `never_closing` adds the stride with a valve that never closes.
    ///
    /// # Errors
    /// As [`crate::case::setup::Setup::trial`].
    pub fn trial(&self, run: &RunSpec, never_closing: bool) -> Result<Trial, Abort> {
        let mut case = self.case(run)?;
        case.setup = case.setup.paced_for(&case.scenario);
        Ok(case.trial(Detail { never_closing, landing: run.landing, ..Detail::NONE }, Tolerances::scan())?)
    }

    /// A run with an input lower, and the same with it higher by the drawn step. A sampled value is moved towards
    /// the low end so that both stay in the range; a fixed one is one of the two.
    ///
    /// # Errors
    /// The joint has no such setting.
    pub fn moved_pair(&self, run: &RunSpec, key: &'static str) -> Result<[RunSpec; 2], Abort> {
        let before = self.value_before(run, key)?;
        let step = self.sample.steps.get(key).copied().unwrap_or(0.0);
        let (low, high, decimals) = range_of(key).map_or((0.0, 100.0, 2), |r| (r.low, r.high, r.decimals));
        let sampled = self.sample.values.contains_key(key) || self.sample.separate.contains_key(key);
        let from = if sampled {
            rounded(low + (before - low) * (high - low - step) / (high - low), decimals.max(1))
        } else if before + step <= high {
            before
        } else {
            before - step
        };
        let limited = |v: f64| if sampled { v.clamp(low, high) } else { v };
        Ok([run.with(key, from), run.with(key, limited(rounded(from + step, 6)))])
    }

    /// Runs with an input at `OVER_RANGE` even places from the low end of its range to the high one.
    #[must_use]
    pub fn over_range(&self, run: &RunSpec, key: &'static str) -> Vec<RunSpec> {
        let (low, high) = range_of(key).map_or((0.0, 100.0), |r| (r.low, r.high));
        let at = |i: usize| low + (high - low) * i as f64 / (OVER_RANGE - 1) as f64;
        (0..OVER_RANGE).map(|i| run.with(key, rounded(at(i), 6))).collect()
    }

    /// Motion of a run.
    ///
    /// # Errors
    /// The run cannot be followed, or the inputs are wrong.
    pub fn motion(&self, run: &RunSpec) -> Result<Motion, Abort> {
        Ok(self.trial(run, false)?.run()?)
    }

    /// Motion of a run with what a measure needs.
    ///
    /// # Errors
    /// As [`Experiment::motion`].
    pub fn motion_for(&self, run: &RunSpec, measure: MotionMeasure) -> Result<Motion, Abort> {
        Ok(self.trial(run, measure.needs_never_closing())?.run()?)
    }

    /// A stride.
    ///
    /// # Errors
    /// As [`Experiment::motion`].
    pub fn walk(&self, run: &RunSpec) -> Result<Box<WalkMotion>, Abort> {
        match self.motion(run)? {
            Motion::Walk(w) => Ok(w),
            _ => Err(Abort::Undecided("the scenario is no walking")),
        }
    }

    /// The motion of a run and its assessment by the limits of the scenario.
    ///
    /// # Errors
    /// As [`Experiment::motion`].
    pub fn assessed(&self, run: &RunSpec) -> Result<(Motion, Assessment), Abort> {
        let trial = self.trial(run, false)?;
        let motion = trial.run()?;
        let assessment = Assessment::of_motion(&trial, &motion)?;
        Ok((motion, assessment))
    }
}
