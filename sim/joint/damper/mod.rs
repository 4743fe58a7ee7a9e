//! Damper laws: one file and one enum variant each. A torque is positive when it increases flexion.

mod constant_friction;
mod linear;
mod orifice;
mod table;

pub use constant_friction::ConstantFriction;
pub use linear::Linear;
pub use orifice::{Orifice, Taper, ValveOpening};
pub use table::Table;

/// The law of one direction of motion.
#[derive(Debug, Clone, PartialEq)]
pub enum DamperLaw {
    /// Laminar passage and orifice.
    Orifice(Orifice),
    /// Proportional to rate.
    Linear(Linear),
    /// Constant friction.
    ConstantFriction(ConstantFriction),
    /// Measured curve.
    Table(Table),
}

impl DamperLaw {
    /// Torque on the knee, N m, with `factor` on the part that grows with the square of rate (the
    /// end-of-travel cushion; 1 otherwise). Laws other than the orifice have no such part.
    #[must_use]
    #[inline]
    pub fn torque(&self, omega: f64, factor: f64) -> f64 {
        match self {
            Self::Orifice(o) => Orifice { a: o.a, b: o.b * factor }.torque(omega),
            // odd and smooth (or straight) through ω = 0: one branch for both directions
            Self::Linear(l) => l.torque(omega),
            Self::ConstantFriction(f) => f.torque(omega),
            Self::Table(t) => t.torque(omega),
        }
    }

    /// Coefficients a and b, where the law has them.
    #[must_use]
    pub fn coefficients(&self) -> Option<Orifice> {
        match self {
            Self::Orifice(o) => Some(*o),
            Self::Linear(l) => Some(Orifice { a: l.c, b: 0.0 }),
            Self::ConstantFriction(_) | Self::Table(_) => None,
        }
    }
}
