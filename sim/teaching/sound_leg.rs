//! The sound leg beside a walking prosthesis: the mean of nine users, on a foot that stands still.
//!
//! `sound_leg.csv` holds their mean angles over a stride of the sound side (Hood et al. 2020, Scientific Data 7:150,
//! 0.8 m/s), made from the shipped recordings by
//!
//! ```text
//! KNEEDAMP_BLESS=1 cargo test --test all sound_leg
//! ```
//! It is drawn only and decides no outcome. While the foot stands, about heel, sole or ball, it keeps its place, and thigh
//! and knee follow from hip and ankle; the heel rises earlier where the leg would not reach. In swing the ankle moves
//! against the hip as measured, shifted in proportion to time so that it meets both footholds. So other speeds, which were
//! not measured, keep the measured form.

use crate::numerics::math;
use std::sync::LazyLock;

use crate::body::anthropometry::{
    ANKLE_HEIGHT_PER_STATURE, FOOT_PER_STATURE, HEEL_PER_STATURE, KNEE_TO_ANKLE_PER_STATURE,
    THIGH_PER_STATURE, TOE_END_PER_STATURE,
};
use crate::numerics::smooth::interpolate;
use crate::scenario::Drive;
use crate::units::DEG;

/// Angles of the table at an instant, rad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoundAngles {
    /// Thigh from vertical, positive = knee ahead of the hip.
    pub thigh: f64,
    /// Knee flexion.
    pub knee: f64,
    /// Pitch of the foot, toes up positive.
    pub foot: f64,
}

/// The table: stride of the sound side in percent, and its angles.
static MEASURED: LazyLock<[Vec<f64>; 4]> = LazyLock::new(|| {
    let rows = include_str!("sound_leg.csv").lines().filter(|l| !l.starts_with('#')).skip(1);
    let mut columns: [Vec<f64>; 4] = Default::default();
    for row in rows {
        for (column, value) in columns.iter_mut().zip(row.split(',')) {
            column.push(value.trim().parse().expect("the shipped table has numbers only"));
        }
    }
    columns
});

/// Shortest leg that counts as straight, share of its length.
const STRAIGHT: f64 = 0.9995;
/// Part of the sound stride from which the foothold is taken: the foot is flat, or nearly so.
const FOOTHOLD: [f64; 2] = [0.08, 0.50];
const FOOTHOLD_POINTS: usize = 22;
/// Time on both feet after the prosthetic foot lands, against that after the sound foot lands \[J\].
const SECOND_SUPPORT: f64 = 0.7;
/// Height to which the foot is lifted at least in the middle of its swing, per stature \[J\].
const LIFTED_PER_STATURE: f64 = 0.012;
/// Greatest pitch of a foot that stands on its ball, and a step towards it, rad.
const MOST_PITCH: f64 = -75.0 * DEG;
const PITCH_STEP: f64 = -0.25 * DEG;

/// As measured, at a fraction of the sound stride.
#[must_use]
pub fn measured(fraction: f64) -> SoundAngles {
    let [pct, thigh, knee, foot] = &*MEASURED;
    let at = |of: &[f64]| interpolate(100.0 * fraction.rem_euclid(1.0), pct, of) * DEG;
    SoundAngles { thigh: at(thigh), knee: at(knee), foot: at(foot) }
}

/// The sound leg of a person who walks by a drive.
#[derive(Debug, Clone, Copy)]
pub struct SoundLeg {
    stature_m: f64,
    stride_time_s: f64,
    contact_s: f64,
    /// Part of its stride in which it stands.
    stance: f64,
    /// Ankle of the flat foot after the contact at `contact_s`, m, and stride length, m.
    foothold_m: f64,
    stride_m: f64,
    /// What it has more than measured when the foot lands, and when it lifts after the contact before and the one at
    /// `contact_s`.
    at_contact: Beyond,
    at_lift: [Beyond; 2],
}

/// What the standing foot has more than the measured one.
#[derive(Debug, Clone, Copy, Default)]
struct Beyond {
    /// Of the ankle from the hip, m.
    ankle_m: [f64; 2],
    /// Of the pitch, rad.
    foot: f64,
}

impl SoundLeg {
    /// The leg below a hip that is at `hip(t)`, m, over the stride of a drive.
    #[must_use]
    pub fn new(drive: &Drive, hip: &dyn Fn(f64) -> [f64; 2]) -> Self {
        let (period, contact_s) = (drive.stride_time_s, drive.opposite_contact_s);
        let mut leg = Self {
            stature_m: drive.stature_m,
            stride_time_s: period,
            contact_s,
            stance: 1.0 + (SECOND_SUPPORT * (drive.toe_off_s - contact_s) - contact_s) / period,
            foothold_m: 0.0,
            stride_m: drive.speed_m_per_s * period,
            at_contact: Beyond::default(),
            at_lift: [Beyond::default(); 2],
        };
        let place = |i: usize| {
            let s = FOOTHOLD[0] + (FOOTHOLD[1] - FOOTHOLD[0]) * i as f64 / (FOOTHOLD_POINTS - 1) as f64;
            let angles = measured(s);
            hip(contact_s + s * period)[0] + leg.ankle_from_hip(angles)[0]
                - leg.standing_ankle(angles.foot)[0]
        };
        leg.foothold_m = (0..FOOTHOLD_POINTS).map(place).sum::<f64>() / FOOTHOLD_POINTS as f64;
        leg.at_contact = leg.beyond_measured(0.0, leg.foothold_m, hip(contact_s));
        leg.at_lift = [-1.0, 0.0].map(|whole| {
            let foothold = leg.foothold_m + whole * leg.stride_m;
            leg.beyond_measured(leg.stance, foothold, hip(contact_s + (whole + leg.stance) * period))
        });
        leg
    }

    /// Angles at an instant of the stride or the landing after it, below a hip that is there.
    #[must_use]
    pub fn at(&self, t: f64, now: [f64; 2]) -> SoundAngles {
        let strides = (t - self.contact_s) / self.stride_time_s;
        let (whole, s) = (strides.floor(), strides.rem_euclid(1.0));
        let foothold = self.foothold_m + whole * self.stride_m;
        if s <= self.stance {
            let (ankle, foot) = self.standing(s, foothold, now);
            return self.reaching(now, ankle, foot);
        }
        let share = (s - self.stance) / (1.0 - self.stance);
        let mix = |a: f64, b: f64| a + share * (b - a);
        let (lift, contact) = (self.at_lift[usize::from(whole >= 0.0)], self.at_contact);
        let angles = measured(s);
        let foot = angles.foot + mix(lift.foot, contact.foot);
        let chain = self.ankle_from_hip(angles);
        let mut ankle = [0, 1].map(|i| now[i] + chain[i] + mix(lift.ankle_m[i], contact.ankle_m[i]));
        let least = LIFTED_PER_STATURE * self.stature_m * math::sin(std::f64::consts::PI * share);
        ankle[1] += (least - ankle[1] - self.lowest_from_ankle(foot)).max(0.0);
        self.reaching(now, ankle, foot)
    }

    /// Ankle and pitch of the standing foot minus what hip and measured angles make of them.
    fn beyond_measured(&self, s: f64, foothold: f64, hip: [f64; 2]) -> Beyond {
        let (ankle, foot) = self.standing(s, foothold, hip);
        let angles = measured(s);
        let chain = self.ankle_from_hip(angles);
        Beyond { ankle_m: [0, 1].map(|i| ankle[i] - hip[i] - chain[i]), foot: foot - angles.foot }
    }

    /// Ankle and pitch of the standing foot: as measured, or with the heel as high as the leg needs.
    fn standing(&self, s: f64, foothold: f64, hip: [f64; 2]) -> ([f64; 2], f64) {
        let reach = STRAIGHT * self.lengths_m().iter().sum::<f64>();
        let mut foot = measured(s).foot;
        loop {
            let [x, z] = self.standing_ankle(foot);
            let ankle = [foothold + x, z];
            if math::hypot(ankle[0] - hip[0], ankle[1] - hip[1]) <= reach || foot <= MOST_PITCH {
                return (ankle, foot);
            }
            foot += PITCH_STEP;
        }
    }

    /// Thigh and knee that bring the ankle there, as far as they reach.
    fn reaching(&self, hip: [f64; 2], ankle: [f64; 2], foot: f64) -> SoundAngles {
        let [thigh, shank] = self.lengths_m();
        let [x, z] = [ankle[0] - hip[0], ankle[1] - hip[1]];
        let far = math::hypot(x, z).clamp((thigh - shank).abs() + 1e-6, thigh + shank);
        let angle = |a: f64, b: f64, opposite: f64| {
            math::acos(((a * a + b * b - opposite * opposite) / (2.0 * a * b)).clamp(-1.0, 1.0))
        };
        let knee = std::f64::consts::PI - angle(thigh, shank, far);
        SoundAngles { thigh: math::atan2(x, -z) + angle(thigh, far, shank), knee, foot }
    }

    fn lengths_m(&self) -> [f64; 2] {
        [THIGH_PER_STATURE, KNEE_TO_ANKLE_PER_STATURE].map(|r| r * self.stature_m)
    }

    fn ankle_from_hip(&self, a: SoundAngles) -> [f64; 2] {
        let [thigh, shank] = self.lengths_m();
        let ((st, ct), (ss, cs)) = (math::sin_cos(a.thigh), math::sin_cos(a.thigh - a.knee));
        [thigh * st + shank * ss, -thigh * ct - shank * cs]
    }

    /// Heel, ball and tip ahead of the ankle, and the ankle over the sole, m.
    #[must_use]
    pub fn foot_m(stature_m: f64) -> [f64; 4] {
        [
            -HEEL_PER_STATURE,
            TOE_END_PER_STATURE,
            FOOT_PER_STATURE - HEEL_PER_STATURE,
            ANKLE_HEIGHT_PER_STATURE,
        ]
        .map(|r| r * stature_m)
    }

    /// Ankle of a standing foot that turns about its heel or its ball, from where it is while the foot is flat.
    fn standing_ankle(&self, foot: f64) -> [f64; 2] {
        let [heel, ball, _, height] = Self::foot_m(self.stature_m);
        let about = if foot > 0.0 { heel } else { ball };
        let (sin, cos) = math::sin_cos(foot);
        [about - about * cos - height * sin, -about * sin + height * cos]
    }

    /// Height of the lowest point of the foot over the ankle, m.
    fn lowest_from_ankle(&self, foot: f64) -> f64 {
        let [heel, ball, _, height] = Self::foot_m(self.stature_m);
        let (sin, cos) = math::sin_cos(foot);
        (heel * sin).min(ball * sin) - height * cos
    }
}
