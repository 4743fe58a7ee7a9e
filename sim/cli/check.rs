//! `kneedamp check`.

use std::path::PathBuf;

use clap::Args;

use super::output::{Status, data, message};
use super::uncertainty_file;
use crate::error::SimError;
use crate::library::{Kind, check_text, read_text};

/// Example:
///   kneedamp check my-knee.yaml people/anna.yaml
///
/// Names line, field and allowed range of what is wrong.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// Files to check
    #[arg(required = true)]
    pub file: Vec<PathBuf>,
}

/// Runs the command: checks every file, also after one with an error.
///
/// # Errors
/// Standard output cannot be written.
pub fn run(o: &Options) -> Result<Status, SimError> {
    let mut status = Status::Done;
    for path in &o.file {
        let origin = path.display().to_string();
        match read_text(path).and_then(|text| kind_of(&text, &origin)) {
            Ok(kind) => data(&format!("{origin}: a good {}\n", kind.as_str()))?,
            Err(e) => {
                message(&format!("kneedamp: {e}"));
                status = Status::Failed;
            }
        }
    }
    Ok(status)
}

/// The kind of a file without errors.
fn kind_of(text: &str, origin: &str) -> Result<Kind, SimError> {
    let kind = check_text(text, origin)?;
    if kind == Kind::Uncertainty {
        uncertainty_file::read(text, origin)?;
    }
    Ok(kind)
}
