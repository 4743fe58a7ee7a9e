//! Inputs of a window study: the person, the scenarios, the limits to leave out.

use super::case_limits::CaseLimits;
use crate::body::Person;
use crate::case::inputs::Case;
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::outcome::metric;
use crate::scenario::{Limit, Scenario};

/// Inputs of a window study.
#[derive(Debug, Clone)]
pub struct Question {
    /// Person, prosthesis, knee, settings; a pace here holds for the walking scenarios.
    pub setup: Setup,
    /// Scenarios.
    pub scenarios: Vec<Scenario>,
    /// Outcomes whose limits are left out.
    pub without: Vec<String>,
    /// Body masses, kg; the stature follows. Empty for the person as given.
    pub masses_kg: Vec<f64>,
    /// Cadences of the walking scenarios, steps per minute. Empty for their own.
    pub cadences_steps_per_min: Vec<f64>,
    /// Whether edges are computed again with values of judgement varied.
    pub bands: bool,
}

impl Question {
    /// The person of a mass, or the one given.
    pub(super) fn people(&self) -> Vec<Person> {
        let of_mass = |m: &f64| Person { mass_kg: *m, stature_given_m: None, ..self.setup.person.clone() };
        if self.masses_kg.is_empty() {
            vec![self.setup.person.clone()]
        } else {
            self.masses_kg.iter().map(of_mass).collect()
        }
    }

    /// A scenario of a person at a pace, which only walking has.
    ///
    /// # Errors
    /// A pace outside the range of its input.
    pub(super) fn case(
        &self,
        person: &Person,
        scenario: &Scenario,
        cadence: Option<f64>,
    ) -> Result<Case, SimError> {
        let setup = Setup {
            person: person.clone(),
            speed_m_per_s: None,
            cadence_steps_per_min: None,
            ..self.setup.clone()
        };
        let mut case = Case { setup, scenario: scenario.clone() };
        if let Some(v) = self.setup.speed_m_per_s {
            case.set("speed_m_per_s", v)?;
        }
        if let Some(c) = cadence.or(self.setup.cadence_steps_per_min) {
            case.set("cadence_steps_per_min", c)?;
        }
        Ok(case)
    }

    /// Outcomes left out must exist.
    pub(super) fn check_without(&self) -> Result<(), SimError> {
        match self.without.iter().find(|key| metric(key).is_none()) {
            Some(key) => Err(SimError::Unknown {
                kind: "outcome",
                name: key.clone(),
                known: self.limited_outcomes().join(", ") + " (and others without a limit here)",
            }),
            None => Ok(()),
        }
    }

    fn limited_outcomes(&self) -> Vec<String> {
        let mut known: Vec<String> = Vec::new();
        for limit in self.scenarios.iter().flat_map(|s| &s.limits) {
            if !known.contains(&limit.outcome) {
                known.push(limit.outcome.clone());
            }
        }
        known
    }

    /// Outcomes left out on which no chosen scenario has a limit.
    pub(super) fn without_effect(&self) -> impl Iterator<Item = String> {
        let limited = self.limited_outcomes();
        self.without.clone().into_iter().filter(move |key| !limited.contains(key))
    }

    /// The limits of the study by scenario, for the report of the inputs.
    #[must_use]
    pub fn limits_by_scenario(&self) -> Vec<(String, Vec<Limit>)> {
        let limits = |s: &Scenario| {
            let case = Case { setup: self.setup.clone(), scenario: s.clone() };
            CaseLimits::new(case, &self.without).limits
        };
        self.scenarios.iter().map(|s| (s.name.clone(), limits(s))).collect()
    }
}
