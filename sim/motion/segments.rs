//! Masses and lengths of a leg on the ground, for the loaded tasks and for sitting down.

use super::pendulum::Thigh;
use crate::body::{Alignment, Person, Shank};
use crate::numerics::math;
use crate::scenario::Footing;
use crate::units::GRAVITY_M_PER_S2 as G;

/// Masses and lengths of the loaded leg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Segments {
    /// Whole mass M, kg.
    pub mass_kg: f64,
    /// Shank and foot m1, kg.
    pub lower_mass_kg: f64,
    /// Its centre below the knee axis along the shank c1, m.
    pub lower_com_down_m: f64,
    /// Its centre ahead of the shank line e1, m.
    pub lower_com_ahead_m: f64,
    /// Its central moment of inertia I1, kg m².
    pub lower_inertia_kg_m2: f64,
    /// Thigh and socket m2, kg.
    pub upper_mass_kg: f64,
    /// Their centre above the knee axis c2, m.
    pub upper_com_above_knee_m: f64,
    /// Their central moment of inertia I2, kg m².
    pub upper_inertia_kg_m2: f64,
    /// Thigh length Lt, m.
    pub thigh_m: f64,
    /// Knee axis to sole L1, m.
    pub knee_to_sole_m: f64,
    /// Stature H, m.
    pub stature_m: f64,
    /// Where the foot stands.
    pub alignment: Alignment,
}

impl Segments {
    /// Of a person with this shank.
    #[must_use]
    pub fn of(person: &Person, shank: &Shank) -> Self {
        let thigh = Thigh::of(person);
        Self {
            mass_kg: person.mass_kg,
            lower_mass_kg: shank.mass_kg,
            lower_com_down_m: shank.com_distance_m * math::cos(shank.com_angle_rad),
            lower_com_ahead_m: shank.com_distance_m * math::sin(shank.com_angle_rad),
            lower_inertia_kg_m2: shank.central_inertia_kg_m2(),
            upper_mass_kg: thigh.mass,
            upper_com_above_knee_m: thigh.com_above_knee,
            upper_inertia_kg_m2: thigh.inertia,
            thigh_m: thigh.length,
            knee_to_sole_m: person.knee_to_sole_m(),
            stature_m: person.stature_m(),
            alignment: Alignment::default(),
        }
    }

    /// The same with the foot where the alignment puts it.
    #[must_use]
    pub fn aligned(self, alignment: Alignment) -> Self {
        Self { alignment, ..self }
    }

    /// The rolling foot of this leg.
    #[must_use]
    pub fn rolling_foot(&self) -> Footing {
        Footing::rolling(self.stature_m).aligned(self.alignment, self.stature_m)
    }

    /// The edge of a step under the midfoot of this leg.
    #[must_use]
    pub fn stair_edge(&self) -> Footing {
        Footing::edge(self.stature_m).aligned(self.alignment, self.stature_m)
    }

    /// Body weight, N.
    #[must_use]
    pub fn weight_n(&self) -> f64 {
        self.mass_kg * G
    }

    /// Hip to sole, m.
    #[must_use]
    pub fn leg_m(&self) -> f64 {
        self.thigh_m + self.knee_to_sole_m
    }
}
