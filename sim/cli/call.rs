//! Commands for a program that calls them, such as the Python module: the same options and the same documents, without a
//! process of their own. What a command writes for people is kept beside its document.

use clap::Parser;

use super::commands::{Cli, Command, dispatch, renamed, with_hint};
use super::{output, run, sweep};
use crate::error::SimError;
use crate::motion::sample::Samples;
use crate::study::sweep::Sweep;

pub use output::Written;

/// Runs a command and gives what it writes.
///
/// ```
/// let asked = ["run", "stand", "--format", "json"].map(str::to_owned);
/// let written = kneedamp::cli::call::answer(&asked).unwrap();
/// assert!(written.data.starts_with('{'));
/// ```
///
/// # Errors
/// Options that the command line would refuse, or what the command returns.
pub fn answer(arguments: &[String]) -> Result<Written, SimError> {
    let cli = parse(arguments)?;
    let (result, written) = output::kept(arguments, || dispatch(cli.command));
    // a command that failed as a whole has said why
    match result? {
        output::Status::Failed => Err(SimError::Usage(written.messages.join("; "))),
        _ => Ok(written),
    }
}

/// The request of a `sweep`, to be run row by row.
///
/// # Errors
/// As [`answer`].
pub fn rows(arguments: &[String]) -> Result<Sweep, SimError> {
    match parse(arguments)?.command {
        Command::Sweep(o) => output::kept(arguments, || sweep::request(&o)).0,
        _ => Err(SimError::Usage("rows are those of `sweep`".into())),
    }
}

/// The motion of the one scenario that a `run` names, a sample per millisecond.
///
/// # Errors
/// As [`answer`]; a scenario without motion.
pub fn motion(arguments: &[String]) -> Result<Samples, SimError> {
    match parse(arguments)?.command {
        Command::Run(o) => output::kept(arguments, || run::motion(&o)).0,
        _ => Err(SimError::Usage("a motion is that of `run`".into())),
    }
}

fn parse(arguments: &[String]) -> Result<Cli, SimError> {
    if let Some(said) = renamed(&mut arguments.iter().cloned()) {
        return Err(SimError::Usage(said));
    }
    let words = std::iter::once("kneedamp").chain(arguments.iter().map(String::as_str));
    Cli::try_parse_from(words).map_err(|e| {
        let text = with_hint(e).to_string();
        // without the usage, which is that of a shell
        let said = text.split("\n\nUsage:").next().unwrap_or_default();
        SimError::Usage(said.trim_start_matches("error: ").trim().to_owned())
    })
}
