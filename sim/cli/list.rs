//! `kneedamp list`.

use std::fmt::Write as _;

use clap::{Args, ValueEnum};

use super::common::LibraryOptions;
use super::output::{Status, data};
use crate::case::inputs::INPUTS;
use crate::error::SimError;
use crate::library::Kind;
use crate::outcome::METRICS;

/// Examples:
///   kneedamp list
///   kneedamp list knees
///   kneedamp list outcomes
///   kneedamp list inputs
///
/// Lists what is built in and what your folder adds.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// What to list; by default all files there are
    #[arg(value_enum)]
    pub what: Option<What>,
    #[command(flatten)]
    pub library: LibraryOptions,
}

/// What can be listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
#[allow(missing_docs)]
pub enum What {
    Scenarios,
    Knees,
    People,
    Prostheses,
    Drives,
    Uncertainty,
    /// Outcomes with their keys and units
    Outcomes,
    /// Inputs that studies vary, with their units and ranges
    Inputs,
}

/// Runs the command.
///
/// # Errors
/// A file of the library that cannot be read.
pub fn run(o: &Options) -> Result<Status, SimError> {
    let library = o.library.open()?;
    let mut out = String::new();
    let kinds: Vec<Kind> = match o.what {
        None => Kind::ALL.to_vec(),
        Some(What::Scenarios) => vec![Kind::Scenario],
        Some(What::Knees) => vec![Kind::Knee],
        Some(What::People) => vec![Kind::Person],
        Some(What::Prostheses) => vec![Kind::Prosthesis],
        Some(What::Drives) => vec![Kind::Drive],
        Some(What::Uncertainty) => vec![Kind::Uncertainty],
        Some(What::Outcomes | What::Inputs) => vec![],
    };
    for kind in kinds {
        let _ = writeln!(out, "{}", kind.folder());
        for entry in library.list(kind)? {
            let origin =
                if entry.origin == "built-in" { String::new() } else { format!("  [{}]", entry.origin) };
            let about = crate::report::text::wrap(&entry.about, "      ");
            let _ = writeln!(out, "  {}{origin}\n{about}", entry.name);
        }
    }
    if o.what == Some(What::Outcomes) {
        for m in METRICS {
            let unit = if m.words.is_empty() { m.unit.to_owned() } else { m.words.join(" | ") };
            let _ = writeln!(out, "{:<42} {} [{}]", m.key, m.number_label(), unit);
        }
    }
    if o.what == Some(What::Inputs) {
        for i in INPUTS {
            let judged = if i.judged { "  [J]" } else { "" };
            let range = format!("{} to {} {}", i.least, i.most, i.unit);
            let _ = writeln!(out, "{:<28} {} [{}]{judged}", i.key, i.label, range.trim_end());
        }
    }
    data(&out)?;
    Ok(Status::Done)
}
