//! A leg as a chain of thigh, shank and foot in the sagittal plane; x forward, z up.
//!
//! ```text
//! ψ = θ − φ                     shank from vertical, positive with the ankle ahead of the knee
//! α = dorsiflexion + ψ          pitch of the foot, toes up positive
//! hip − ankle = −(Ls sin ψ + Lt sin θ),  Ls cos ψ + Lt cos θ
//! ankle − ball, foot on the ground:  q = min(α, 0)
//!               −b cos q − h sin q,  −b sin q + h cos q
//! ```
//! θ thigh from vertical, φ knee flexion, b the ball's distance ahead of the ankle, h the ankle's height.
//! Lengths from stature by Drillis & Contini 1966; b is judgement \[J\].

use super::series::smoothed;
use super::user::{Angle, SideAngles};
use crate::body::anthropometry::{
    KNEE_TO_ANKLE_PER_STATURE as SHANK, KNEE_TO_SOLE_PER_STATURE, THIGH_PER_STATURE as THIGH,
};
use crate::numerics::math;
use crate::units::DEG;

/// Ball of the foot ahead of the ankle, m \[J\].
pub const BALL_M: f64 = 0.14;
const ANKLE_HEIGHT: f64 = KNEE_TO_SOLE_PER_STATURE - SHANK;

/// Angles of a leg at whole percents of its stride, rad, and its size.
#[derive(Debug, Clone)]
pub struct Leg {
    stature_m: f64,
    thigh: Vec<f64>,
    shank: Vec<f64>,
    foot_pitch: Vec<f64>,
}

impl Leg {
    /// The leg as measured.
    #[must_use]
    pub fn measured(side: &SideAngles, stature_m: f64) -> Self {
        let [knee, ankle] = [Angle::KneeFlexion, Angle::AnkleDorsiflexion].map(|a| side.deg(a).to_vec());
        Self::of(&side.thigh_deg(), &knee, &ankle, stature_m)
    }

    /// The leg with so many harmonics of thigh and knee, and of the ankle if asked for.
    #[must_use]
    pub fn smoothed(side: &SideAngles, stature_m: f64, harmonics: usize, ankle_too: bool) -> Self {
        let ankle = side.deg(Angle::AnkleDorsiflexion);
        Self::of(
            &smoothed(&side.thigh_deg(), harmonics),
            &smoothed(side.deg(Angle::KneeFlexion), harmonics),
            &if ankle_too { smoothed(ankle, harmonics) } else { ankle.to_vec() },
            stature_m,
        )
    }

    fn of(thigh_deg: &[f64], knee_deg: &[f64], ankle_deg: &[f64], stature_m: f64) -> Self {
        let thigh: Vec<f64> = thigh_deg.iter().map(|a| a * DEG).collect();
        let shank: Vec<f64> = thigh.iter().zip(knee_deg).map(|(t, k)| t - k * DEG).collect();
        let foot_pitch = shank.iter().zip(ankle_deg).map(|(s, a)| s + a * DEG).collect();
        Self { stature_m, thigh, shank, foot_pitch }
    }

    /// Ankle from the hip at percent `i`, m: forward, up.
    #[must_use]
    pub fn ankle_from_hip(&self, i: usize) -> [f64; 2] {
        let (thigh, shank) = (self.thigh[i], self.shank[i]);
        let (lt, ls) = (THIGH * self.stature_m, SHANK * self.stature_m);
        [lt * math::sin(thigh) + ls * math::sin(shank), -lt * math::cos(thigh) - ls * math::cos(shank)]
    }

    /// Hip from where the ankle of the flat foot would be, at ground height, for a foot that is flat or
    /// turns about its ball, m. Valid while the foot stands.
    #[must_use]
    pub fn hip_over_standing_foot(&self, i: usize) -> [f64; 2] {
        let (sin, cos) = math::sin_cos(self.foot_pitch[i].min(0.0));
        let height = ANKLE_HEIGHT * self.stature_m;
        let [x, z] = self.ankle_from_hip(i);
        [BALL_M - BALL_M * cos - height * sin - x, -BALL_M * sin + height * cos - z]
    }

    /// Ball of the foot ahead of the hip, m.
    #[must_use]
    pub fn ball_ahead_of_hip(&self, i: usize) -> f64 {
        let (sin, cos) = math::sin_cos(self.foot_pitch[i]);
        self.ankle_from_hip(i)[0] + BALL_M * cos + ANKLE_HEIGHT * self.stature_m * sin
    }
}
