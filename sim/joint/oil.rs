//! Oil viscosity against temperature.
//!
//! ```text
//! log₁₀ log₁₀(ν + 0.7) = A − B log₁₀ T
//! ```
//! ν kinematic viscosity in mm²/s, T absolute temperature in K; A and B from two known viscosities
//! (the grade at 40 °C and one at 100 °C). Valid between the pour point and about 120 °C for mineral
//! and synthetic hydrocarbon oils, ν ≥ 2 mm²/s (below that the standard adds small terms, omitted here). Density is taken as constant; it falls by about 0.07 % per kelvin (common practice).
//! Sources: ASTM D341; grades by ISO 3448 (mid-points ± 10 %). Checked in
//! tests/published/hydraulics.rs.
//!
//! ```
//! use kneedamp::joint::Oil;
//! let vg32 = Oil { grade_iso_vg: 32.0, viscosity_at_100c_mm2_per_s: 5.4, density_kg_per_m3: 860.0 };
//! assert!((vg32.viscosity_mm2_per_s(0.0) - 336.0).abs() < 0.5);
//! assert!((vg32.viscosity_mm2_per_s(40.0) - 32.0).abs() < 1e-9);
//! ```

use crate::numerics::math;
use serde::{Deserialize, Serialize};

use crate::error::SimError;
use crate::units::within;

/// ISO 3448 viscosity grades: mid-point viscosity at 40 °C in mm²/s; each covers ± 10 %.
pub const ISO_3448_GRADES: [f64; 20] = [
    2.2, 3.2, 4.6, 6.8, 10.0, 15.0, 22.0, 32.0, 46.0, 68.0, 100.0, 150.0, 220.0, 320.0, 460.0, 680.0, 1000.0,
    1500.0, 2200.0, 3200.0,
];

/// A hydraulic oil.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Oil {
    /// ISO 3448 grade: mid-point kinematic viscosity at 40 °C, mm²/s.
    pub grade_iso_vg: f64,
    /// Kinematic viscosity at 100 °C, mm²/s.
    pub viscosity_at_100c_mm2_per_s: f64,
    /// Density ρ, kg/m³.
    pub density_kg_per_m3: f64,
}

impl Oil {
    /// # Errors
    /// A grade that ISO 3448 does not have, or a value out of range.
    pub fn check(&self) -> Result<(), SimError> {
        if !ISO_3448_GRADES.iter().any(|g| (g - self.grade_iso_vg).abs() < 1e-9) {
            return Err(SimError::OutOfRange {
                field: "grade_iso_vg".into(),
                value: self.grade_iso_vg.to_string(),
                allowed: format!("one of the ISO 3448 grades {ISO_3448_GRADES:?}"),
            });
        }
        within("viscosity_at_100c_mm2_per_s", self.viscosity_at_100c_mm2_per_s, 0.8..=200.0)?;
        if self.viscosity_at_100c_mm2_per_s >= self.grade_iso_vg {
            return Err(SimError::Inconsistent {
                field: "viscosity_at_100c_mm2_per_s".into(),
                why: "must be below the viscosity at 40 °C, which is the grade".into(),
            });
        }
        within("density_kg_per_m3", self.density_kg_per_m3, 700.0..=1200.0)?;
        Ok(())
    }

    /// Kinematic viscosity at a temperature, mm²/s.
    #[must_use]
    pub fn viscosity_mm2_per_s(&self, temperature_c: f64) -> f64 {
        let kelvin = |c: f64| math::log10(c + 273.15);
        let double_log = |nu: f64| math::log10(math::log10(nu + 0.7));
        let (w40, w100) = (double_log(self.grade_iso_vg), double_log(self.viscosity_at_100c_mm2_per_s));
        let slope = (w100 - w40) / (kelvin(100.0) - kelvin(40.0));
        let w = w40 + slope * (kelvin(temperature_c) - kelvin(40.0));
        math::powf(10.0, math::powf(10.0, w)) - 0.7
    }

    /// Viscosity at `temperature_c` over viscosity at `reference_c`: the factor on the laminar part.
    #[must_use]
    pub fn viscosity_ratio(&self, temperature_c: f64, reference_c: f64) -> f64 {
        self.viscosity_mm2_per_s(temperature_c) / self.viscosity_mm2_per_s(reference_c)
    }
}
