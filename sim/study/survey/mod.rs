//! The survey: every scenario for one set-up, with verdicts, the closest limit and the setting that acts most
//! on it. `report` puts a run into a sentence, `plot` draws a motion.

pub mod plot;
mod report;

use rayon::prelude::*;

use super::sensitivity::{SettingSensitivity, breaks_elsewhere, setting_moves};
use crate::case::setup::{Resolved, Setup};
use crate::error::SimError;
use crate::motion::Motion;
use crate::outcome::{Assessment, TrialVerdict};
use crate::scenario::Scenario;

/// Result of the survey.
#[derive(Debug)]
pub struct Survey {
    /// Inputs.
    pub setup: Setup,
    /// The inputs resolved to numbers.
    pub resolved: Resolved,
    /// One per scenario, in the order asked for.
    pub runs: Vec<ScenarioRun>,
}

/// One scenario.
#[derive(Debug)]
pub struct ScenarioRun {
    /// The scenario as run.
    pub scenario: Scenario,
    /// Its result, or why it cannot run.
    pub result: Result<RunResult, SimError>,
}

/// Outcomes and verdicts of one scenario.
#[derive(Debug, Clone)]
pub struct RunResult {
    /// Outcomes, limits, energy balance.
    pub assessment: Assessment,
    /// Remarks for the reader.
    pub notes: Vec<String>,
    /// Stride time and toe-off, s, for walking.
    pub stride_s: Option<(f64, f64)>,
    /// The move of one setting that does most for the closest limit.
    pub acting: Option<SettingSensitivity>,
    /// Where that one has a price, the best move that has none.
    pub free: Option<SettingSensitivity>,
    /// Other moves that help, the best first; those with a price elsewhere are not yet told apart.
    others: Vec<SettingSensitivity>,
}

/// Runs the scenarios for a set-up.
///
/// # Errors
/// A set-up that is wrong in itself. A scenario that cannot run or be computed is reported in its place.
pub fn survey(setup: Setup, scenarios: Vec<Scenario>) -> Result<Survey, SimError> {
    let resolved = setup.resolve()?;
    let mut runs = scenarios
        .into_par_iter()
        .map(|scenario| {
            let result = SimError::finding(one(&setup, &scenario))?;
            Ok(ScenarioRun { scenario, result })
        })
        .collect::<Result<Vec<_>, SimError>>()?;
    find_side_effects(&setup, &mut runs);
    Ok(Survey { setup, resolved, runs })
}

/// Finds the other scenarios that a helpful move would take out of their limits, and a move that costs nothing.
fn find_side_effects(setup: &Setup, runs: &mut [ScenarioRun]) {
    let within: Vec<&ScenarioRun> = runs.iter().filter(|r| r.holds()).collect();
    let priced = |of: &ScenarioRun, mut found: SettingSensitivity| {
        let others = within.iter().filter(|r| r.scenario.name != of.scenario.name);
        found.elsewhere = others
            .filter_map(|r| {
                breaks_elsewhere(setup, &r.scenario, &found).map(|label| (r.scenario.name.clone(), label))
            })
            .collect();
        found
    };
    let found: Vec<[Option<SettingSensitivity>; 2]> = runs
        .par_iter()
        .map(|run| {
            let Ok(r) = &run.result else { return [None, None] };
            let acting = r.acting.clone().map(|a| priced(run, a));
            let free = acting.as_ref().filter(|a| !a.costs_nothing()).and_then(|_| {
                let here = r.others.iter().filter(|m| m.costs_nothing());
                here.map(|m| priced(run, m.clone())).find(SettingSensitivity::costs_nothing)
            });
            [acting, free]
        })
        .collect();
    for (run, [acting, free]) in runs.iter_mut().zip(found) {
        if let Ok(r) = &mut run.result {
            (r.acting, r.free) = (acting, free);
        }
    }
}

fn one(setup: &Setup, scenario: &Scenario) -> Result<RunResult, SimError> {
    let trial = setup.trial(scenario)?;
    let motion = trial.run()?;
    let assessment = Assessment::of_motion(&trial, &motion)?;
    let mut moves = setting_moves(setup, scenario, &assessment)?.into_iter();
    let stride_s = match &motion {
        Motion::Walk(w) => Some((w.stride.drive.stride_time_s, w.stride.drive.toe_off_s)),
        _ => None,
    };
    let notes = assessment.notes(&motion);
    let acting = moves.next();
    Ok(RunResult { assessment, notes, stride_s, acting, free: None, others: moves.collect() })
}

impl Survey {
    /// Every scenario ran and is within its limits, or doubtful where that is allowed.
    #[must_use]
    pub fn holds(&self, allow_doubtful: bool) -> bool {
        let doubtful = |r: &RunResult| r.assessment.verdict() == TrialVerdict::Doubtful;
        self.runs.iter().all(|r| r.holds() || (allow_doubtful && r.result.as_ref().is_ok_and(doubtful)))
    }
}

impl ScenarioRun {
    /// It ran and is within all limits.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.result.as_ref().is_ok_and(|r| r.assessment.holds())
    }
}
