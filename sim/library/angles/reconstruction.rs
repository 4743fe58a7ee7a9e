//! One user's walk, put together from the angles: phase, steps, path of the hip, toe-off, straight knee.

use super::hip_path::{HipPath, Toe};
use super::landmarks::Landmarks;
use super::stride::{Phase, Steps};
use super::user::{Angle, User};
use crate::error::SimError;
use crate::numerics::statistics::median;

/// Part of the stride in which a prosthetic knee is straight under load, percent, and how many of the least
/// values there are taken.
const STRAIGHT_PCT: std::ops::RangeInclusive<usize> = 10..=40;
const STRAIGHT_VALUES: usize = 16;

/// What follows from one user's angles.
#[derive(Debug, Clone, PartialEq)]
pub struct Reconstruction {
    /// The user.
    pub user: User,
    /// How both strides lie to each other.
    pub phase: Phase,
    /// Steps and stride time.
    pub steps: Steps,
    /// Path of the hip.
    pub path: HipPath,
    /// Toe-off and how well the toe stands before.
    pub toe: Toe,
    /// Knee flexion from the straight stance over the prosthetic stride, degrees at whole percents.
    pub knee_deg: Vec<f64>,
    /// Instants that all strides have in common.
    pub landmarks: Landmarks,
}

impl Reconstruction {
    /// All of it.
    ///
    /// # Errors
    /// Sides that do not fit, a stride time out of range, a toe that slides or never leaves the ground.
    pub fn of(user: User) -> Result<Self, SimError> {
        let phase = Phase::find(&user)?;
        let steps = Steps::of(&user, &phase)?;
        let toe = Toe::follow(&user, &phase)?;
        let path = HipPath::fit(&user, &phase, &steps)?;
        let knee_deg = from_straight(user.prosthetic.deg(Angle::KneeFlexion)).0;
        let sound_contact = phase.sound_contact_pct as f64 / 100.0;
        let landmarks = Landmarks::find(&user, &knee_deg, sound_contact, toe.toe_off);
        Ok(Self { user, phase, steps, path, toe, knee_deg, landmarks })
    }

    /// Flexion at toe-off from the straight stance, degrees.
    #[must_use]
    pub fn knee_at_toe_off_deg(&self) -> f64 {
        self.knee_deg[(100.0 * self.toe.toe_off).round() as usize]
    }
}

/// Flexion at whole percents counted from the straight stance, and what was taken off: the median of the least values
/// under load.
#[must_use]
pub fn from_straight(knee_deg: &[f64]) -> (Vec<f64>, f64) {
    let mut stance = knee_deg[STRAIGHT_PCT].to_vec();
    stance.sort_by(f64::total_cmp);
    stance.truncate(STRAIGHT_VALUES);
    let straight = median(stance).unwrap_or(0.0);
    (knee_deg.iter().map(|k| k - straight).collect(), straight)
}
