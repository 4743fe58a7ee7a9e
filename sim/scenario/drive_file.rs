//! A walking drive as written in `models/drives/*.yaml`.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::harmonics::{Harmonics, MOST_HARMONICS};
use crate::error::SimError;
use crate::units::within;

/// Toe-off of walking, fraction of the stride.
pub const TOE_OFF_FRACTION: std::ops::RangeInclusive<f64> = 0.51..=0.9;

/// Marks a file as a drive.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum DriveKind {
    /// A walking drive.
    #[default]
    Drive,
}

/// The drive at one speed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
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
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct MeasuredSpeeds {
    /// Measured v*, ascending.
    pub dimensionless_speeds: Vec<f64>,
    /// Drive whose rows, shifted by the difference found at the measured speeds, stand for all others.
    pub shifted_from: String,
}

/// A drive file: rows by ascending speed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
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

/// A drive with the one that it was shifted from, if any.
#[derive(Debug, Clone, PartialEq)]
pub struct WalkingDrive {
    /// The drive.
    pub file: Arc<DriveFile>,
    /// The drive that it was shifted from.
    pub base: Option<Arc<DriveFile>>,
}

impl From<DriveFile> for WalkingDrive {
    fn from(file: DriveFile) -> Self {
        Self { file: Arc::new(file), base: None }
    }
}

impl WalkingDrive {
    /// Standard deviation over persons of the able-bodied peak of knee flexion, degrees.
    #[must_use]
    pub fn able_bodied_sd_deg(&self) -> Option<f64> {
        self.base.as_ref().unwrap_or(&self.file).knee_flexion_sd_deg
    }

    /// The drive that lies between the base (share 0) and this one (share 1); this one if it has no base.
    #[must_use]
    pub fn at_share(&self, share: f64) -> Self {
        let mixed = self.base.as_ref().filter(|_| share < 1.0).map(|base| self.file.mixed(base, share));
        mixed.map_or_else(|| self.clone(), |file| Self { file: Arc::new(file), ..self.clone() })
    }
}

impl DriveFile {
    /// Rows between those of `base` (share 0) and these (share 1), at the speeds of both; outside the speeds of one
    /// of them its nearest row counts.
    fn mixed(&self, base: &Self, share: f64) -> Self {
        let mut speeds: Vec<f64> =
            self.speeds.iter().chain(&base.speeds).map(|r| r.dimensionless_speed).collect();
        speeds.sort_by(f64::total_cmp);
        speeds.dedup();
        let rows = speeds
            .into_iter()
            .map(|v| DriveRow { dimensionless_speed: v, ..base.row_at(v).towards(&self.row_at(v), share) });
        Self { speeds: rows.collect(), ..self.clone() }
    }

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

    /// The row at any v*, linear between the file's own; outside them the nearest.
    #[must_use]
    pub fn row_at(&self, v: f64) -> DriveRow {
        let (lower, upper, f) = self.bracket(v);
        lower.towards(upper, f.clamp(0.0, 1.0))
    }

    /// The rows on both sides of a dimensionless speed, and its fraction of the way between them.
    pub(super) fn bracket(&self, v: f64) -> (&DriveRow, &DriveRow, f64) {
        let rows = &self.speeds;
        let i = rows.partition_point(|r| r.dimensionless_speed <= v).clamp(1, (rows.len() - 1).max(1));
        let (lower, upper) = (&rows[i - 1], &rows[i.min(rows.len() - 1)]);
        let span = upper.dimensionless_speed - lower.dimensionless_speed;
        let f = if span > 0.0 { (v - lower.dimensionless_speed) / span } else { 0.0 };
        (lower, upper, f)
    }
}

impl DriveRow {
    /// The row at fraction `f` of the way to another; missing harmonics are 0.
    fn towards(&self, other: &Self, f: f64) -> Self {
        let mix = |a: f64, b: f64| a + f * (b - a);
        let list = |a: &[f64], b: &[f64]| -> Vec<f64> {
            let at = |list: &[f64], k: usize| list.get(k).copied().unwrap_or(0.0);
            (0..a.len().max(b.len())).map(|k| mix(at(a, k), at(b, k))).collect()
        };
        let series = |a: &Harmonics, b: &Harmonics| Harmonics {
            mean: mix(a.mean, b.mean),
            cos: list(&a.cos, &b.cos),
            sin: list(&a.sin, &b.sin),
        };
        let o = other;
        Self {
            label: self.label.clone(),
            dimensionless_speed: mix(self.dimensionless_speed, o.dimensionless_speed),
            dimensionless_cadence: mix(self.dimensionless_cadence, o.dimensionless_cadence),
            dimensionless_step: mix(self.dimensionless_step, o.dimensionless_step),
            toe_off_fraction: mix(self.toe_off_fraction, o.toe_off_fraction),
            opposite_contact_fraction: mix(self.opposite_contact_fraction, o.opposite_contact_fraction),
            thigh_angle_deg: series(&self.thigh_angle_deg, &o.thigh_angle_deg),
            knee_flexion_deg: series(&self.knee_flexion_deg, &o.knee_flexion_deg),
            hip_vertical_acceleration_g: series(
                &self.hip_vertical_acceleration_g,
                &o.hip_vertical_acceleration_g,
            ),
            hip_forward_acceleration_g: series(
                &self.hip_forward_acceleration_g,
                &o.hip_forward_acceleration_g,
            ),
            vertical_load_bw: list(&self.vertical_load_bw, &o.vertical_load_bw),
            forward_load_bw: list(&self.forward_load_bw, &o.forward_load_bw),
        }
    }

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
        within("toe_off_fraction", self.toe_off_fraction, TOE_OFF_FRACTION)?;
        within("opposite_contact_fraction", self.opposite_contact_fraction, 0.3..=0.7)?;
        let count = |field: &str, n: usize| {
            within(&format!("{field} (number of harmonics)"), n as f64, 1.0..=MOST_HARMONICS as f64)
        };
        for (field, h, most) in self.signals() {
            count(&format!("{field}.cos"), h.cos.len())?;
            if h.cos.len() != h.sin.len() {
                return Err(SimError::Inconsistent {
                    field: format!("{field}.sin"),
                    why: "cos and sin need the same number of values".into(),
                });
            }
            for (part, values) in [("mean", std::slice::from_ref(&h.mean)), ("cos", &h.cos), ("sin", &h.sin)]
            {
                for v in values {
                    within(&format!("{field}.{part}"), *v, -most..=most)?;
                }
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
