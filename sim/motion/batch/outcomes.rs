//! Outcomes of a stride of a batch.

/// Outcomes of a stride, under the names of the reference path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StrideOutcomes {
    /// Flexion at toe-off.
    pub toe_off_rad: f64,
    /// Peak flexion up to heel contact.
    pub peak_rad: f64,
    /// Instant of the peak.
    pub peak_s: f64,
    /// First instant after the peak within 1° of the stop.
    pub full_extension_s: Option<f64>,
    /// ω at full extension.
    pub terminal_rate_rad_per_s: Option<f64>,
    /// Greatest flexion after the first minimum that follows, up to heel contact.
    pub rebound_rad: Option<f64>,
    /// Flexion at heel contact.
    pub heel_contact_rad: f64,
    /// ω at heel contact.
    pub heel_contact_rate_rad_per_s: f64,
    /// Instant at which the stance valve releases while the foot carries load.
    pub release_s: Option<f64>,
}
