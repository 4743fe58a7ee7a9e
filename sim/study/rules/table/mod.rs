//! The rules of the trade as statements, one row each, by family. A new statement is one row.

mod general;
mod landing;
mod sessions;
mod stance;
mod swing;

use std::sync::LazyLock;

use super::criteria as judge;
use super::experiment::{Catch, Judged, Try};
use super::measure::{Missing, Read};

/// Scenarios that rules are tried in.
pub const WALK: &str = "walk-comfortable";
pub(super) const HURRIED: &str = "walk-hurried";
pub(super) const SIT: &str = "sit-down";
pub(super) const RAMP: &str = "ramp-down-8-deg";
pub(super) const STAIRS: &str = "stairs-down";
pub(super) const STUMBLE: &str = "stumble";
pub(super) const STAND: &str = "stand";

/// All of them.
pub const SCENARIOS: [&str; 7] = [WALK, HURRIED, SIT, RAMP, STAIRS, STUMBLE, STAND];

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

/// When a move of an input decides something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gate {
    /// Always.
    None,
    /// Loaded tasks: the load closes the stance valve with one of the two at least.
    ValveCloses,
    /// Ramp and stairs: the same, and the knee yields with both.
    BothYield,
    /// Stumble: the knee bends on with one of the two at least, and could bend further than with the other.
    Bends,
    /// Walking: the valve takes something off the peak with one of the two at least.
    LetsGoLate,
    /// Release: not at toe-off with both.
    NotBothAtToeOff,
}

/// How a statement is tried.
#[derive(Debug, Clone, Copy)]
pub enum Test {
    /// One input is moved up, one reading compared.
    Move {
        /// Input moved.
        input: &'static str,
        /// Reading.
        read: Read,
        /// +1 if the reading should rise, −1 if it should fall.
        sign: f64,
        /// What a missing reading counts as.
        missing: Missing,
        /// When it decides something.
        gate: Gate,
    },
    /// Its own judge.
    Own(fn(&Try) -> Judged),
    /// A judge that runs whole fitting sessions, on fewer samples.
    Sessions(fn(&Try) -> Judged),
}

/// One statement.
#[derive(Debug)]
pub struct Rule {
    /// Number of the rule and letter of the statement.
    pub id: &'static str,
    /// What is said.
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
    pub catches: &'static [Catch],
    /// What it claims.
    pub claim: Claim,
    /// How it is tried.
    pub test: Test,
}

impl Rule {
    /// Number of the rule.
    #[must_use]
    pub fn number(&self) -> u32 {
        self.id.trim_end_matches(|c: char| c.is_alphabetic()).parse().unwrap_or(0)
    }

    /// Whether it runs whole fitting sessions.
    #[must_use]
    pub fn takes_sessions(&self) -> bool {
        matches!(self.test, Test::Sessions(_))
    }
}

const CP: &str = "common practice";
const BOTH: &[Catch] = &[Catch::AsSampled, Catch::Scaled];
const SAMPLED: &[Catch] = &[Catch::AsSampled];
const NOT_STRAIGHT: Missing = Missing::Undecided(crate::study::rules::measure::NOT_STRAIGHT);

const EMPTY: Rule = Rule {
    id: "",
    statement: "",
    source: CP,
    changed: "",
    outcome: "",
    unit: "",
    scenario: WALK,
    catches: BOTH,
    claim: Claim::Holds,
    test: Test::Own(judge::nothing),
};

/// A move of one input, up by a drawn step.
const fn moved(
    id: &'static str,
    statement: &'static str,
    scenario: &'static str,
    input: &'static str,
    (read, sign, missing): (Read, f64, Missing),
    gate: Gate,
) -> Rule {
    Rule {
        id,
        statement,
        scenario,
        changed: input,
        test: Test::Move { input, read, sign, missing, gate },
        ..EMPTY
    }
}

const NEVER: Missing = Missing::Undecided("not reached");
const LEAST: Missing = Missing::Least;
const MOST: Missing = Missing::Most;
const MARGIN: Read = Read::MarginInTime;
const IMPACT: Read = Read::ImpactInTime;
const PEAK: Read = Read::Outcome("peak_flexion_deg");
const SIT_TIME: Read = Read::Outcome("sit_time_s");
const RATE: Read = Read::Outcome("peak_rate_deg_per_s");
const DROP: Read = Read::Outcome("body_drop_speed_m_per_s");
const SUPPORT: Read = Read::Outcome("support_after_ms");

/// A statement with a judge of its own.
const fn own(
    id: &'static str,
    statement: &'static str,
    scenario: &'static str,
    [changed, outcome, unit]: [&'static str; 3],
    test: fn(&Try) -> Judged,
) -> Rule {
    Rule { id, statement, scenario, changed, outcome, unit, test: Test::Own(test), ..EMPTY }
}

const TSAI: &str = "Tsai & Mansour 1986, J Biomech Eng 108:65 (from memory)";
const NARANG: &str = "Narang et al. 2016, J Biomech Eng 138:121002 (from memory)";
const HICKS: &str = "Hicks 1985, J Orthop Res 3:198 (from memory)";
const MANUAL: &str = "common practice; ICRC gait manual 2014 (from memory)";
const CONTESTED: &str = "common practice, contested";

/// All statements, in order.
pub static RULES: LazyLock<Vec<Rule>> = LazyLock::new(|| {
    [swing::rules(), stance::rules(), general::rules(), sessions::rules(), landing::rules()]
        .into_iter()
        .flatten()
        .collect()
});
