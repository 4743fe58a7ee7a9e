//! `adjust`: the fitting session in simulation, and what a symptom can mean.
//!
//! The session sees what a prosthetist sees, outcomes and verdicts, never a coefficient. It looks at one
//! activity after the other, safety first; what is not right is named as a symptom ([`symptoms`]), a rule
//! of thumb says which setting to turn and which way, one step at a time; everything looked at before is
//! re-checked, and the change is kept or backed out ([`session()`]). Where it ends is held against the best
//! that a search over the whole range finds ([`search()`]). [`examine`] takes a symptom instead, and tries
//! each likely setting on this person.

pub mod diagnosis;
pub mod diagnosis_report;
mod narrative;
pub mod report;
mod search;
mod session;
mod session_engine;
pub mod symptom_data;
pub mod symptoms;
mod trials;

pub use crate::study::adjust::diagnosis::{Examination, Move, SEVERAL_STEPS, Standing, Worked, examine};
pub use crate::study::adjust::diagnosis_report::examined;
pub use crate::study::adjust::report::Report;
pub use crate::study::adjust::symptom_data::SYMPTOMS;
pub use search::{Best, SearchOptions, search};
pub use session::{Came, Change, End, Entry, Order, Session, SessionOptions, Unmended, session};
pub use symptoms::{Sign, Situation, Symptom, Turn, Way, named, symptom};
pub use trials::{Danger, Look, Position};
