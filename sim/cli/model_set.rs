//! The models of the page and the lesson file, read once at the start.

use super::common::{EXAMPLE, LibraryOptions, default_scenarios};
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::library::{Kind, Library, Model};
use crate::scenario::{Activity, Scenario};
use crate::teaching::model_set::{ModelSet, RunCache};

/// Everything in the library; the base is the built-in example, as for every other command.
///
/// # Errors
/// A folder that is not there, or what is wrong in a file.
pub fn read(options: &LibraryOptions) -> Result<ModelSet, SimError> {
    let library = options.open()?;
    let scenarios = default_scenarios(&library)?;
    Ok(ModelSet {
        base: base(&library, &scenarios)?,
        scenarios,
        people: all(&library, Kind::Person)?,
        prostheses: all(&library, Kind::Prosthesis)?,
        knees: all(&library, Kind::Knee)?,
        cache: RunCache::default(),
    })
}

/// The built-in example with the drives of all scenarios.
fn base(library: &Library, scenarios: &[Scenario]) -> Result<Setup, SimError> {
    let [person, prosthesis, knee] = EXAMPLE;
    let mut drives = scenarios.iter().filter_map(|s| match &s.activity {
        Activity::Walk(w) => Some(library.drive(&w.drive)),
        _ => None,
    });
    let no_walking = || SimError::Usage("none of the scenarios is level walking".into());
    let first = drives.next().ok_or_else(no_walking)??;
    let mut setup =
        Setup::new(library.person(person)?, library.prosthesis(prosthesis)?, library.knee(knee)?, first);
    for drive in drives {
        let drive = drive?;
        setup.drives.entry(drive.name.clone()).or_insert_with(|| std::sync::Arc::new(drive));
    }
    Ok(setup)
}

fn all<M: Model>(library: &Library, kind: Kind) -> Result<Vec<M>, SimError> {
    library.names(kind).iter().map(|n| library.read(n)).collect()
}
