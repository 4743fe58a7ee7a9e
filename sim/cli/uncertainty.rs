//! `kneedamp uncertainty`.

use clap::Args;

use super::common::{ReportOptions, SetupOptions};
use super::output::Status;
use super::picture::PictureFile;
use super::progress::with_progress;
use super::uncertainty_file::read;
use crate::case::inputs::{Case, input};
use crate::error::SimError;
use crate::library::example;
use crate::library::{Kind, Library};
use crate::report::intervals;
use crate::scenario::uncertainty_file::{Around, UncertainInput, UncertaintyFile};
use crate::study::uncertainty::UncertaintyStudy;
use crate::units::number;

/// Examples:
///   kneedamp uncertainty
///   kneedamp uncertainty --scenario sit-down --person 50-kg --samples 512
///   kneedamp uncertainty --samples 64 --plot bands.svg
///   kneedamp uncertainty --vary mass_kg=60..90 --vary speed_m_per_s=0.9..1.3
///   kneedamp new uncertainty mine.yaml; kneedamp uncertainty --ranges mine.yaml
///
/// What is uncertain, over which range and why, is a file; --vary adds a range to it or takes its place.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// Scenario: name or path
    #[arg(long, value_name = "NAME|FILE", default_value = example::SCENARIO)]
    pub scenario: String,
    /// What is uncertain: name or path
    #[arg(long, value_name = "NAME|FILE", default_value = example::UNCERTAINTY)]
    pub ranges: String,
    /// A range of an input, by the names in the table of inputs
    #[arg(long, value_name = "NAME=LOW..HIGH")]
    pub vary: Vec<String>,
    /// Base size, a power of two; there are as many runs for each input, and three times as many besides
    #[arg(long, value_name = "N", default_value_t = 256)]
    pub samples: usize,
    /// Seed of the points
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Lists every index, however small
    #[arg(long)]
    pub all: bool,
    /// Draws the band of every outcome, with its limit and the input that matters most
    #[arg(long, value_name = "FILE.svg|png")]
    pub plot: Option<PictureFile>,
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
    let library = o.setup.library.open()?;
    let scenario = library.scenario(&o.scenario)?;
    let setup = o.setup.read(&library, std::slice::from_ref(&scenario))?;
    let study = UncertaintyStudy {
        case: Case { setup, scenario },
        file: file(o, &library)?,
        samples: o.samples,
        seed: o.seed,
        each: true,
        list_all: o.all,
    };
    study.check()?;
    let found = with_progress(study.steps(), |tick| study.run(tick))?;
    if let Some(file) = &o.plot {
        file.write(&intervals::svg(&found.plot()?))?;
    }
    o.report.print("uncertainty", &study.case.setup, &found.findings())?;
    Ok(Status::Done)
}

fn file(o: &Options, library: &Library) -> Result<UncertaintyFile, SimError> {
    let (text, origin) = library.text(Kind::Uncertainty, &o.ranges)?;
    let mut file = read(&text, &origin)?;
    for given in &o.vary {
        let range = range(given)?;
        file.inputs.retain(|u| u.input != range.input);
        file.inputs.push(range);
    }
    Ok(file)
}

/// `mass_kg=60..90`.
fn range(given: &str) -> Result<UncertainInput, SimError> {
    let wrong = |why: &str| SimError::Usage(format!("--vary {given}: {why}; wanted NAME=LOW..HIGH"));
    let (key, span) = given.split_once('=').ok_or_else(|| wrong("no equals sign"))?;
    let (low, high) = span.split_once("..").ok_or_else(|| wrong("no '..'"))?;
    let input = input(key.trim())?;
    let end = |v| number(&format!("--vary {}", input.key), v, input.least..=input.most, input.unit);
    let (low, high) = (end(low)?, end(high)?);
    if high <= low {
        return Err(wrong("the second number must be the greater one"));
    }
    Ok(UncertainInput {
        input: input.key.into(),
        low,
        high,
        around: Around::Zero,
        why: "given with --vary".into(),
    })
}
