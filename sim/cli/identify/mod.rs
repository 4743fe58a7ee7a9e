//! `kneedamp identify`.

mod bench;
mod provenance;

use clap::{Args, Subcommand};

use super::output::Status;
use crate::error::SimError;

/// From what was measured to the models that every command takes.
#[derive(Debug, Args)]
pub struct Options {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    #[command(about = "A knee file from torques of a damper at known rates and settings")]
    Bench(bench::Options),
}

/// Runs the command.
///
/// # Errors
/// As the command asked for.
pub fn run(o: &Options) -> Result<Status, SimError> {
    match &o.what {
        What::Bench(o) => bench::run(o),
    }
}
