//! Studies: what many trials show. They read no files, print nothing and draw nothing.
//!
//! One folder a study: `mod.rs` computes, `report.rs` has the words and tables, `plot.rs` the pictures. A study
//! is a struct of what is asked, with `steps()` for a progress bar and `run(tick)`; its result has `findings()`
//! as data and, where people read other tables, `findings_for_people()`.

pub mod adjust;
pub mod align;
pub mod compare;
#[cfg(feature = "page")]
pub mod identify_bench;
#[cfg(feature = "page")]
pub mod identify_stride;
pub mod margin_change;
pub mod next;
pub(crate) mod observation;
pub mod recheck;
pub mod rules;
pub mod sensitivity;
pub mod survey;
pub mod sweep;
pub(crate) mod text;
pub mod uncertainty;
#[cfg(feature = "app")]
pub mod verify;
pub mod window;

pub use compare::{Comparison, ComparisonStudy};
pub use recheck::{Recheck, RecheckStudy};
pub use sensitivity::{SettingSensitivity, setting_moves};
pub use survey::{ScenarioRun, Survey, survey};
pub use sweep::Sweep;

/// Called once for every step of a long study; does nothing by default.
pub type Tick<'a> = &'a (dyn Fn() + Sync);
