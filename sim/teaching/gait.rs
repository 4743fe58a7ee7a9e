//! Where hip, foot and sound leg of a walking person are drawn: over the foot that stands.
//!
//! The hip follows [`HipPath`]. From 95 % of the stride on it comes down on the leg as it lands, straight or bent; then the
//! landing follows, in which everything is computed. Toes bend under load: a tip that would be in the ground lies on it,
//! at the place where the foot stands. Where the knee bends later than hip and thigh go on, the foot can neither stand nor
//! pass: the tip drags, and is drawn where it is computed.

use super::sound_leg::{SoundAngles, SoundLeg};
use crate::motion::WalkMotion;
use crate::motion::hip_path::{HipPath, MID_SWING, share};
use crate::motion::stance_tasks::LegRun;
use crate::numerics::math;

/// A standing foot that moves less has bent toes; one that moves further drags, m.
const STANDS_WITHIN_M: f64 = 0.01;
/// A tip in swing that is less deep in the ground touches it, m.
const TOUCHES_M: f64 = 0.002;

/// Hip of the sound side below that of the prosthetic side while the prosthesis swings, per stature: 11 mm at 1.75 m, as
/// seen along both legs of the nine users.
const SOUND_HIP_LOWER: f64 = 0.0065;

/// Tip of the foot.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Tip {
    /// Forward and up, m.
    pub at_m: [f64; 2],
    /// It drags over the ground.
    pub drags: bool,
}

/// The sound leg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoundPose {
    /// Its hip, m.
    pub hip_m: [f64; 2],
    /// Its angles.
    pub angles: SoundAngles,
}

/// Hip of the loaded leg, from its contact point, m.
fn landed_hip(run: &LegRun, after_s: f64) -> [f64; 2] {
    run.system.hip_on(run.trajectory.mode_at(after_s), &run.trajectory.at(after_s))
}

/// A walking person.
pub struct Gait<'a> {
    walk: &'a WalkMotion,
    path: HipPath<'a>,
    /// Height that the hip has more at heel contact over the leg that lands, m.
    landing_up_m: f64,
    /// Where the foot lands, counted as the path of the hip is, m.
    landed_at_m: f64,
    sound: Option<SoundLeg>,
}

impl<'a> Gait<'a> {
    /// The person of a walk.
    #[must_use]
    pub fn new(walk: &'a WalkMotion) -> Self {
        let path = walk.stride.hip_path(walk.foot);
        let contact = walk.stride.drive.stride_time_s;
        let [x, z] = path.at(contact);
        let landed = walk.landing.as_ref().ok().map(|run| landed_hip(run, 0.0));
        let [from, up] = landed.unwrap_or([path.at(0.0)[0], path.at(0.0)[1]]);
        let mut gait = Self { walk, path, landing_up_m: up - z, landed_at_m: x - from, sound: None };
        gait.sound = Some(SoundLeg::new(&walk.stride.drive, &|t| gait.sound_hip(t)));
        gait
    }

    fn contact_s(&self) -> f64 {
        self.walk.stride.drive.stride_time_s
    }

    fn landing(&self, t: f64) -> Option<(&'a LegRun, f64)> {
        let after = t - self.contact_s();
        self.walk
            .landing
            .as_ref()
            .ok()
            .filter(|_| after > 0.0)
            .map(|run| (run, after.min(run.trajectory.end.0)))
    }

    /// Hip, forward and up, m.
    #[must_use]
    pub fn hip(&self, t: f64) -> [f64; 2] {
        if let Some((run, after)) = self.landing(t) {
            let [x, z] = landed_hip(run, after);
            return [self.landed_at_m + x, z];
        }
        let contact = self.contact_s();
        let [x, z] = self.path.at(t);
        [x, z + share(t, MID_SWING[1] * contact, contact) * self.landing_up_m]
    }

    /// Hip of the sound side, m: the pelvis lists, down on the prosthetic side as its foot leaves the ground, then up.
    fn sound_hip(&self, t: f64) -> [f64; 2] {
        let drive = &self.walk.stride.drive;
        let [x, z] = self.hip(t);
        let stands = share(t, drive.opposite_contact_s, drive.toe_off_s)
            * (1.0 - share(t, MID_SWING[1] * self.contact_s(), self.contact_s()));
        let alone = self.path.prescribed(t)[1] - SOUND_HIP_LOWER * drive.stature_m;
        [x, z + stands * (alone - z)]
    }

    /// The tip of the foot at thigh and knee angles, rad.
    #[must_use]
    pub fn tip(&self, t: f64, thigh_rad: f64, knee_rad: f64) -> Tip {
        let (foot, hip) = (&self.walk.foot, self.hip(t));
        let ((sin, cos), thigh_m) = (math::sin_cos(thigh_rad), self.walk.stride.thigh.length);
        let [x, z] = foot.tip_from_knee(thigh_rad - knee_rad);
        let computed = [hip[0] + thigh_m * sin + x, hip[1] - thigh_m * cos + z];
        let loaded = t <= self.walk.stride.drive.toe_off_s;
        let [standing, landed] = self.footholds_m();
        let foothold = if loaded { standing } else { landed };
        let lies = |x: f64| Tip { at_m: [x, 0.0], drags: false };
        let in_ground = -computed[1];
        if in_ground <= 0.0 {
            Tip { at_m: computed, drags: false }
        } else if self.landing(t).is_some() || loaded && (computed[0] - foothold).abs() <= STANDS_WITHIN_M {
            lies(foothold)
        } else if !loaded && in_ground <= TOUCHES_M {
            lies(computed[0])
        } else {
            Tip { at_m: computed, drags: true }
        }
    }

    /// Where the tip lies while the foot stands, and after it has landed, m.
    #[must_use]
    pub fn footholds_m(&self) -> [f64; 2] {
        [0.0, self.landed_at_m].map(|at| at + self.walk.foot.standing_tip_m())
    }

    /// The sound leg.
    #[must_use]
    pub fn sound(&self, t: f64) -> Option<SoundPose> {
        let hip_m = self.sound_hip(t);
        self.sound.map(|leg| SoundPose { hip_m, angles: leg.at(t, hip_m) })
    }
}
