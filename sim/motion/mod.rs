//! Motions: what happens over time. Only `integrate` names the ODE crate.

pub mod batch;
pub mod joint_events;
pub mod landing;
pub mod preswing;
pub mod sample;
mod segments;
pub mod sitting;
pub mod stance_leg;
pub mod stance_tasks;
pub mod standing;
pub mod stride;
pub mod stride_cache;
pub mod swing;
pub mod trial;

pub use crate::numerics::tolerances::Tolerances;
pub use trial::{LegMotion, Motion, Trial, WalkMotion};

/// An energy balance off by more than this share of the dissipated energy makes a run an error.
pub const MOST_RESIDUAL: f64 = 1e-6;
/// Smallest dissipated energy that a balance is referred to, J: below it the residual is absolute.
pub const LEAST_REFERENCE_J: f64 = 0.1;
