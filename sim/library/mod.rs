//! Knees, people, prostheses, drives, uncertainty ranges and scenarios by name: the user's own first, then
//! what is built in; or from a path.

pub mod angles;
pub mod drive_import;
mod error_lines;
pub mod example;
mod kind;
pub mod measured;
pub mod table;
mod yaml;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::body::{Person, Prosthesis};
use crate::error::SimError;
use crate::joint::KneeFile;
use crate::scenario::uncertainty_file::UncertaintyFile;
use crate::scenario::{DriveFile, Scenario, WalkingDrive};

pub use error_lines::{in_text, line_of_field};
pub use kind::{Kind, Model};
pub use yaml::{
    LARGEST_FILE, check_text, check_texts, parse, read_map, read_result, read_table, read_text, to_yaml,
};

/// One entry of the library.
#[derive(Debug, Clone)]
pub struct Entry {
    /// Name.
    pub name: String,
    /// Its description.
    pub about: String,
    /// `built-in` or the path of the user's file.
    pub origin: String,
}

/// Where files are looked for.
///
/// ```
/// use kneedamp::library::Library;
/// let library = Library::default();
/// assert_eq!(library.person("75-kg").unwrap().mass_kg, 75.0);
/// assert!(library.person("nobody").is_err());
/// ```
#[derive(Debug, Clone, Default)]
pub struct Library {
    /// Folder with `knees/`, `people/`, ... whose files come before the built-in ones.
    pub user_folder: Option<PathBuf>,
    /// The same files handed over where there are no folders: the engine of a lesson file has the user's so.
    pub handed_over: Vec<UserFile>,
}

/// A file of the user's, as text.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct UserFile {
    /// Its kind.
    pub kind: Kind,
    /// Its name.
    pub name: String,
    /// What is written in it.
    pub text: String,
}

impl Library {
    /// A knee file by name or path.
    ///
    /// # Errors
    /// An unknown name, an unreadable file, or what is wrong in it.
    pub fn knee(&self, name: &str) -> Result<KneeFile, SimError> {
        self.read(name)
    }

    /// A person by name or path.
    ///
    /// # Errors
    /// As [`Library::knee`].
    pub fn person(&self, name: &str) -> Result<Person, SimError> {
        self.read(name)
    }

    /// A prosthesis by name or path.
    ///
    /// # Errors
    /// As [`Library::knee`].
    pub fn prosthesis(&self, name: &str) -> Result<Prosthesis, SimError> {
        self.read(name)
    }

    /// A walking drive by name or path.
    ///
    /// # Errors
    /// As [`Library::knee`].
    pub fn drive(&self, name: &str) -> Result<DriveFile, SimError> {
        self.read(name)
    }

    /// A drive by name or path, with the one that it was shifted from.
    ///
    /// # Errors
    /// As [`Library::knee`]; the other drive is not in the library.
    pub fn walking_drive(&self, name: &str) -> Result<WalkingDrive, SimError> {
        let file = self.drive(name)?;
        let base = file.measured.as_ref().map(|m| {
            self.drive(&m.shifted_from).map_err(|e| SimError::Inconsistent {
                field: format!("drive {}: measured.shifted_from", file.name),
                why: format!("the drive that it was shifted from is needed beside it: {e}"),
            })
        });
        Ok(WalkingDrive { base: base.transpose()?.map(Arc::new), file: Arc::new(file) })
    }

    /// A scenario by name or path.
    ///
    /// # Errors
    /// As [`Library::knee`].
    pub fn scenario(&self, name: &str) -> Result<Scenario, SimError> {
        self.read(name)
    }

    /// Any model by name or path.
    ///
    /// # Errors
    /// As [`Library::knee`].
    pub fn read<M: Model>(&self, name: &str) -> Result<M, SimError> {
        let (text, origin) = self.text(M::KIND, name)?;
        parse(&text, &origin)
    }

    /// Text of a file by name or path, and where it came from.
    ///
    /// # Errors
    /// An unknown name or an unreadable file.
    pub fn text(&self, kind: Kind, name: &str) -> Result<(String, String), SimError> {
        if is_path(name) {
            return Ok((read_text(Path::new(name))?, name.to_owned()));
        }
        if let Some(path) = self.user_file(kind, name).filter(|p| p.is_file()) {
            return Ok((read_text(&path)?, path.display().to_string()));
        }
        if let Some(file) = self.handed_over.iter().find(|f| f.kind == kind && f.name == name) {
            return Ok((file.text.clone(), format!("{} '{name}'", kind.as_str())));
        }
        let file_name = format!("{name}.yaml");
        let built_in = kind
            .built_in()
            .and_then(|d| d.files().find(|f| f.path().file_name().is_some_and(|n| n == file_name.as_str())));
        match built_in.and_then(|f| f.contents_utf8()) {
            Some(text) => Ok((text.to_owned(), format!("built-in {} '{name}'", kind.as_str()))),
            None => Err(self.unknown(kind, name)),
        }
    }

    /// The user's own files, to be handed over.
    ///
    /// # Errors
    /// An unreadable file.
    pub fn user_files(&self) -> Result<Vec<UserFile>, SimError> {
        let mut files = self.handed_over.clone();
        for kind in Kind::ALL {
            for name in self.names(kind) {
                if self.user_file(kind, &name).is_some_and(|p| p.is_file()) {
                    files.push(UserFile { kind, text: self.text(kind, &name)?.0, name });
                }
            }
        }
        Ok(files)
    }

    /// All scenarios but those that run by name only.
    ///
    /// # Errors
    /// What is wrong in a file.
    pub fn default_scenarios(&self) -> Result<Vec<Scenario>, SimError> {
        let all = self.names(Kind::Scenario);
        let scenarios = all.iter().map(|n| self.scenario(n)).collect::<Result<Vec<_>, _>>()?;
        Ok(scenarios.into_iter().filter(|s| !s.by_name_only).collect())
    }

    /// The error for a name that is not in the library, or is there as another kind.
    fn unknown(&self, kind: Kind, name: &str) -> SimError {
        let known = self.names(kind).join(", ");
        match Kind::ALL.into_iter().find(|k| self.names(*k).iter().any(|n| n == name)) {
            Some(other) => SimError::Usage(format!("'{name}' {}; known: {known}", kind.but_is(other))),
            None => SimError::Unknown { kind: kind.as_str(), name: name.to_owned(), known },
        }
    }

    /// Names of a kind, the user's and the built-in ones, in the order in which they are shown.
    #[must_use]
    pub fn names(&self, kind: Kind) -> Vec<String> {
        let stem = |p: &Path| {
            let yaml = p.extension().is_some_and(|e| e == "yaml");
            yaml.then(|| p.file_stem().map(|s| s.to_string_lossy().into_owned())).flatten()
        };
        let mut names: Vec<String> =
            kind.built_in().map(|d| d.files().filter_map(|f| stem(f.path())).collect()).unwrap_or_default();
        let user = self.user_folder.as_ref().and_then(|d| std::fs::read_dir(d.join(kind.folder())).ok());
        names.extend(user.into_iter().flatten().flatten().filter_map(|e| stem(&e.path())));
        names.extend(self.handed_over.iter().filter(|f| f.kind == kind).map(|f| f.name.clone()));
        names.sort_by(|a, b| kind.rank(a).cmp(&kind.rank(b)).then_with(|| natural(a).cmp(&natural(b))));
        names.dedup();
        names
    }

    /// All files of a kind with their descriptions.
    ///
    /// # Errors
    /// The first file that cannot be read.
    pub fn list(&self, kind: Kind) -> Result<Vec<Entry>, SimError> {
        self.names(kind)
            .into_iter()
            .map(|name| {
                let (text, origin) = self.text(kind, &name)?;
                let about = match kind {
                    Kind::Knee => parse::<KneeFile>(&text, &origin)?.about,
                    Kind::Person => parse::<Person>(&text, &origin)?.about,
                    Kind::Prosthesis => parse::<Prosthesis>(&text, &origin)?.about,
                    Kind::Drive => parse::<DriveFile>(&text, &origin)?.about,
                    Kind::Scenario => parse::<Scenario>(&text, &origin)?.about,
                    Kind::Uncertainty => parse::<UncertaintyFile>(&text, &origin)?.about,
                };
                let origin = if origin.starts_with("built-in") { "built-in".into() } else { origin };
                Ok(Entry { name, about, origin })
            })
            .collect()
    }

    fn user_file(&self, kind: Kind, name: &str) -> Option<PathBuf> {
        Some(self.user_folder.as_ref()?.join(kind.folder()).join(format!("{name}.yaml")))
    }
}

/// `50-kg` before `100-kg`.
fn natural(name: &str) -> (u64, String) {
    let digits: String = name.chars().take_while(char::is_ascii_digit).collect();
    (digits.parse().unwrap_or(0), name.to_owned())
}

/// A path has a separator or a YAML ending; anything else is a name.
fn is_path(name: &str) -> bool {
    let ending = Path::new(name).extension().is_some_and(|e| e == "yaml" || e == "yml");
    ending || name.contains('/') || name.contains(std::path::MAIN_SEPARATOR)
}
