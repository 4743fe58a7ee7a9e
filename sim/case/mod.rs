//! A case: a set-up in a scenario, the inputs that can be varied in it, and how variants and ranges are written.

pub mod axis;
pub mod inputs;
pub mod setup;
pub mod variant;

pub use axis::Axis;
pub use inputs::{Case, INPUTS, Input, input};
pub use setup::{Resolved, Setup};
pub use variant::{Change, Variant, WrittenChange};
