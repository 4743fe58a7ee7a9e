//! The person: mass, stature, and the corrective moment in pre-swing.

use serde::{Deserialize, Serialize};

use super::anthropometry as ratio;
use crate::error::SimError;
use crate::units::{GRAVITY_M_PER_S2, within};

/// A person as written in `models/people/*.yaml`. Mass includes the prosthesis.
///
/// ```
/// use kneedamp::body::Person;
/// let person = Person { mass_kg: 75.0, ..Person::default() };
/// assert_eq!(person.stature_m(), 1.75);
/// assert!((person.thigh_length_m() - 0.245 * 1.75).abs() < 1e-12);
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Person {
    /// Always `person`.
    pub kind: PersonKind,
    /// Name in the library.
    pub name: String,
    /// Who this is; example people say that they are invented.
    pub about: String,
    /// Whole mass with prosthesis, kg.
    pub mass_kg: f64,
    /// Stature, m; by default the one that goes with the mass.
    #[serde(default, rename = "stature_m", skip_serializing_if = "Option::is_none")]
    pub stature_given_m: Option<f64>,
    /// Greatest corrective knee moment that hip and ground add in pre-swing, N m per kg \[J\].
    #[serde(default = "default_effort")]
    pub user_effort_n_m_per_kg: f64,
    /// How the knee bends in pre-swing when nothing disturbs it.
    #[serde(default, skip_serializing_if = "PreswingHabit::is_default")]
    pub preswing: PreswingHabit,
}

/// What ground and hip do in pre-swing in ordinary walking \[J\]: they bend the knee against a light damping
/// a ω + b ω², and correct a lag or lead within this bandwidth.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub struct PreswingHabit {
    /// a of the damping, N m s/rad.
    pub light_a_n_m_s_per_rad: f64,
    /// b of the damping, N m s²/rad².
    pub light_b_n_m_s2_per_rad2: f64,
    /// Bandwidth of the correction, Hz.
    pub tracking_hz: f64,
}

impl Default for PreswingHabit {
    fn default() -> Self {
        Self { light_a_n_m_s_per_rad: 0.2, light_b_n_m_s2_per_rad2: 0.1, tracking_hz: 12.0 }
    }
}

impl PreswingHabit {
    fn is_default(&self) -> bool {
        *self == Self::default()
    }

    fn check(&self) -> Result<(), SimError> {
        within("light_a_n_m_s_per_rad", self.light_a_n_m_s_per_rad, 0.0..=5.0)?;
        within("light_b_n_m_s2_per_rad2", self.light_b_n_m_s2_per_rad2, 0.0..=5.0)?;
        within("tracking_hz", self.tracking_hz, 2.0..=50.0).map(|_| ())
    }
}

/// Marks a file as a person.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum PersonKind {
    /// A person.
    #[default]
    Person,
}

fn default_effort() -> f64 {
    0.2
}

impl Default for Person {
    fn default() -> Self {
        Self {
            kind: PersonKind::Person,
            name: "unnamed".into(),
            about: String::new(),
            mass_kg: 75.0,
            stature_given_m: None,
            user_effort_n_m_per_kg: default_effort(),
            preswing: PreswingHabit::default(),
        }
    }
}

impl Person {
    /// Refuses values outside the range of the model.
    ///
    /// # Errors
    /// Names the field, the value and the range.
    pub fn check(&self) -> Result<(), SimError> {
        within("mass_kg", self.mass_kg, 30.0..=200.0)?;
        if let Some(h) = self.stature_given_m {
            within("stature_m", h, 1.2..=2.2)?;
        }
        within("user_effort_n_m_per_kg", self.user_effort_n_m_per_kg, 0.0..=1.0)?;
        self.preswing.check().map_err(|e| e.inside("preswing"))
    }

    /// Stature, m.
    #[must_use]
    pub fn stature_m(&self) -> f64 {
        self.stature_given_m.unwrap_or_else(|| ratio::stature_for_mass_m(self.mass_kg))
    }

    /// Hip to knee axis, m.
    #[must_use]
    pub fn thigh_length_m(&self) -> f64 {
        ratio::THIGH_PER_STATURE * self.stature_m()
    }

    /// Knee axis to sole, m.
    #[must_use]
    pub fn knee_to_sole_m(&self) -> f64 {
        ratio::KNEE_TO_SOLE_PER_STATURE * self.stature_m()
    }

    /// Hip to sole, m.
    #[must_use]
    pub fn leg_length_m(&self) -> f64 {
        ratio::LEG_PER_STATURE * self.stature_m()
    }

    /// Foot tip ahead of the ankle, m.
    #[must_use]
    pub fn toe_ahead_of_ankle_m(&self) -> f64 {
        (ratio::FOOT_PER_STATURE - ratio::HEEL_PER_STATURE) * self.stature_m()
    }

    /// Body weight, N.
    #[must_use]
    pub fn weight_n(&self) -> f64 {
        self.mass_kg * GRAVITY_M_PER_S2
    }

    /// Greatest corrective knee moment in pre-swing, N m.
    #[must_use]
    pub fn user_effort_n_m(&self) -> f64 {
        self.user_effort_n_m_per_kg * self.mass_kg
    }
}
