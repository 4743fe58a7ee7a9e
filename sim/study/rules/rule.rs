//! What a rule of the trade is: a statement, how it is tested, what it claims.

use super::evidence::{CatchLoadMode, ExperimentResult};
use super::experiment::Experiment;
use super::measure::{MotionMeasure, NotReachedAs};

/// What a rule claims about people.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Claim {
    /// It holds.
    Holds,
    /// It can happen.
    CanHappen,
    /// It holds for most and not for all.
    MostNotAll,
}

/// When two runs decide something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Precondition {
    /// Always.
    None,
    /// Loaded tasks: the load closes the stance valve in at least one of the two.
    ValveCloses,
    /// Ramp and stairs: the same, and the knee yields in both.
    BothYield,
    /// Stumble: flexion is added after landing in at least one of the two.
    AddsFlexion,
    /// Walking: the valve reduces peak flexion in at least one of the two.
    ReleasesLate,
    /// Release: not at toe-off in both.
    NotBothAtToeOff,
}

/// How a statement is tested.
#[derive(Debug, Clone, Copy)]
pub enum RuleTest {
    /// One input is moved up, one measure compared.
    MoveInput {
        /// Input moved.
        input: &'static str,
        /// Measure compared.
        measure: MotionMeasure,
        /// +1 if the measure should rise, −1 if it should fall.
        sign: f64,
        /// What a value that is not reached counts as.
        not_reached: NotReachedAs,
        /// When it decides something.
        precondition: Precondition,
    },
    /// A criterion of its own.
    Custom(fn(&Experiment) -> ExperimentResult),
    /// A criterion that runs whole fitting sessions, on fewer samples.
    Sessions(fn(&Experiment) -> ExperimentResult),
}

/// One statement.
#[derive(Debug, Clone, Copy)]
pub struct Rule {
    /// Number of the rule and letter of the statement.
    pub id: &'static str,
    /// The statement.
    pub statement: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// What is changed between the runs.
    pub changed: &'static str,
    /// What is compared.
    pub outcome: &'static str,
    /// Unit of the effect.
    pub unit: &'static str,
    /// Scenario.
    pub scenario: &'static str,
    /// Ways to set the catch load.
    pub catch_loads: &'static [CatchLoadMode],
    /// What it claims.
    pub claim: Claim,
    /// How it is tested.
    pub test: RuleTest,
}

impl Rule {
    /// Number of the rule.
    #[must_use]
    pub fn number(&self) -> u32 {
        self.id.trim_end_matches(|c: char| c.is_alphabetic()).parse().unwrap_or(0)
    }

    /// Whether it runs whole fitting sessions.
    #[must_use]
    pub fn runs_sessions(&self) -> bool {
        matches!(self.test, RuleTest::Sessions(_))
    }

    /// What is compared.
    #[must_use]
    pub fn compared(&self) -> &'static str {
        match self.test {
            RuleTest::MoveInput { measure, .. } => measure.name(),
            _ => self.outcome,
        }
    }

    /// Unit of the effect.
    #[must_use]
    pub fn effect_unit(&self) -> &'static str {
        match self.test {
            RuleTest::MoveInput { measure, .. } => measure.unit(),
            _ => self.unit,
        }
    }
}
