//! From a mean stride measured at one speed to a drive for a range of speeds.
//!
//! Other speeds were not measured. The rows of a base drive are shifted by the difference found at the
//! measured v0:
//!
//! ```text
//! y(v) = y_base(v) + y_measured − y_base(v0)                    angles, accelerations, toe-off
//! cadence*(v) = cadence*_base(v) [1 + (cadence*_measured/cadence*_base(v0) − 1) fade(v)]
//! fade(v) = (0.43 − v)/(0.43 − v0), kept within 0 and 1.3
//! step*(v) = step*_base(v) + step*_measured − step*_base(v0)
//! ```
//! Toe-off stays within what a drive may have. The contact of the other foot is the measured one at every speed, the ground load that of the base. The
//! difference in cadence fades since short quick steps belong to a slow treadmill; one measured at a brisk walk does not \[J\]. A drive is linear
//! between its rows; the product of two lines is not, so rows are added until it is, within 10⁻⁴ of the
//! cadence.

use super::landmarks::in_words;
use super::mean::MeanStride;
use crate::error::SimError;
use crate::numerics::statistics::rounded;
use crate::scenario::{DriveFile, DriveKind, DriveRow, Harmonics, MeasuredSpeeds, TOE_OFF_FRACTION};
use crate::units::within;

/// v* at which the difference in cadence has faded \[J\].
pub const FADED_SPEED: f64 = 0.43;
/// Greatest share of the difference at speeds below the measured one \[J\].
const MOST_FADE: f64 = 1.3;
/// A difference measured nearer to [`FADED_SPEED`] than this, or above it, is the walker's own and does not fade, v* \[J\].
const LEAST_FADE_SPAN: f64 = 0.05;
/// Cadence between two rows differs from the product by less, relative; leaves room for rounding.
const CADENCE_TOLERANCE: f64 = 0.9e-4;
/// Decimals of a drive file.
const DECIMALS: usize = 6;

/// What the drive file says of itself.
#[derive(Debug, Clone)]
pub struct Provenance {
    /// Name of the drive.
    pub name: String,
    /// Where the angles come from.
    pub source: Option<String>,
    /// What may be done with them.
    pub licence: Option<String>,
    /// What the drive is; by default that it is reconstructed from both legs.
    pub about: Option<String>,
}

/// The drive file.
///
/// # Errors
/// A mean speed that the base does not cover; what the drive's own check refuses.
pub fn drive(base: &DriveFile, mean: &MeanStride, said: Provenance) -> Result<DriveFile, SimError> {
    let rows = &base.speeds;
    let (least, most) = (rows[0].dimensionless_speed, rows[rows.len() - 1].dimensionless_speed);
    within("mean v* of the users", mean.dimensionless_speed, least..=most)?;
    let shift = Shift { base, measured: mean, at_measured: base.row_at(mean.dimensionless_speed) };
    let speeds = shift.speeds().into_iter().map(|v| shift.row(v)).collect();
    let measured = MeasuredSpeeds {
        dimensionless_speeds: vec![rounded(mean.dimensionless_speed, DECIMALS)],
        shifted_from: base.name.clone(),
    };
    let unknown = |what: &str| format!("State {what}.");
    let file = DriveFile {
        kind: DriveKind::Drive,
        about: said.about.unwrap_or_else(|| about(base, mean)),
        source: format!(
            "{} Ground load and the change with speed: {} (see there).",
            said.source.unwrap_or_else(|| unknown("where the angles come from")),
            base.name
        ),
        licence: said.licence.unwrap_or_else(|| unknown("what may be done with the numbers")),
        name: said.name,
        knee_flexion_sd_deg: mean.knee_peak_sd_deg.map(|sd| rounded(sd, 1)),
        measured: Some(measured),
        speeds,
    };
    file.check()?;
    Ok(file)
}

fn about(base: &DriveFile, mean: &MeanStride) -> String {
    let users = match mean.subjects.as_slice() {
        [one] => format!("One user of an above-knee prosthesis ({one})"),
        many => format!("{} users of above-knee prostheses ({})", many.len(), many.join(", ")),
    };
    format!(
        "{users}, prosthetic side, measured near {:.1} m/s (v* {:.4}); {}. Stride time, toe-off and \
         acceleration of the hip are reconstructed from joint angles of both legs. Every other speed is not \
         measured: there {} is shifted by the difference found at the measured speed, and the difference in \
         cadence fades to nothing at v* {FADED_SPEED} [J]. The ground load is that of {}. Both feet do not \
         alternate evenly: the sound foot lands at {:.0} % of the stride.",
        mean.speed_m_per_s,
        mean.dimensionless_speed,
        in_words(&mean.aligned_at),
        base.name,
        base.name,
        100.0 * mean.sound_contact
    )
}

struct Shift<'a> {
    base: &'a DriveFile,
    measured: &'a MeanStride,
    /// The base at the measured speed.
    at_measured: DriveRow,
}

impl Shift<'_> {
    fn fades(&self) -> bool {
        self.measured.dimensionless_speed <= FADED_SPEED - LEAST_FADE_SPAN
    }

    fn fade(&self, v: f64) -> f64 {
        if !self.fades() {
            return 1.0;
        }
        ((FADED_SPEED - v) / (FADED_SPEED - self.measured.dimensionless_speed)).clamp(0.0, MOST_FADE)
    }

    /// The cadence that rows are to follow.
    fn cadence(&self, v: f64) -> f64 {
        let more = self.measured.dimensionless_cadence / self.at_measured.dimensionless_cadence - 1.0;
        self.base.row_at(v).dimensionless_cadence * (1.0 + more * self.fade(v))
    }

    /// v* of all rows: where something has a corner, and between, so that the cadence is followed.
    fn speeds(&self) -> Vec<f64> {
        let v0 = self.measured.dimensionless_speed;
        let mut corners: Vec<f64> = self.base.speeds.iter().map(|r| r.dimensionless_speed).collect();
        let (least, most) = (corners[0], corners[corners.len() - 1]);
        let fade_begins = FADED_SPEED - MOST_FADE * (FADED_SPEED - v0);
        let of_fading = self.fades().then_some([FADED_SPEED, fade_begins]).into_iter().flatten();
        corners.extend(std::iter::once(v0).chain(of_fading).filter(|v| (least..=most).contains(v)));
        corners.iter_mut().for_each(|v| *v = rounded(*v, DECIMALS));
        corners.sort_by(f64::total_cmp);
        corners.dedup();
        let mut speeds = vec![corners[0]];
        for pair in corners.windows(2) {
            let middle = 0.5 * (pair[0] + pair[1]);
            // a parabola leaves its chord most in the middle, and a quarter as much over half the length
            let off = 0.5 * (self.cadence(pair[0]) + self.cadence(pair[1])) / self.cadence(middle) - 1.0;
            let parts = (off.abs() / CADENCE_TOLERANCE).sqrt().ceil().max(1.0) as usize;
            let at = |i: usize| pair[0] + (pair[1] - pair[0]) * i as f64 / parts as f64;
            speeds.extend((1..parts).map(|i| rounded(at(i), DECIMALS)));
            speeds.push(pair[1]);
        }
        speeds
    }

    fn row(&self, v: f64) -> DriveRow {
        let (base, measured, at) = (self.base.row_at(v), self.measured, &self.at_measured);
        let moved = |base: f64, measured: f64, at: f64| rounded(base + (measured - at), DECIMALS);
        DriveRow {
            label: self.label(v),
            dimensionless_speed: v,
            dimensionless_cadence: rounded(self.cadence(v), DECIMALS),
            dimensionless_step: moved(
                base.dimensionless_step,
                measured.dimensionless_step,
                at.dimensionless_step,
            ),
            toe_off_fraction: moved(base.toe_off_fraction, measured.toe_off, at.toe_off_fraction)
                .clamp(*TOE_OFF_FRACTION.start(), *TOE_OFF_FRACTION.end()),
            opposite_contact_fraction: rounded(measured.sound_contact, DECIMALS),
            thigh_angle_deg: shifted(&base.thigh_angle_deg, &measured.thigh_deg, &at.thigh_angle_deg),
            knee_flexion_deg: shifted(&base.knee_flexion_deg, &measured.knee_deg, &at.knee_flexion_deg),
            hip_vertical_acceleration_g: shifted(
                &base.hip_vertical_acceleration_g,
                &measured.hip_up_g,
                &at.hip_vertical_acceleration_g,
            ),
            hip_forward_acceleration_g: shifted(
                &base.hip_forward_acceleration_g,
                &measured.hip_forward_g,
                &at.hip_forward_acceleration_g,
            ),
            vertical_load_bw: base.vertical_load_bw.iter().map(|s| rounded(*s, DECIMALS)).collect(),
            forward_load_bw: base.forward_load_bw.iter().map(|s| rounded(*s, DECIMALS)).collect(),
        }
    }

    fn label(&self, v: f64) -> String {
        let same = |w: f64| (v - w).abs() < 1e-9;
        if same(rounded(self.measured.dimensionless_speed, DECIMALS)) {
            return "measured".into();
        }
        let of_base = self.base.speeds.iter().find(|r| same(r.dimensionless_speed));
        of_base.map_or_else(|| "between".into(), |r| format!("{} (shifted)", r.label))
    }
}

/// A series of the base, moved by the difference found; as many harmonics as the longer one has.
fn shifted(base: &Harmonics, measured: &Harmonics, at: &Harmonics) -> Harmonics {
    let count = base.cos.len().max(measured.cos.len());
    let of = |a: &[f64], k: usize| a.get(k).copied().unwrap_or(0.0);
    let all = |get: fn(&Harmonics) -> &Vec<f64>| {
        let one = |k| rounded(of(get(base), k) + (of(get(measured), k) - of(get(at), k)), DECIMALS);
        (0..count).map(one).collect()
    };
    Harmonics {
        mean: rounded(base.mean + (measured.mean - at.mean), DECIMALS),
        cos: all(|h| &h.cos),
        sin: all(|h| &h.sin),
    }
}
