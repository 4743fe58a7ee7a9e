//! `kneedamp run`.

use std::path::PathBuf;

use clap::Args;

use super::common::{Format, SetupOptions};
use super::{Status, data, message};
use crate::error::SimError;
use crate::motion::trace::Trace;
use crate::report;
use crate::study::survey;

/// Step of a trace, s.
const TRACE_STEP_S: f64 = 1e-3;

/// Examples:
///   kneedamp run
///   kneedamp run walk-fast sit-down --person 50-kg --set swing-flexion=40
///   kneedamp run walk-comfortable --speed 1.25 --trace stride.csv
///   kneedamp run --format json > out.json
///
/// Runs scenarios for one person, prosthesis, knee and settings; without arguments, the built-in example.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// Scenarios by name or path; none runs all of them but the reference ones
    pub scenario: Vec<String>,
    #[command(flatten)]
    pub setup: SetupOptions,
    /// Form of the report
    #[arg(long, value_enum, default_value = "table")]
    pub format: Format,
    /// Writes the motion of the one scenario named as CSV, a row per millisecond
    #[arg(long, value_name = "FILE.csv")]
    pub trace: Option<PathBuf>,
    /// Exit with 3 if a limit is broken or a scenario cannot run
    #[arg(long)]
    pub strict: bool,
}

/// Runs the command.
///
/// # Errors
/// Bad input, or a failed run.
pub fn run(o: &Options) -> Result<Status, SimError> {
    let library = o.setup.library.open()?;
    let scenarios = o.setup.scenarios(&library, &o.scenario)?;
    if o.trace.is_some() && scenarios.len() != 1 {
        return Err(SimError::Usage(format!(
            "--trace wants one scenario, and {} are to be run: name one",
            scenarios.len()
        )));
    }
    let setup = o.setup.read(&library, &scenarios)?;
    if let Some(path) = &o.trace {
        let motion = setup.trial(&scenarios[0])?.run()?;
        let trace = Trace::of(&motion, TRACE_STEP_S)
            .ok_or_else(|| SimError::Usage(format!("'{}' does not move: no trace", scenarios[0].name)))?;
        report::output::write_whole(path, report::csv::trace(&trace)?.as_bytes())?;
    }
    let found = survey(setup, scenarios)?;
    data(&match o.format {
        Format::Table => report::terminal::survey(&found),
        Format::Json => report::json::survey(&found),
        Format::Csv => report::csv::survey(&found)?,
    })?;
    if o.format == Format::Csv {
        message(&format!("Caution. {}", crate::CAUTION));
    }
    if found.runs.iter().all(|r| r.result.is_err()) {
        for run in &found.runs {
            if let Err(e) = &run.result {
                message(&format!("kneedamp: {}: {e}", run.scenario.name));
            }
        }
        return Ok(Status::Failed);
    }
    Ok(if o.strict && !found.holds() { Status::LimitBroken } else { Status::Done })
}
