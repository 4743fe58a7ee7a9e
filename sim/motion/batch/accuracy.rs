//! How exact a batch is.

/// Tolerances of a batch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accuracy {
    /// Cells of a stride.
    pub cells_per_stride: usize,
    /// One over the tolerated error of ω per step, s/rad; with 0 every step goes through one cell.
    pub per_omega: f64,
    /// One over the tolerated error of the valve per step.
    pub per_valve: f64,
}

impl Default for Accuracy {
    /// Peak flexion to 1e-6 rad, instants to 1e-5 s, heel contact to 1e-4 rad, except for a few in ten thousand
    /// random strides near forks of the motion: tests/cross_code/batch.rs.
    fn default() -> Self {
        Self { cells_per_stride: 240, per_omega: 1.0 / 1e-6, per_valve: 1.0 / 1e-8 }
    }
}
