//! Many walking strides at once, for scans over settings, person and prosthesis: each stride has a lane of a vector.
//!
//! **What it does.** The whole stride of `sim/motion/stride.rs`: stance valve under a straight knee,
//! pre-swing with limited effort, swing, stop and rebound up to heel contact, and 15 % beyond it for
//! strides that are not straight by then. The equations are those of the reference path: the
//! same functions, called with vectors (`sim/motion/batch/dynamics.rs`). All strides of a batch share a drive: the
//! same v* and step ratio, hence one speed and cadence for people of one stature, and speeds and
//! cadences that scale with stature otherwise.
//!
//! **Method.** The method of Dormand and Prince of order 5 on cells of 1/240 of a stride (1/360 in
//! pre-swing, 1/120 in stance). A block of 512 strides goes through a cell in one loop over vectors
//! (`sim/motion/batch/block.rs`); strides in which an event happens there (a switch, an error estimate
//! beyond the tolerance, the knee becomes straight) are gathered into vectors of their own (or, if they are most of
//! a vector, stay where they are) and go through it again by shorter steps that end on every switch
//! (`sim/motion/batch/event_step.rs`). In stance and swing a vector takes two or four cells at a time where the
//! errors of all its strides leave room for it. Strides that differ only in their swing settings share one run
//! through stance, and strides of one leg share the effect of the drive in pre-swing.
//!
//! **What it covers.** Orifice laws for both directions (any setting, any oil temperature); stance valves of
//! every trigger; cushion, assist spring, seal friction, extension stop; any person, prosthesis, alignment.
//! **What it does not:** other damper laws, a displacement that depends on flexion, a locked joint, a drive of
//! another shape ([`Member::new`] refuses them); a relief that opens or a flexion stop that is touched
//! ([`Batch::run`] gives an error for that stride).
//! There is no energy ledger, no trace and no landing; only the reference path has them.
//!
//! **How it is compiled.** The kernel exists for every width of vectors, chosen at run time. Its large pieces are
//! functions of their own (`Task` in `sim/numerics/vector.rs`), so that each is compiled once per width and
//! equation, which keeps the build short.
//!
//! Results do not depend on the number of threads. They depend on the width of the machine's vectors, and on
//! which strides share a vector, by less than the tolerances. Accuracy against the reference path:
//! tests/cross_code/batch.rs.

pub mod accuracy;
mod attempt;
mod block;
pub mod drive_table;
mod dynamics;
mod event_step;
mod events;
mod fast_step;
mod grouping;
mod locate;
pub mod member;
#[cfg(feature = "count")]
mod op_count;
pub mod outcomes;
mod record;
pub mod run;
mod step;
mod step_control;
mod storage;
mod switches;
mod weights;

pub use crate::numerics::vector::{Width, lanes_at_once};
pub use accuracy::Accuracy;
pub use drive_table::DriveTable;
pub use member::Member;
#[cfg(feature = "count")]
pub use op_count::Operations;
pub use outcomes::StrideOutcomes;
pub use run::Batch;
pub use storage::BLOCK;
