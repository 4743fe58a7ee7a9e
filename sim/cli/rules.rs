//! `kneedamp rules`.

use std::collections::HashSet;
use std::time::Instant;

use clap::parser::ValueSource;
use clap::{ArgMatches, Args, Command, FromArgMatches};
use serde_json::json;

use super::common::{ReportOptions, SetupOptions, at_one_pace};
use super::output::{Status, message};
use super::progress::with_progress;
use super::replay_command::{ModelNames, replay_command};
use crate::error::SimError;
use crate::library::{Kind, Library};
use crate::report;
use crate::study::rules::scenario_names::SCENARIOS;
use crate::study::rules::{Fixtures, RulesStudy};

/// Knee that rule 6 compares with.
const FRICTION_KNEE: &str = "constant-friction";

/// Examples:
///   kneedamp rules
///   kneedamp rules --only 1,4,9 --samples 2000
///   kneedamp rules --person 100-kg
///   kneedamp rules --only 16,17 --sessions 500
///   kneedamp rules --format csv > rules.csv
///
/// Mass, stature, prosthesis, speed, settings and more are drawn from ranges that the report lists; what is
/// given with --person, --prosthesis, --set, --speed, --temperature or --foot-shift is held at that value, and
/// so is what --hold names. Rules 16 and 17 run whole fitting sessions and take most of the time.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// Numbers of the rules to test; all by default
    #[arg(long, value_name = "N,…", value_delimiter = ',')]
    pub only: Vec<u32>,
    /// Sampled inputs
    #[arg(long, value_name = "N", default_value_t = 500)]
    pub samples: usize,
    /// Rules 16 and 17 are tested on the first samples only, this many
    #[arg(long, value_name = "N", default_value_t = 100)]
    pub sessions: usize,
    /// Seed of the samples
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Inputs that are not sampled but stay as the other options give them, by the names in the table of inputs
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    pub hold: Vec<String>,
    #[command(flatten)]
    pub setup: Given,
    #[command(flatten)]
    pub report: ReportOptions,
}

/// Options of the set-up, and which of them were given rather than left at their defaults.
#[derive(Debug)]
pub struct Given {
    options: SetupOptions,
    /// Inputs that these options give: they are not sampled.
    fixed: HashSet<String>,
}

/// Inputs that an option gives besides `--set`.
const GIVES: [(&str, &[&str]); 7] = [
    ("person", &["mass_kg", "stature_m"]),
    ("mass", &["mass_kg"]),
    ("stature", &["stature_m"]),
    ("prosthesis", &["prosthesis"]),
    ("speed", &["speed_m_per_s"]),
    ("temperature", &["temperature_c"]),
    ("foot_shift", &["foot_shift_m"]),
];

impl FromArgMatches for Given {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let options = SetupOptions::from_arg_matches(matches)?;
        let given = |option: &str| matches.value_source(option) == Some(ValueSource::CommandLine);
        let settings = options.set.iter().filter_map(|s| s.split_once('=')).map(|(name, _)| name.trim());
        let models = GIVES.iter().filter(|(option, _)| given(option)).flat_map(|(_, inputs)| *inputs);
        let fixed = settings.chain(models.copied()).map(str::to_owned).collect();
        Ok(Self { options, fixed })
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}

impl Args for Given {
    fn augment_args(command: Command) -> Command {
        SetupOptions::augment_args(command)
    }

    fn augment_args_for_update(command: Command) -> Command {
        SetupOptions::augment_args_for_update(command)
    }
}

/// Runs the command.
///
/// # Errors
/// Bad input, or a failed run.
pub fn run(o: &Options) -> Result<Status, SimError> {
    let library = o.setup.options.library.open()?;
    let (study, names) = study(o, &library)?;
    study.check()?;
    let begun = Instant::now();
    let setup = &study.fixtures.setup;
    let result = with_progress(study.steps(), |tick| study.run(tick))?;
    let found = result.findings(&study, |run| replay_command(&names, setup, run));
    let mut inputs = report::json::inputs(setup, &setup.resolve()?);
    // what it takes to run the study again, besides the models
    inputs["request"] = json!({
        "samples": study.samples,
        "sessions": study.sessions,
        "seed": study.seed,
        "only": study.only,
        "held": study.fixed(),
    });
    o.report.print_as("rules", inputs, &found, || found.clone())?;
    let (seconds, threads) = (begun.elapsed().as_secs_f64(), rayon::current_num_threads());
    message(&format!("rules: {} samples in {seconds:.0} s on {threads} threads", study.samples));
    Ok(Status::Done)
}

/// The study, and how the command line names its models.
fn study(o: &Options, library: &Library) -> Result<(RulesStudy, ModelNames), SimError> {
    let options = &o.setup.options;
    let scenarios = SCENARIOS.iter().map(|n| library.scenario(n)).collect::<Result<Vec<_>, _>>()?;
    let mut session_scenarios = library.default_scenarios()?;
    if options.speed.is_some() || options.cadence.is_some() {
        session_scenarios = at_one_pace(session_scenarios);
    }
    let all: Vec<_> = scenarios.iter().chain(&session_scenarios).cloned().collect();
    let setup = options.read(library, &all)?;
    let prostheses = library.names(Kind::Prosthesis);
    let fixtures = Fixtures {
        prostheses: prostheses.iter().map(|n| library.prosthesis(n)).collect::<Result<_, _>>()?,
        friction_knee: library.knee(FRICTION_KNEE)?,
        scenarios,
        session_scenarios,
        fixed: o.setup.fixed.iter().chain(&o.hold).cloned().collect(),
        setup,
    };
    let given = |option: bool, value: f64| option.then_some(value);
    let names = ModelNames {
        person: options.person.clone(),
        mass_kg: given(options.mass.is_some(), fixtures.setup.person.mass_kg),
        stature_m: given(options.stature.is_some(), fixtures.setup.person.stature_m()),
        knee: options.knee.clone(),
        friction_knee: FRICTION_KNEE.into(),
        prosthesis: options.prosthesis.clone(),
        prostheses,
        drive: options.drive.clone(),
        library: options.library.library.as_ref().map(|p| p.display().to_string()),
    };
    let (samples, sessions, seed, only) = (o.samples, o.sessions, o.seed, o.only.clone());
    Ok((RulesStudy { fixtures, samples, sessions, seed, only }, names))
}
