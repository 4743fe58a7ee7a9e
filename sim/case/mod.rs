//! A case: a set-up in a scenario, the inputs that can be varied in it, and how variants and ranges are written.

mod access;
pub mod axis;
pub mod inputs;
pub mod setup;
pub mod variant;

pub use access::foot_extra_mass_kg;
pub use axis::Axis;
pub use inputs::{INPUTS, Input, input};
pub use setup::{Case, Resolved, Setup};
pub use variant::{Change, Variant, WrittenChange};
