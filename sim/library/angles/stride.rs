//! Phase between both sides and stride time, from angles alone.
//!
//! The pelvis is one body seen from two strides. At the right shift its tilt agrees, while obliquity and
//! rotation, which change sign with the side, agree inversely:
//! score = ½ r(tilt) − r(obliquity) − r(rotation), 2.5 at best, r being the correlation over the stride.
//!
//! A step is the distance of both ankles at a contact plus what half a turn of the pelvis adds. Two steps
//! at the speed of the belt give the stride time.

use super::leg::Leg;
use super::series::PERCENT;
use super::user::{Angle, User};
use crate::error::SimError;
use crate::numerics::math;
use crate::numerics::statistics::correlation;
use crate::units::{DEG, within};

/// Distance of both hip joints, m \[J\].
const HIP_DISTANCE_M: f64 = 0.17;
/// Contacts of the sound foot that are tried, percent of the prosthetic stride.
const TRIED_PCT: std::ops::RangeInclusive<usize> = 35..=65;
/// Least score at which both strides can belong to one walk.
pub const LEAST_SCORE: f64 = 1.5;

/// How both strides lie to each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Phase {
    /// Contact of the sound foot, percent of the prosthetic stride.
    pub sound_contact_pct: usize,
    /// Agreement of the pelvis, 2.5 at best.
    pub score: f64,
}

impl Phase {
    /// The shift, in whole percents, at which the pelvis agrees best.
    ///
    /// # Errors
    /// A best score below [`LEAST_SCORE`], or a pelvis that does not move.
    pub fn find(user: &User) -> Result<Self, SimError> {
        let score = |shift: usize| {
            let r = |angle: Angle| {
                let own = user.prosthetic.deg(angle);
                let own: Vec<f64> = (0..PERCENT).map(|i| own[(i + shift) % PERCENT]).collect();
                correlation(&own, &user.sound.deg(angle)[..PERCENT])
            };
            0.5 * r(Angle::PelvisTilt) - r(Angle::PelvisObliquity) - r(Angle::PelvisRotation)
        };
        let mut best = Self { sound_contact_pct: *TRIED_PCT.start(), score: f64::NEG_INFINITY };
        for shift in TRIED_PCT {
            let score = score(shift);
            if !score.is_finite() {
                return Err(SimError::Inconsistent {
                    field: format!("{}, pelvis", user.subject),
                    why: "an angle of the pelvis does not change; moving angles are needed".into(),
                });
            }
            if score > best.score {
                best = Self { sound_contact_pct: shift, score };
            }
        }
        if best.score < LEAST_SCORE {
            return Err(SimError::Inconsistent {
                field: format!("{}, pelvis", user.subject),
                why: format!(
                    "both sides do not fit: phase score {:.2} of 2.5; at least {LEAST_SCORE} is needed",
                    best.score
                ),
            });
        }
        Ok(best)
    }
}

/// Lengths of both steps and the time of the stride.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Steps {
    /// Step that ends with contact of the prosthetic foot, m.
    pub prosthetic_m: f64,
    /// Step that ends with contact of the sound foot, m.
    pub sound_m: f64,
    /// Stride time T, s.
    pub stride_time_s: f64,
}

impl Steps {
    /// From the angles at both contacts.
    ///
    /// # Errors
    /// A stride time outside 0.5 to 3 s.
    pub fn of(user: &User, phase: &Phase) -> Result<Self, SimError> {
        let own = Leg::measured(&user.prosthetic, user.stature_m);
        let other = Leg::measured(&user.sound, user.stature_m);
        let rotation = user.prosthetic.deg(Angle::PelvisRotation);
        let range = |f: fn(f64, f64) -> f64| rotation.iter().copied().reduce(f).unwrap_or(0.0);
        let turn = HIP_DISTANCE_M * math::sin(0.5 * (range(f64::max) - range(f64::min)) * DEG);
        let at = phase.sound_contact_pct;
        let ahead = |leg: &Leg, i: usize| leg.ankle_from_hip(i)[0];
        let prosthetic_m = ahead(&own, 0) - ahead(&other, (PERCENT - at) % PERCENT) + turn;
        let sound_m = ahead(&other, 0) - ahead(&own, at) + turn;
        let stride_time_s = (prosthetic_m + sound_m) / user.speed_m_per_s;
        within(&format!("{}, stride time (s)", user.subject), stride_time_s, 0.5..=3.0)?;
        Ok(Self { prosthetic_m, sound_m, stride_time_s })
    }
}
