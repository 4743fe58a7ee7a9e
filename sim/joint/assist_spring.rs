//! The spring that helps the knee to straighten.
//!
//! ```text
//! τ(φ) = −(τ₀ + k_a max(φ − φ_stop, 0))
//! ```
//! τ₀ preload (N m), k_a rate (N m/rad), at every φ, also inside the stop, so there is no jump; the
//! slope jumps at φ_stop when k_a > 0, which is an event of the stop anyway. Typical 0-5 N m (common
//! practice). Checked in tests/closed_form/swing.rs.
//!
//! ```
//! use kneedamp::joint::AssistSpring;
//! let spring = AssistSpring { torque_n_m: 1.5, rate_n_m_per_rad: 2.0 };
//! assert_eq!(spring.torque(0.5), -2.5);
//! assert_eq!(spring.torque(-0.1), -1.5);
//! ```

use serde::{Deserialize, Serialize};

use crate::numerics::simd::Lane;

/// A preloaded torsion spring towards extension.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[cfg_attr(feature = "app", schemars(bound = "T: schemars::JsonSchema + Default + Serialize"))]
#[serde(deny_unknown_fields)]
pub struct AssistSpring<T = f64> {
    /// Preload τ₀, N m.
    pub torque_n_m: T,
    /// Rate k_a, N m/rad.
    #[serde(default)]
    pub rate_n_m_per_rad: T,
}

impl AssistSpring {
    /// Torque on the knee, N m; `bend` is flexion from the extension stop, rad.
    #[must_use]
    #[inline]
    pub fn torque(&self, bend: f64) -> f64 {
        self.torque_on(bend > 0.0, bend)
    }
}

impl<T: Lane> AssistSpring<T> {
    /// The same on a branch: `bent` beyond φ_stop or not.
    #[must_use]
    #[inline(always)]
    pub fn torque_on(&self, bent: T::Mask, bend: T) -> T {
        let line = self.line_on(bent);
        line.per_bend.times_plus(bend, line.preload)
    }

    /// The torque as a line over the flexion, on a branch.
    #[must_use]
    #[inline(always)]
    pub fn line_on(&self, bent: T::Mask) -> AssistLine<T> {
        let rate = T::choose(bent, self.rate_n_m_per_rad, self.rate_n_m_per_rad.splat(0.0));
        AssistLine { preload: -self.torque_n_m, per_bend: -rate }
    }
}

/// A torque that is linear in the flexion from the extension stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AssistLine<T> {
    /// Torque at φ_stop, N m.
    pub preload: T,
    /// Slope, N m/rad.
    pub per_bend: T,
}
