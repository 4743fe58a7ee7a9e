//! Motions: the equations of motion of each task, integrated by `numerics::hybrid`.

pub mod batch;
mod bounds;
pub mod hip_path;
pub mod joint_events;
pub mod landing;
mod leg_dynamics;
mod leg_geometry;
mod leg_lanes;
pub mod pendulum;
pub mod preswing;
pub mod sample;
mod segments;
mod shank_lanes;
pub mod sitting;
pub mod stance_leg;
pub mod stance_tasks;
pub mod standing;
pub mod stride;
pub mod stride_cache;
pub mod swing;
pub mod trial;

pub use crate::numerics::tolerances::Tolerances;
pub use bounds::{MOST_ANGLE_RAD, MOST_LOAD_BW, MOST_SHANK_RAD, MOST_WORK_J};
pub use trial::{LegMotion, Motion, Trial, WalkMotion};

/// An energy balance off by more than this share of the dissipated energy makes a run an error.
pub const MOST_RESIDUAL: f64 = 1e-6;
/// Below this dissipated energy, J, the residual of a balance is relative to it.
pub const LEAST_REFERENCE_J: f64 = 0.1;
