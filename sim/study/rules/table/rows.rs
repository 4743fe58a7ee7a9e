//! The parts from which the rows of the table are made.

use super::super::evidence::ExperimentResult;
use super::super::experiment::Experiment;

pub(super) use super::super::criteria;
pub(super) use super::super::evidence::CatchLoadMode;
pub(super) use super::super::measure::{MotionMeasure, NotReachedAs};
pub(super) use super::super::rule::{Claim, Precondition, Rule, RuleTest};
pub(super) use super::super::scenario_names::{HURRIED, RAMP, SIT, STAIRS, STAND, STUMBLE, WALK};

pub(super) const BOTH: &[CatchLoadMode] = &[CatchLoadMode::AsSampled, CatchLoadMode::ScaledToWeight];
pub(super) const SAMPLED: &[CatchLoadMode] = &[CatchLoadMode::AsSampled];

pub(super) const NEVER: NotReachedAs = NotReachedAs::Undecided("not reached");
pub(super) const LEAST: NotReachedAs = NotReachedAs::Least;
pub(super) const MOST: NotReachedAs = NotReachedAs::Most;
pub(super) const MARGIN: MotionMeasure = MotionMeasure::MarginInTime;
pub(super) const IMPACT: MotionMeasure = MotionMeasure::ImpactInTime;
pub(super) const PEAK: MotionMeasure = MotionMeasure::Outcome("peak_flexion_deg");
pub(super) const SIT_TIME: MotionMeasure = MotionMeasure::Outcome("sit_time_s");
pub(super) const RATE: MotionMeasure = MotionMeasure::Outcome("peak_rate_deg_per_s");
pub(super) const DROP: MotionMeasure = MotionMeasure::Outcome("body_drop_speed_m_per_s");
pub(super) const SUPPORT: MotionMeasure = MotionMeasure::Outcome("support_after_ms");
pub(super) const NOT_STRAIGHT: NotReachedAs = NotReachedAs::Undecided(super::super::measure::NOT_STRAIGHT);

pub(super) const COMMON_PRACTICE: &str = "common practice";
pub(super) const TSAI: &str = "Tsai & Mansour 1986, J Biomech Eng 108:65";
pub(super) const FOOT_MASS: &str = "Narang et al. 2016, J Biomech Eng 138:121002; beside it: 0.6 kg more at the ankle \
     changed nothing significantly in ten users (Hekmatfard et al. 2013, Gait & Posture 37:78)";
pub(super) const HICKS: &str = "Hicks 1985, J Orthop Res 3:198";
pub(super) const MANUAL: &str = "common practice; ICRC gait manual 2014 (from memory)";
pub(super) const CONTESTED: &str = "common practice, contested";

/// A move of one input, up by a drawn step.
pub(super) const fn move_input(
    id: &'static str,
    statement: &'static str,
    scenario: &'static str,
    input: &'static str,
    (measure, sign, not_reached): (MotionMeasure, f64, NotReachedAs),
    precondition: Precondition,
) -> Rule {
    let test = RuleTest::MoveInput { input, measure, sign, not_reached, precondition };
    rule(id, statement, scenario, [input, "", ""], test)
}

/// A statement with a criterion of its own.
pub(super) const fn custom(
    id: &'static str,
    statement: &'static str,
    scenario: &'static str,
    changed_outcome_unit: [&'static str; 3],
    test: fn(&Experiment) -> ExperimentResult,
) -> Rule {
    rule(id, statement, scenario, changed_outcome_unit, RuleTest::Custom(test))
}

/// A statement about two whole fitting sessions.
pub(super) const fn sessions(
    id: &'static str,
    statement: &'static str,
    changed_outcome_unit: [&'static str; 3],
    test: fn(&Experiment) -> ExperimentResult,
) -> Rule {
    let test = RuleTest::Sessions(test);
    Rule { catch_loads: SAMPLED, ..rule(id, statement, "a whole session", changed_outcome_unit, test) }
}

const fn rule(
    id: &'static str,
    statement: &'static str,
    scenario: &'static str,
    [changed, outcome, unit]: [&'static str; 3],
    test: RuleTest,
) -> Rule {
    let (source, catch_loads, claim) = (COMMON_PRACTICE, BOTH, Claim::Holds);
    Rule { id, statement, source, changed, outcome, unit, scenario, catch_loads, claim, test }
}
