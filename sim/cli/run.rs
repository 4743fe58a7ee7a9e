//! `kneedamp run`.

use std::path::PathBuf;

use clap::Args;

use super::common::{Format, SetupOptions};
use super::output::{Status, check_ending, data, message};
use super::picture::PictureFile;
use super::progress::while_working;
use super::variants;
use super::verify::{Verified, verify};
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::library::Library;
use crate::motion::sample::Samples;
use crate::report;
use crate::scenario::Scenario;
use crate::study::survey;
use crate::study::survey::{Survey, plot};

/// How to get more than the summary.
const MORE: &str = "Next: kneedamp run NAME --full shows every limit and outcome of a scenario; kneedamp adjust fits the \
                    settings in small steps; kneedamp window shows the room of each setting.";

/// What is verified, in place of a file's name.
const HERE: &str = "This result";

/// Step of a trace, s.
const TRACE_STEP_S: f64 = 1e-3;

/// Examples:
///   kneedamp run
///   kneedamp run --full
///   kneedamp run walk-fast sit-down --person 50-kg --set swing-flexion=40
///   kneedamp run walk-comfortable --speed 1.25 --trace stride.csv
///   kneedamp run sit-down --input sitting_share=0.42,valve_lag_ms=40
///   kneedamp run walk-comfortable --plot stride.svg
///   kneedamp run --format json > out.json
///
/// Runs scenarios for one person, prosthesis, knee and settings; without arguments, the built-in example. Prints
/// a summary and, for each scenario that is not within its limits, what would be seen and which setting acts most.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// Scenarios by name or path; none runs all of them but the reference ones
    pub scenario: Vec<String>,
    #[command(flatten)]
    pub setup: SetupOptions,
    /// Any inputs of the one scenario named, on top of the rest; keys as for `compare`
    #[arg(long, value_name = "KEY=VALUE,…")]
    pub input: Option<String>,
    /// Form of the report
    #[arg(long, value_enum, default_value = "table")]
    pub format: Format,
    /// Prints every limit and outcome of every scenario
    #[arg(long)]
    pub full: bool,
    /// Writes the motion of the one scenario named as CSV, a row per millisecond
    #[arg(long, value_name = "FILE.csv")]
    pub trace: Option<PathBuf>,
    /// Draws the motion of the one scenario named
    #[arg(long, value_name = "FILE.svg|png")]
    pub plot: Option<PictureFile>,
    /// Runs the result again from its own document and integrates it with a second integrator, as `kneedamp verify`;
    /// exits with 4 if it differs
    #[arg(long)]
    pub verify: bool,
    /// Exit with 3 if a limit is broken or doubtful, or a scenario cannot run or be computed
    #[arg(long)]
    pub strict: bool,
    /// With --strict, a doubtful scenario is not broken
    #[arg(long, requires = "strict")]
    pub allow_doubtful: bool,
}

/// Runs the command.
///
/// # Errors
/// Bad input, or a failed run.
pub fn run(o: &Options) -> Result<Status, SimError> {
    let (setup, scenarios) = case(o)?;
    if o.trace.is_some() || o.plot.is_some() {
        write_motion(o, &setup, &scenarios[0])?;
    }
    let found = while_working(|| survey(setup, scenarios))?;
    let verified = o.verify.then(|| verify(&report::json::survey(&found), HERE)).transpose()?;
    data(&match o.format {
        Format::Table if o.full => report::terminal::survey(&found),
        Format::Table => report::terminal::summary(&found, MORE),
        Format::Json => json_document(&found, verified.as_ref()),
        Format::Csv => report::csv::survey(&found)?,
    })?;
    match (&verified, o.format) {
        (Some(v), Format::Table) => {
            let found = v.findings_for_people(HERE);
            data(&format!("\nVERIFICATION\n{}", report::findings::sentences_and_tables(&found)))?;
        }
        (Some(v), Format::Csv) => v.findings(HERE).text.iter().for_each(|sentence| message(sentence)),
        _ => {}
    }
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
    if let Some(Status::Differs) = verified.map(|v| v.status()) {
        return Ok(Status::Differs);
    }
    Ok(if o.strict && !found.holds(o.allow_doubtful) { Status::LimitBroken } else { Status::Done })
}

/// The set-up and its scenarios.
fn case(o: &Options) -> Result<(Setup, Vec<Scenario>), SimError> {
    let library = o.setup.library.open()?;
    let scenarios = o.setup.scenarios(&library, &o.scenario)?;
    for (option, given) in [("--trace", o.trace.is_some()), ("--plot", o.plot.is_some())] {
        if given && scenarios.len() != 1 {
            return Err(SimError::Usage(format!(
                "{option} wants one scenario, and {} are to be run: name one",
                scenarios.len()
            )));
        }
    }
    if let Some(path) = &o.trace {
        check_ending("--trace", path, "csv")?;
    }
    let setup = o.setup.read(&library, &scenarios)?;
    with_inputs(setup, scenarios, o.input.as_deref(), &library)
}

/// The motion of the one scenario named.
///
/// # Errors
/// Bad input, no or several scenarios, or a failed run.
pub(super) fn motion(o: &Options) -> Result<Samples, SimError> {
    let (setup, scenarios) = case(o)?;
    let [scenario] = scenarios.as_slice() else {
        return Err(SimError::Usage("a motion wants one scenario: name one".into()));
    };
    let motion = setup.trial(scenario)?.run()?;
    Samples::of(&motion, TRACE_STEP_S).ok_or_else(|| still(scenario, "motion"))
}

fn still(scenario: &Scenario, what: &str) -> SimError {
    SimError::Usage(format!("'{}' does not move: no {what}", scenario.name))
}

/// The document, with what verifying it has found.
fn json_document(found: &Survey, verified: Option<&Verified>) -> String {
    let mut document = report::json::survey_document(found);
    if let Some(verified) = verified {
        let mut verification = serde_json::Map::new();
        report::findings::insert(&mut verification, &verified.findings(HERE));
        document["verification"] = verification.into();
    }
    report::json::pretty(&document)
}

/// Applies the changes of `--input` to the scenario and its set-up.
fn with_inputs(
    setup: Setup,
    scenarios: Vec<Scenario>,
    given: Option<&str>,
    library: &Library,
) -> Result<(Setup, Vec<Scenario>), SimError> {
    let Some(given) = given else { return Ok((setup, scenarios)) };
    let [scenario] = scenarios.as_slice() else {
        return Err(SimError::Usage("--input wants one scenario: name one".into()));
    };
    let case = variants::read("--input", given, library)?.case(&setup, scenario)?;
    Ok((case.setup, vec![case.scenario]))
}

/// Writes trace and plot of one scenario, neither before both are ready.
fn write_motion(o: &Options, setup: &Setup, scenario: &Scenario) -> Result<(), SimError> {
    let trial = setup.trial(scenario)?;
    let motion = trial.run()?;
    let mut files = Vec::new();
    if let Some(path) = &o.trace {
        let trace = Samples::of(&motion, TRACE_STEP_S).ok_or_else(|| still(scenario, "trace"))?;
        files.push((path.as_path(), report::csv::trace(&trace)?.into_bytes()));
    }
    if let Some(path) = &o.plot {
        let mut plot = plot::plot(&trial, &motion).ok_or_else(|| still(scenario, "plot"))?;
        let [who, settings] = setup.in_words(&setup.resolve()?);
        plot.subtitle = format!("{}. {who}; {settings}", plot::task(&trial, &who));
        files.push((path.path(), path.bytes(&report::plot::svg(&plot)?)?));
    }
    for (path, bytes) in files {
        report::output::write_whole(path, &bytes)?;
    }
    Ok(())
}
