//! `kneedamp adjust`.

use clap::builder::{PossibleValue, PossibleValuesParser};
use clap::{Args, value_parser};

use super::common::{
    Format, ReportOptions, SetupOptions, at_one_pace, default_scenarios, settings, with_progress,
};
use super::output::{Status, message};
use super::slips;
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::joint::{KneeFile, SettingName, Settings};
use crate::library::{Kind, Library};
use crate::scenario::Scenario;
use crate::study::adjust::{
    DiagnosisReport, Order, ReportLevel, SYMPTOMS, SearchOptions, SessionEnd, SessionOptions, SessionReport,
    diagnose, run_session, search, symptom_by_name,
};
use crate::units::{Setting, within};

/// Examples:
///   kneedamp adjust
///   kneedamp adjust --person 50-kg --start open
///   kneedamp adjust --start swing-flexion=0,swing-extension=0 --order swing-flexion,swing-extension
///   kneedamp adjust --seen knee-late-straight --person 100-kg
///   kneedamp adjust --seen drops-into-chair,stiff-on-stairs --format json
///
/// Tests each activity, changes one setting by one step, tests again what was within limits; `--seen` starts from
/// a symptom instead.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// Scenarios by name or path; none takes all of them but the reference ones
    pub scenario: Vec<String>,
    #[command(flatten)]
    pub setup: SetupOptions,
    /// Symptoms, instead of a session: what to rule out, what the settings do, what else can cause them
    #[arg(long, value_name = "SYMPTOM,…", value_delimiter = ',', value_parser = symptoms(), conflicts_with_all = ["start", "order", "most_trials", "starts", "seed"])]
    pub seen: Vec<String>,
    /// Settings at the start: open (all at their least), middle, closed (all at their most), file, or
    /// swing-flexion=0,…; those not named are the file's
    #[arg(
        long,
        value_name = "open|middle|closed|file|SETTING=PCT,…",
        value_delimiter = ',',
        default_value = "file"
    )]
    pub start: Vec<String>,
    /// Order of settings or activities or both, for instance swing-flexion,swing-extension or
    /// sit-down,landing; what is not named follows in the usual order
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    pub order: Vec<String>,
    /// Step of every setting, percentage points; by default the joint's own
    #[arg(long, value_name = "PCT", allow_negative_numbers = true)]
    pub step: Option<f64>,
    /// Trials after which the session is broken off
    #[arg(long, value_name = "N", default_value_t = 2000, allow_negative_numbers = true, value_parser = value_parser!(u32).range(1..=100_000))]
    pub most_trials: u32,
    /// Seeded starts of the search that the session is compared with, the best of 32 positions each, besides
    /// the session's own; 0 leaves the search out
    #[arg(long, value_name = "N", default_value_t = 3, allow_negative_numbers = true, value_parser = value_parser!(u32).range(0..=1000))]
    pub starts: u32,
    /// Seed of the search
    #[arg(long, value_name = "N", default_value_t = 1, allow_negative_numbers = true)]
    pub seed: u64,
    #[command(flatten)]
    pub report: ReportOptions,
    /// Print every step, all tables and what to look at where no setting helps
    #[arg(long, conflicts_with = "seen")]
    pub full: bool,
    /// Exit with 3 if a limit is broken or doubtful at the end, or a scenario cannot run or be computed
    #[arg(long, conflicts_with = "seen")]
    pub strict: bool,
}

fn symptoms() -> PossibleValuesParser {
    PossibleValuesParser::new(SYMPTOMS.iter().map(|s| PossibleValue::new(s.name).help(s.description)))
}

/// How to write a scenario that was given where `--seen` wants a symptom.
pub fn hint_at_symptom(name: &str) -> Option<String> {
    let is_scenario = Library::default().names(Kind::Scenario).iter().any(|n| n == name);
    is_scenario.then(|| format!("'{name}' is a scenario; write: kneedamp adjust {name} --seen SYMPTOM"))
}

/// Runs the command.
///
/// # Errors
/// Bad input, or a failed run.
pub fn run(o: &Options) -> Result<Status, SimError> {
    let library = o.setup.library.open()?;
    let scenarios = scenarios(o, &library)?;
    let mut setup = o.setup.read(&library, &scenarios)?;
    if let Some(step) = o.step {
        within("--step (percent)", step, 0.1..=50.0)?;
    }
    if !o.seen.is_empty() {
        return diagnose_symptoms(o, &setup, &scenarios);
    }
    setup.settings = start(&o.start, &setup)?;
    let options =
        SessionOptions { order: order(&o.order)?, step_pct: o.step, max_trials: o.most_trials as usize };
    let session =
        with_progress(u64::from(o.most_trials), |tick| run_session(&setup, &scenarios, &options, tick))?;
    let best = if o.starts == 0 {
        None
    } else {
        let how = SearchOptions { starts: o.starts as usize, seed: o.seed };
        let from = [session.end, session.start];
        Some(with_progress(u64::from(o.starts) + 3, |tick| search(&setup, &scenarios, &from, how, tick))?)
    };
    let level = match o.report.format {
        Format::Table if o.full => ReportLevel::Full,
        Format::Table => ReportLevel::Answer,
        Format::Json | Format::Csv => ReportLevel::Data,
    };
    let report = SessionReport { scenarios: &scenarios, session: &session, best: best.as_ref() };
    o.report.print("adjust", &setup, &report.findings(level))?;
    if session.final_results.iter().all(|r| r.assessment.is_err()) {
        message("kneedamp: no scenario can be followed: nothing to adjust");
        return Ok(Status::Failed);
    }
    if session.ended == SessionEnd::OutOfTrials {
        message(&format!("kneedamp: broken off after {} trials (--most-trials)", session.trials));
    }
    Ok(if o.strict && session.ended != SessionEnd::AllWithinLimits {
        Status::LimitBroken
    } else {
        Status::Done
    })
}

fn diagnose_symptoms(o: &Options, setup: &Setup, scenarios: &[Scenario]) -> Result<Status, SimError> {
    let symptoms = o.seen.iter().filter_map(|name| symptom_by_name(name));
    let steps = 8 * o.seen.len() as u64;
    let all = with_progress(steps, |tick| {
        symptoms.map(|s| diagnose(setup, scenarios, s, o.step, tick)).collect::<Result<Vec<_>, _>>()
    })?;
    o.report.print(
        "adjust --seen",
        setup,
        &DiagnosisReport(&all).findings(o.report.format != Format::Table),
    )?;
    Ok(Status::Done)
}

/// The scenarios named, or the default ones; at a given pace there is one walking scenario.
fn scenarios(o: &Options, library: &Library) -> Result<Vec<Scenario>, SimError> {
    if let Some(name) = o.scenario.iter().find(|n| symptom_by_name(n).is_some()) {
        let seen = o.seen.iter().chain([name]).map(String::as_str).collect::<Vec<_>>().join(",");
        return Err(SimError::Usage(format!(
            "'{name}' is a symptom, and a scenario is wanted here; write: --seen {seen}"
        )));
    }
    let paced = o.setup.speed.is_some() || o.setup.cadence.is_some();
    if !paced || !o.scenario.is_empty() {
        return o.setup.scenarios(library, &o.scenario);
    }
    Ok(at_one_pace(default_scenarios(library)?))
}

/// Settings to start from.
fn start(words: &[String], setup: &Setup) -> Result<Settings, SimError> {
    let all_at = |pct: f64| -> Result<Settings, SimError> {
        let mut settings = setup.settings;
        for name in SettingName::ALL.into_iter().filter(|n| KneeFile::step_pct(&setup.knee, *n).is_some()) {
            settings.set(name, Setting::from_pct("--start", pct)?);
        }
        Ok(settings)
    };
    match words {
        [one] if one == "file" => Ok(setup.settings),
        [one] if one == "open" => all_at(0.0),
        [one] if one == "middle" => all_at(50.0),
        [one] if one == "closed" => all_at(100.0),
        _ => {
            let given = settings("--start", words)?;
            slips::name_settings(&given);
            Ok(setup.settings.overridden_by(&given))
        }
    }
}

/// Names of settings and of activities, each in its order.
fn order(names: &[String]) -> Result<Order, SimError> {
    let mut order = Order::default();
    for (i, name) in names.iter().enumerate() {
        if names[..i].contains(name) {
            return Err(SimError::Usage(format!("--order {name} is given twice")));
        }
        match SettingName::parse(name) {
            Some(setting) => order.settings.push(setting),
            None => order.activities.push(name.clone()),
        }
    }
    Ok(order)
}
