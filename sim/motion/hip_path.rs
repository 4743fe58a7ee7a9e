//! Place of the hip in walking: from the leg that stands, so that a foot on the ground stays where it is.
//!
//! The drive prescribes the *acceleration* of the hip. Its mean height and place follow from the prosthetic leg, which is
//! straight in stance:
//!
//! ```text
//! up to toe-off      hip = (1 − w) hip over the rolling foot + w hip over the tip of the foot
//! 70 to 95 %         x = x₀ + v t + ∬ x'',   z = c + ∬ z''
//!                    x₀, c: means of hip over the rolling foot − (v t + ∬ x''), − ∬ z'' from 10 to 44 % of the stride
//! between            the difference at toe-off fades
//! ```
//! Knee as the drive has it: straight, then released. Toes that bend under the load straighten as it leaves the foot: w
//! goes from 0 at the contact of the other foot to 1 at toe-off, while the tip stays where it is. So two joints have one
//! path of the hip, and the height of the toe over the ground is a number.
//!
//! c is uncertain by about 15 mm: seen along the sound leg of the nine users of `users-2020` the hip stands 12 mm lower
//! while the prosthesis swings, and the pelvis lifts the prosthetic side by 11 mm then (tests/page/sound_leg.rs).

use crate::numerics::math;
use crate::numerics::smooth::smoothstep;
use crate::scenario::{Drive, Footing};

/// Part of the stride in which the straight leg gives mean height and place of the hip.
const FROM_STANCE: [f64; 2] = [0.10, 0.44];
/// Points of that part.
const POINTS: usize = 35;
/// Stride fractions between which the foot swings past the standing leg and the toe may scuff: after it has left the
/// ground and before it turns up for landing.
pub const MID_SWING: [f64; 2] = [0.70, 0.95];

/// The foot below a knee: how it rolls, where its tip is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foot {
    /// The rolling foot.
    pub footing: Footing,
    /// Tip ahead of the shank line and below the knee axis, m.
    pub toe_m: [f64; 2],
    /// Knee axis to sole, m.
    pub knee_to_sole_m: f64,
}

impl Foot {
    /// Tip from the knee axis for a shank at this angle from vertical (ankle ahead of the knee positive), m: forward, up.
    #[must_use]
    pub fn tip_from_knee(&self, shank_rad: f64) -> [f64; 2] {
        let ((sin, cos), [ahead, down]) = (math::sin_cos(shank_rad), self.toe_m);
        [down * sin + ahead * cos, ahead * sin - down * cos]
    }

    /// Where the tip lies while the foot stands, ahead of the point on which an upright shank stands, m.
    #[must_use]
    pub fn standing_tip_m(&self) -> f64 {
        match self.footing {
            Footing::Rolling { offset_m, .. } => self.toe_m[0] - offset_m,
            Footing::Edge { ahead_m } => self.toe_m[0] - ahead_m,
        }
    }

    fn knee_rolling(&self, tilt_rad: f64) -> [f64; 2] {
        self.footing.knee(self.footing.region(tilt_rad), tilt_rad, self.knee_to_sole_m).at
    }

    fn knee_over_tip(&self, tilt_rad: f64) -> [f64; 2] {
        let [x, z] = self.tip_from_knee(-tilt_rad);
        [self.standing_tip_m() - x, -z]
    }
}

/// Path of the hip over a stride. Forward it counts from the point on which an upright shank stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HipPath<'a> {
    drive: &'a Drive,
    foot: Foot,
    stop_rad: f64,
    thigh_m: f64,
    /// x₀, c.
    mean_m: [f64; 2],
    /// What the path over the standing leg has more at toe-off, m.
    at_toe_off_m: [f64; 2],
}

impl<'a> HipPath<'a> {
    /// The path of a drive over this foot; `stop_rad` is the flexion of the straight knee.
    #[must_use]
    pub fn new(drive: &'a Drive, foot: Foot, stop_rad: f64, thigh_m: f64) -> Self {
        let mut path = Self { drive, foot, stop_rad, thigh_m, mean_m: [0.0; 2], at_toe_off_m: [0.0; 2] };
        let [from, to] = FROM_STANCE.map(|p| p * drive.stride_time_s);
        let differences = (0..POINTS)
            .map(|i| from + (to - from) * i as f64 / (POINTS - 1) as f64)
            .map(|t| difference(path.rolling(t), path.prescribed(t)));
        let sum = differences.fold([0.0; 2], |a, d| [a[0] + d[0], a[1] + d[1]]);
        path.mean_m = sum.map(|s| s / POINTS as f64);
        path.at_toe_off_m = difference(path.standing(drive.toe_off_s), path.prescribed(drive.toe_off_s));
        path
    }

    /// Mean height of the hip over the ground, c, m.
    #[must_use]
    pub fn mean_height_m(&self) -> f64 {
        self.mean_m[1]
    }

    /// Hip forward and up at an instant of the stride, m.
    #[must_use]
    pub fn at(&self, t: f64) -> [f64; 2] {
        let toe_off = self.drive.toe_off_s;
        if t <= toe_off {
            return self.standing(t);
        }
        let left = 1.0 - share(t, toe_off, MID_SWING[0] * self.drive.stride_time_s);
        let [x, z] = self.prescribed(t);
        [x + left * self.at_toe_off_m[0], z + left * self.at_toe_off_m[1]]
    }

    /// The same by the prescribed acceleration alone, m.
    #[must_use]
    pub fn prescribed(&self, t: f64) -> [f64; 2] {
        let d = self.drive;
        [self.mean_m[0] + d.speed_m_per_s * t + d.hip_forward_m(t), self.mean_m[1] + d.hip_height_m(t)]
    }

    /// Over the foot that stands.
    fn standing(&self, t: f64) -> [f64; 2] {
        let w = share(t, self.drive.opposite_contact_s, self.drive.toe_off_s);
        let (thigh, tilt) = self.angles(t);
        let (rolling, tip) = (self.foot.knee_rolling(tilt), self.foot.knee_over_tip(tilt));
        self.over([0, 1].map(|i| rolling[i] + w * (tip[i] - rolling[i])), thigh)
    }

    fn rolling(&self, t: f64) -> [f64; 2] {
        let (thigh, tilt) = self.angles(t);
        self.over(self.foot.knee_rolling(tilt), thigh)
    }

    fn over(&self, knee: [f64; 2], thigh_rad: f64) -> [f64; 2] {
        let (sin, cos) = math::sin_cos(thigh_rad);
        [knee[0] - self.thigh_m * sin, knee[1] + self.thigh_m * cos]
    }

    /// Thigh and forward tilt of the shank with the drive's own knee.
    fn angles(&self, t: f64) -> (f64, f64) {
        let bending = t > self.drive.preswing_start_s;
        let knee = self.stop_rad + if bending { self.drive.released_knee(t)[0] } else { 0.0 };
        let thigh = self.drive.kinematics(t).thigh;
        (thigh, knee - thigh)
    }
}

/// How far a smooth change from 0 to 1 between two instants has come.
#[must_use]
pub fn share(t: f64, from: f64, to: f64) -> f64 {
    smoothstep((t - from) / (to - from))
}

fn difference(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] - b[0], a[1] - b[1]]
}
