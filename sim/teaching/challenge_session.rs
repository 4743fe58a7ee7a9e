//! What the rules of `adjust` need for a challenge: the session from its start, over its scenarios with their goals.

use super::challenges::Challenge;
use super::model_set::ModelSet;
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::scenario::Scenario;
use crate::study::adjust::{Session, SessionOptions, run_session};

/// The scenarios of a challenge with their goals.
///
/// # Errors
/// A scenario that the models do not have.
pub fn scenarios(models: &ModelSet, c: &Challenge) -> Result<Vec<Scenario>, SimError> {
    c.scenarios.iter().map(|s| Ok(c.with_goals(models.scenario(s)?))).collect()
}

/// The set-up at the start of a challenge.
///
/// # Errors
/// A start that is wrong.
pub fn start(models: &ModelSet, c: &Challenge) -> Result<Setup, SimError> {
    let first = models.scenario(c.scenarios[0])?;
    Ok(models.variant(c.start)?.case(&models.base, first)?.setup)
}

/// The session of `adjust`; its words name the scenarios as elsewhere.
///
/// # Errors
/// As [`run_session`].
pub fn session(models: &ModelSet, c: &Challenge) -> Result<Session, SimError> {
    run_session(&start(models, c)?, &plainly_named(models, c)?, &SessionOptions::default(), &|| ())
}

/// The scenarios with their goals under their own names.
///
/// # Errors
/// As [`scenarios`].
pub fn plainly_named(models: &ModelSet, c: &Challenge) -> Result<Vec<Scenario>, SimError> {
    let named = |(s, name): (Scenario, &&str)| Scenario { name: (*name).to_owned(), ..s };
    Ok(scenarios(models, c)?.into_iter().zip(c.scenarios).map(named).collect())
}
