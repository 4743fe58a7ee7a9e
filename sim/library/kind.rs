//! Kinds of file, and the models that are read from them.

use include_dir::{Dir, include_dir};
use schemars::{JsonSchema, Schema, schema_for};
use serde::de::DeserializeOwned;

use crate::body::{Person, Prosthesis};
use crate::error::SimError;
use crate::joint::{KneeFile, Settings};
use crate::scenario::uncertainty_file::UncertaintyFile;
use crate::scenario::{Drive, DriveFile, Scenario};

static MODELS: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/models");
static SCENARIOS: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/scenarios");

/// A kind of file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A knee.
    Knee,
    /// A person.
    Person,
    /// A prosthesis below the knee axis.
    Prosthesis,
    /// A walking drive.
    Drive,
    /// A scenario.
    Scenario,
    /// What is uncertain.
    Uncertainty,
}

impl Kind {
    /// All kinds.
    pub const ALL: [Self; 6] =
        [Self::Scenario, Self::Knee, Self::Person, Self::Prosthesis, Self::Drive, Self::Uncertainty];

    /// Singular, as in the files' `kind`.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Knee => "knee",
            Self::Person => "person",
            Self::Prosthesis => "prosthesis",
            Self::Drive => "drive",
            Self::Scenario => "scenario",
            Self::Uncertainty => "uncertainty",
        }
    }

    /// `is a person; a knee is wanted (a person goes with --person)`.
    pub(super) fn but_is(self, other: Self) -> String {
        let goes = match other {
            Self::Scenario => "a scenario stands without an option".into(),
            other => format!("a {0} goes with --{0}", other.as_str()),
        };
        format!("is a {}; a {} is wanted ({goes})", other.as_str(), self.as_str())
    }

    /// Folder below a library folder.
    #[must_use]
    pub fn folder(self) -> &'static str {
        match self {
            Self::Knee => "knees",
            Self::Person => "people",
            Self::Prosthesis => "prostheses",
            Self::Drive => "drives",
            Self::Scenario => "scenarios",
            Self::Uncertainty => "uncertainty",
        }
    }

    /// JSON Schema of a file: fields, types, what must be there. Ranges are checked by [`Model::check_model`].
    #[must_use]
    pub fn schema(self) -> Schema {
        match self {
            Self::Knee => schema_for!(KneeFile),
            Self::Person => schema_for!(Person),
            Self::Prosthesis => schema_for!(Prosthesis),
            Self::Drive => schema_for!(DriveFile),
            Self::Scenario => schema_for!(Scenario),
            Self::Uncertainty => schema_for!(UncertaintyFile),
        }
    }

    /// The files of this kind that are built in.
    pub(super) fn built_in(self) -> Option<&'static Dir<'static>> {
        if self == Self::Scenario { Some(&SCENARIOS) } else { MODELS.get_dir(self.folder()) }
    }

    /// Order in which scenarios run and are listed; other kinds go by name.
    pub(super) fn rank(self, name: &str) -> usize {
        const ORDER: [&str; 6] = ["stand", "walk", "sit", "ramp", "stairs", "stumble"];
        const PACES: [&str; 4] = ["comfortable", "slow", "fast", "hurried"];
        if self != Self::Scenario {
            return 0;
        }
        let family = ORDER.iter().position(|p| name.starts_with(p)).unwrap_or(ORDER.len());
        family * 10 + PACES.iter().position(|p| name.ends_with(p)).unwrap_or(PACES.len())
    }
}

/// A file of the library that can be read and checked.
pub trait Model: DeserializeOwned + JsonSchema {
    /// Its kind.
    const KIND: Kind;

    /// Ranges and consistency.
    ///
    /// # Errors
    /// The first thing that is wrong.
    fn check_model(&self) -> Result<(), SimError>;
}

impl Model for Person {
    const KIND: Kind = Kind::Person;
    fn check_model(&self) -> Result<(), SimError> {
        self.check()
    }
}

impl Model for Prosthesis {
    const KIND: Kind = Kind::Prosthesis;
    fn check_model(&self) -> Result<(), SimError> {
        self.shank().map(|_| ())
    }
}

impl Model for KneeFile {
    const KIND: Kind = Kind::Knee;
    fn check_model(&self) -> Result<(), SimError> {
        self.resolve(&Settings::default(), None).map(|_| ())
    }
}

impl Model for DriveFile {
    const KIND: Kind = Kind::Drive;
    fn check_model(&self) -> Result<(), SimError> {
        self.check()?;
        Drive::check_rows(self)
    }
}

impl Model for UncertaintyFile {
    const KIND: Kind = Kind::Uncertainty;
    fn check_model(&self) -> Result<(), SimError> {
        self.check()
    }
}

impl Model for Scenario {
    const KIND: Kind = Kind::Scenario;
    fn check_model(&self) -> Result<(), SimError> {
        self.check()?;
        for (i, limit) in self.limits.iter().enumerate() {
            crate::outcome::check_limit(limit).map_err(|e| e.inside(&format!("limits[{i}]")))?;
        }
        Ok(())
    }
}
