//! One user of a prosthesis: measures and the angles of both sides over a stride.

use std::collections::BTreeMap;

/// An angle of one leg or, seen from its stride, of the pelvis.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Angle {
    /// Pelvis from the horizontal, seen from the side.
    PelvisTilt,
    /// Pelvis from the horizontal, seen from the front.
    PelvisObliquity,
    /// Pelvis seen from above.
    PelvisRotation,
    /// Thigh against the pelvis.
    HipFlexion,
    /// Shank against the thigh.
    KneeFlexion,
    /// Foot against the shank.
    AnkleDorsiflexion,
}

impl Angle {
    /// All angles; both sides need each of them.
    pub const ALL: [Self; 6] = [
        Self::PelvisTilt,
        Self::PelvisObliquity,
        Self::PelvisRotation,
        Self::HipFlexion,
        Self::KneeFlexion,
        Self::AnkleDorsiflexion,
    ];

    /// Name in the table.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::PelvisTilt => "pelvis_tilt",
            Self::PelvisObliquity => "pelvis_obliquity",
            Self::PelvisRotation => "pelvis_rotation",
            Self::HipFlexion => "hip_flexion",
            Self::KneeFlexion => "knee_flexion",
            Self::AnkleDorsiflexion => "ankle_dorsiflexion",
        }
    }
}

/// Side of the body.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Side {
    /// With the prosthesis.
    Prosthetic,
    /// The other.
    Sound,
}

impl Side {
    /// Both sides.
    pub const ALL: [Self; 2] = [Self::Prosthetic, Self::Sound];

    /// Name in the table.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Prosthetic => "prosthetic",
            Self::Sound => "sound",
        }
    }
}

/// Angles of one side at whole percents of its stride, degrees.
#[derive(Debug, Clone, PartialEq)]
pub struct SideAngles(BTreeMap<Angle, Vec<f64>>);

impl SideAngles {
    /// From all six angles.
    #[must_use]
    pub fn new(deg: BTreeMap<Angle, Vec<f64>>) -> Self {
        debug_assert_eq!(deg.len(), Angle::ALL.len());
        Self(deg)
    }

    /// One angle at 0, 1, ... 100 % of the stride, degrees.
    #[must_use]
    pub fn deg(&self, angle: Angle) -> &[f64] {
        &self.0[&angle]
    }

    /// Thigh from vertical, positive with the knee ahead of the hip, degrees.
    #[must_use]
    pub fn thigh_deg(&self) -> Vec<f64> {
        self.deg(Angle::HipFlexion).iter().zip(self.deg(Angle::PelvisTilt)).map(|(h, p)| h - p).collect()
    }
}

/// One user of a prosthesis.
#[derive(Debug, Clone, PartialEq)]
pub struct User {
    /// Name in the tables.
    pub subject: String,
    /// Level of mobility, if the table of people has one.
    pub level: String,
    /// Mass, kg.
    pub mass_kg: f64,
    /// Stature, m.
    pub stature_m: f64,
    /// Speed of the belt, m/s.
    pub speed_m_per_s: f64,
    /// First line of the user's angles.
    pub line: u64,
    /// Side with the prosthesis.
    pub prosthetic: SideAngles,
    /// Other side.
    pub sound: SideAngles,
}
