//! A knee as written in `models/knees/*.yaml`.

use serde::{Deserialize, Serialize};

use super::damper::{ConstantFriction, Taper};
use super::{AssistSpring, EndStopFile, Oil, Relief, SettingName, Trigger};

/// Marks a file as a knee.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum KneeKind {
    /// A knee.
    #[default]
    Knee,
}

/// A knee file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct KneeFile {
    /// Always `knee`.
    pub kind: KneeKind,
    /// Name in the library.
    pub name: String,
    /// What it is and where its numbers come from.
    pub about: String,
    /// Oil.
    pub oil: Oil,
    /// Oil temperature at which the file's coefficients hold, °C.
    pub reference_temperature_c: f64,
    /// Displacement V, m³/rad.
    pub displacement_m3_per_rad: f64,
    /// Displacement by flexion, relative to V.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub displacement_by_flexion: Option<LeverFile>,
    /// Discharge coefficient C_d; only used to turn areas into b and back.
    pub discharge_coefficient: f64,
    /// Relief of the oil torque in flexion.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub relief: Option<Relief>,
    /// Flexion in swing.
    pub swing_flexion: DirectionFile,
    /// Extension.
    pub swing_extension: DirectionFile,
    /// Stance valve.
    pub stance: StanceFile,
    /// End-of-travel cushion.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cushion: Option<CushionFile>,
    /// Assist spring.
    #[serde(default)]
    pub assist: AssistSpring,
    /// Extension stop.
    pub extension_stop: EndStopFile,
    /// Flexion stop.
    pub flexion_stop: EndStopFile,
    /// Seal friction.
    pub seal_friction: ConstantFriction,
    /// Locked straight.
    #[serde(default)]
    pub locked: bool,
}

/// The law of one direction and the range of its setting.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum DirectionFile {
    /// Orifice and laminar passage.
    Orifice(OrificeFile),
    /// Proportional to rate.
    Linear(LinearFile),
    /// Constant friction.
    ConstantFriction(FrictionFile),
    /// Measured; has no setting.
    Table(TableFile),
}

/// Range of an orifice: `b` or areas at both ends, `a` fixed or in proportion to b, and where it is set.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
#[allow(missing_docs)] // the names say it: see the struct's text and the shipped files
pub struct OrificeFile {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub a_n_m_s_per_rad: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub a_over_b_rad_per_s: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub b_open_n_m_s2_per_rad2: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub b_closed_n_m_s2_per_rad2: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub area_open_mm2: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub area_closed_mm2: Option<f64>,
    pub taper: Taper,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub set_b_n_m_s2_per_rad2: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub set_pct: Option<f64>,
    pub step_pct: f64,
}

/// Range of a linear damper, geometric between its ends.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct LinearFile {
    pub c_open_n_m_s_per_rad: f64,
    pub c_closed_n_m_s_per_rad: f64,
    pub set_pct: f64,
    pub step_pct: f64,
}

/// Range of a friction brake, linear between its ends.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct FrictionFile {
    pub least_n_m: f64,
    pub greatest_n_m: f64,
    pub smoothing_rad_per_s: f64,
    pub set_pct: f64,
    pub step_pct: f64,
}

/// Measured points of one direction.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct TableFile {
    pub rate_rad_per_s: Vec<f64>,
    pub torque_n_m: Vec<f64>,
}

/// Displacement by flexion, relative to the reference displacement.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct LeverFile {
    pub flexion_deg: Vec<f64>,
    pub relative: Vec<f64>,
}

/// Stance valve: what triggers it, the yield range and the catch-load range.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct StanceFile {
    pub trigger: Trigger,
    #[serde(rename = "yield")]
    pub yielding: OrificeFile,
    pub catch_load: CatchLoadFile,
    pub lag_ms: f64,
    pub hysteresis_bw: f64,
    pub switch_width_bw: f64,
    pub release_distance_m: f64,
    #[serde(default = "StanceFile::full_distance_m")]
    pub full_distance_m: f64,
    pub bend_start_deg: f64,
    pub bend_span_deg: f64,
}

impl StanceFile {
    fn full_distance_m() -> f64 {
        super::StanceValve::default().full_distance_m
    }
}

/// Catch load range, linear between its ends.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct CatchLoadFile {
    pub least_n: f64,
    pub greatest_n: f64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub set_n: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub set_pct: Option<f64>,
    pub step_pct: f64,
}

/// End-of-travel cushion.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct CushionFile {
    pub start_deg: f64,
    pub factor: f64,
}

impl KneeFile {
    /// The smallest step of a setting, percentage points; `None` where the knee has no such setting.
    #[must_use]
    pub fn step_pct(&self, name: SettingName) -> Option<f64> {
        let of = |d: &DirectionFile| match d {
            DirectionFile::Orifice(o) => Some(o.step_pct),
            DirectionFile::Linear(l) => Some(l.step_pct),
            DirectionFile::ConstantFriction(f) => Some(f.step_pct),
            DirectionFile::Table(_) => None,
        };
        match name {
            SettingName::SwingFlexion => of(&self.swing_flexion),
            SettingName::SwingExtension => of(&self.swing_extension),
            SettingName::StanceYield => Some(self.stance.yielding.step_pct),
            SettingName::CatchLoad => Some(self.stance.catch_load.step_pct),
        }
    }
}
