//! `kneedamp rules`.

use std::collections::HashSet;

use clap::Args;

use super::Status;
use super::common::{ReportOptions, SetupOptions, with_progress};
use crate::error::SimError;
use crate::library::{Kind, Library};
use crate::study::rules::{Bench, RulesStudy, table::SCENARIOS, trying::Names};

/// Joint that rule 6 compares with.
const FRICTION_KNEE: &str = "constant-friction";

/// Examples:
///   kneedamp rules
///   kneedamp rules --only 1,4,9 --samples 2000
///   kneedamp rules --person 100-kg --hold mass_kg,stature_m
///   kneedamp rules --format csv > rules.csv
///
/// Mass, stature, prosthesis, speed, settings and more are drawn from ranges that the report lists; what is
/// given with --set, --speed or --temperature is held at that value, and so is what --hold names.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// Numbers of the rules to try; all by default
    #[arg(long, value_name = "N,…", value_delimiter = ',')]
    pub only: Vec<u32>,
    /// Sampled inputs
    #[arg(long, value_name = "N", default_value_t = 500)]
    pub samples: usize,
    /// Seed of the samples
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Sampled inputs that stay as the other options have them, by the names in the table of inputs
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    pub hold: Vec<String>,
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
    let study = study(o, &library)?;
    study.check()?;
    let found = with_progress(study.steps(), |tick| study.run(tick))?;
    o.report.print("rules", &study.bench.setup, &found.findings(&study))?;
    Ok(Status::Done)
}

fn study(o: &Options, library: &Library) -> Result<RulesStudy, SimError> {
    let scenarios = SCENARIOS.iter().map(|n| library.scenario(n)).collect::<Result<Vec<_>, _>>()?;
    let setup = o.setup.read(library, &scenarios)?;
    let prostheses = library.names(Kind::Prosthesis);
    let mut held: HashSet<String> = o.hold.iter().cloned().collect();
    held.extend(o.setup.set.iter().filter_map(|s| s.split_once('=')).map(|(name, _)| name.trim().to_owned()));
    if o.setup.speed.is_some() {
        held.insert("speed_m_per_s".into());
    }
    if o.setup.temperature.is_some() {
        held.insert("temperature_c".into());
    }
    Ok(RulesStudy {
        bench: Bench {
            prostheses: prostheses.iter().map(|n| library.prosthesis(n)).collect::<Result<_, _>>()?,
            friction_knee: library.knee(FRICTION_KNEE)?,
            scenarios,
            held,
            names: Names {
                person: o.setup.person.clone(),
                knee: o.setup.knee.clone(),
                friction_knee: FRICTION_KNEE.into(),
                prosthesis: o.setup.prosthesis.clone(),
                prostheses,
                library: o.setup.library.library.as_ref().map(|p| p.display().to_string()),
            },
            setup,
        },
        samples: o.samples,
        seed: o.seed,
        only: o.only.clone(),
    })
}
