//! Studies: what is found out by running many trials. They read no files, print and draw nothing.

pub mod adjust;
pub mod align;
pub mod compare;
pub mod margin_change;
pub(crate) mod observation;
pub mod recheck;
pub mod rules;
pub mod sensitivity;
pub mod survey;
pub mod sweep;
pub mod uncertainty;
pub mod window;

pub use compare::{Comparison, compare};
pub use recheck::{Recheck, recheck};
pub use sensitivity::{Acting, acting_setting};
pub use survey::{ScenarioRun, Survey, survey};
pub use sweep::Sweep;

/// Called once for every step of a long study; does nothing by default.
pub type Tick<'a> = &'a (dyn Fn() + Sync);
