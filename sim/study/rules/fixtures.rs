//! What is the same for all samples: set-up, models, scenarios, fixed inputs.

use std::collections::HashSet;

use super::population::fixable;
use crate::body::Prosthesis;
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::joint::{KneeFile, SettingName};
use crate::scenario::Scenario;

/// What is the same for all samples.
#[derive(Debug)]
pub struct Fixtures {
    /// Set-up that the sampled inputs are put into.
    pub setup: Setup,
    /// Prostheses to draw from.
    pub prostheses: Vec<Prosthesis>,
    /// Knee with constant friction, for rule 6.
    pub friction_knee: KneeFile,
    /// Scenarios of the rules, by their names.
    pub scenarios: Vec<Scenario>,
    /// Scenarios of a fitting session, for rules 16 and 17.
    pub session_scenarios: Vec<Scenario>,
    /// Inputs of the population that are not sampled but stay as in the set-up.
    pub fixed: HashSet<String>,
}

impl Fixtures {
    /// Whether they make sense.
    ///
    /// # Errors
    /// A fixed input for which the set-up has no value; a set-up that is wrong in itself.
    pub(super) fn check(&self) -> Result<(), SimError> {
        if let Some(name) = self.fixed.iter().find(|n| !fixable().any(|known| known == n.as_str())) {
            return Err(SimError::Unknown {
                kind: "input to hold",
                name: name.clone(),
                known: fixable().collect::<Vec<_>>().join(", "),
            });
        }
        self.setup.resolve().map(|_| ())
    }

    /// Whether an input stays as in the set-up; settings that the joint does not have always do.
    #[must_use]
    pub fn is_fixed(&self, key: &str) -> bool {
        let absent = |key: &str| {
            let name = SettingName::parse(key);
            let resolved = self.setup.resolve();
            name.zip(resolved.ok()).is_some_and(|(n, r)| r.knee.settings.get(n).is_none())
        };
        // a fixed mass fixes the stature
        let with_mass = key == "stature_m" && self.fixed.contains("mass_kg");
        self.fixed.contains(key) || with_mass || absent(key)
    }
}
