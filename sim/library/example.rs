//! Names of the built-in example.

/// Person.
pub const PERSON: &str = "75-kg";
/// Prosthesis.
pub const PROSTHESIS: &str = "typical";
/// Knee, and the knee to compare toe height with.
pub const KNEE: &str = "built-in";
/// Walking drive.
pub const DRIVE: &str = "users-2020";
/// Scenario of a single run.
pub const SCENARIO: &str = "walk-comfortable";
/// Uncertain inputs and their ranges.
pub const UNCERTAINTY: &str = "default";
