//! `adjust`: the fitting session in simulation, and what a symptom can mean.
//!
//! The session sees what a prosthetist sees: outcomes and verdicts, never a coefficient. It tests one activity
//! after the other, safety first; a limit not met is named as a symptom ([`symptoms`]); a rule of thumb says
//! which setting to change and in which direction, one step at a time; everything tested before is tested
//! again, and the change is kept or backed out ([`run_session`]). The end is compared with the best settings
//! that a search over the whole range finds ([`search()`]). [`diagnose`] starts from a symptom instead, and
//! tries each likely setting on this person.

mod acceptance;
mod answer;
pub mod diagnosis;
pub mod diagnosis_report;
mod narrative;
mod problems;
mod readings;
pub mod report;
mod search;
mod session;
mod session_engine;
mod stages;
mod summary;
pub mod symptom_data;
pub mod symptoms;
mod text;
mod trials;

pub use crate::study::adjust::diagnosis::{Diagnosis, Move, MoveResult, Presence, SEVERAL_STEPS, diagnose};
pub use crate::study::adjust::diagnosis_report::DiagnosisReport;
pub use crate::study::adjust::report::{ReportLevel, SessionReport};
pub use crate::study::adjust::symptom_data::{SYMPTOMS, symptom_by_name, symptom_of_limit};
pub use readings::{MOST_EXCESS, excess};
pub use search::{BestFound, SearchOptions, search};
pub use session::{
    LogEntry, Order, Session, SessionEnd, SessionOptions, SettingChange, StepOutcome, UnmetLimit,
};
pub use symptoms::{Adjustment, Direction, Indicator, Situation, Symptom};
pub use trials::{Danger, Position, TrialResult, assess, assess_each};

use crate::case::setup::Setup;
use crate::error::SimError;
use crate::scenario::Scenario;
use crate::study::Tick;

/// A fitting session from the set-up's settings. Counts are those that a study over many people wants:
/// [`Session::trials`], [`Session::unsafe_trials`], [`Session::steps`].
///
/// # Errors
/// Options out of range, an unknown activity, a set-up that is wrong in itself, a failed integration.
pub fn run_session(
    setup: &Setup,
    scenarios: &[Scenario],
    options: &SessionOptions,
    tick: Tick<'_>,
) -> Result<Session, SimError> {
    options.check()?;
    let start = Position::of(&setup.resolve()?.knee.settings);
    let stages = stages::stages(scenarios, &options.order)?;
    let cache = trials::TrialCache::new(setup, scenarios, options.max_trials, tick);
    let mut engine = session_engine::SessionEngine::new(cache, options, start);
    let in_time = engine.run_rounds(&stages)?;
    engine.finish(start, in_time)
}
