//! Motions: what happens over time. Only `integrate` names the ODE crate.

pub mod batch;
pub mod compared;
mod dormand_prince;
pub mod events;
pub mod film;
pub mod integrate;
pub mod landing;
pub mod leg_tasks;
pub mod loaded;
pub mod preswing;
mod segments;
pub mod sitting;
pub mod standing;
pub mod swing;
pub mod trace;
pub mod trial;
pub mod walking;

pub use integrate::Precision;
pub use trial::{LegMotion, Motion, Trial, WalkMotion};

/// An energy balance off by more than this share of the dissipated energy makes a run an error.
pub const MOST_RESIDUAL: f64 = 1e-6;
/// Smallest dissipated energy that a balance is referred to, J: below it the residual is absolute.
pub const LEAST_REFERENCE_J: f64 = 0.1;
