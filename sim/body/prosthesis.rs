//! The limb below the knee axis: parts → mass, centre of mass, moment of inertia.
//!
//! ```text
//! m = Σ mᵢ     r_c (cos ε, sin ε) = Σ mᵢ (downᵢ, aheadᵢ) / m     I = Σ mᵢ (downᵢ² + aheadᵢ² + gᵢ²)
//! ```
//! `down` is measured along the shank from the knee axis, `ahead` at right angles to it, towards the
//! toes; `g` is the part's own radius of gyration about its centre; I is about the knee axis.
//! Exact for rigid parts. Checked in tests/closed_form/body.rs.
//!
//! ```
//! use kneedamp::body::{Part, Shank};
//! let point = Part { part: "bob".into(), mass_kg: 2.0, down_m: 0.3, ahead_m: 0.0, gyration_radius_m: 0.0 };
//! let shank = Shank::from_parts(&[point]);
//! assert!((shank.inertia_kg_m2 - 0.18).abs() < 1e-12);
//! ```

use crate::numerics::math;
use serde::{Deserialize, Serialize};

use crate::error::SimError;
use crate::units::{DEG, within};

/// One part of the prosthesis below the knee axis.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// What it is: lower half of the joint, tube, foot, shoe.
    pub part: String,
    /// Mass, kg.
    pub mass_kg: f64,
    /// Centre of mass below the knee axis along the shank, m.
    pub down_m: f64,
    /// Centre of mass ahead of the shank line, m.
    pub ahead_m: f64,
    /// Radius of gyration about the part's own centre, m.
    pub gyration_radius_m: f64,
}

/// Everything below the knee axis as one rigid body.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shank {
    /// Mass m, kg.
    pub mass_kg: f64,
    /// Knee axis to centre of mass r_c, m.
    pub com_distance_m: f64,
    /// Centre of mass ahead of the shank line by this angle ε, rad.
    pub com_angle_rad: f64,
    /// Moment of inertia about the knee axis I, kg m².
    pub inertia_kg_m2: f64,
}

impl Shank {
    /// Sum of parts.
    #[must_use]
    pub fn from_parts(parts: &[Part]) -> Self {
        let m: f64 = parts.iter().map(|p| p.mass_kg).sum();
        let down = parts.iter().map(|p| p.mass_kg * p.down_m).sum::<f64>() / m;
        let ahead = parts.iter().map(|p| p.mass_kg * p.ahead_m).sum::<f64>() / m;
        let inertia = parts
            .iter()
            .map(|p| p.mass_kg * (p.down_m.powi(2) + p.ahead_m.powi(2) + p.gyration_radius_m.powi(2)))
            .sum();
        Self {
            mass_kg: m,
            com_distance_m: math::hypot(down, ahead),
            com_angle_rad: math::atan2(ahead, down),
            inertia_kg_m2: inertia,
        }
    }

    /// Moment of inertia about the centre of mass, kg m².
    #[must_use]
    pub fn central_inertia_kg_m2(&self) -> f64 {
        self.inertia_kg_m2 - self.mass_kg * self.com_distance_m.powi(2)
    }
}

/// Totals measured on the finished prosthesis (scale, balance edge, pendulum period).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Totals {
    /// Mass, kg.
    pub mass_kg: f64,
    /// Knee axis to centre of mass, m.
    pub com_distance_m: f64,
    /// Angle of that line ahead of the shank line, degrees.
    pub com_angle_deg: f64,
    /// Moment of inertia about the knee axis, kg m².
    pub inertia_kg_m2: f64,
}

/// Marks a file as a prosthesis.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum ProsthesisKind {
    /// A prosthesis below the knee axis.
    #[default]
    Prosthesis,
}

/// A prosthesis as written in `models/prostheses/*.yaml`: `parts` or `totals`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Prosthesis {
    /// Always `prosthesis`.
    pub kind: ProsthesisKind,
    /// Name in the library.
    pub name: String,
    /// What it is and where its numbers come from.
    pub about: String,
    /// Parts list.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<Part>,
    /// Measured totals, instead of parts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub totals: Option<Totals>,
}

impl Prosthesis {
    /// Checks the ranges and sums the parts.
    ///
    /// # Errors
    /// Names the field, the value and the range; or that not exactly one of `parts` and `totals` is
    /// given; or a moment of inertia smaller than the mass centre allows.
    pub fn shank(&self) -> Result<Shank, SimError> {
        let inconsistent =
            |field: &str, why: &str| SimError::Inconsistent { field: field.into(), why: why.into() };
        let shank = match (&self.totals, self.parts.as_slice()) {
            (None, []) => return Err(inconsistent("parts", "give a list of parts, or totals")),
            (Some(_), [_, ..]) => return Err(inconsistent("totals", "give parts or totals, not both")),
            (None, parts) => {
                for (i, p) in parts.iter().enumerate() {
                    check_part(p).map_err(|e| e.inside(&format!("parts[{i}]")))?;
                }
                Shank::from_parts(parts)
            }
            (Some(t), []) => Shank {
                mass_kg: within("totals.mass_kg", t.mass_kg, 0.3..=15.0)?,
                com_distance_m: within("totals.com_distance_m", t.com_distance_m, 0.02..=0.6)?,
                com_angle_rad: within("totals.com_angle_deg", t.com_angle_deg, -30.0..=30.0)? * DEG,
                inertia_kg_m2: within("totals.inertia_kg_m2", t.inertia_kg_m2, 0.005..=3.0)?,
            },
        };
        within("mass (sum of parts)", shank.mass_kg, 0.3..=15.0)?;
        within("moment of inertia about the knee", shank.inertia_kg_m2, 0.005..=3.0)?;
        if shank.central_inertia_kg_m2() <= 0.0 {
            return Err(inconsistent("totals.inertia_kg_m2", "must exceed mass_kg · com_distance_m²"));
        }
        Ok(shank)
    }
}

fn check_part(p: &Part) -> Result<(), SimError> {
    within("mass_kg", p.mass_kg, 0.0..=10.0)?;
    within("down_m", p.down_m, -0.2..=0.7)?;
    within("ahead_m", p.ahead_m, -0.3..=0.3)?;
    within("gyration_radius_m", p.gyration_radius_m, 0.0..=0.4)?;
    Ok(())
}
