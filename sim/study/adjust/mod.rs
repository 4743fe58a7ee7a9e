//! `adjust`: the fitting session in simulation, and what a symptom can mean.
//!
//! The session sees what a prosthetist sees, outcomes and verdicts, never a coefficient. It looks at one
//! activity after the other, safety first; what is not right is named as a symptom ([`symptoms`]), a rule
//! of thumb says which setting to turn and which way, one step at a time; everything looked at before is
//! re-checked, and the change is kept or backed out ([`session()`]). Where it ends is held against the best
//! that a search over the whole range finds ([`search()`]). [`examine`] takes a symptom instead, and tries
//! each likely setting on this person.

mod examined;
mod findings;
mod log;
mod run;
mod search;
mod seen;
mod session;
pub mod symptoms;
mod table;
mod trials;

pub use examined::examined;
pub use findings::Report;
pub use search::{Best, SearchOptions, search};
pub use seen::{Examination, Move, SEVERAL_STEPS, Standing, Worked, examine};
pub use session::{Came, Change, End, Entry, Order, Session, SessionOptions, Unmended, session};
pub use symptoms::{Sign, Situation, Symptom, Turn, Way, named, symptom};
pub use table::SYMPTOMS;
pub use trials::{Danger, Look, Position};
