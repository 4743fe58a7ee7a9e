//! Linear damper, for comparison and for checks.
//!
//! ```text
//! τ(ω) = −c ω
//! ```
//! c in N m s/rad, c ≥ 0; valid at any rate; exact, no smoothing. A textbook element (common
//! practice); a purely laminar hydraulic joint is close to it. Checked in
//! tests/closed_form/damper.rs (logarithmic decrement).
//!
//! ```
//! use kneedamp::joint::damper::Linear;
//! assert_eq!(Linear { c: 0.8 }.torque(-2.0), 1.6);
//! ```

/// A damper whose torque is proportional to rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Linear {
    /// Coefficient c, N m s/rad.
    pub c: f64,
}

impl Linear {
    /// Torque on the knee, N m.
    #[must_use]
    #[inline]
    pub fn torque(&self, omega: f64) -> f64 {
        -self.c * omega
    }
}
