//! `kneedamp adjust`.

use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};
use clap::{Args, value_parser};

use super::common::{Format, ReportOptions, SetupOptions, at_one_pace, settings};
use super::output::{Status, message};
use super::progress::with_progress;
use super::slips;
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::joint::{KneeFile, SettingName, Settings};
use crate::library::{Kind, Library};
use crate::scenario::Scenario;
use crate::study::adjust::{
    DiagnosisReport, Order, ReportLevel, SYMPTOMS, SearchOptions, SessionEnd, SessionOptions, SessionReport,
    assess, diagnose, excess, run_session, search, symptom_by_name,
};
use crate::study::next::{Grade, Observation};
use crate::units::{Setting, within};

/// Examples:
///   kneedamp adjust
///   kneedamp adjust --person 50-kg --start open
///   kneedamp adjust --start swing-flexion=0,swing-extension=0 --order swing-flexion,swing-extension
///   kneedamp adjust --seen knee-late-straight --person 100-kg
///   kneedamp adjust --seen drops-into-chair,stiff-on-stairs --format json
///   kneedamp adjust --seen knee-late-straight:clear@walk-fast --not-seen toe-drags
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
    /// Symptoms, instead of a session: what to rule out, what the settings do, what else can cause them; slight or
    /// clear, and in which scenario, where that is known
    #[arg(long, value_name = "SYMPTOM[:HOW-MUCH][@SCENARIO],…", value_delimiter = ',', value_parser = SymptomParser, conflicts_with_all = ["start", "order", "most_trials", "starts", "seed"])]
    pub seen: Vec<String>,
    /// What was looked for and not seen: set beside what the model shows
    #[arg(long, value_name = "SYMPTOM[@SCENARIO],…", value_delimiter = ',', value_parser = SymptomParser, requires = "seen", hide_possible_values = true)]
    pub not_seen: Vec<String>,
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

/// A symptom, with how much of it and where behind it; `--help` and errors list the symptoms.
#[derive(Clone)]
struct SymptomParser;

impl SymptomParser {
    fn names() -> PossibleValuesParser {
        PossibleValuesParser::new(SYMPTOMS.iter().map(|s| PossibleValue::new(s.name).help(s.description)))
    }
}

impl TypedValueParser for SymptomParser {
    type Value = String;

    fn parse_ref(
        &self,
        command: &clap::Command,
        arg: Option<&clap::Arg>,
        value: &std::ffi::OsStr,
    ) -> Result<String, clap::Error> {
        let text = value.to_string_lossy();
        let name = text.split([':', '@']).next().unwrap_or("");
        Self::names().parse_ref(command, arg, name.as_ref())?;
        Ok(text.into_owned())
    }

    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = PossibleValue> + '_>> {
        Some(Box::new(SYMPTOMS.iter().map(|s| PossibleValue::new(s.name).help(s.description))))
    }
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
        let how = SearchOptions { starts: o.starts as usize, seed: o.seed, ..SearchOptions::default() };
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
    let read = |texts: &[String], grade| {
        texts.iter().map(|t| Observation::parse(t, grade)).collect::<Result<Vec<_>, _>>()
    };
    let (seen, not_seen) = (read(&o.seen, Grade::Seen)?, read(&o.not_seen, Grade::None)?);
    let all = with_progress(8 * seen.len() as u64, |tick| {
        let one = |s: &Observation| diagnose(setup, &about(s, scenarios)?, s.symptom, o.step, tick);
        seen.iter().map(one).collect::<Result<Vec<_>, _>>()
    })?;
    let mut found = DiagnosisReport(&all).findings(o.report.format != Format::Table);
    // a bare symptom says no more than that it was seen: the diagnosis answers that
    let graded = seen.iter().chain(&not_seen).filter(|s| s.grade != Grade::Seen || s.scenario.is_some());
    let told = graded.map(|s| Ok(s.beside(worst_excess(s, setup, scenarios)?)));
    found.text.splice(0..0, told.collect::<Result<Vec<_>, SimError>>()?);
    o.report.print("adjust --seen", setup, &found)?;
    Ok(Status::Done)
}

/// The scenarios that an observation is about: the one it names, or all.
fn about(o: &Observation, scenarios: &[Scenario]) -> Result<Vec<Scenario>, SimError> {
    let about: Vec<Scenario> = scenarios.iter().filter(|s| o.is_about(&s.name)).cloned().collect();
    if about.is_empty() {
        let why = format!("{}: none of the scenarios run is one in which it can occur", o.in_words());
        return Err(SimError::Usage(why));
    }
    Ok(about)
}

/// How much of a symptom the model has with these settings, the worst of the scenarios meant.
fn worst_excess(o: &Observation, setup: &Setup, scenarios: &[Scenario]) -> Result<Option<f64>, SimError> {
    let mut worst: Option<f64> = None;
    for s in about(o, scenarios)?.iter().filter(|s| o.symptom.activities.contains(&s.activity.kind())) {
        let found = assess(setup.paced_for(s).trial(s)?)?.assessment;
        let x = found.ok().and_then(|a| excess(o.symptom, s, &a));
        worst = worst.into_iter().chain(x).reduce(f64::max);
    }
    Ok(worst)
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
    Ok(at_one_pace(library.default_scenarios()?))
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
