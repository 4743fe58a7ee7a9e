//! The command line: one file per command. Data to stdout, messages to stderr; exit 0 ran, 2 bad
//! usage or input, 3 ran but a limit is broken or doubtful with `--strict`, 4 ran but a result that was run again
//! differs.

mod adjust;
mod align;
pub mod call;
mod check;
mod commands;
mod common;
mod compare;
mod complete;
mod drive;
mod identify;
mod lesson;
mod list;
mod new;
mod next;
mod output;
mod picture;
mod progress;
mod recheck;
pub mod replay_command;
mod rules;
mod run;
mod schema;
mod serve;
mod sheet;
mod slips;
mod sweep;
mod uncertainty;
mod uncertainty_file;
mod value_list;
mod variants;
mod verify;
mod window;

use clap::Parser;

use commands::{Cli, dispatch, renamed, with_hint};
use output::message;

pub use output::Status;

/// Runs the program with the process's arguments.
#[must_use]
pub fn run() -> Status {
    if let Some(said) = renamed(&mut std::env::args().skip(1)) {
        message(&format!("kneedamp: {said}"));
        return Status::Failed;
    }
    let cli = Cli::try_parse().unwrap_or_else(|e| with_hint(e).exit());
    match dispatch(cli.command) {
        Ok(status) => status,
        Err(e) => {
            message(&format!("kneedamp: {e}"));
            Status::Failed
        }
    }
}
