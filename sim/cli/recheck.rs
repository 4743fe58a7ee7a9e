//! `kneedamp recheck`.

use clap::Args;

use super::common::{ReportOptions, SetupOptions};
use super::output::{Status, message};
use super::progress::with_progress;
use super::variants;
use crate::error::SimError;
use crate::report::json;
use crate::study::recheck::RecheckStudy;
use crate::units::within;

/// Examples:
///   kneedamp recheck foot_extra_mass_kg=0.5 temperature_c=0
///   kneedamp recheck prosthesis=heavy --set swing-flexion=60
///   kneedamp recheck mass_kg=85 --share 10
///   kneedamp recheck assist_n_m=3 --scenario walk-fast --scenario walk-hurried
///
/// Runs everything before and after a change and says what to look at again, in order.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// What is changed: any input (foot_extra_mass_kg, mass_kg, temperature_c, assist_n_m, …), or person,
    /// prosthesis, knee by name or path
    #[arg(value_name = "KEY=VALUE", required = true)]
    pub change: Vec<String>,
    /// Scenario by name or path, several times for several; none runs all of them but the reference ones
    #[arg(long, value_name = "NAME|FILE")]
    pub scenario: Vec<String>,
    /// Share of a margin, percent, from which a move is told though the verdict stays; a judgement
    #[arg(long, value_name = "PERCENT", default_value_t = 25.0, allow_negative_numbers = true)]
    pub share: f64,
    #[command(flatten)]
    pub setup: SetupOptions,
    #[command(flatten)]
    pub report: ReportOptions,
}

/// Runs the command.
///
/// # Errors
/// Bad input, or a failed run.
pub fn run(o: &Options) -> Result<Status, SimError> {
    within("--share (percent)", o.share, 1.0..=100.0)?;
    let library = o.setup.library.open()?;
    let variant = variants::read("recheck", &o.change.join(","), &library)?;
    let scenarios = o.setup.scenarios(&library, &o.scenario)?;
    let setup = o.setup.read(&library, &scenarios)?;
    let study = RecheckStudy { base: setup.clone(), variant, scenarios, share: o.share / 100.0 };
    let found = with_progress(study.steps(), |tick| study.run(tick))?;
    if found.nothing_ran() {
        for s in &found.scenarios {
            for e in [&s.before, &s.after].into_iter().filter_map(|r| r.as_ref().err()) {
                message(&format!("kneedamp: {}: {e}", s.scenario.name));
            }
        }
        return Ok(Status::Failed);
    }
    let inputs = json::inputs(&setup, &setup.resolve()?);
    o.report.print_as("recheck", inputs, &found.findings(), || found.findings_for_people())?;
    Ok(Status::Done)
}
