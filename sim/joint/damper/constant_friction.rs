//! Constant friction, smoothed.
//!
//! ```text
//! τ(ω) = −τ_c tanh(ω/ω_s)
//! ```
//! τ_c in N m; ω_s is regularising, not physical: within |ω| < 2 ω_s the torque is more than 3.6 %
//! below τ_c, and a limb at rest creeps at ω ≈ ω_s τ/τ_c under a torque τ < τ_c instead of sticking.
//! At the instant I ω₀/τ_c at which dry friction would stop a flywheel, it still rotates at 0.481 ω_s (to
//! within e^(−2ω₀/ω_s)); its rate then decays with time constant I ω_s/τ_c. Valid for any rate. Used for the
//! constant-friction joint of the comparison by Tsai & Mansour 1986 (J Biomech Eng 108:65,
//! doi 10.1115/1.3138582) and, with τ_c 0.3 N m and ω_s 0.05 rad/s \[J\], for the seals. Checked in tests/closed_form/damper.rs.
//!
//! ```
//! use kneedamp::joint::damper::ConstantFriction;
//! let seals = ConstantFriction { torque_n_m: 0.3, smoothing_rad_per_s: 0.05 };
//! assert!((seals.torque(1.0) + 0.3).abs() < 1e-12);
//! ```

use serde::{Deserialize, Serialize};

use crate::numerics::simd::Lane;

/// Friction that does not depend on rate.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ConstantFriction<T = f64> {
    /// Friction torque τ_c, N m.
    pub torque_n_m: T,
    /// Smoothing rate ω_s, rad/s; not physical.
    pub smoothing_rad_per_s: T,
}

impl<T: Lane> ConstantFriction<T> {
    /// Torque on the knee, N m.
    #[must_use]
    #[inline(always)]
    pub fn torque(&self, omega: T) -> T {
        -self.torque_n_m * omega.tanh_over(self.smoothing_rad_per_s)
    }
}
