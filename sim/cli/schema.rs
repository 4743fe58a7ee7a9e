//! `kneedamp schema`.

use clap::Args;

use super::new::What;
use super::output::{Status, data};
use crate::error::SimError;

/// Example:
///   kneedamp schema knee > knee.schema.json
///
/// Prints the JSON Schema of a kind of file: fields, types and what must be there. An editor with a YAML language server
/// completes and checks a file whose first line is `# yaml-language-server: $schema=knee.schema.json`, as `kneedamp new`
/// writes it. Ranges are not in it: `kneedamp check` knows them.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// Kind of file
    #[arg(value_enum)]
    pub what: What,
}

/// Runs the command.
///
/// # Errors
/// A closed pipe.
pub fn run(o: &Options) -> Result<Status, SimError> {
    data(&format!("{:#}\n", o.what.kind().schema().as_value()))?;
    Ok(Status::Done)
}
