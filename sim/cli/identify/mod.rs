//! `kneedamp identify`.

mod bench;
mod provenance;
mod stride;

use clap::{Args, Subcommand};

use super::output::Status;
use crate::error::SimError;

/// Examples:
///   kneedamp identify stride walk.csv --speed 1.2 --mass 82 --name anna --output anna
///   kneedamp identify bench damper.csv --name my-damper --output my-damper.yaml
///
/// From what was measured to the models that every command takes.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    #[command(about = "A knee file from torques of a damper at known rates and settings")]
    Bench(bench::Options),
    #[command(about = "A person's drive, joint and person from a measured stride")]
    Stride(Box<stride::Options>),
}

/// Runs the command.
///
/// # Errors
/// As the command asked for.
pub fn run(o: &Options) -> Result<Status, SimError> {
    match &o.what {
        What::Bench(o) => bench::run(o),
        What::Stride(o) => stride::run(o),
    }
}
