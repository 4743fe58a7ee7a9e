//! Outcomes of a stride of a batch.

/// What was found of a stride; the names are those of the outcomes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StrideOutcomes {
    /// Flexion at toe-off.
    pub toe_off_rad: f64,
    /// Peak flexion up to heel contact.
    pub peak_rad: f64,
    /// Its instant.
    pub peak_s: f64,
    /// First instant after the peak within 1° of the stop.
    pub full_extension_s: Option<f64>,
    /// ω there.
    pub terminal_rate_rad_per_s: Option<f64>,
    /// Greatest flexion after the first minimum that follows, up to heel contact.
    pub rebound_rad: Option<f64>,
    /// Flexion at heel contact.
    pub heel_contact_rad: f64,
    /// ω there.
    pub heel_contact_rate_rad_per_s: f64,
    /// DriveSample at which the valve lets go while the foot carries load.
    pub release_s: Option<f64>,
}
