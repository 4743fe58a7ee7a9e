//! Challenges of the page: from a start that misses its goals, who plays turns settings and tests, and is compared with
//! the session of `adjust` from the same start. A goal is a limit put in place of the scenario's own, so that trials are
//! run, judged and counted as unsafe by the rules of every other run. tests/studies/challenges.rs shows that each can be
//! won, that no start has won already, and that goals pull against each other.

use crate::joint::SettingName;
use crate::scenario::{Limit, Scenario, Severity};

/// A number to be met in one of the scenarios.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Goal {
    /// Scenario by name.
    pub scenario: &'static str,
    /// Outcome by key.
    pub outcome: &'static str,
    /// Least value.
    pub min: Option<f64>,
    /// Greatest value.
    pub max: Option<f64>,
}

/// One challenge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Challenge {
    /// Number, from 1.
    pub number: u8,
    /// Person, knee, pace and settings at the start as `KEY=VALUE,…`.
    pub start: &'static str,
    /// Settings that may be turned.
    pub turns: &'static [SettingName],
    /// Scenarios by name; every limit of each is a goal too.
    pub scenarios: &'static [&'static str],
    /// Goals besides the limits, or in place of those of the same outcome.
    pub goals: &'static [Goal],
}

/// Source of a goal.
const SOURCE: &str = "goal of this challenge";

/// Stands between a scenario's name and the challenge's number.
const OF_CHALLENGE: &str = "@challenge-";

/// All challenges.
pub static CHALLENGES: &[Challenge] = &[
    Challenge {
        number: 1,
        start: "speed_m_per_s=1.5,swing-flexion=10,swing-extension=10",
        turns: &[SettingName::SwingFlexion, SettingName::SwingExtension],
        scenarios: &["walk-fast"],
        goals: &[
            Goal { scenario: "walk-fast", outcome: "terminal_energy_j", min: None, max: Some(1.0) },
            Goal { scenario: "walk-fast", outcome: "extension_margin_ms", min: Some(60.0), max: None },
        ],
    },
    Challenge {
        number: 2,
        start: "stance-yield=5",
        turns: &[SettingName::StanceYield],
        scenarios: &["sit-down", "ramp-down-8-deg", "stairs-down"],
        goals: &[Goal { scenario: "sit-down", outcome: "sit_time_s", min: Some(1.4), max: Some(2.2) }],
    },
    Challenge {
        number: 3,
        start: "person=50-kg,stance-yield=60,catch-load=35",
        turns: &[SettingName::CatchLoad, SettingName::StanceYield],
        scenarios: &["sit-down", "walk-comfortable"],
        goals: &[Goal { scenario: "sit-down", outcome: "seat_speed_m_per_s", min: None, max: Some(0.45) }],
    },
    Challenge {
        number: 4,
        start: "foot_extra_mass_kg=1,swing-flexion=5,swing-extension=20",
        turns: &[SettingName::SwingFlexion, SettingName::SwingExtension],
        scenarios: &["walk-slow", "walk-hurried"],
        goals: &[Goal { scenario: "walk-hurried", outcome: "terminal_energy_j", min: None, max: Some(1.5) }],
    },
];

/// The challenge of a number.
#[must_use]
pub fn challenge(number: u8) -> Option<&'static Challenge> {
    CHALLENGES.iter().find(|c| c.number == number)
}

/// A scenario with the goals of a challenge, by a name that [`Challenge::scenario_name`] made; none for other names.
#[must_use]
pub fn scenario_with_goals(scenarios: &[Scenario], name: &str) -> Option<Scenario> {
    let (scenario, number) = name.split_once(OF_CHALLENGE)?;
    let found = number.parse().ok().and_then(challenge).filter(|c| c.scenarios.contains(&scenario))?;
    scenarios.iter().find(|s| s.name == scenario).map(|s| found.with_goals(s))
}

impl Challenge {
    /// The name under which a scenario has the goals of this challenge.
    #[must_use]
    pub fn scenario_name(&self, scenario: &str) -> String {
        format!("{scenario}{OF_CHALLENGE}{}", self.number)
    }

    /// A scenario with the goals of this challenge.
    #[must_use]
    pub fn with_goals(&self, plain: &Scenario) -> Scenario {
        let mut scenario = plain.clone();
        let goals: Vec<&Goal> = self.goals.iter().filter(|g| g.scenario == plain.name).collect();
        let replaced =
            |l: &Limit| l.severity == Severity::Limit && goals.iter().any(|g| g.outcome == l.outcome);
        scenario.limits.retain(|l| !replaced(l));
        scenario.limits.splice(0..0, goals.iter().map(|g| g.limit()));
        scenario.name = self.scenario_name(&plain.name);
        scenario
    }
}

impl Goal {
    fn limit(&self) -> Limit {
        Limit {
            outcome: self.outcome.to_owned(),
            min: self.min,
            max: self.max,
            allowed: Vec::new(),
            source: SOURCE.to_owned(),
            scale: None,
            band_pct: None,
            beside_max: None,
            severity: Severity::Limit,
        }
    }
}
