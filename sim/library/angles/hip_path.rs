//! The path of the hip from feet that stand on the belt, and toe-off from the toe that leaves it.
//!
//! A standing foot goes back with the belt, flat at first, then turning about its ball. The chain of the leg
//! from there to the hip gives the hip's place in the room: from the sound leg while the prosthesis swings,
//! from the prosthetic leg in its own stance. One series is fitted to both by least squares,
//!
//! ```text
//! hip(p) = c_foot + Σ_{k ≤ 5} aₖ cos 2πkp + bₖ sin 2πkp,      + rows (10⁻³ k²) aₖ = 0, (10⁻³ k²) bₖ = 0
//! ```
//! p fraction of the prosthetic stride, c_foot an offset for each foot. The added rows keep the series small
//! where neither foot constrains the path. The acceleration follows from the series.
//!
//! Check: from the sound foot's contact to toe-off both feet stand, so the ball of the prosthetic foot must
//! stay on its place of the belt as seen along the sound leg. Toe-off is where it has moved 1.5 cm.

use crate::numerics::math;
use std::f64::consts::TAU;

use nalgebra::DMatrix;

use super::leg::Leg;
use super::series::PERCENT;
use super::stride::{Phase, Steps};
use super::user::User;
use crate::error::SimError;
use crate::scenario::Harmonics;

/// Harmonics of the path.
pub const PATH_HARMONICS: usize = 5;
/// Harmonics of the angles from which the path is taken.
const ANGLE_HARMONICS: usize = 8;
/// Harmonics of thigh and knee from which the toe's place is taken.
const TOE_HARMONICS: usize = 10;
/// Weight of the smoothing rows, times k².
const SMOOTHING: f64 = 1e-3;
/// Part of the sound stride from which the path is taken, percent: the sound foot stands.
const SOUND_STANCE_PCT: std::ops::RangeInclusive<usize> = 8..=58;
/// Part of the prosthetic stride from which the path is taken, percent: the prosthetic foot stands.
const PROSTHETIC_STANCE_PCT: std::ops::RangeInclusive<usize> = 10..=44;
/// Percents after the sound foot's contact in which the prosthetic toe is followed.
const FOLLOWED_PCT: std::ops::Range<usize> = 2..40;
/// Places, counted from the first followed, whose mean is the toe's resting place.
const RESTING: std::ops::Range<usize> = 2..7;
/// Places over which the toe should not move.
const AT_REST: std::ops::Range<usize> = 0..9;
/// First of them at which it may leave.
const MAY_LEAVE: usize = 6;
/// The toe leaves the ground when it has moved by the first, m, if it has moved by the second 2 % later.
const LEFT_M: [f64; 2] = [0.015, 0.03];
/// Greatest distance of a standing toe from its resting place, m; more means that the tables do not fit.
pub const GREATEST_SLIDE_M: f64 = 0.04;

/// Path of the hip in the room over the prosthetic stride, but for its steady part; m.
#[derive(Debug, Clone, PartialEq)]
pub struct HipPath {
    /// Forward.
    pub forward: Harmonics,
    /// Up.
    pub up: Harmonics,
    /// Standard deviation of what the series leaves, m.
    pub misfit_m: f64,
}

impl HipPath {
    /// Least squares over both stances.
    ///
    /// # Errors
    /// The equations cannot be solved.
    pub fn fit(user: &User, phase: &Phase, steps: &Steps) -> Result<Self, SimError> {
        let sound = Leg::smoothed(&user.sound, user.stature_m, ANGLE_HARMONICS, true);
        let own = Leg::smoothed(&user.prosthetic, user.stature_m, ANGLE_HARMONICS, true);
        let belt_m = user.speed_m_per_s * steps.stride_time_s;
        let shift = phase.sound_contact_pct as f64 / PERCENT as f64;
        let place = |leg: &Leg, i: usize, foot: usize, shift: f64| {
            let p = i as f64 / PERCENT as f64;
            let [x, z] = leg.hip_over_standing_foot(i);
            (foot, p + shift, [x - belt_m * p, z])
        };
        let places: Vec<(usize, f64, [f64; 2])> = SOUND_STANCE_PCT
            .map(|i| place(&sound, i, 0, shift))
            .chain(PROSTHETIC_STANCE_PCT.map(|i| place(&own, i, 1, 0.0)))
            .collect();
        let unknowns = 2 + 2 * PATH_HARMONICS;
        let mut equations = DMatrix::zeros(places.len() + 2 * PATH_HARMONICS, unknowns);
        let mut right = DMatrix::zeros(equations.nrows(), 2);
        for (row, (foot, p, place)) in places.iter().enumerate() {
            equations[(row, *foot)] = 1.0;
            for k in 1..=PATH_HARMONICS {
                let (sin, cos) = math::sin_cos(TAU * k as f64 * p);
                equations[(row, 2 * k)] = cos;
                equations[(row, 2 * k + 1)] = sin;
            }
            (right[(row, 0)], right[(row, 1)]) = (place[0], place[1]);
        }
        for k in 1..=PATH_HARMONICS {
            for unknown in [2 * k, 2 * k + 1] {
                equations[(places.len() + unknown - 2, unknown)] = SMOOTHING * (k * k) as f64;
            }
        }
        let solution = equations.clone().svd(true, true).solve(&right, 1e-12);
        let solution = solution.map_err(|why| SimError::Inconsistent {
            field: format!("{}, path of the hip", user.subject),
            why: why.into(),
        })?;
        let left =
            (&right - &equations * &solution).rows(0, places.len()).iter().copied().collect::<Vec<_>>();
        let series = |column: usize| Harmonics {
            mean: 0.0,
            cos: (1..=PATH_HARMONICS).map(|k| solution[(2 * k, column)]).collect(),
            sin: (1..=PATH_HARMONICS).map(|k| solution[(2 * k + 1, column)]).collect(),
        };
        Ok(Self { forward: series(0), up: series(1), misfit_m: deviation(&left) })
    }
}

/// What the prosthetic toe does after the sound foot's contact.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Toe {
    /// Toe-off, fraction of the prosthetic stride.
    pub toe_off: f64,
    /// Standard deviation of the toe's place on the belt while it stands, m.
    pub at_rest_m: f64,
    /// Greatest distance from its resting place in the same time, m.
    pub slide_m: f64,
}

impl Toe {
    /// Follows the ball of the prosthetic foot as seen along the sound leg.
    ///
    /// # Errors
    /// A toe that slides more than [`GREATEST_SLIDE_M`], or that never leaves its place.
    pub fn follow(user: &User, phase: &Phase) -> Result<Self, SimError> {
        let sound = Leg::smoothed(&user.sound, user.stature_m, ANGLE_HARMONICS, true);
        let own = Leg::smoothed(&user.prosthetic, user.stature_m, TOE_HARMONICS, false);
        let wrong = |why: String| {
            Err(SimError::Inconsistent { field: format!("{}, prosthetic toe", user.subject), why })
        };
        // both feet go back with the belt: a place as seen from the sound foot is a place on the belt
        let at = |i: usize| {
            let own_percent = (i + phase.sound_contact_pct) % PERCENT;
            sound.hip_over_standing_foot(i)[0] + own.ball_ahead_of_hip(own_percent)
        };
        let mut toe: Vec<f64> = FOLLOWED_PCT.map(at).collect();
        let rest = toe[RESTING].iter().sum::<f64>() / RESTING.len() as f64;
        toe.iter_mut().for_each(|x| *x -= rest);
        let standing = &toe[AT_REST];
        let slide_m = standing.iter().fold(0.0_f64, |most, x| most.max(x.abs()));
        let at_rest_m = deviation(standing);
        if slide_m > GREATEST_SLIDE_M {
            return wrong(format!(
                "slides {:.0} mm from its place on the belt while both feet stand; at most {:.0} mm are needed: \
                 the sides, the angles of a foot or the stature are not those of one walk",
                1e3 * slide_m,
                1e3 * GREATEST_SLIDE_M
            ));
        }
        let leaves = |i: &usize| toe[*i] > LEFT_M[0] && toe[(i + 2).min(toe.len() - 1)] > LEFT_M[1];
        let Some(i) = (MAY_LEAVE..toe.len()).find(leaves) else {
            return wrong("never leaves its place on the belt; a toe-off is needed".into());
        };
        let pct = i + FOLLOWED_PCT.start + phase.sound_contact_pct;
        Ok(Self { toe_off: pct as f64 / PERCENT as f64, at_rest_m, slide_m })
    }
}

/// Standard deviation of the numbers themselves.
fn deviation(of: &[f64]) -> f64 {
    let mean = of.iter().sum::<f64>() / of.len() as f64;
    (of.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / of.len() as f64).sqrt()
}
