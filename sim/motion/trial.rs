//! A trial: one scenario with one person, prosthesis and knee; and its motion.

use std::sync::Arc;
use std::time::Instant;

use super::hip_path::Foot;
use super::landing::land;
use super::segments::Segments;
use super::sitting::SitRun;
use super::stance_tasks::{self, LegRun};
use super::standing::{Standing, stand_aligned};
use super::stride::Stride;
use super::stride_cache::{StrideCache, StrideInputs, never_closing};
use crate::body::{Alignment, Person, Shank};
use crate::error::SimError;
use crate::joint::Knee;
use crate::numerics::tolerances::Tolerances;
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
    /// Instant after which it is not run any more.
    pub deadline: Option<Instant>,
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
    /// [`SimError::CannotRun`] if the scenario makes no sense with these inputs; the integrator's errors;
    /// [`SimError::Stopped`] after the deadline.
    pub fn run(&self) -> Result<Motion, SimError> {
        self.check_deadline()?;
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

    fn check_deadline(&self) -> Result<(), SimError> {
        if self.deadline.is_some_and(|deadline| Instant::now() > deadline) {
            Err(SimError::Stopped)
        } else {
            Ok(())
        }
    }

    fn run_once(&self) -> Result<Motion, SimError> {
        let segments = Segments::of(&self.person, &self.shank).aligned(self.alignment);
        let (knee, tolerances) = (&self.knee, &self.tolerances);
        Ok(match &self.scenario.activity {
            Activity::Walk(w) => Motion::Walk(Box::new(self.walk(w, segments)?)),
            Activity::Sit(s) => Motion::Sit(Box::new(SitRun::run(s, segments, knee, None, tolerances)?)),
            Activity::Ramp(r) => Motion::Ramp(Box::new(self.over_band(r, &r.hip_moment, |hip| {
                stance_tasks::ramp(r, segments, knee, hip, tolerances)
            })?)),
            Activity::Stairs(s) => Motion::Stairs(Box::new(self.over_band(s, &s.hip_moment, |hip| {
                stance_tasks::stairs(s, segments, knee, hip, tolerances)
            })?)),
            Activity::Stumble(s) => Motion::Stumble(Box::new(self.over_band(s, &s.hip_moment, |hip| {
                stance_tasks::stumble(s, segments, knee, hip, tolerances)
            })?)),
            Activity::Stand(s) => Motion::Stand(stand_aligned(s, &self.person, self.alignment)),
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
    /// As [`Stride::run`]; [`SimError::Stopped`] after the deadline.
    pub fn stride(&self, drive: &Drive, knee: Knee, beyond: f64) -> Result<Stride, SimError> {
        self.check_deadline()?;
        Stride::run(drive.clone(), knee, &self.person, self.shank, beyond, &self.tolerances)
    }

    fn walk(&self, walk: &Walk, segments: Segments) -> Result<WalkMotion, SimError> {
        let drive = self.resolved_drive(walk)?;
        let beyond = walk.beyond_heel_contact;
        let stride = self.stride(&drive, self.knee.clone(), beyond)?;
        let cache = self.stride_cache.clone().unwrap_or_default();
        let reference = |requested: bool, knee: &dyn Fn() -> Knee| -> Result<Option<Arc<Stride>>, SimError> {
            let inputs = || StrideInputs {
                drive: drive.clone(),
                knee: knee(),
                person: self.person.clone(),
                shank: self.shank,
                tolerances: self.tolerances,
            };
            requested.then(|| cache.stride(inputs())).transpose()
        };
        let never_closing = reference(self.detail.never_closing, &|| never_closing(&self.knee))?;
        let same_joint = self.comparison_knee == self.knee;
        let comparison =
            reference(self.detail.comparison_joint && !same_joint, &|| self.comparison_knee.clone())?;
        let hip = &walk.landing.hip_moment;
        let landing = |hip: f64| {
            land(&stride, &walk.landing, segments, hip, &self.tolerances)?.on_the_ground("landing")
        };
        // the stride is valid even if the foot does not stay down after it
        let landing_or_lift = |hip: f64| match self.detail.landing.then(|| landing(hip)) {
            None => Ok(Err(SimError::CannotRun("the landing was not asked for".into()))),
            Some(Err(e @ SimError::FootLifts { .. })) => Ok(Err(e)),
            Some(Err(e)) => Err(e),
            Some(Ok(run)) => Ok(Ok(run)),
        };
        let at_band = |hip: Option<f64>| -> Result<Option<LegRun>, SimError> {
            hip.map_or(Ok(None), |hip| Ok(landing_or_lift(hip)?.ok()))
        };
        let [least, most, without] = self.hip_moments(hip).map(at_band);
        Ok(WalkMotion {
            landing: landing_or_lift(hip.used_n_m_per_kg)?,
            landing_band: [least?, most?, without?],
            foot: self.foot(),
            stride,
            never_closing,
            comparison,
            same_joint,
        })
    }

    fn over_band<T: Clone>(
        &self,
        task: &T,
        hip: &HipMoment,
        run: impl Fn(f64) -> Result<LegRun, SimError>,
    ) -> Result<LegMotion<T>, SimError> {
        // the run is valid even if the foot does not stay down at an end of the band
        let at_band = |hip: Option<f64>| match hip.map(&run) {
            Some(Err(SimError::FootLifts { .. })) | None => Ok(None),
            Some(Ok(run)) => Ok(Some(run)),
            Some(Err(e)) => Err(e),
        };
        let [least, most, without] = self.hip_moments(hip).map(at_band);
        Ok(LegMotion { task: task.clone(), run: run(hip.used_n_m_per_kg)?, band: [least?, most?, without?] })
    }

    /// Hip moments besides the one used: least and most of the band, and none.
    fn hip_moments(&self, hip: &HipMoment) -> [Option<f64>; 3] {
        let Detail { hip_band, without_hip, .. } = self.detail;
        [
            hip_band.then_some(hip.least_n_m_per_kg),
            hip_band.then_some(hip.most_n_m_per_kg),
            (without_hip && hip.least_n_m_per_kg > 0.0).then_some(0.0),
        ]
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
