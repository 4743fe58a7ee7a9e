//! `kneedamp new`.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::common::LibraryOptions;
use super::example;
use super::output::{Status, message};
use crate::error::SimError;
use crate::library::drive_import::{self, Provenance};
use crate::library::{Kind, Library, check_text, parse, read_text, to_yaml};
use crate::report::output::write_whole;
use crate::scenario::DriveFile;

/// Examples:
///   kneedamp new knee my-knee.yaml
///   kneedamp new person tall.yaml --from 100-kg
///   kneedamp new drive my-drive.yaml --from-csv table.csv
///
/// Writes an editable copy of a built-in file. The copy takes the name of its file. Its first line tells an editor with a
/// YAML language server where the schema is looked for; `kneedamp schema` prints it.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// Kind of file
    #[arg(value_enum)]
    pub what: What,
    /// File to write; an existing one is not touched
    pub file: PathBuf,
    /// Name of the file to copy; by default the example that `run` uses
    #[arg(long, value_name = "NAME")]
    pub from: Option<String>,
    /// Converts a table of drive coefficients (signal, meaning, speed label, v*, coefficients) instead
    #[arg(long, value_name = "FILE.csv", conflicts_with = "from")]
    pub from_csv: Option<PathBuf>,
    #[command(flatten)]
    pub library: LibraryOptions,
}

/// Kinds of file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
#[allow(missing_docs)]
pub enum What {
    Knee,
    Person,
    Prosthesis,
    Drive,
    Uncertainty,
    Scenario,
}

impl What {
    /// The kind.
    #[must_use]
    pub fn kind(self) -> Kind {
        self.kind_and_example().0
    }

    fn kind_and_example(self) -> (Kind, &'static str) {
        match self {
            Self::Knee => (Kind::Knee, example::KNEE),
            Self::Person => (Kind::Person, example::PERSON),
            Self::Prosthesis => (Kind::Prosthesis, example::PROSTHESIS),
            Self::Drive => (Kind::Drive, example::DRIVE),
            Self::Uncertainty => (Kind::Uncertainty, example::UNCERTAINTY),
            Self::Scenario => (Kind::Scenario, example::SCENARIO),
        }
    }
}

/// Runs the command.
///
/// # Errors
/// A file that exists or cannot be written, an unknown name, a table that cannot be read.
pub fn run(o: &Options) -> Result<Status, SimError> {
    let (kind, example) = o.what.kind_and_example();
    if o.file.as_os_str() == "-" {
        return Err(SimError::Usage("new writes a file; '-' is no name for one".into()));
    }
    if o.file.exists() {
        return Err(SimError::File {
            path: o.file.display().to_string(),
            why: "exists already; give another name".into(),
        });
    }
    let name = o.file.file_stem().map_or_else(|| kind.as_str().into(), |s| s.to_string_lossy().into_owned());
    let text = match &o.from_csv {
        Some(table) if kind == Kind::Drive => convert(&read_text(table)?, name).map_err(|e| {
            SimError::InFile { file: table.display().to_string(), line: None, cause: Box::new(e) }
        })?,
        Some(_) => return Err(SimError::Usage("--from-csv makes drives only".into())),
        None => named(&o.library.open()?.text(kind, o.from.as_deref().unwrap_or(example))?.0, &name)?,
    };
    // an editor finds the schema beside the file, once it has been written there
    let text = format!("# yaml-language-server: $schema={}.schema.json\n{text}", kind.as_str());
    // the file's name may be none for a model
    check_text(&text, &o.file.display().to_string())?;
    write_whole(&o.file, text.as_bytes())?;
    message(&format!("wrote {}; use it by its path", o.file.display()));
    Ok(Status::Done)
}

/// The text of a model under another name, so that no report shows the name of the model copied.
fn named(text: &str, name: &str) -> Result<String, SimError> {
    // quoted where YAML would take it for something else
    let own = format!("name: {}", to_yaml(&name)?.trim_end());
    let mut lines: Vec<&str> = text.lines().collect();
    if let Some(line) = lines.iter_mut().find(|l| l.starts_with("name: ")) {
        *line = &own;
    }
    Ok(lines.join("\n") + "\n")
}

/// A table as a drive file. If a built-in drive has the same name, its texts are kept.
fn convert(table: &str, name: String) -> Result<String, SimError> {
    let known = Library::default().drive(&name).ok();
    let provenance = match known {
        Some(DriveFile { name, about, source, licence, knee_flexion_sd_deg, .. }) => {
            Provenance { name, about, source, licence, knee_flexion_sd_deg }
        }
        None => Provenance {
            name,
            about: "Walking drive converted from a table.".into(),
            source: "State where the numbers come from.".into(),
            licence: "State what may be done with them.".into(),
            knee_flexion_sd_deg: None,
        },
    };
    let yaml = to_yaml(&drive_import::from_csv(table, provenance)?)?;
    parse::<DriveFile>(&yaml, "the converted drive")?;
    Ok(yaml)
}
