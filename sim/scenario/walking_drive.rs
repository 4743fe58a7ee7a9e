//! The walking drive: what hip, thigh and ground do during one stride of level walking.
//!
//! ```text
//! y(p) = mean + Σ cₖ cos 2πkp + sₖ sin 2πkp        load(t) = Σ sₖ sin(kπ t/t_toe-off), 0 from toe-off on
//! v* = v/√(gL)   cadence* = steps/s·√(L/g)   λ = T/T_table
//! thigh harmonics × λ (not the mean)   hip accelerations × T_table/T (= λ (T_table/T)²)
//! ```
//! p fraction of the stride from heel contact of the prosthetic side, L leg length, T stride time.
//! Between rows at several v* the drive is interpolated linearly; outside the table it is that of the nearest
//! row (reported). λ is 1 unless a cadence is given. Dimensionless numbers by Hof 1996 (Gait & Posture 4:222);
//! data: the drive file, by default from Schwartz, Rozumalski & Trost 2008 (J Biomech 41:1639): able-bodied
//! children. A drive shifted from another is compared with that one: the able-bodied knee at the same v*.
//! The centre of pressure runs from the heel at contact to the toe at mid-stride and stays there; alignment moves it
//! (`body::alignment`).
//! Checked in tests/published/walking.rs and tests/cross_code/scipy.rs.

use super::drive_file::{DriveFile, DriveRow};
use super::harmonics::{Basis, Harmonics, MOST_HARMONICS, ORDERS, Series};
use crate::body::{Alignment, anthropometry as ratio};
use crate::error::SimError;
use crate::numerics::simd::Lane;
use crate::numerics::sin_cos_cache::SinCosCache;
use crate::units::{DEG, GRAVITY_M_PER_S2 as G, within};

/// Speeds outside the table by more than this share of v* cannot be run; up to it the nearest row is used.
const MOST_OUTSIDE_TABLE: f64 = 0.25;

/// Pre-swing bends the knee by at least this from t0 to toe-off, degrees, ... \[J\]
pub const LEAST_PRESWING_BEND_DEG: f64 = 5.0;
/// ... and by at least this share of its flexion at toe-off: a released knee is scaled by the inverse of it. \[J\]
pub const LEAST_PRESWING_SHARE: f64 = 0.2;

/// Motion of thigh and knee axis at an instant; SI, rad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kinematics<T = f64> {
    /// Thigh angle θ from vertical.
    pub thigh: T,
    /// sin θ and cos θ.
    pub thigh_sin_cos: (T, T),
    /// θ'.
    pub thigh_rate: T,
    /// θ''.
    pub thigh_acc: T,
    /// Forward acceleration of the hip.
    pub hip_acc_x: T,
    /// Upward acceleration of the hip.
    pub hip_acc_z: T,
    /// Forward acceleration of the knee axis.
    pub knee_acc_x: T,
    /// Upward acceleration of the knee axis.
    pub knee_acc_z: T,
}

impl<T: Lane> Kinematics<T> {
    /// From the angle of the thigh with its derivatives, its sine and cosine, the acceleration of the hip, and the
    /// length of the thigh.
    #[inline(always)]
    pub(super) fn of([theta, rate, acc]: [T; 3], (sin, cos): (T, T), [hip_x, hip_z]: [T; 2], lt: T) -> Self {
        // x_k'' = x_h'' + Lt(θ'' cosθ − θ'² sinθ)   z_k'' = z_h'' + Lt(θ'' sinθ + θ'² cosθ)
        Self {
            thigh: theta,
            thigh_sin_cos: (sin, cos),
            thigh_rate: rate,
            thigh_acc: acc,
            hip_acc_x: hip_x,
            hip_acc_z: hip_z,
            knee_acc_x: hip_x + lt * (acc * cos - rate * rate * sin),
            knee_acc_z: hip_z + lt * (acc * sin + rate * rate * cos),
        }
    }
}

impl Default for Kinematics {
    /// A still, vertical thigh.
    fn default() -> Self {
        Self {
            thigh: 0.0,
            thigh_sin_cos: (0.0, 1.0),
            thigh_rate: 0.0,
            thigh_acc: 0.0,
            hip_acc_x: 0.0,
            hip_acc_z: 0.0,
            knee_acc_x: 0.0,
            knee_acc_z: 0.0,
        }
    }
}

/// Sines and cosines of a drive that is evaluated at instants close to each other.
#[derive(Debug, Clone, Default)]
pub struct DriveSinCos {
    /// Of the stride, 2πt/T.
    stride: SinCosCache,
    /// θ.
    thigh: SinCosCache,
    /// Of the stance, πt/t_toe-off.
    stance: SinCosCache,
}

/// The drive of one person at one speed and cadence.
#[derive(Debug, Clone, PartialEq)]
pub struct Drive {
    /// Walking speed of the drive, m/s: the given one, or the nearest in the table.
    pub speed_m_per_s: f64,
    /// The given speed lies outside the table, and the drive is that of the nearest row.
    pub clamped: bool,
    /// Stride time T, s.
    pub stride_time_s: f64,
    /// Toe-off t_to, s.
    pub toe_off_s: f64,
    /// Contact of the other foot, s.
    pub opposite_contact_s: f64,
    /// Instant of least published knee flexion between 30 and 50 % of the stride, t0, s.
    pub preswing_start_s: f64,
    /// Step ratio λ = T/T_table.
    pub step_ratio: f64,
    /// Where the foot stands.
    pub alignment: Alignment,
    /// Stature of the person, m.
    pub stature_m: f64,
    /// Peak of the able-bodied knee in swing at this speed, rad.
    pub able_bodied_peak_rad: f64,
    able_bodied_knee: Series,
    pub(super) thigh_length_m: f64,
    pub(super) frequency: f64,
    pub(super) thigh: Series,
    pub(super) knee: Series,
    pub(super) hip_z: Series,
    pub(super) hip_x: Series,
    pub(super) load: Vec<f64>,
    pub(super) knee_at_start: f64,
    pub(super) knee_scale: f64,
}

/// Speed and cadence of walking.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    /// Speed, m/s.
    pub speed_m_per_s: f64,
    /// Steps per minute; by default those of the table at this speed.
    pub cadence_steps_per_min: Option<f64>,
}

impl Drive {
    /// The drive of a person of this leg length and thigh length.
    ///
    /// # Errors
    /// A cadence out of range; a speed too far outside the table; a knee that hardly bends in pre-swing there.
    pub fn new(file: &DriveFile, leg_m: f64, thigh_m: f64, pace: Pace) -> Result<Self, SimError> {
        let unit = (G * leg_m).sqrt();
        let asked = pace.speed_m_per_s / unit;
        let (least, most) =
            (file.speeds[0].dimensionless_speed, file.speeds[file.speeds.len() - 1].dimensionless_speed);
        if !(asked >= least * (1.0 - MOST_OUTSIDE_TABLE) && asked <= most * (1.0 + MOST_OUTSIDE_TABLE)) {
            return Err(SimError::CannotRun(format!(
                "{:.2} m/s lies outside the drive '{}': it covers {:.2} to {:.2} m/s for this leg length",
                pace.speed_m_per_s,
                file.name,
                least * unit,
                most * unit
            )));
        }
        let v = asked.clamp(least, most);
        let (lower, upper, f) = file.bracket(v);
        let mix = |get: fn(&DriveRow) -> f64| get(lower) + f * (get(upper) - get(lower));
        let table_steps_per_s = mix(|r| r.dimensionless_cadence) / (leg_m / G).sqrt();
        let steps_per_s = match pace.cadence_steps_per_min {
            Some(c) => within("cadence_steps_per_min", c, 30.0..=240.0)? / 60.0,
            None => table_steps_per_s,
        };
        let stretch = table_steps_per_s / steps_per_s; // T/T_table
        let stride_time = 2.0 / steps_per_s;
        let mut drive = Self {
            speed_m_per_s: v * unit,
            clamped: (asked - v).abs() > 1e-12,
            stride_time_s: stride_time,
            toe_off_s: mix(|r| r.toe_off_fraction) * stride_time,
            opposite_contact_s: mix(|r| r.opposite_contact_fraction) * stride_time,
            preswing_start_s: 0.0,
            step_ratio: stretch,
            alignment: Alignment::default(),
            stature_m: leg_m / ratio::LEG_PER_STATURE,
            able_bodied_peak_rad: 0.0,
            able_bodied_knee: Series::between(&lower.knee_flexion_deg, &upper.knee_flexion_deg, f, DEG, 1.0),
            thigh_length_m: thigh_m,
            frequency: std::f64::consts::TAU / stride_time,
            thigh: Series::between(&lower.thigh_angle_deg, &upper.thigh_angle_deg, f, DEG, stretch),
            knee: Series::between(&lower.knee_flexion_deg, &upper.knee_flexion_deg, f, DEG, 1.0),
            hip_z: hip_series(lower, upper, f, |r| &r.hip_vertical_acceleration_g, stretch),
            hip_x: hip_series(lower, upper, f, |r| &r.hip_forward_acceleration_g, stretch),
            load: lower
                .vertical_load_bw
                .iter()
                .zip(&upper.vertical_load_bw)
                .map(|(a, b)| a + f * (b - a))
                .collect(),
            knee_at_start: 0.0,
            knee_scale: 1.0,
        };
        drive.preswing_start_s = drive.least_knee_flexion_s();
        drive.knee_at_start = drive.published_knee(drive.preswing_start_s)[0];
        let at_toe_off = drive.published_knee(drive.toe_off_s)[0];
        let bend = at_toe_off - drive.knee_at_start;
        if !(bend >= LEAST_PRESWING_BEND_DEG * DEG && bend >= LEAST_PRESWING_SHARE * at_toe_off) {
            return Err(SimError::CannotRun(format!(
                "the drive '{}' bends the knee by {:.1}° from late stance to toe-off, to {:.1}°; at least \
                 {LEAST_PRESWING_BEND_DEG}° are needed, and a fifth of the flexion at toe-off",
                file.name,
                bend / DEG,
                at_toe_off / DEG
            )));
        }
        drive.knee_scale = stretch * at_toe_off / bend;
        drive.able_bodied_peak_rad = drive.published_peak();
        Ok(drive)
    }

    /// Checks that the knee bends in pre-swing at the speed of every row; between rows [`Drive::new`] does.
    ///
    /// # Errors
    /// The first row in which it does not bend enough.
    pub fn check_rows(file: &DriveFile) -> Result<(), SimError> {
        // of any size: the drive is the same function of the stride fraction
        let (leg_m, thigh_m) = (1.0, 0.5);
        for (i, row) in file.speeds.iter().enumerate() {
            let speed_m_per_s = row.dimensionless_speed * (G * leg_m).sqrt();
            let pace = Pace { speed_m_per_s, cadence_steps_per_min: None };
            if let Err(SimError::CannotRun(why)) = Self::new(file, leg_m, thigh_m, pace) {
                return Err(SimError::Inconsistent { field: format!("speeds[{i}].knee_flexion_deg"), why });
            }
        }
        Ok(())
    }

    /// The same with the foot where the alignment puts it.
    #[must_use]
    pub fn aligned(self, alignment: Alignment) -> Self {
        Self { alignment, ..self }
    }

    /// The same, compared with the able-bodied knee of the drive that this one was shifted from.
    ///
    /// # Errors
    /// A pace outside that drive.
    pub fn compared_with(self, base: &DriveFile, leg_m: f64) -> Result<Self, SimError> {
        let cadence_steps_per_min = Some(120.0 / self.stride_time_s);
        let pace = Pace { speed_m_per_s: self.speed_m_per_s, cadence_steps_per_min };
        let base = Self::new(base, leg_m, self.thigh_length_m, pace)?;
        Ok(Self {
            able_bodied_peak_rad: base.able_bodied_peak_rad,
            able_bodied_knee: base.able_bodied_knee,
            ..self
        })
    }

    /// Able-bodied knee flexion at this speed, rad.
    #[must_use]
    pub fn able_bodied_knee_rad(&self, t: f64) -> f64 {
        let knee = &self.able_bodied_knee;
        knee.value(&self.basis(&DriveSinCos::default(), t, knee.count))
    }

    /// Published knee flexion, rate and acceleration, rad; not scaled with the step.
    #[must_use]
    pub fn published_knee(&self, t: f64) -> [f64; 3] {
        self.knee.derivatives(&self.basis(&DriveSinCos::default(), t, self.knee.count), self.frequency)
    }

    /// Flexion from the extension stop, rate and acceleration that a released knee follows in
    /// pre-swing: λ [κ(t) − κ(t0)] κ(t_to)/[κ(t_to) − κ(t0)].
    #[must_use]
    pub fn released_knee(&self, t: f64) -> [f64; 3] {
        self.released(self.published_knee(t))
    }

    #[inline]
    fn released(&self, [k, rate, acc]: [f64; 3]) -> [f64; 3] {
        [(k - self.knee_at_start) * self.knee_scale, rate * self.knee_scale, acc * self.knee_scale]
    }

    /// Thigh and knee axis.
    #[must_use]
    pub fn kinematics(&self, t: f64) -> Kinematics {
        self.kinematics_cached(&DriveSinCos::default(), t)
    }

    /// The same with cached sines and cosines.
    #[must_use]
    #[inline]
    pub fn kinematics_cached(&self, cache: &DriveSinCos, t: f64) -> Kinematics {
        self.kinematics_on(cache, &self.basis(cache, t, self.thigh_and_hip_harmonics()))
    }

    /// The same with [`Drive::released_knee`] at the same instant.
    #[must_use]
    #[inline]
    pub fn kinematics_and_released_knee_cached(&self, cache: &DriveSinCos, t: f64) -> (Kinematics, [f64; 3]) {
        let basis = self.basis(cache, t, self.thigh_and_hip_harmonics().max(self.knee.count));
        let knee = self.knee.derivatives(&basis, self.frequency);
        (self.kinematics_on(cache, &basis), self.released(knee))
    }

    #[inline]
    fn thigh_and_hip_harmonics(&self) -> usize {
        self.thigh.count.max(self.hip_z.count).max(self.hip_x.count)
    }

    #[inline(always)]
    fn kinematics_on(&self, cache: &DriveSinCos, basis: &Basis) -> Kinematics {
        let [theta, rate, acc] = self.thigh.derivatives(basis, self.frequency);
        let (hip_x, hip_z) = (self.hip_x.value(basis), self.hip_z.value(basis));
        Kinematics::of([theta, rate, acc], cache.thigh.sin_cos(theta), [hip_x, hip_z], self.thigh_length_m)
    }

    /// Height of the hip over its mean, m: the double integral of its periodic acceleration.
    #[must_use]
    pub fn hip_height_m(&self, t: f64) -> f64 {
        self.integrated_twice(&self.hip_z, t)
    }

    /// The hip ahead of a point that moves on at the walking speed, m; its mean over the stride is 0.
    #[must_use]
    pub fn hip_forward_m(&self, t: f64) -> f64 {
        self.integrated_twice(&self.hip_x, t)
    }

    fn integrated_twice(&self, series: &Series, t: f64) -> f64 {
        let basis = self.basis(&DriveSinCos::default(), t, series.count);
        (0..series.count)
            .map(|k| {
                let kw = self.frequency * ORDERS[k];
                -(series.cos[k] * basis.cos[k] + series.sin[k] * basis.sin[k]) / (kw * kw)
            })
            .sum()
    }

    /// Vertical ground load, shares of body weight; 0 from toe-off on.
    #[must_use]
    pub fn load_bw(&self, t: f64) -> f64 {
        self.load_bw_cached(&DriveSinCos::default(), t)
    }

    /// The same with cached sines and cosines.
    #[must_use]
    #[inline]
    pub fn load_bw_cached(&self, cache: &DriveSinCos, t: f64) -> f64 {
        if t >= self.toe_off_s {
            return 0.0;
        }
        let x = std::f64::consts::PI * t / self.toe_off_s;
        let basis = Basis::of(cache.stance.sin_cos(x), self.load.len());
        (0..self.load.len()).map(|k| self.load[k] * basis.sin[k]).sum::<f64>().max(0.0)
    }

    /// Centre of pressure ahead of the shank line, m.
    #[must_use]
    #[inline]
    pub fn centre_of_pressure_m(&self, t: f64) -> f64 {
        self.stature_m * self.tilted_pressure(t) + self.alignment.foot_shift_m
    }

    /// How far the ground force acts further in front of the knee axis than the drive assumes, m.
    #[must_use]
    #[inline]
    pub fn load_line_shift_m(&self, t: f64) -> f64 {
        self.stature_m * (self.tilted_pressure(t) - self.assumed_pressure(t)) + self.alignment.foot_shift_m
    }

    /// Centre of pressure of a foot that is tilted and not shifted, per stature.
    #[must_use]
    #[inline]
    pub fn tilted_pressure(&self, t: f64) -> f64 {
        let tilt = self.alignment.foot_tilt_deg * DEG;
        let rolled = self.pressure_line(t) + ratio::SOLE_RADIUS_PER_STATURE * tilt;
        on_sole(rolled) - ratio::ANKLE_HEIGHT_PER_STATURE * tilt
    }

    /// Centre of pressure that the drive assumes, per stature.
    #[must_use]
    #[inline]
    pub fn assumed_pressure(&self, t: f64) -> f64 {
        on_sole(self.pressure_line(t))
    }

    #[inline]
    fn pressure_line(&self, t: f64) -> f64 {
        PRESSURE_AT_HEEL + (PRESSURE_AT_TOE - PRESSURE_AT_HEEL) * 2.0 * t / self.stride_time_s
    }

    /// Instants of the stride between `from` and `to` at which the centre of pressure, of the foot as it stands or as
    /// the drive assumes, reaches an end of the sole: there it has a kink.
    #[must_use]
    pub fn pressure_kinks_s(&self, from: f64, to: f64) -> Vec<f64> {
        let rolled = ratio::SOLE_RADIUS_PER_STATURE * self.alignment.foot_tilt_deg * DEG;
        let early = 0.5 * rolled / (PRESSURE_AT_TOE - PRESSURE_AT_HEEL);
        let mut kinks: Vec<f64> =
            [0.5, 0.5 - early, -early].into_iter().map(|p| p * self.stride_time_s).collect();
        kinks.retain(|t| *t > from && *t < to);
        kinks.sort_by(f64::total_cmp);
        kinks.dedup();
        kinks
    }

    /// Whether another drive is this one at another body size: the same functions of the stride fraction and
    /// the same thigh length over stride time squared, to rounding. The foot may be shifted, but not tilted
    /// otherwise.
    #[must_use]
    pub fn same_shape(&self, other: &Self) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() <= 1e-12 * (1.0 + a.abs().max(b.abs()));
        let scale = |d: &Self| d.thigh_length_m / (d.stride_time_s * d.stride_time_s);
        let fraction = |d: &Self, t: f64| t / d.stride_time_s;
        let same_series = |a: &Series, b: &Series| {
            let all_near = |x: &[f64; MOST_HARMONICS], y: &[f64; MOST_HARMONICS]| {
                x.iter().zip(y).all(|(x, y)| near(*x, *y))
            };
            near(a.mean, b.mean) && a.count == b.count && all_near(&a.cos, &b.cos) && all_near(&a.sin, &b.sin)
        };
        near(scale(self), scale(other))
            && near(self.alignment.foot_tilt_deg, other.alignment.foot_tilt_deg)
            && near(fraction(self, self.toe_off_s), fraction(other, other.toe_off_s))
            && (fraction(self, self.preswing_start_s) - fraction(other, other.preswing_start_s)).abs() < 1e-9
            && near(self.knee_scale, other.knee_scale)
            && [(&self.thigh, &other.thigh), (&self.knee, &other.knee)].iter().all(|(a, b)| same_series(a, b))
            && [(&self.hip_z, &other.hip_z), (&self.hip_x, &other.hip_x)]
                .iter()
                .all(|(a, b)| same_series(a, b))
            && self.load.len() == other.load.len()
            && self.load.iter().zip(&other.load).all(|(a, b)| near(*a, *b))
    }

    /// Time over which the weight is transferred to the other leg: max(0.06 s, toe-off − opposite contact).
    #[must_use]
    pub fn weight_transfer_s(&self) -> f64 {
        (self.toe_off_s - self.opposite_contact_s).max(0.06)
    }

    #[inline]
    fn basis(&self, cache: &DriveSinCos, t: f64, count: usize) -> Basis {
        Basis::of(cache.stride.sin_cos(self.frequency * t), count)
    }

    /// Instant of least published flexion between 30 and 50 % of the stride.
    fn least_knee_flexion_s(&self) -> f64 {
        let period = self.stride_time_s;
        self.extreme_knee_flexion_s(0.30 * period, 0.50 * period, -1.0)
    }

    /// Greatest published flexion in swing.
    fn published_peak(&self) -> f64 {
        let t = self.extreme_knee_flexion_s(self.toe_off_s, self.stride_time_s, 1.0);
        self.published_knee(t)[0]
    }

    /// Instant between `from` and `to` at which `sign` times the published flexion is greatest: the best
    /// of 41 points, then bisection for a rate of 0 between its neighbours (to the last digit; another root finder
    /// may end on a neighbouring number, with other last digits in every walking outcome).
    fn extreme_knee_flexion_s(&self, from: f64, to: f64, sign: f64) -> f64 {
        const LAST: usize = 40;
        let at = |i: usize| from + (to - from) * i as f64 / LAST as f64;
        let value = |i: usize| sign * self.published_knee(at(i))[0];
        let best = (0..=LAST).max_by(|&a, &b| value(a).total_cmp(&value(b))).unwrap_or(0);
        if best == 0 || best == LAST {
            return at(best);
        }
        let (mut lo, mut hi) = (at(best - 1), at(best + 1));
        for _ in 0..60 {
            let mid = 0.5 * (lo + hi);
            if sign * self.published_knee(mid)[1] > 0.0 { lo = mid } else { hi = mid }
        }
        0.5 * (lo + hi)
    }
}

/// Centre of pressure per stature at heel contact, and from mid-stride on.
pub(super) const PRESSURE_AT_HEEL: f64 = -ratio::FIRST_PRESSURE_PER_STATURE;
pub(super) const PRESSURE_AT_TOE: f64 = ratio::TOE_END_PER_STATURE;

#[inline]
fn on_sole(x: f64) -> f64 {
    x.clamp(PRESSURE_AT_HEEL, PRESSURE_AT_TOE)
}

fn hip_series(
    lo: &DriveRow,
    up: &DriveRow,
    f: f64,
    get: fn(&DriveRow) -> &Harmonics,
    stretch: f64,
) -> Series {
    // the mean of an acceleration over a periodic stride is zero in the source; it scales like the rest
    let mut series = Series::between(get(lo), get(up), f, G, 1.0 / stretch);
    series.mean /= stretch;
    series
}
