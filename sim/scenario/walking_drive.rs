//! The walking drive: what hip, thigh and ground do during one stride of level walking.
//!
//! ```text
//! y(p) = mean + Σ cₖ cos 2πkp + sₖ sin 2πkp        load(t) = Σ sₖ sin(kπ t/t_toe-off), 0 from toe-off on
//! v* = v/√(gL)   cadence* = steps/s·√(L/g)   λ = T/T_table
//! thigh harmonics × λ (not the mean)   hip accelerations × T_table/T (= λ (T_table/T)²)
//! ```
//! p fraction of the stride from heel contact of the prosthetic side, L leg length, T stride time.
//! Rows at several v* are interpolated linearly and held outside the table (reported). λ is 1 unless
//! a cadence is asked for. Size-free numbers by Hof 1996 (Gait & Posture 4:222); data: the drive
//! file, by default from Schwartz, Rozumalski & Trost 2008 (J Biomech 41:1639): able-bodied children.
//! Checked in tests/published/walking.rs and tests/cross_code/scipy.rs.

use serde::{Deserialize, Serialize};

use super::harmonics::{Basis, Harmonics, MOST_HARMONICS, ORDERS, Series};
use crate::error::SimError;
use crate::numerics::sin_cos_cache::SinCosCache;
use crate::units::{DEG, GRAVITY_M_PER_S2 as G, within};

/// Speeds beyond the table by more than this share of v* cannot be run; up to it the drive is held.
const HELD_BEYOND_TABLE: f64 = 0.25;

/// Marks a file as a drive.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DriveKind {
    /// A walking drive.
    #[default]
    Drive,
}

/// The drive at one speed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DriveRow {
    /// What the source calls this speed.
    pub label: String,
    /// v*.
    pub dimensionless_speed: f64,
    /// Steps per second times √(L/g).
    pub dimensionless_cadence: f64,
    /// Step length over leg length.
    pub dimensionless_step: f64,
    /// Toe-off, fraction of the stride.
    pub toe_off_fraction: f64,
    /// Contact of the other foot, fraction of the stride.
    pub opposite_contact_fraction: f64,
    /// Thigh angle from vertical, positive = knee ahead of hip, degrees.
    pub thigh_angle_deg: Harmonics,
    /// Knee flexion, degrees.
    pub knee_flexion_deg: Harmonics,
    /// Vertical acceleration of the hip, units of g.
    pub hip_vertical_acceleration_g: Harmonics,
    /// Forward acceleration of the hip, units of g.
    pub hip_forward_acceleration_g: Harmonics,
    /// Sine series of the vertical load over stance, shares of body weight.
    pub vertical_load_bw: Vec<f64>,
    /// Sine series of the forward load over stance; carried with the data, not used by the engine.
    pub forward_load_bw: Vec<f64>,
}

/// Where a drive was measured, if not at the speed of every row.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MeasuredSpeeds {
    /// Measured v*, ascending.
    pub dimensionless_speeds: Vec<f64>,
    /// Drive whose rows, shifted by the difference found at the measured speeds, stand for all others.
    pub shifted_from: String,
}

/// A drive file: rows by ascending speed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DriveFile {
    /// Always `drive`.
    pub kind: DriveKind,
    /// Name in the library.
    pub name: String,
    /// What it is.
    pub about: String,
    /// Where the numbers come from.
    pub source: String,
    /// What may be done with them.
    pub licence: String,
    /// Standard deviation over persons of the peak of knee flexion in swing, degrees; shown as a band.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub knee_flexion_sd_deg: Option<f64>,
    /// Speeds at which the drive was measured, where its other rows are not measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measured: Option<MeasuredSpeeds>,
    /// One row per speed.
    pub speeds: Vec<DriveRow>,
}

impl DriveFile {
    /// # Errors
    /// Too few or too many harmonics, a value out of range, speeds that do not ascend.
    pub fn check(&self) -> Result<(), SimError> {
        let wrong = |field: String, why: &str| Err(SimError::Inconsistent { field, why: why.into() });
        if self.speeds.is_empty() {
            return wrong("speeds".into(), "needs at least one row");
        }
        if let Some(sd) = self.knee_flexion_sd_deg {
            within("knee_flexion_sd_deg", sd, 0.0..=30.0)?;
        }
        for (i, row) in self.speeds.iter().enumerate() {
            row.check().map_err(|e| e.inside(&format!("speeds[{i}]")))?;
        }
        if self.speeds.windows(2).any(|w| w[1].dimensionless_speed <= w[0].dimensionless_speed) {
            return wrong("speeds".into(), "dimensionless_speed must ascend");
        }
        if self.speeds.iter().any(|r| r.shape() != self.speeds[0].shape()) {
            return wrong("speeds".into(), "every row needs the same numbers of harmonics");
        }
        self.measured.as_ref().map_or(Ok(()), |m| m.check(&self.speeds).map_err(|e| e.inside("measured")))
    }
}

impl MeasuredSpeeds {
    fn check(&self, rows: &[DriveRow]) -> Result<(), SimError> {
        let wrong =
            |field: &str, why: &str| Err(SimError::Inconsistent { field: field.into(), why: why.into() });
        if self.shifted_from.trim().is_empty() {
            return wrong("shifted_from", "needs the name of the drive that was shifted");
        }
        if self.dimensionless_speeds.is_empty() {
            return wrong("dimensionless_speeds", "needs at least one speed");
        }
        if self.dimensionless_speeds.windows(2).any(|w| w[1] <= w[0]) {
            return wrong("dimensionless_speeds", "must ascend");
        }
        let range = rows[0].dimensionless_speed..=rows[rows.len() - 1].dimensionless_speed;
        for v in &self.dimensionless_speeds {
            within("dimensionless_speeds", *v, range.clone())?;
        }
        Ok(())
    }
}

impl DriveRow {
    fn signals(&self) -> [(&'static str, &Harmonics, f64); 4] {
        [
            ("thigh_angle_deg", &self.thigh_angle_deg, 90.0),
            ("knee_flexion_deg", &self.knee_flexion_deg, 120.0),
            ("hip_vertical_acceleration_g", &self.hip_vertical_acceleration_g, 5.0),
            ("hip_forward_acceleration_g", &self.hip_forward_acceleration_g, 5.0),
        ]
    }

    fn shape(&self) -> Vec<usize> {
        let mut shape: Vec<usize> = self.signals().iter().map(|(_, h, _)| h.cos.len()).collect();
        shape.push(self.vertical_load_bw.len());
        shape
    }

    fn check(&self) -> Result<(), SimError> {
        within("dimensionless_speed", self.dimensionless_speed, 0.02..=2.0)?;
        within("dimensionless_cadence", self.dimensionless_cadence, 0.05..=3.0)?;
        within("dimensionless_step", self.dimensionless_step, 0.05..=3.0)?;
        within("toe_off_fraction", self.toe_off_fraction, 0.51..=0.9)?;
        within("opposite_contact_fraction", self.opposite_contact_fraction, 0.3..=0.7)?;
        let count = |field: &str, n: usize| {
            within(&format!("{field} (number of harmonics)"), n as f64, 1.0..=MOST_HARMONICS as f64)
        };
        for (field, h, most) in self.signals() {
            count(field, h.cos.len())?;
            if h.cos.len() != h.sin.len() {
                return Err(SimError::Inconsistent {
                    field: field.into(),
                    why: "cos and sin need the same number of values".into(),
                });
            }
            for v in std::iter::once(&h.mean).chain(&h.cos).chain(&h.sin) {
                within(field, *v, -most..=most)?;
            }
        }
        for (field, series) in
            [("vertical_load_bw", &self.vertical_load_bw), ("forward_load_bw", &self.forward_load_bw)]
        {
            count(field, series.len())?;
            for v in series {
                within(field, *v, -5.0..=5.0)?;
            }
        }
        Ok(())
    }
}

/// Motion of thigh and knee axis at an instant; SI, rad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kinematics {
    /// Thigh angle θ from vertical.
    pub thigh: f64,
    /// sin θ and cos θ.
    pub thigh_sin_cos: (f64, f64),
    /// θ'.
    pub thigh_rate: f64,
    /// θ''.
    pub thigh_acc: f64,
    /// Forward acceleration of the hip.
    pub hip_acc_x: f64,
    /// Upward acceleration of the hip.
    pub hip_acc_z: f64,
    /// Forward acceleration of the knee axis.
    pub knee_acc_x: f64,
    /// Upward acceleration of the knee axis.
    pub knee_acc_z: f64,
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

/// Angles of a drive that is asked for instants that move on by little.
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
    /// Walking speed that the drive stands for, m/s: the one asked for, or the nearest in the table.
    pub speed_m_per_s: f64,
    /// The speed asked for lies outside the table and is held at its end.
    pub held: bool,
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
    /// Foot further forward by this, m: the centre of pressure moves with it.
    pub foot_shift_m: f64,
    /// Peak of the published knee curve in swing, rad: the able-bodied value at this speed.
    pub able_bodied_peak_rad: f64,
    thigh_length_m: f64,
    frequency: f64,
    thigh: Series,
    knee: Series,
    hip_z: Series,
    hip_x: Series,
    load: Vec<f64>,
    knee_at_start: f64,
    knee_scale: f64,
}

/// The pace asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    /// Speed, m/s.
    pub speed_m_per_s: f64,
    /// Steps per minute; by default what goes with the speed.
    pub cadence_steps_per_min: Option<f64>,
}

impl Drive {
    /// The drive of a person of this leg length and thigh length.
    ///
    /// # Errors
    /// A cadence out of range; a speed so far outside the table that holding it would say nothing.
    pub fn new(file: &DriveFile, leg_m: f64, thigh_m: f64, pace: Pace) -> Result<Self, SimError> {
        let unit = (G * leg_m).sqrt();
        let asked = pace.speed_m_per_s / unit;
        let (least, most) =
            (file.speeds[0].dimensionless_speed, file.speeds[file.speeds.len() - 1].dimensionless_speed);
        if !(asked >= least * (1.0 - HELD_BEYOND_TABLE) && asked <= most * (1.0 + HELD_BEYOND_TABLE)) {
            return Err(SimError::CannotRun(format!(
                "{:.2} m/s lies outside the drive '{}': it covers {:.2} to {:.2} m/s for this leg length",
                pace.speed_m_per_s,
                file.name,
                least * unit,
                most * unit
            )));
        }
        let v = asked.clamp(least, most);
        let (lower, upper, f) = bracket(file, v);
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
            held: (asked - v).abs() > 1e-12,
            stride_time_s: stride_time,
            toe_off_s: mix(|r| r.toe_off_fraction) * stride_time,
            opposite_contact_s: mix(|r| r.opposite_contact_fraction) * stride_time,
            preswing_start_s: 0.0,
            step_ratio: stretch,
            foot_shift_m: 0.0,
            able_bodied_peak_rad: 0.0,
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
        drive.knee_scale = stretch * at_toe_off / (at_toe_off - drive.knee_at_start);
        drive.able_bodied_peak_rad = drive.published_peak();
        Ok(drive)
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
        self.kinematics_by(&DriveSinCos::default(), t)
    }

    /// The same for instants that move on by little.
    #[must_use]
    #[inline]
    pub fn kinematics_by(&self, turns: &DriveSinCos, t: f64) -> Kinematics {
        self.kinematics_on(turns, &self.basis(turns, t, self.thigh_and_hip_harmonics()))
    }

    /// The same with [`Drive::released_knee`] at the same instant.
    #[must_use]
    #[inline]
    pub fn kinematics_and_released_knee_by(&self, turns: &DriveSinCos, t: f64) -> (Kinematics, [f64; 3]) {
        let basis = self.basis(turns, t, self.thigh_and_hip_harmonics().max(self.knee.count));
        let knee = self.knee.derivatives(&basis, self.frequency);
        (self.kinematics_on(turns, &basis), self.released(knee))
    }

    #[inline]
    fn thigh_and_hip_harmonics(&self) -> usize {
        self.thigh.count.max(self.hip_z.count).max(self.hip_x.count)
    }

    #[inline(always)]
    fn kinematics_on(&self, turns: &DriveSinCos, basis: &Basis) -> Kinematics {
        let [theta, rate, acc] = self.thigh.derivatives(basis, self.frequency);
        let (hip_x, hip_z) = (self.hip_x.value(basis), self.hip_z.value(basis));
        let (sin, cos) = turns.thigh.sin_cos(theta);
        let lt = self.thigh_length_m;
        // x_k'' = x_h'' + Lt(θ'' cosθ − θ'² sinθ)   z_k'' = z_h'' + Lt(θ'' sinθ + θ'² cosθ)
        Kinematics {
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

    /// Height of the hip over its unknown mean, m: twice the integral of its periodic acceleration.
    #[must_use]
    pub fn hip_height_m(&self, t: f64) -> f64 {
        let series = &self.hip_z;
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
        self.load_bw_by(&DriveSinCos::default(), t)
    }

    /// The same for instants that move on by little.
    #[must_use]
    #[inline]
    pub fn load_bw_by(&self, turns: &DriveSinCos, t: f64) -> f64 {
        if t >= self.toe_off_s {
            return 0.0;
        }
        let x = std::f64::consts::PI * t / self.toe_off_s;
        let basis = Basis::of(turns.stance.sin_cos(x), self.load.len());
        self.load.iter().zip(&basis.sin).map(|(s, sin)| s * sin).sum::<f64>().max(0.0)
    }

    /// Centre of pressure ahead of the shank line, m: from the heel at contact to the toe at mid-stride.
    #[must_use]
    pub fn centre_of_pressure_m(&self, t: f64) -> f64 {
        let (heel, toe) = (-0.04, 0.14);
        heel + (toe - heel) * (2.0 * t / self.stride_time_s).clamp(0.0, 1.0) + self.foot_shift_m
    }

    /// Whether another drive is this one at another size: the same functions of the stride fraction, with
    /// thigh length over stride time squared the same, to rounding. The foot may be shifted.
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

    /// Overlap with the other leg while weight goes over: max(0.06 s, toe-off − opposite contact).
    #[must_use]
    pub fn weight_transfer_s(&self) -> f64 {
        (self.toe_off_s - self.opposite_contact_s).max(0.06)
    }

    #[inline]
    fn basis(&self, turns: &DriveSinCos, t: f64, count: usize) -> Basis {
        Basis::of(turns.stride.sin_cos(self.frequency * t), count)
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
    /// of 41 points, then where the rate changes sign between its neighbours.
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

fn bracket(file: &DriveFile, v: f64) -> (&DriveRow, &DriveRow, f64) {
    let rows = &file.speeds;
    let i = rows.partition_point(|r| r.dimensionless_speed <= v).clamp(1, (rows.len() - 1).max(1));
    let (lower, upper) = (&rows[i - 1], &rows[i.min(rows.len() - 1)]);
    let span = upper.dimensionless_speed - lower.dimensionless_speed;
    let f = if span > 0.0 { (v - lower.dimensionless_speed) / span } else { 0.0 };
    (lower, upper, f)
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
