//! Knees, people, prostheses, drives, uncertainty files and scenarios by name: the user's folder first, then what is
//! built in; or from a path. The only file that names the YAML crate.

pub mod angles;
pub mod drive_import;

use std::io::Read;
use std::path::{Path, PathBuf};

use include_dir::{Dir, include_dir};
use serde::de::DeserializeOwned;

use crate::body::{Person, Prosthesis};
use crate::error::SimError;
use crate::joint::{KneeFile, Settings};
use crate::scenario::uncertainty_file::UncertaintyFile;
use crate::scenario::{DriveFile, Scenario};

static MODELS: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/models");
static SCENARIOS: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/scenarios");

/// Files larger than this are refused before parsing, bytes.
pub const LARGEST_FILE: u64 = 256 * 1024;

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

    fn built_in(self) -> Option<&'static Dir<'static>> {
        if self == Self::Scenario { Some(&SCENARIOS) } else { MODELS.get_dir(self.folder()) }
    }

    /// Order in which scenarios are run and listed; others go by name.
    fn rank(self, name: &str) -> usize {
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
pub trait Model: DeserializeOwned {
    /// What it is.
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
        self.check()
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

/// One entry of the library.
#[derive(Debug, Clone)]
pub struct Entry {
    /// Name.
    pub name: String,
    /// What it says of itself.
    pub about: String,
    /// `built-in` or the path of the user's file.
    pub origin: String,
}

/// Where files are looked for.
///
/// ```
/// use crate::library::Library;
/// let library = Library::default();
/// assert_eq!(library.person("75-kg").unwrap().mass_kg, 75.0);
/// assert!(library.person("nobody").is_err());
/// ```
#[derive(Debug, Clone, Default)]
pub struct Library {
    /// Folder with `knees/`, `people/`, ... whose files come before the built-in ones.
    pub user_folder: Option<PathBuf>,
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
        let file_name = format!("{name}.yaml");
        let built_in = kind
            .built_in()
            .and_then(|d| d.files().find(|f| f.path().file_name().is_some_and(|n| n == file_name.as_str())));
        match built_in.and_then(|f| f.contents_utf8()) {
            Some(text) => Ok((text.to_owned(), format!("built-in {} '{name}'", kind.as_str()))),
            None => Err(SimError::Unknown {
                kind: kind.as_str(),
                name: name.to_owned(),
                known: self.names(kind).join(", "),
            }),
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
        names.sort_by(|a, b| kind.rank(a).cmp(&kind.rank(b)).then_with(|| natural(a).cmp(&natural(b))));
        names.dedup();
        names
    }

    /// All files of a kind with what they say of themselves.
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

/// Reads a text file of at most [`LARGEST_FILE`] bytes.
///
/// # Errors
/// Not readable, too large, not UTF-8.
pub fn read_text(path: &Path) -> Result<String, SimError> {
    let failed = |why: String| SimError::File { path: path.display().to_string(), why };
    let file = std::fs::File::open(path).map_err(|e| failed(e.to_string()))?;
    let mut bytes = Vec::new();
    file.take(LARGEST_FILE + 1).read_to_end(&mut bytes).map_err(|e| failed(e.to_string()))?;
    if bytes.len() as u64 > LARGEST_FILE {
        return Err(failed(format!("larger than {} KiB", LARGEST_FILE / 1024)));
    }
    let text = String::from_utf8(bytes)
        .map_err(|e| failed(format!("not UTF-8 text (byte {})", e.utf8_error().valid_up_to())))?;
    Ok(text.strip_prefix('\u{feff}').map_or_else(|| text.clone(), str::to_owned))
}

/// Parses and checks a model; errors name file, line and field.
///
/// # Errors
/// What is wrong and where.
pub fn parse<M: Model>(text: &str, origin: &str) -> Result<M, SimError> {
    let in_file = |line: Option<u64>, cause: SimError| SimError::InFile {
        file: origin.to_owned(),
        line,
        cause: Box::new(cause),
    };
    if text.trim().is_empty() {
        return Err(in_file(
            None,
            SimError::Syntax(format!("the file is empty; a {} is wanted", M::KIND.as_str())),
        ));
    }
    let model: M = serde_yaml::from_str_with_options(text, options()).map_err(|e| {
        let line = e.location().map(|l| l.line()).filter(|&l| l > 0);
        in_file(line, SimError::Syntax(e.without_snippet().to_string()))
    })?;
    model.check_model().map_err(|e| in_text(text, origin, e))?;
    Ok(model)
}

/// An error about a field, with the file and the line on which the field is written.
#[must_use]
pub fn in_text(text: &str, origin: &str, e: SimError) -> SimError {
    let line = e.field().and_then(|f| line_of_field(text, f));
    SimError::InFile { file: origin.to_owned(), line, cause: Box::new(e) }
}

/// Checks a file of any kind and says which it is.
///
/// # Errors
/// As [`parse`]; a file that does not begin with a known `kind`.
pub fn check_text(text: &str, origin: &str) -> Result<Kind, SimError> {
    let written =
        text.lines().find_map(|l| l.strip_prefix("kind:")).map(|v| v.split('#').next().unwrap_or("").trim());
    let kind = Kind::ALL.into_iter().find(|k| Some(k.as_str()) == written);
    match kind {
        Some(Kind::Knee) => parse::<KneeFile>(text, origin).map(|_| Kind::Knee),
        Some(Kind::Person) => parse::<Person>(text, origin).map(|_| Kind::Person),
        Some(Kind::Prosthesis) => parse::<Prosthesis>(text, origin).map(|_| Kind::Prosthesis),
        Some(Kind::Drive) => parse::<DriveFile>(text, origin).map(|_| Kind::Drive),
        Some(Kind::Scenario) => parse::<Scenario>(text, origin).map(|_| Kind::Scenario),
        Some(Kind::Uncertainty) => parse::<UncertaintyFile>(text, origin).map(|_| Kind::Uncertainty),
        None => Err(SimError::InFile {
            file: origin.to_owned(),
            line: None,
            cause: Box::new(SimError::Inconsistent {
                field: "kind".into(),
                why: format!(
                    "{} at the start of a line; one of: knee, person, prosthesis, drive, uncertainty, scenario",
                    written.map_or("missing; wanted".to_owned(), |w| format!("'{w}' is none; wanted"))
                ),
            }),
        }),
    }
}

fn options() -> serde_yaml::Options {
    let budget = serde_yaml::budget! {
        max_aliases: 0,
        max_anchors: 0,
        max_depth: 20,
        max_documents: 1,
        max_nodes: 20_000,
        max_events: 50_000,
    };
    serde_yaml::options! {
        budget: budget,
        with_snippet: false,
        strict_booleans: true,
    }
}

/// Line (from 1) on which a dotted field path is written, found by walking its keys down the text.
#[must_use]
pub fn line_of_field(text: &str, path: &str) -> Option<u64> {
    let mut at = 0usize;
    for segment in path.split('.') {
        let (key, index) = match segment.split_once('[') {
            Some((k, i)) => (k, i.trim_end_matches(']').parse::<usize>().ok()),
            None => (segment, None),
        };
        at += find_key(&text[at..], key)?;
        if let Some(i) = index {
            at += find_item(&text[at..], i).unwrap_or(0);
        }
    }
    Some(text[..at].matches('\n').count() as u64 + 1)
}

/// Offset just after `key:` where the key stands on its own.
fn find_key(text: &str, key: &str) -> Option<usize> {
    let wanted = format!("{key}:");
    text.match_indices(&wanted)
        .find(|(i, _)| text[..*i].chars().next_back().is_none_or(|c| c.is_whitespace() || "{,-".contains(c)))
        .map(|(i, _)| i + wanted.len())
}

/// Offset of the `index`-th item of the block list that follows.
fn find_item(text: &str, index: usize) -> Option<usize> {
    let mut offset = 0;
    let mut indent = None;
    let mut seen = 0;
    for line in text.split_inclusive('\n') {
        let lead = line.len() - line.trim_start().len();
        if line.trim_start().starts_with('-') && *indent.get_or_insert(lead) == lead {
            if seen == index {
                return Some(offset + lead);
            }
            seen += 1;
        }
        offset += line.len();
    }
    None
}
