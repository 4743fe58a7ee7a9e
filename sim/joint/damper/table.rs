//! Measured torque-rate table, for instance from a test bench.
//!
//! ```text
//! τ(ω) = −sign(ω) T(|ω|),   T piecewise linear through (0, 0) and the measured points
//! ```
//! |ω| in rad/s ascending, T in N m, not negative. Beyond the last point the last slope is extrapolated;
//! measure far enough to avoid it (swing reaches 7-9 rad/s). No smoothing; the slope jumps at every point,
//! which costs the integrator steps, not correctness. Source: the file with the table. Checked in tests/closed_form/damper.rs.
//!
//! ```
//! use kneedamp::joint::damper::Table;
//! let t = Table::new(vec![1.0, 2.0], vec![0.5, 2.0]).unwrap();
//! assert!((t.torque(1.5) + 1.25).abs() < 1e-12);
//! assert!((t.torque(-3.0) - 3.5).abs() < 1e-12);
//! ```

use crate::error::SimError;
use crate::units::within;

/// A torque-rate curve of one direction.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    rates: Vec<f64>,
    torques: Vec<f64>,
}

impl Table {
    /// From measured points; (0, 0) is added.
    ///
    /// # Errors
    /// Fewer than one point, lengths that differ, rates not ascending, negative or non-finite values.
    pub fn new(rate_rad_per_s: Vec<f64>, torque_n_m: Vec<f64>) -> Result<Self, SimError> {
        let wrong = |why: &str| SimError::Inconsistent { field: "table".into(), why: why.into() };
        if rate_rad_per_s.is_empty() || rate_rad_per_s.len() != torque_n_m.len() {
            return Err(wrong("rate_rad_per_s and torque_n_m need the same number of values, at least one"));
        }
        for (i, (&w, &t)) in rate_rad_per_s.iter().zip(&torque_n_m).enumerate() {
            within(&format!("rate_rad_per_s[{i}]"), w, 1e-6..=50.0)?;
            within(&format!("torque_n_m[{i}]"), t, 0.0..=1000.0)?;
        }
        if rate_rad_per_s.windows(2).any(|w| w[1] <= w[0]) {
            return Err(wrong("rate_rad_per_s must ascend"));
        }
        let with_zero = |v: Vec<f64>| std::iter::once(0.0).chain(v).collect();
        Ok(Self { rates: with_zero(rate_rad_per_s), torques: with_zero(torque_n_m) })
    }

    /// Torque on the knee, N m.
    #[must_use]
    pub fn torque(&self, omega: f64) -> f64 {
        let x = omega.abs();
        let i = self.rates.partition_point(|&r| r <= x).clamp(1, self.rates.len() - 1);
        let slope = (self.torques[i] - self.torques[i - 1]) / (self.rates[i] - self.rates[i - 1]);
        -(self.torques[i - 1] + slope * (x - self.rates[i - 1])) * omega.signum()
    }
}
