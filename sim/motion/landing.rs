//! Landing: the first instants under load after the swing. It shows whether the knee stays straight, is
//! caught or gives way.
//!
//! Starts with φ and ω of heel contact, the shank as swing left it (β₀ = −ψ), β'₀ such that the hip moves at
//! walking speed, and the valve open; the weight is transferred within
//! max(0.06 s, toe-off − opposite contact).

use super::segments::Segments;
use super::stance_leg::{LegSystem, OtherFoot};
use super::stance_tasks::LegPlan;
use super::stride::Stride;
use crate::scenario::LandingFile;
use crate::units::DEG;

/// The landing at the end of a stride.
#[must_use]
pub fn land(stride: &Stride, file: &LandingFile, segments: Segments, hip_n_m_per_kg: f64) -> LegPlan {
    use super::swing::state;
    let contact = stride.trajectory.at(stride.drive.stride_time_s);
    let (phi, omega) = (contact[state::PHI], contact[state::OMEGA]);
    let thigh = stride.drive.kinematics(0.0).thigh;
    let system = LegSystem {
        segments,
        knee: stride.knee.under_load(),
        footing: segments.rolling_foot(),
        slope_rad: 0.0,
        speed_m_per_s: stride.drive.speed_m_per_s,
        weight_transfer_s: stride.drive.weight_transfer_s(),
        hip_moment_n_m: hip_n_m_per_kg * segments.mass_kg,
        other_foot: OtherFoot::None,
        collapse_rad: file.collapse_deg * DEG,
        stall_m_per_s: None,
    };
    let beta = phi - thigh;
    let start =
        [beta, phi, system.tilt_rate_at_pace(beta, phi, omega), omega, stride.knee.stance.unloaded_state()];
    LegPlan { system, start, longest_s: file.span_s, phase: "landing" }
}
