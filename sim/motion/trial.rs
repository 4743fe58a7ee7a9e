//! A trial: one scenario with one person, prosthesis and knee; and its motion.

use std::sync::Arc;

use rayon::prelude::*;

use super::hip_path::Foot;
use super::landing::land;
use super::segments::Segments;
use super::sitting::SitRun;
use super::stance_tasks::{self, LegPlan, LegRun};
use super::standing::{Standing, stand_aligned};
use super::stride::{Stride, StridePlan};
use super::stride_cache::{StrideCache, StrideInputs, never_closing};
use crate::body::{Alignment, Person, Shank};
use crate::error::SimError;
use crate::joint::Knee;
use crate::numerics::tolerances::{Method, Tolerances};
use crate::scenario::{
    Activity, Drive, Footing, HipMoment, Pace, Ramp, Scenario, Stairs, Stumble, Walk, WalkingDrive,
};

/// All inputs of a motion.
#[derive(Debug, Clone)]
pub struct Trial {
    /// What is done, and its limits.
    pub scenario: Scenario,
    /// Who does it.
    pub person: Person,
    /// Limb below the knee.
    pub shank: Shank,
    /// Where the foot stands under it.
    pub alignment: Alignment,
    /// Joint with its settings.
    pub knee: Knee,
    /// Joint whose toe height is the reference.
    pub comparison_knee: Knee,
    /// Walking drive; needed for walking.
    pub drive: Option<WalkingDrive>,
    /// Error tolerances.
    pub tolerances: Tolerances,
    /// What is run besides the motion itself.
    pub detail: Detail,
    /// Reference strides of earlier trials; for scans, in which they are often the same.
    pub stride_cache: Option<Arc<StrideCache>>,
}

/// What is run besides the motion itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Detail {
    /// The stride with a stance valve that never closes, beside a walking stride.
    pub never_closing: bool,
    /// The stride with the comparison joint, beside a walking stride.
    pub comparison_joint: bool,
    /// The landing after a walking stride.
    pub landing: bool,
    /// The band over the hip moment.
    pub hip_band: bool,
    /// The loaded leg without hip moment, where that lies below the band.
    pub without_hip: bool,
}

impl Detail {
    /// The motion itself and nothing else.
    pub const NONE: Self = Self {
        never_closing: false,
        comparison_joint: false,
        landing: false,
        hip_band: false,
        without_hip: false,
    };
}

impl Default for Detail {
    fn default() -> Self {
        Self { never_closing: true, comparison_joint: true, landing: true, hip_band: true, without_hip: true }
    }
}

/// Walking: the stride, its reference strides, and the landing after it.
pub struct WalkMotion {
    /// The stride.
    pub stride: Stride,
    /// The same with a stance valve that never closes, if asked for.
    pub never_closing: Option<Arc<Stride>>,
    /// The same with the comparison joint, if asked for and not the joint itself.
    pub comparison: Option<Arc<Stride>>,
    /// The joint is the comparison joint.
    pub same_joint: bool,
    /// Landing with the hip moment used, or why the foot does not stay down.
    pub landing: Result<LegRun, SimError>,
    /// Landing with the least and the most hip moment of the band, and without any; none where not requested or
    /// where the foot does not stay down.
    pub landing_band: [Option<LegRun>; 3],
    /// The foot, for the height of its tip.
    pub foot: Foot,
}

/// A loaded task with its band over the hip moment.
pub struct LegMotion<T> {
    /// What was done.
    pub task: T,
    /// With the hip moment used.
    pub run: LegRun,
    /// With the least and the most hip moment of the band, and without any; none where not requested or where the
    /// foot does not stay down.
    pub band: [Option<LegRun>; 3],
}

impl LegMotion<Ramp> {
    /// Flexion from which the knee counts as yielding, degrees: more where the extension stop keeps it more bent.
    #[must_use]
    pub fn yields_from_deg(&self) -> f64 {
        self.task.yields_from_deg + self.run.start_beyond_deg(self.task.start_flexion_deg)
    }
}

impl LegMotion<Stairs> {
    /// The same, counted from the flexion at the start.
    #[must_use]
    pub fn yields_from_deg(&self) -> f64 {
        let asked = self.task.start_flexion_deg;
        asked + self.task.yields_from_deg + self.run.start_beyond_deg(asked)
    }
}

/// Runs of the loaded leg: with the hip moment used, with the least and the most of the band, and without any.
const LEGS: usize = 4;
/// Trials that one thread runs side by side: enough to fill the lanes, and few enough for all threads.
const TRIALS_AT_ONCE: usize = 4;

/// Reference strides, each known or to be run.
type References = [Option<Result<Arc<Stride>, Box<StrideInputs>>>; 2];

/// A trial before its loaded legs.
enum Begun {
    /// A stride, whose landing follows.
    Walk(Box<WalkMotion>),
    /// A loaded task.
    Loaded,
    /// There is no loaded leg.
    Done(Motion),
}

/// A motion.
pub enum Motion {
    /// Walking.
    Walk(Box<WalkMotion>),
    /// Sitting down.
    Sit(Box<SitRun>),
    /// Ramp.
    Ramp(Box<LegMotion<Ramp>>),
    /// Stairs.
    Stairs(Box<LegMotion<Stairs>>),
    /// Stumble.
    Stumble(Box<LegMotion<Stumble>>),
    /// Standing.
    Stand(Standing),
}

impl Trial {
    /// Runs it. Where tolerances looser than the default do not close the energy balance or the integration
    /// fails, it runs again with the default ones.
    ///
    /// # Errors
    /// [`SimError::CannotRun`] if the scenario makes no sense with these inputs; the integrator's errors.
    pub fn run(&self) -> Result<Motion, SimError> {
        match self.run_once() {
            Err(SimError::EnergyBalance { .. } | SimError::Integration { .. })
                if self.tolerances.fixed_step_s.is_none()
                    && self.tolerances.relative > Tolerances::default().relative =>
            {
                Self { tolerances: Tolerances::default(), ..self.clone() }.run_once()
            }
            done => done,
        }
    }

    fn run_once(&self) -> Result<Motion, SimError> {
        let begun = self.begin()?;
        let runs = self.leg_plans(&begun)?.map(|plan| plan.map(|plan| plan.run(&self.tolerances)));
        self.finish(begun, runs)
    }

    /// What comes before the loaded legs.
    fn begin(&self) -> Result<Begun, SimError> {
        Ok(match &self.scenario.activity {
            Activity::Walk(w) => {
                let (plans, references) = self.stride_plans(w)?;
                let strides = plans.into_iter().map(StridePlan::run);
                Begun::Walk(Box::new(self.walk(strides, references)?))
            }
            Activity::Sit(s) => {
                let run = SitRun::run(s, self.segments(), &self.knee, None, &self.tolerances)?;
                Begun::Done(Motion::Sit(Box::new(run)))
            }
            Activity::Stand(s) => Begun::Done(Motion::Stand(stand_aligned(s, &self.person, self.alignment))),
            Activity::Ramp(_) | Activity::Stairs(_) | Activity::Stumble(_) => Begun::Loaded,
        })
    }

    fn segments(&self) -> Segments {
        Segments::of(&self.person, &self.shank).aligned(self.alignment)
    }

    /// The loaded legs: with the hip moment used, and over its band.
    fn leg_plans(&self, begun: &Begun) -> Result<[Option<LegPlan>; LEGS], SimError> {
        let (segments, knee) = (self.segments(), &self.knee);
        let plan = |hip: f64| match (&self.scenario.activity, begun) {
            (Activity::Walk(w), Begun::Walk(walk)) => {
                Ok(self.detail.landing.then(|| land(&walk.stride, &w.landing, segments, hip)))
            }
            (Activity::Ramp(r), _) => stance_tasks::ramp(r, segments, knee, hip).map(Some),
            (Activity::Stairs(s), _) => stance_tasks::stairs(s, segments, knee, hip).map(Some),
            (Activity::Stumble(s), _) => stance_tasks::stumble(s, segments, knee, hip).map(Some),
            _ => Ok(None),
        };
        let hip = match &self.scenario.activity {
            Activity::Walk(w) => &w.landing.hip_moment,
            Activity::Ramp(r) => &r.hip_moment,
            Activity::Stairs(s) => &s.hip_moment,
            Activity::Stumble(s) => &s.hip_moment,
            Activity::Sit(_) | Activity::Stand(_) => return Ok([const { None }; LEGS]),
        };
        let [used, least, most, without] = self.hip_moments(hip).map(|hip| hip.map_or(Ok(None), plan));
        Ok([used?, least?, most?, without?])
    }

    /// The motion from its loaded legs.
    fn finish(
        &self,
        begun: Begun,
        runs: [Option<Result<LegRun, SimError>>; LEGS],
    ) -> Result<Motion, SimError> {
        // a motion is valid even if the foot does not stay down after it, or at an end of the band
        let lift = |run: Result<LegRun, SimError>, phase| match run.and_then(|run| run.on_the_ground(phase)) {
            Err(e @ SimError::FootLifts { .. }) => Ok(Err(e)),
            Err(e) => Err(e),
            Ok(run) => Ok(Ok(run)),
        };
        let phase = match &self.scenario.activity {
            Activity::Walk(_) => "landing",
            Activity::Ramp(_) => "ramp",
            Activity::Stairs(_) => "stairs",
            _ => "stumble",
        };
        let [used, band @ ..] = runs.map(|run| run.map(|run| lift(run, phase)).transpose());
        let used = used?;
        let [least, most, without] = band;
        let band = [least?, most?, without?].map(|run| run.and_then(Result::ok));
        let not_asked_for = || Err(SimError::CannotRun(format!("the {phase} was not asked for")));
        let used = used.unwrap_or_else(not_asked_for);
        Ok(match (begun, &self.scenario.activity) {
            (Begun::Done(motion), _) => motion,
            (Begun::Walk(walk), _) => {
                Motion::Walk(Box::new(WalkMotion { landing: used, landing_band: band, ..*walk }))
            }
            (_, Activity::Ramp(r)) => Motion::Ramp(Box::new(LegMotion { task: r.clone(), run: used?, band })),
            (_, Activity::Stairs(s)) => {
                Motion::Stairs(Box::new(LegMotion { task: s.clone(), run: used?, band }))
            }
            (_, Activity::Stumble(s)) => {
                Motion::Stumble(Box::new(LegMotion { task: s.clone(), run: used?, band }))
            }
            _ => unreachable!("an activity without a loaded leg is done before"),
        })
    }

    /// The drive of this person at the scenario's pace.
    ///
    /// # Errors
    /// No drive file, or a pace outside it.
    pub fn resolved_drive(&self, walk: &Walk) -> Result<Drive, SimError> {
        let WalkingDrive { file, base } =
            self.drive.as_ref().ok_or_else(|| SimError::CannotRun("walking needs a walking drive".into()))?;
        let (leg, thigh) = (self.person.leg_length_m(), self.person.thigh_length_m());
        let pace: Pace = walk.pace(file, leg, thigh)?;
        let drive = Drive::new(file, leg, thigh, pace)?.aligned(self.alignment);
        base.as_ref().map_or(Ok(drive.clone()), |base| drive.compared_with(base, leg))
    }

    /// The foot as it stands under this person.
    #[must_use]
    pub fn foot(&self) -> Foot {
        let stature = self.person.stature_m();
        Foot {
            footing: Footing::rolling(stature).aligned(self.alignment, stature),
            toe_m: self.alignment.raised_toe_m(&self.person),
            knee_to_sole_m: self.person.knee_to_sole_m(),
        }
    }

    /// One stride with a given joint.
    ///
    /// # Errors
    /// As [`Stride::run`].
    pub fn stride(&self, drive: &Drive, knee: Knee, beyond: f64) -> Result<Stride, SimError> {
        Stride::run(drive.clone(), knee, &self.person, self.shank, beyond, &self.tolerances)
    }

    /// The strides of walking that have to be run: its own, then the reference strides that are not known.
    fn stride_plans(&self, walk: &Walk) -> Result<(Vec<StridePlan>, References), SimError> {
        let drive = self.resolved_drive(walk)?;
        let reference = |requested: bool, knee: &dyn Fn() -> Knee| {
            requested.then(|| {
                let (person, shank, tolerances) = (self.person.clone(), self.shank, self.tolerances);
                let inputs = StrideInputs { drive: drive.clone(), knee: knee(), person, shank, tolerances };
                let known = self.stride_cache.as_ref().and_then(|cache| cache.get(&inputs));
                known.ok_or_else(|| Box::new(inputs))
            })
        };
        let detail = self.detail;
        let references = [
            reference(detail.never_closing, &|| never_closing(&self.knee)),
            reference(detail.comparison_joint && !self.same_joint(), &|| self.comparison_knee.clone()),
        ];
        let (beyond, knee) = (walk.beyond_heel_contact, self.knee.clone());
        let own = StridePlan::new(drive, knee, &self.person, self.shank, (beyond, self.tolerances))?;
        let unknown = references.iter().flatten().filter_map(|r| r.as_ref().err());
        let plans = std::iter::once(Ok(own)).chain(unknown.map(|inputs| inputs.plan()));
        Ok((plans.collect::<Result<_, _>>()?, references))
    }

    fn same_joint(&self) -> bool {
        self.comparison_knee == self.knee
    }

    /// Walking without the landing, from its strides as they ran.
    fn walk(
        &self,
        mut strides: impl Iterator<Item = Result<Stride, SimError>>,
        references: References,
    ) -> Result<WalkMotion, SimError> {
        let mut next = || strides.next().unwrap_or_else(|| unreachable!("one stride for each plan"));
        let stride = next()?;
        let mut found = [None, None];
        for (found, reference) in found.iter_mut().zip(references) {
            *found = match reference {
                None => None,
                Some(Ok(known)) => Some(known),
                Some(Err(inputs)) => {
                    let stride = Arc::new(next()?);
                    if let Some(cache) = &self.stride_cache {
                        cache.insert(*inputs, Arc::clone(&stride));
                    }
                    Some(stride)
                }
            };
        }
        let [never_closing, comparison] = found;
        Ok(WalkMotion {
            landing: Err(SimError::CannotRun("the landing was not asked for".into())),
            landing_band: [const { None }; 3],
            foot: self.foot(),
            stride,
            never_closing,
            comparison,
            same_joint: self.same_joint(),
        })
    }

    /// The hip moment used, least and most of the band, and none.
    fn hip_moments(&self, hip: &HipMoment) -> [Option<f64>; LEGS] {
        let Detail { hip_band, without_hip, .. } = self.detail;
        [
            Some(hip.used_n_m_per_kg),
            hip_band.then_some(hip.least_n_m_per_kg),
            hip_band.then_some(hip.most_n_m_per_kg),
            (without_hip && hip.least_n_m_per_kg > 0.0).then_some(0.0),
        ]
    }

    /// Runs many trials on all cores, side by side where they have lanes (`numerics::lanes`), and measures each motion;
    /// in their order. A motion is that of [`Trial::run`] but for rounding.
    #[must_use]
    pub fn run_each<R: Send>(
        trials: &[Self],
        measure: impl Fn(&Self, Result<Motion, SimError>) -> R + Sync,
    ) -> Vec<R> {
        let chunk = |chunk: &[Self]| {
            let motions = chunk.iter().zip(Self::run_chunk(chunk));
            motions.map(|(trial, motion)| measure(trial, motion)).collect::<Vec<R>>()
        };
        trials.par_chunks(TRIALS_AT_ONCE).flat_map_iter(chunk).collect()
    }

    fn run_chunk(trials: &[Self]) -> Vec<Result<Motion, SimError>> {
        // what has no lanes, and what fails, runs alone
        let mut plans = Vec::new();
        let planned: Vec<_> = trials.iter().map(|trial| trial.plan_strides(&mut plans)).collect();
        let mut strides = StridePlan::run_all(plans).into_iter();
        let mut plans = Vec::new();
        let begun: Vec<_> = trials
            .iter()
            .zip(planned)
            .map(|(trial, planned)| {
                let begun = match planned? {
                    None => trial.begin().ok()?,
                    Some((count, references)) => {
                        // all of them, whether the first fails or not
                        let own: Vec<_> = strides.by_ref().take(count).collect();
                        Begun::Walk(Box::new(trial.walk(own.into_iter(), references).ok()?))
                    }
                };
                let legs = trial.leg_plans(&begun).ok()?;
                let planned = legs.each_ref().map(Option::is_some);
                plans.extend(legs.into_iter().flatten().map(|plan| (plan, trial.tolerances)));
                Some((begun, planned))
            })
            .collect();
        let mut runs = LegPlan::run_all(plans).into_iter();
        let finish = |(trial, begun): (&Self, Option<_>)| {
            let done = begun.and_then(|(begun, planned): (Begun, [bool; LEGS])| {
                let legs = planned.map(|planned| if planned { runs.next() } else { None });
                trial.finish(begun, legs).ok()
            });
            done.map_or_else(|| trial.run(), Ok)
        };
        trials.iter().zip(begun).map(finish).collect()
    }

    /// Adds the strides of a trial to those that run side by side: none for a trial that has no lanes, else how many of
    /// them there are, for walking.
    #[allow(clippy::option_option)]
    fn plan_strides(&self, plans: &mut Vec<StridePlan>) -> Option<Option<(usize, References)>> {
        let lanes = self.knee.has_lanes() && self.comparison_knee.has_lanes();
        let own_steps = self.tolerances.fixed_step_s.is_none();
        if !lanes || !own_steps || self.tolerances.method != Method::Reference {
            return None;
        }
        let Activity::Walk(walk) = &self.scenario.activity else { return Some(None) };
        let (own, references) = self.stride_plans(walk).ok()?;
        let count = own.len();
        plans.extend(own);
        Some(Some((count, references)))
    }
}

/// An impulse that holds the foot down and is worth a note, body weight · s.
const NOTED_IMPULSE_BW_S: f64 = 0.01;

impl Motion {
    /// Remarks on this motion that its outcomes do not show.
    #[must_use]
    pub fn notes(&self) -> Vec<String> {
        let mut notes = Vec::new();
        let mut held_down = |what: &str, run: &LegRun| {
            if run.held_down_bw_s > NOTED_IMPULSE_BW_S {
                notes.push(format!(
                    "{what}: the foot would leave the ground for a moment while the weight comes over \
                     (least load {:.2} of body weight); the model holds it down",
                    run.least_load_bw
                ));
            }
        };
        match self {
            Self::Walk(w) => {
                match &w.landing {
                    Ok(run) => held_down("landing", run),
                    Err(e) => notes.push(format!("the landing could not be followed: {e}")),
                }
                if w.stride.drive.clamped {
                    notes.push(format!(
                        "the speed asked for lies outside the published strides; the drive is held at {:.2} m/s",
                        w.stride.drive.speed_m_per_s
                    ));
                }
            }
            Self::Ramp(r) => held_down("ramp", &r.run),
            Self::Stairs(s) => held_down("stairs", &s.run),
            Self::Stumble(s) => held_down("stumble", &s.run),
            Self::Sit(_) | Self::Stand(_) => {}
        }
        notes
    }
}
