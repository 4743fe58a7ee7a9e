//! What rules are tried on, the same for all samples.

use std::collections::HashSet;

use super::population::holdable;
use crate::body::Prosthesis;
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::joint::{KneeFile, SettingName};
use crate::scenario::Scenario;

/// What is tried on, the same for all samples.
#[derive(Debug)]
pub struct Bench {
    /// Set-up that the sampled inputs are put into.
    pub setup: Setup,
    /// Prostheses to draw from.
    pub prostheses: Vec<Prosthesis>,
    /// Joint that rule 6 compares with.
    pub friction_knee: KneeFile,
    /// Scenarios of the rules, by their names.
    pub scenarios: Vec<Scenario>,
    /// Scenarios of a fitting session, for rules 16 and 17.
    pub session_scenarios: Vec<Scenario>,
    /// Names of the population that stay as the set-up has them.
    pub held: HashSet<String>,
    /// How a reader names all this on the command line.
    pub names: Names,
}

/// Options of `run` that name the models.
#[derive(Debug, Clone, Default)]
pub struct Names {
    /// `--person`.
    pub person: String,
    /// `--knee`.
    pub knee: String,
    /// `--knee` of the joint that rule 6 compares with.
    pub friction_knee: String,
    /// `--prosthesis`, one for each to draw from.
    pub prostheses: Vec<String>,
    /// `--prosthesis` of the set-up.
    pub prosthesis: String,
    /// `--library`, if one was given.
    pub library: Option<String>,
}

impl Bench {
    /// Whether it makes sense.
    ///
    /// # Errors
    /// A name to hold for which the set-up has no value; a set-up that is wrong in itself.
    pub(super) fn check(&self) -> Result<(), SimError> {
        if let Some(name) = self.held.iter().find(|n| !holdable().any(|known| known == n.as_str())) {
            return Err(SimError::Unknown {
                kind: "input to hold",
                name: name.clone(),
                known: holdable().collect::<Vec<_>>().join(", "),
            });
        }
        self.setup.resolve().map(|_| ())
    }

    /// Whether a name stays as the set-up has it; settings that the joint does not have always do.
    #[must_use]
    pub fn holds(&self, key: &str) -> bool {
        let absent = |key: &str| {
            let name = SettingName::parse(key);
            let resolved = self.setup.resolve();
            name.zip(resolved.ok()).is_some_and(|(n, r)| r.knee.settings.get(n).is_none())
        };
        // a stature goes with its mass
        let with_mass = key == "stature_m" && self.held.contains("mass_kg");
        self.held.contains(key) || with_mass || absent(key)
    }
}
