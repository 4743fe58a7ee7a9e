//! The models of the page and the lesson file, read once at the start.

use super::model_set::{ModelSet, RunCache};
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::library::{Kind, Library, Model, example};
use crate::scenario::{Activity, Scenario};

impl ModelSet {
    /// Everything in a library; the base is the built-in example, as for every command.
    ///
    /// # Errors
    /// What is wrong in a file.
    pub fn of(library: &Library) -> Result<Self, SimError> {
        let scenarios = library.default_scenarios()?;
        Ok(Self {
            base: base(library, &scenarios)?,
            scenarios,
            people: all(library, Kind::Person)?,
            prostheses: all(library, Kind::Prosthesis)?,
            knees: all(library, Kind::Knee)?,
            cache: RunCache::default(),
        })
    }
}

/// The built-in example with the drives of all scenarios.
fn base(library: &Library, scenarios: &[Scenario]) -> Result<Setup, SimError> {
    let drive = library.walking_drive(example::DRIVE)?;
    let mut setup = Setup::new(
        library.person(example::PERSON)?,
        library.prosthesis(example::PROSTHESIS)?,
        library.knee(example::KNEE)?,
        drive,
    );
    for scenario in scenarios {
        if let Activity::Walk(w) = &scenario.activity
            && !setup.drives.contains_key(&w.drive)
        {
            setup.drives.insert(w.drive.clone(), library.walking_drive(&w.drive)?);
        }
    }
    Ok(setup)
}

fn all<M: Model>(library: &Library, kind: Kind) -> Result<Vec<M>, SimError> {
    library.names(kind).iter().map(|n| library.read(n)).collect()
}
