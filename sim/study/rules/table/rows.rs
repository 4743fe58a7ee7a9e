//! The parts from which the rows of the table are made.

use super::super::evidence::ExperimentResult;
use super::super::experiment::Experiment;

pub(super) use super::super::criteria;
pub(super) use super::super::evidence::CatchLoadMode;
pub(super) use super::super::measure::{Measure, NotReachedAs};
pub(super) use super::super::rule::{Claim, Criterion, Precondition, Rule};
pub(super) use super::super::scenario_names::{HURRIED, RAMP, SIT, STAIRS, STAND, STUMBLE, WALK};

pub(super) const BOTH: &[CatchLoadMode] = &[CatchLoadMode::AsSampled, CatchLoadMode::ScaledToWeight];
pub(super) const SAMPLED: &[CatchLoadMode] = &[CatchLoadMode::AsSampled];

pub(super) const NEVER: NotReachedAs = NotReachedAs::Undecided("not reached");
pub(super) const LEAST: NotReachedAs = NotReachedAs::Least;
pub(super) const MOST: NotReachedAs = NotReachedAs::Most;
pub(super) const MARGIN: Measure = Measure::MarginInTime;
pub(super) const IMPACT: Measure = Measure::ImpactInTime;
pub(super) const PEAK: Measure = Measure::Outcome("peak_flexion_deg");
pub(super) const SIT_TIME: Measure = Measure::Outcome("sit_time_s");
pub(super) const RATE: Measure = Measure::Outcome("peak_rate_deg_per_s");
pub(super) const DROP: Measure = Measure::Outcome("body_drop_speed_m_per_s");
pub(super) const SUPPORT: Measure = Measure::Outcome("support_after_ms");
pub(super) const NOT_STRAIGHT: NotReachedAs = NotReachedAs::Undecided(super::super::measure::NOT_STRAIGHT);

pub(super) const COMMON_PRACTICE: &str = "common practice";
pub(super) const TSAI: &str = "Tsai & Mansour 1986, J Biomech Eng 108:65 (from memory)";
pub(super) const NARANG: &str = "Narang et al. 2016, J Biomech Eng 138:121002 (from memory)";
pub(super) const HICKS: &str = "Hicks 1985, J Orthop Res 3:198 (from memory)";
pub(super) const MANUAL: &str = "common practice; ICRC gait manual 2014 (from memory)";
pub(super) const CONTESTED: &str = "common practice, contested";

/// A move of one input, up by a drawn step.
pub(super) const fn move_input(
    id: &'static str,
    statement: &'static str,
    scenario: &'static str,
    input: &'static str,
    (measure, sign, not_reached): (Measure, f64, NotReachedAs),
    precondition: Precondition,
) -> Rule {
    let criterion = Criterion::MoveInput { input, measure, sign, not_reached, precondition };
    rule(id, statement, scenario, [input, "", ""], criterion)
}

/// A statement with a criterion of its own.
pub(super) const fn custom(
    id: &'static str,
    statement: &'static str,
    scenario: &'static str,
    changed_outcome_unit: [&'static str; 3],
    test: fn(&Experiment) -> ExperimentResult,
) -> Rule {
    rule(id, statement, scenario, changed_outcome_unit, Criterion::Custom(test))
}

/// A statement about two whole fitting sessions.
pub(super) const fn sessions(
    id: &'static str,
    statement: &'static str,
    changed_outcome_unit: [&'static str; 3],
    test: fn(&Experiment) -> ExperimentResult,
) -> Rule {
    let criterion = Criterion::Sessions(test);
    Rule { catch_loads: SAMPLED, ..rule(id, statement, "a whole session", changed_outcome_unit, criterion) }
}

const fn rule(
    id: &'static str,
    statement: &'static str,
    scenario: &'static str,
    [changed, outcome, unit]: [&'static str; 3],
    criterion: Criterion,
) -> Rule {
    let (source, catch_loads, claim) = (COMMON_PRACTICE, BOTH, Claim::Holds);
    Rule { id, statement, source, changed, outcome, unit, scenario, catch_loads, claim, criterion }
}
