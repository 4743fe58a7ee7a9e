//! Error tolerances of an integration, and its method.

/// Which code integrates.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Method {
    /// The integrator of all motions.
    #[default]
    Reference,
    /// Another one, for comparison (`numerics::second_integrator`).
    #[cfg(feature = "app")]
    Second,
}

/// Error tolerances and step limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerances {
    /// Relative tolerance per step.
    pub relative: f64,
    /// Absolute tolerance per step, in units of each state.
    pub absolute: f64,
    /// Greatest step, s.
    pub longest_step_s: f64,
    /// Event functions are checked at least this often, s, also within longer steps: two events of one
    /// function must not hide between two checks.
    pub event_check_s: f64,
    /// Steps of exactly this length (except the last of a phase) whatever the error: to measure the order of
    /// convergence.
    pub fixed_step_s: Option<f64>,
    /// Which code integrates.
    pub method: Method,
}

impl Default for Tolerances {
    fn default() -> Self {
        Self {
            relative: 1e-9,
            absolute: 1e-11,
            longest_step_s: 4e-3,
            event_check_s: 4e-3,
            fixed_step_s: None,
            method: Method::Reference,
        }
    }
}

impl Tolerances {
    /// For scans in which thousands of runs are compared: peak flexion to about 1e-6 rad
    /// (`tests/closed_form/convergence.rs`).
    #[must_use]
    pub fn scan() -> Self {
        Self {
            relative: 1e-7,
            absolute: 1e-9,
            longest_step_s: 10e-3,
            event_check_s: 10e-3,
            fixed_step_s: None,
            method: Method::Reference,
        }
    }

    /// For comparisons with other codes.
    #[must_use]
    pub fn tight() -> Self {
        Self { relative: 1e-12, absolute: 1e-14, ..Self::default() }
    }

    /// For the second integrator: tight, with steps and event checks short enough to find what others might miss.
    #[cfg(feature = "app")]
    #[must_use]
    pub fn second() -> Self {
        Self { longest_step_s: 1e-3, event_check_s: 0.25e-3, method: Method::Second, ..Self::tight() }
    }

    /// The same with steps of up to four event checks, for a motion slow enough for them.
    #[must_use]
    pub fn slow(self) -> Self {
        Self { longest_step_s: 4.0 * self.event_check_s, ..self }
    }
}
