//! `kneedamp next`.

use std::path::Path;

use clap::Args;

use super::common::{Format, ReportOptions, SetupOptions};
use super::output::Status;
use super::progress::with_progress;
use super::uncertainty_file;
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::library::example;
use crate::library::measured::trace::{Column, read};
use crate::library::table::Named;
use crate::library::{Kind, read_table};
use crate::scenario::{Activity, Scenario};
use crate::study::identify_stride::{curves_beside, swing_figures};
use crate::study::next::{Grade, MeasuredSwing, NextOptions, Observation, next};

/// Examples:
///   kneedamp next --seen knee-late-straight:clear@walk-fast
///   kneedamp next --seen heel-flies-up:slight,knock-at-the-end --not-seen toe-drags --set swing-flexion=20
///   kneedamp next --seen heel-flies-up --trace walk.csv@walk-comfortable
///   kneedamp next walk-comfortable walk-fast sit-down --seen drops-into-chair --person 50-kg
///
/// What was seen explains some of what could be: people, joints and settings are drawn from what is uncertain and
/// weighted by how well each shows what was seen. Over those, every single step is tried: how often it helps and
/// loses nothing, how often it makes something unsafe; and which look would tell most before anything is turned.
/// Symptoms: see kneedamp adjust --help.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// Scenarios by name or path; none takes all of them but the reference ones
    pub scenario: Vec<String>,
    #[command(flatten)]
    pub setup: SetupOptions,
    /// What was seen: a symptom, how much of it (slight or clear), in which scenario
    #[arg(long, value_name = "SYMPTOM[:HOW-MUCH][@SCENARIO],…", value_delimiter = ',')]
    pub seen: Vec<String>,
    /// What was looked for and not seen
    #[arg(long, value_name = "SYMPTOM[@SCENARIO],…", value_delimiter = ',')]
    pub not_seen: Vec<String>,
    /// Knee of a walk that was measured: a table as identify stride takes it, and its scenario (by default the first that
    /// walks)
    #[arg(long, value_name = "TABLE[@SCENARIO]")]
    pub trace: Option<String>,
    /// Columns of the trace with other names
    #[arg(long, value_name = "OURS=THEIRS,…", value_delimiter = ',', requires = "trace")]
    pub columns: Vec<Column>,
    /// The settings are where they are said to be to within this, percentage points
    #[arg(long, value_name = "PCT", default_value_t = 10.0, allow_negative_numbers = true)]
    pub settings_within: f64,
    /// What else is uncertain: name or path
    #[arg(long, value_name = "NAME|FILE", default_value = example::UNCERTAINTY)]
    pub ranges: String,
    /// Step of every setting, percentage points; by default the joint's own
    #[arg(long, value_name = "PCT", allow_negative_numbers = true)]
    pub step: Option<f64>,
    /// Draws at first; doubled up to 32768 until enough of them explain what was seen
    #[arg(long, value_name = "N", default_value_t = 2048)]
    pub draws: u32,
    /// Draws, picked by weight, that try every step
    #[arg(long, value_name = "N", default_value_t = 96)]
    pub tries: usize,
    /// Seed of the draws
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    #[command(flatten)]
    pub report: ReportOptions,
}

/// Runs the command.
///
/// # Errors
/// Bad input, or a failed run.
pub fn run(o: &Options) -> Result<Status, SimError> {
    let library = o.setup.library.open()?;
    let seen = o.seen.iter().map(|s| (s, Grade::Seen));
    let not_seen = o.not_seen.iter().map(|s| (s, Grade::None));
    let observations = seen
        .chain(not_seen)
        .map(|(text, grade)| Observation::parse(text, grade))
        .collect::<Result<_, _>>()?;
    let scenarios = o.setup.scenarios(&library, &o.scenario)?;
    let setup = o.setup.read(&library, &scenarios)?;
    let (text, origin) = library.text(Kind::Uncertainty, &o.ranges)?;
    let file = uncertainty_file::read(&text, &origin)?;
    let options = NextOptions {
        observations,
        swing: o.trace.as_ref().map(|t| measured(t, &o.columns, &setup, &scenarios)).transpose()?,
        settings_pct: o.settings_within,
        draws: o.draws,
        tries: o.tries,
        step_pct: o.step,
        seed: o.seed,
    };
    let steps = u64::from(o.draws) + o.tries as u64;
    let found = with_progress(steps, |tick| next(&setup, &scenarios, &file, options, tick))?;
    o.report.print("next", &setup, &found.findings(o.report.format != Format::Table))?;
    Ok(Status::Done)
}

/// The figures of a measured swing, and the scenario that it belongs to.
fn measured(
    text: &str,
    columns: &[Column],
    setup: &Setup,
    scenarios: &[Scenario],
) -> Result<MeasuredSwing, SimError> {
    let (table, named) = MeasuredSwing::place(text);
    let first = scenarios.iter().find(|s| matches!(s.activity, Activity::Walk(_)));
    let scenario = match named {
        Some(name) => scenarios.iter().find(|s| s.name == name),
        None => first,
    };
    let Some(scenario) = scenario else {
        return Err(SimError::Usage(format!(
            "--trace {text}: none of the scenarios run walks, or has this name"
        )));
    };
    let content = read_table(Path::new(table))?;
    let trace = read(Named { name: table, text: &content }, columns)?;
    Ok(swing_figures(&curves_beside(&trace, setup, scenario)?.knee_deg, &scenario.name))
}
