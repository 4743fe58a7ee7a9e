//! What several tests need: shipped models, trials, fixtures.

use std::sync::Arc;

use kneedamp::body::{Person, Shank};
use kneedamp::case::setup::Setup;
use kneedamp::joint::{Knee, Settings};
use kneedamp::library::Library;
use kneedamp::motion::Trial;
use kneedamp::motion::trial::Detail;
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::scenario::{Drive, DriveFile, Pace, WalkingDrive};
use kneedamp::units::DEG;

pub fn library() -> Library {
    Library::default()
}

pub fn drive_file() -> Arc<DriveFile> {
    Arc::new(library().drive("able-bodied-2008").expect("shipped drive"))
}

/// The walking drive of the shipped scenarios.
pub fn walking_drive() -> WalkingDrive {
    library().walking_drive("users-2020").expect("shipped drive")
}

/// Knee of the library at its own settings.
pub fn knee(name: &str) -> Knee {
    library().knee(name).expect("shipped knee").resolve(&Settings::default(), None).expect("resolves")
}

/// The reference limb of the checks: 2.2 kg, 0.26 m, 4°, 0.215 kg m².
pub fn reference_shank() -> Shank {
    Shank { mass_kg: 2.2, com_distance_m: 0.26, com_angle_rad: 4.0 * DEG, inertia_kg_m2: 0.215 }
}

/// A person by numbers.
pub fn person(mass_kg: f64, stature_m: f64) -> Person {
    Person { mass_kg, stature_given_m: Some(stature_m), ..Person::default() }
}

/// The drive of a person at a pace.
pub fn drive(person: &Person, speed: f64, cadence: Option<f64>) -> Drive {
    let pace = Pace { speed_m_per_s: speed, cadence_steps_per_min: cadence };
    Drive::new(&drive_file(), person.leg_length_m(), person.thigh_length_m(), pace).expect("in the table")
}

/// A shipped scenario with the built-in knee, the 75 kg example and the typical prosthesis.
pub fn trial(scenario: &str) -> Trial {
    let library = library();
    Trial {
        scenario: library.scenario(scenario).expect("shipped scenario"),
        person: library.person("75-kg").expect("shipped person"),
        shank: library.prosthesis("typical").expect("shipped prosthesis").shank().expect("checked"),
        alignment: kneedamp::body::Alignment::default(),
        knee: knee("built-in"),
        comparison_knee: knee("built-in"),
        drive: Some(walking_drive()),
        deadline: None,
        tolerances: Tolerances::default(),
        detail: Detail::default(),
        stride_cache: None,
    }
}

/// The set-up of a study: a shipped person and knee with the typical prosthesis.
pub fn setup(person: &str, knee: &str) -> Setup {
    let library = library();
    Setup::new(
        library.person(person).expect("shipped person"),
        library.prosthesis("typical").expect("shipped prosthesis"),
        library.knee(knee).expect("shipped knee"),
        walking_drive(),
    )
}

/// A JSON fixture of tests/reference.
pub fn fixture(name: &str) -> serde_json::Value {
    let path = format!("{}/tests/reference/{name}", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&std::fs::read_to_string(path).expect("fixture")).expect("JSON")
}

/// Rows of a CSV table of tests/reference, without its comments; the first row has the column names.
pub fn csv_rows(name: &str) -> Vec<Vec<String>> {
    let path = format!("{}/tests/reference/{name}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).expect("table");
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .comment(Some(b'#'))
        .from_reader(text.as_bytes());
    reader.records().map(|r| r.expect("row").iter().map(str::to_owned).collect()).collect()
}
