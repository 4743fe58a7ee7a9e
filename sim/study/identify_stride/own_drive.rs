//! The drive of a measured stride: what was measured, and the rest from a drive at that speed and stride time.
//!
//! Thigh and hip that were not measured are those of the drive, scaled as a given cadence scales them: thigh
//! harmonics × λ, hip accelerations / λ, λ = T/T_table.

use super::contacts::MeanCurves;
use crate::body::Person;
use crate::error::SimError;
use crate::library::angles::hip_path::PATH_HARMONICS;
use crate::library::angles::landmarks::{KNEE_HARMONICS, THIGH_HARMONICS};
use crate::library::angles::mean::MeanStride;
use crate::library::angles::series::{fit, scaled, second_derivative};
use crate::library::angles::speeds::{self, Provenance};
use crate::scenario::{DriveFile, Harmonics, WalkingDrive};
use crate::units::{GRAVITY_M_PER_S2 as G, within};

/// Speed, stride time and toe-off of the stride.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Timing {
    /// Walking speed, m/s.
    pub speed_m_per_s: f64,
    /// Stride time, s.
    pub stride_time_s: f64,
    /// Toe-off, fraction of the stride; none for that of the drive.
    pub toe_off: Option<f64>,
}

/// Stride time of a drive at a speed, s.
#[must_use]
pub fn stride_time_s(drive: &DriveFile, person: &Person, speed_m_per_s: f64) -> f64 {
    let leg = person.leg_length_m();
    2.0 * (leg / G).sqrt() / drive.row_at(speed_m_per_s / (G * leg).sqrt()).dimensionless_cadence
}

/// The speed at which a drive has a stride time, m/s.
///
/// # Errors
/// A stride time that it has at no speed.
pub fn speed_m_per_s(drive: &DriveFile, person: &Person, stride_s: f64) -> Result<f64, SimError> {
    let unit = (G * person.leg_length_m()).sqrt();
    let speeds = drive.speeds.iter().map(|r| r.dimensionless_speed * unit);
    let (least, most) = speeds.fold((f64::INFINITY, 0.0), |(a, b): (f64, f64), v| (a.min(v), b.max(v)));
    // slower walking takes longer strides
    let (mut low, mut high) = (least, most);
    let times = [high, low].map(|v| stride_time_s(drive, person, v));
    within("stride time (s); give --speed where the drive has none like it", stride_s, times[0]..=times[1])?;
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if stride_time_s(drive, person, middle) > stride_s { low = middle } else { high = middle }
    }
    Ok(0.5 * (low + high))
}

/// The drive file of a stride.
///
/// # Errors
/// A speed that the drive does not cover; what the drive's check refuses.
pub fn own_drive(
    name: &str,
    curves: &MeanCurves,
    knee_deg: &[f64],
    timing: Timing,
    person: &Person,
    drive: &WalkingDrive,
) -> Result<DriveFile, SimError> {
    let leg = person.leg_length_m();
    let v = timing.speed_m_per_s / (G * leg).sqrt();
    let row = drive.file.row_at(v);
    let period = timing.stride_time_s;
    let stretch = period / stride_time_s(&drive.file, person, timing.speed_m_per_s);
    let acceleration_g =
        |path: &[f64]| scaled(&second_derivative(&fit(path, PATH_HARMONICS)), 1.0 / (period.powi(2) * G));
    let hip = |k: usize, of_drive: &Harmonics| {
        let own = curves.hip_m.as_ref().map(|h| acceleration_g(&h[k]));
        own.unwrap_or_else(|| scaled(of_drive, 1.0 / stretch))
    };
    let of_drive = Harmonics { mean: row.thigh_angle_deg.mean, ..scaled(&row.thigh_angle_deg, stretch) };
    let mean = MeanStride {
        subjects: vec![name.to_owned()],
        aligned_at: vec![],
        speed_m_per_s: timing.speed_m_per_s,
        dimensionless_speed: v,
        dimensionless_cadence: 2.0 / period * (leg / G).sqrt(),
        dimensionless_step: 0.5 * timing.speed_m_per_s * period / leg,
        sound_contact: row.opposite_contact_fraction,
        toe_off: timing.toe_off.unwrap_or(row.toe_off_fraction),
        thigh_deg: curves.thigh_deg.as_ref().map_or(of_drive, |t| fit(t, THIGH_HARMONICS)),
        knee_deg: fit(knee_deg, KNEE_HARMONICS),
        hip_forward_g: hip(0, &row.hip_forward_acceleration_g),
        hip_up_g: hip(1, &row.hip_vertical_acceleration_g),
        knee_peak_sd_deg: None,
    };
    let measured = match (&curves.thigh_deg, &curves.hip_m) {
        (None, _) => "The knee was measured; thigh and hip are",
        (Some(_), None) => "Knee and thigh were measured; the hip is",
        (Some(_), Some(_)) => "Knee, thigh and hip were measured; what else there is, is",
    };
    let about = format!(
        "One person's stride at {:.2} m/s. {measured} that of {} at this speed and stride time. At other speeds the \
         rows of {} are shifted by the difference found.",
        timing.speed_m_per_s,
        drive.file.name,
        base(drive).name
    );
    let said = Provenance {
        name: name.to_owned(),
        source: Some("The table named in the first lines of this file.".into()),
        licence: Some("That of the table.".into()),
        about: Some(about),
    };
    speeds::drive(base(drive), &mean, said)
}

/// The drive whose rows are shifted: the one that the drive itself was shifted from.
fn base(drive: &WalkingDrive) -> &DriveFile {
    drive.base.as_ref().unwrap_or(&drive.file)
}
