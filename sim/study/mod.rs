//! Studies: what is found out by running many trials. They read no files, print and draw nothing.

pub mod acting;
pub mod adjust;
pub mod align;
mod align_findings;
pub mod axis;
pub mod changed;
pub mod compare;
pub mod inputs;
pub mod lesson;
pub mod lesson_grid;
pub mod moved;
mod noticed;
mod own;
pub mod rules;
pub mod sampling;
pub mod setup;
pub mod sheet;
pub mod shelf;
mod side_by_side;
pub mod sobol;
pub mod spread;
pub mod stride_plot;
pub mod survey;
pub mod sweep;
pub mod variant;
pub mod window;

pub use acting::{Acting, acting_setting};
pub use changed::{Changed, changed};
pub use compare::{Comparison, compare};

pub use axis::Axis;
pub use inputs::{Case, INPUTS, Input, input};
pub use lesson::{LESSONS, Lesson, lesson};
pub use setup::{Resolved, Setup};
pub use shelf::Shelf;
pub use survey::{ScenarioRun, Survey, survey};
pub use sweep::Sweep;
pub use variant::{Change, Variant, Wanted};

/// Called once for every step of a long study; does nothing by default.
pub type Tick<'a> = &'a (dyn Fn() + Sync);
