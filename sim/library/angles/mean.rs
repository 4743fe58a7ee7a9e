//! The mean of several users in dimensionless form, plain or aligned at landmarks.
//!
//! Peaks come at different instants in different users, so a plain mean is flatter and slower than any of
//! them. For an aligned mean each user's curves are first stretched along the stride, linearly between
//! landmarks and both heel contacts, so that every landmark lies where it lies in the mean:
//!
//! ```text
//! y(p) = 1/n Σ yᵢ(gᵢ(p)),    gᵢ piecewise linear, gᵢ(mean landmark) = landmark of user i
//! ```
//! The corners of gᵢ are smoothed by the Fourier series that is fitted to each stretched curve: thigh 7,
//! knee 9, path of the hip 5 harmonics. Accelerations of the hip come from its stretched path, as those of
//! the thigh come from its stretched angle. The mean toe-off is the median of the users'.
//!
//! A landmark helps where it is sharp. The greatest thigh angle is a flat top in some users and scatters by
//! 6 % of the stride, so that alignment there stretches late swing by up to two: the conversion prints what
//! each choice of landmarks does to the knee curve.

use super::hip_path::PATH_HARMONICS;
use super::landmarks::{KNEE_HARMONICS, Landmark, THIGH_HARMONICS};
use super::reconstruction::Reconstruction;
use super::series::{fit, mean, rate, scaled, second_derivative, through, value};
use crate::body::anthropometry::LEG_PER_STATURE;
use crate::error::SimError;
use crate::numerics::smooth::interpolate;
use crate::numerics::statistics::median;
use crate::scenario::Harmonics;
use crate::units::GRAVITY_M_PER_S2 as G;

/// Points per stride on which a stretched curve is fitted.
const STRETCHED_POINTS: usize = 400;
/// Points per stride on which greatest values are looked for.
const FINE: usize = 1000;
/// A user whose v* differs more from the mean, relative to it, walked at another speed.
const GREATEST_SPEED_DIFFERENCE: f64 = 0.2;

/// The mean stride of several users; lengths per leg length, accelerations in g.
#[derive(Debug, Clone, PartialEq)]
pub struct MeanStride {
    /// Subjects.
    pub subjects: Vec<String>,
    /// Landmarks at which they were aligned, in order; none in a plain mean.
    pub aligned_at: Vec<Landmark>,
    /// Mean speed of the belt, m/s.
    pub speed_m_per_s: f64,
    /// v*.
    pub dimensionless_speed: f64,
    /// Steps per second times √(L/g).
    pub dimensionless_cadence: f64,
    /// Step length over leg length.
    pub dimensionless_step: f64,
    /// Contact of the sound foot, fraction of the prosthetic stride.
    pub sound_contact: f64,
    /// Toe-off, likewise: the median of the users.
    pub toe_off: f64,
    /// Thigh angle, degrees.
    pub thigh_deg: Harmonics,
    /// Knee flexion from the straight stance, degrees.
    pub knee_deg: Harmonics,
    /// Forward acceleration of the hip, g.
    pub hip_forward_g: Harmonics,
    /// Upward acceleration of the hip, g.
    pub hip_up_g: Harmonics,
    /// Standard deviation over the users of the peak of knee flexion, degrees; none for one user.
    pub knee_peak_sd_deg: Option<f64>,
}

impl MeanStride {
    /// The mean of users who walked at about one dimensionless speed, aligned at some landmarks.
    ///
    /// # Errors
    /// No user, one whose v* is not that of the others, or whose landmarks do not follow each other.
    pub fn of(users: &[Reconstruction], aligned_at: &[Landmark]) -> Result<Self, SimError> {
        let n = users.len() as f64;
        let average = |get: &dyn Fn(&Reconstruction) -> f64| users.iter().map(get).sum::<f64>() / n;
        let leg_m = |r: &Reconstruction| LEG_PER_STATURE * r.user.stature_m;
        let speed = |r: &Reconstruction| r.user.speed_m_per_s / (G * leg_m(r)).sqrt();
        let dimensionless_speed = average(&speed);
        let Some(toe_off) = median(users.iter().map(|r| r.toe.toe_off).collect()) else {
            return Err(SimError::Usage("a mean needs at least one user".into()));
        };
        for r in users {
            if (speed(r) / dimensionless_speed - 1.0).abs() > GREATEST_SPEED_DIFFERENCE {
                return Err(SimError::Inconsistent {
                    field: format!("{}, speed_m_per_s", r.user.subject),
                    why: format!(
                        "v* {:.3}, the mean is {dimensionless_speed:.3}; users within {:.0} % of one v* are needed",
                        speed(r),
                        1e2 * GREATEST_SPEED_DIFFERENCE
                    ),
                });
            }
        }
        let mut aligned_at = aligned_at.to_vec();
        aligned_at.sort_unstable();
        aligned_at.dedup();
        let mean_of =
            |l: Landmark| if l == Landmark::ToeOff { toe_off } else { average(&|r| r.landmarks.at(l)) };
        let common = knots(aligned_at.iter().map(|l| mean_of(*l)));
        let own: Vec<Vec<f64>> =
            users.iter().map(|r| knots(aligned_at.iter().map(|l| r.landmarks.at(*l)))).collect();
        for (r, own) in users.iter().zip(&own) {
            check_order(&r.user.subject, &aligned_at, own)?;
        }
        check_order("mean", &aligned_at, &common)?;
        let curve = |get: &dyn Fn(&Reconstruction) -> Harmonics, harmonics: usize| {
            let each = users
                .iter()
                .zip(&own)
                .map(|(r, own)| stretched(&get(r), |p| interpolate(p, &common, own), harmonics));
            mean(&each.collect::<Vec<_>>())
        };
        // path over T² g: its second derivative by the stride fraction is the acceleration in g
        let path =
            |r: &Reconstruction, path: &Harmonics| scaled(path, 1.0 / (r.steps.stride_time_s.powi(2) * G));
        let acceleration =
            |get: &dyn Fn(&Reconstruction) -> Harmonics| second_derivative(&curve(get, PATH_HARMONICS));
        Ok(Self {
            subjects: users.iter().map(|r| r.user.subject.clone()).collect(),
            speed_m_per_s: average(&|r| r.user.speed_m_per_s),
            dimensionless_speed,
            dimensionless_cadence: average(&|r| 2.0 / r.steps.stride_time_s * (leg_m(r) / G).sqrt()),
            dimensionless_step: average(&|r| 0.5 * (r.steps.prosthetic_m + r.steps.sound_m) / leg_m(r)),
            sound_contact: mean_of(Landmark::SoundContact),
            toe_off,
            thigh_deg: curve(&|r| through(&r.user.prosthetic.thigh_deg()), THIGH_HARMONICS),
            knee_deg: curve(&|r| through(&r.knee_deg), KNEE_HARMONICS),
            hip_forward_g: acceleration(&|r| path(r, &r.path.forward)),
            hip_up_g: acceleration(&|r| path(r, &r.path.up)),
            knee_peak_sd_deg: peak_sd(users),
            aligned_at,
        })
    }
}

/// Standard deviation over persons of the greatest flexion, degrees.
fn peak_sd(users: &[Reconstruction]) -> Option<f64> {
    let peaks: Vec<f64> =
        users.iter().map(|r| r.knee_deg.iter().copied().fold(f64::NEG_INFINITY, f64::max)).collect();
    let n = peaks.len() as f64;
    let mean = peaks.iter().sum::<f64>() / n;
    let squares: f64 = peaks.iter().map(|p| (p - mean).powi(2)).sum();
    (peaks.len() > 1).then(|| (squares / (n - 1.0)).sqrt())
}

/// A curve with `instant(p)` of its own stride at p, as a series.
fn stretched(curve: &Harmonics, instant: impl Fn(f64) -> f64, harmonics: usize) -> Harmonics {
    let at = |i: usize| value(curve, instant(i as f64 / STRETCHED_POINTS as f64));
    fit(&(0..=STRETCHED_POINTS).map(at).collect::<Vec<_>>(), harmonics)
}

/// Landmarks with both heel contacts.
fn knots(landmarks: impl Iterator<Item = f64>) -> Vec<f64> {
    std::iter::once(0.0).chain(landmarks).chain(std::iter::once(1.0)).collect()
}

/// # Errors
/// Landmarks that do not follow each other.
fn check_order(who: &str, landmarks: &[Landmark], knots: &[f64]) -> Result<(), SimError> {
    if knots.windows(2).all(|w| w[0] < w[1]) {
        return Ok(());
    }
    let all = landmarks.iter().zip(&knots[1..]);
    let found: Vec<String> = all.map(|(l, p)| format!("{} at {:.1} %", l.as_str(), 100.0 * p)).collect();
    let why = format!("{}; they must follow each other before heel contact", found.join(", "));
    Err(SimError::Inconsistent { field: format!("{who}, landmarks"), why })
}

/// Peak and greatest rates of a knee curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KneeFigures {
    /// Greatest flexion, degrees.
    pub peak_deg: f64,
    /// When, percent of the stride.
    pub peak_pct: f64,
    /// Greatest rate of flexion, degrees per percent of the stride.
    pub flexion_deg_per_pct: f64,
    /// Greatest rate of extension, likewise, negative.
    pub extension_deg_per_pct: f64,
}

impl KneeFigures {
    /// Of a series in degrees.
    #[must_use]
    pub fn of(knee_deg: &Harmonics) -> Self {
        let points = (0..FINE).map(|i| i as f64 / FINE as f64);
        let mut found = Self {
            peak_deg: f64::NEG_INFINITY,
            peak_pct: 0.0,
            flexion_deg_per_pct: f64::NEG_INFINITY,
            extension_deg_per_pct: f64::INFINITY,
        };
        for p in points {
            let (flexion, rate) = (value(knee_deg, p), rate(knee_deg, p) / 100.0);
            if flexion > found.peak_deg {
                (found.peak_deg, found.peak_pct) = (flexion, 100.0 * p);
            }
            found.flexion_deg_per_pct = found.flexion_deg_per_pct.max(rate);
            found.extension_deg_per_pct = found.extension_deg_per_pct.min(rate);
        }
        found
    }

    /// Mean of the figures of each user's own curve, in as many harmonics as a drive has.
    #[must_use]
    pub fn mean_of(users: &[Reconstruction]) -> Self {
        let each: Vec<Self> = users.iter().map(|r| Self::of(&fit(&r.knee_deg, KNEE_HARMONICS))).collect();
        let average = |get: fn(&Self) -> f64| each.iter().map(get).sum::<f64>() / each.len() as f64;
        Self {
            peak_deg: average(|f| f.peak_deg),
            peak_pct: average(|f| f.peak_pct),
            flexion_deg_per_pct: average(|f| f.flexion_deg_per_pct),
            extension_deg_per_pct: average(|f| f.extension_deg_per_pct),
        }
    }
}
