//! One statement tested on one sample.

use super::evidence::{Abort, Agreement, ExperimentResult, RunSpec};
use super::experiment::Experiment;
use super::measure::{MotionMeasure, NOT_CLOSED, compare, valve_closes};
use super::rule::{Precondition, Rule, RuleTest};
use crate::motion::Motion;
use crate::outcome::{OutcomeWord, metric};

/// Tests a statement on a sample.
///
/// # Errors
/// It decides nothing there, or inputs are wrong.
pub fn evaluate(rule: &Rule, e: &Experiment) -> ExperimentResult {
    match rule.test {
        RuleTest::Custom(test) | RuleTest::Sessions(test) => test(e),
        RuleTest::MoveInput { input, measure, sign, not_reached, precondition } => {
            let base = e.base(rule.scenario);
            let pair = |runs: [RunSpec; 2]| {
                let motions = [e.motion_for(&runs[0], measure)?, e.motion_for(&runs[1], measure)?];
                let values = [measure.value(&motions[0]), measure.value(&motions[1])];
                check_precondition(precondition, &motions, values, measure)?;
                compare(measure, not_reached, sign, values, runs.to_vec())
            };
            let mut evidence = pair(e.moved_pair(&base, input)?)?;
            if evidence.agreement == Agreement::Disagrees {
                let runs = e.over_range(&base, input);
                let agrees = |two: &[RunSpec]| {
                    pair([two[0].clone(), two[1].clone()]).is_ok_and(|x| x.agreement == Agreement::Agrees)
                };
                if runs.windows(2).any(agrees) {
                    evidence.agreement = Agreement::DisagreesHere;
                }
            }
            Ok(evidence)
        }
    }
}

/// Whether two runs decide anything.
fn check_precondition(
    precondition: Precondition,
    motions: &[Motion; 2],
    values: [Option<f64>; 2],
    measure: MotionMeasure,
) -> Result<(), Abort> {
    let word = |key: &str, m: &Motion| metric(key).and_then(|row| row.read(m).as_word());
    let require = |met: bool, otherwise| if met { Ok(()) } else { Err(Abort::Undecided(otherwise)) };
    match precondition {
        Precondition::None => Ok(()),
        Precondition::ValveCloses => require(motions.iter().any(valve_closes), NOT_CLOSED),
        Precondition::BothYield => {
            require(motions.iter().any(valve_closes), NOT_CLOSED)?;
            require(
                motions.iter().all(|m| word("what_happens", m) == Some(OutcomeWord::Yields)),
                "the knee does not yield to the other foot's contact with both",
            )
        }
        Precondition::NotBothAtToeOff => {
            let at_toe_off = |m: &Motion| match m {
                Motion::Walk(w) => w.stride.release_s.is_none(),
                _ => false,
            };
            require(!motions.iter().all(at_toe_off), "closed until toe-off or never closed with both")
        }
        Precondition::ReleasesLate => require(
            values.iter().flatten().any(|deg| *deg > measure.noise()),
            "the valve takes nothing off the peak with either",
        ),
        // a knee that folds adds flexion, too
        Precondition::AddsFlexion => require(
            values.iter().any(|added| added.is_none_or(|deg| deg > measure.noise())),
            "straightens from the start either way",
        ),
    }
}
