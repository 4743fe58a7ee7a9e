//! Extension and flexion stop: a contact that pushes and never pulls.
//!
//! ```text
//! extension:  d = φ_stop − φ,  τ = + max(0, k d (1 + c d')) for d > 0
//! flexion:    d = φ − φ_max,   τ = − max(0, k d (1 + c d')) for d > 0
//! ```
//! k N m/rad, c s/rad (Hunt & Crossley 1975, J Appl Mech 42:440, doi 10.1115/1.3423596, from
//! memory). k 2000 \[J\]; c 1.0: users of prostheses have 0.8 ± 2.1° of flexion at heel contact (Hood et al. 2020, Sci
//! Data 7:150), a stop with 0.3 throws the shank back by 5.6°. Without other torques the speeds in and out obey
//! c v₀ − ln(1 + c v₀) = −c v₁ − ln(1 − c v₁): about 0.24 restitution at 4 rad/s. The law changes its branch
//! at d = 0 and, when the limb leaves faster than 1/c, at 1 + c d' = 0; both are events. No smoothing. Checked in tests/closed_form/end_stops.rs.
//!
//! ```
//! use kneedamp::joint::EndStop;
//! let stop = EndStop { angle_rad: 0.0, stiffness_n_m_per_rad: 2000.0, damping_s_per_rad: 0.3 };
//! assert!((stop.push(0.01, 0.0) - 20.0).abs() < 1e-12);
//! assert_eq!(stop.push(0.01, -4.0), 0.0); // leaving faster than 1/c: no pull
//! ```

use serde::{Deserialize, Serialize};

use crate::numerics::simd::Lane;

/// A stop at an angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EndStop<T = f64> {
    /// Flexion at first contact, rad.
    pub angle_rad: T,
    /// Stiffness k, N m/rad.
    pub stiffness_n_m_per_rad: T,
    /// Damping c, s/rad.
    pub damping_s_per_rad: T,
}

impl EndStop {
    /// Magnitude of the torque at depth `d` (rad) and depth rate `d'` (rad/s), N m.
    #[must_use]
    #[inline]
    pub fn push(&self, depth: f64, depth_rate: f64) -> f64 {
        if depth > 0.0 { (self.contact_torque(depth, depth_rate)).max(0.0) } else { 0.0 }
    }
}

impl<T: Lane> EndStop<T> {
    /// The same on the smooth branch of contact, without the limits at depth 0 and torque 0.
    #[must_use]
    #[inline(always)]
    pub fn contact_torque(&self, depth: T, depth_rate: T) -> T {
        self.stiffness_n_m_per_rad * depth * self.contact_factor(depth_rate)
    }

    /// 1 + c d': the stop pushes while this is positive.
    #[must_use]
    #[inline(always)]
    pub fn contact_factor(&self, depth_rate: T) -> T {
        self.damping_s_per_rad.times_plus(depth_rate, depth_rate.splat(1.0))
    }
}

/// A stop as written in a knee file.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct EndStopFile {
    /// Flexion at first contact, degrees.
    pub angle_deg: f64,
    /// Stiffness, N m/rad.
    #[serde(default = "EndStopFile::stiffness")]
    pub stiffness_n_m_per_rad: f64,
    /// Damping, s/rad.
    #[serde(default = "EndStopFile::damping")]
    pub damping_s_per_rad: f64,
}

impl EndStopFile {
    fn stiffness() -> f64 {
        2000.0
    }

    fn damping() -> f64 {
        1.0
    }

    /// A stop at `angle_deg` with the default contact.
    #[must_use]
    pub fn at(angle_deg: f64) -> Self {
        Self { angle_deg, stiffness_n_m_per_rad: Self::stiffness(), damping_s_per_rad: Self::damping() }
    }

    /// Checked, in radians.
    ///
    /// # Errors
    /// A value out of range.
    pub fn resolve(
        &self,
        angle_deg: std::ops::RangeInclusive<f64>,
    ) -> Result<EndStop, crate::error::SimError> {
        use crate::units::{DEG, within};
        Ok(EndStop {
            angle_rad: within("angle_deg", self.angle_deg, angle_deg)? * DEG,
            stiffness_n_m_per_rad: within(
                "stiffness_n_m_per_rad",
                self.stiffness_n_m_per_rad,
                100.0..=50_000.0,
            )?,
            damping_s_per_rad: within("damping_s_per_rad", self.damping_s_per_rad, 0.0..=20.0)?,
        })
    }
}
