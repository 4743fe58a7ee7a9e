//! `kneedamp window`.

use std::time::Instant;

use clap::Args;
use serde_json::{Value as Json, json};

use super::common::{ReportOptions, SetupOptions, at_one_pace};
use super::output::{Status, message};
use super::picture::PictureFile;
use super::progress::{while_working, with_progress};
use crate::error::SimError;
use crate::findings::Map;
use crate::joint::SettingName;
use crate::library::Library;
use crate::report;
use crate::scenario::{ActivityKind, Scenario};
use crate::study::window::{Plan, Question, Windows, joint_map, region};

/// Longer runs than this are announced, s.
const ANNOUNCED_FROM_S: f64 = 20.0;

/// Examples:
///   kneedamp window
///   kneedamp window sit-down ramp-down-8-deg stairs-down --person 100-kg
///   kneedamp window --without peak_vs_able_bodied_deg --set swing-flexion=60
///   kneedamp window --full
///   kneedamp window --together
///   kneedamp window --map swing-flexion,swing-extension --plot map.svg
///   kneedamp window --mass 50:125:12.5 --cadence 80:130:10 --plot windows.svg --format csv > windows.csv
///
/// For each setting, with the other settings fixed: where every limit of every scenario holds, which limit
/// closes each edge, and how far the edge moves with the values of judgement. Where no position meets all
/// limits: which of them hold nowhere, and which exclude each other. At a pace of your own (--speed,
/// --cadence) and without names, walk-comfortable is the only walking scenario.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
#[command(mut_arg("cadence", |a| a.value_name("STEPS/MIN|FROM:TO:STEP").help(
    "Cadence of the walking scenarios, steps per minute; several for windows over cadence")))]
#[command(mut_arg("mass", |a| a.value_name("KG|FROM:TO:STEP").help(
    "Body mass, kg, in place of the person's; without --stature the stature follows (in `sweep mass_kg=` it stays); several for windows over mass")))]
pub struct Options {
    /// Scenarios by name or path; none takes all of them but the reference ones
    pub scenario: Vec<String>,
    #[command(flatten)]
    pub setup: SetupOptions,
    /// Leaves out the limits on an outcome; can be given several times
    #[arg(long, value_name = "OUTCOME")]
    pub without: Vec<String>,
    /// Joint map of two settings instead, for instance swing-flexion,swing-extension
    #[arg(long, value_name = "SETTING,SETTING")]
    pub map: Option<String>,
    /// Positions of the joint map along each setting
    #[arg(long, value_name = "N", default_value_t = 21, requires = "map")]
    pub grid: u32,
    /// All settings moved together instead: the share of positions within every limit, and a block of them
    #[arg(long, conflicts_with_all = ["map", "plot"])]
    pub together: bool,
    /// Positions tried with --together
    #[arg(long, value_name = "N", default_value_t = 8192, requires = "together")]
    pub samples: u32,
    /// Leaves out the windows with values of judgement varied: quicker
    #[arg(long)]
    pub no_bands: bool,
    /// Draws the map, of two settings or of the windows over mass and cadence
    #[arg(long, value_name = "FILE.svg|png")]
    pub plot: Option<PictureFile>,
    /// Prints everything: the range of each limit, and the windows under each variation
    #[arg(long)]
    pub full: bool,
    #[command(flatten)]
    pub report: ReportOptions,
}

/// Runs the command.
///
/// # Errors
/// Bad input, or a failed run.
pub fn run(o: &Options) -> Result<Status, SimError> {
    let library = o.setup.library.open()?;
    let question = o.question(&library)?;
    match &o.map {
        Some(names) => o.map_of(&question, two_settings(names)?),
        None if o.together => o.region_of(&question),
        None => o.windows_of(&question),
    }?;
    Ok(Status::Done)
}

impl Options {
    fn question(&self, library: &Library) -> Result<Question, SimError> {
        let cadences = self.setup.cadences()?;
        let paced = self.setup.speed.is_some() || !cadences.is_empty();
        let scenarios = self.scenarios(library, paced)?;
        // one value belongs to the set-up, several make a population
        let (cadence, cadences) = match cadences.as_slice() {
            [one] => (Some(*one), Vec::new()),
            _ => (None, cadences),
        };
        let masses = self.setup.masses()?;
        let (mass_kg, masses_kg) = match masses.as_slice() {
            [one] => (Some(*one), Vec::new()),
            _ => (None, masses),
        };
        if self.setup.stature.is_some() && !masses_kg.is_empty() {
            return Err(SimError::Usage(
                "--stature goes with one mass; with several, the stature follows".into(),
            ));
        }
        let setup = self.setup.read_at(library, &scenarios, mass_kg, cadence)?;
        Ok(Question {
            setup,
            scenarios,
            without: self.without.clone(),
            masses_kg,
            cadences_steps_per_min: cadences,
            bands: !self.no_bands,
        })
    }

    fn scenarios(&self, library: &Library, paced: bool) -> Result<Vec<Scenario>, SimError> {
        let walks = |s: &Scenario| s.activity.kind() == ActivityKind::Walk;
        if self.scenario.is_empty() {
            let all = library.default_scenarios()?;
            return Ok(if paced { at_one_pace(all) } else { all });
        }
        let named: Vec<Scenario> =
            self.scenario.iter().map(|n| library.scenario(n)).collect::<Result<_, _>>()?;
        for (i, s) in named.iter().enumerate() {
            if named[..i].iter().any(|other| other.name == s.name) {
                return Err(SimError::Usage(format!("scenario '{}' is named twice", s.name)));
            }
        }
        if paced && !named.iter().any(walks) {
            return Err(SimError::Usage(
                "none of the scenarios is level walking: speed and cadence do not apply".into(),
            ));
        }
        Ok(named)
    }

    fn windows_of(&self, question: &Question) -> Result<(), SimError> {
        let mut plan = Plan::new(question)?;
        if self.plot.is_some() && !plan.population() {
            return Err(SimError::Usage(
                "--plot draws maps: give --map SETTING,SETTING, or several values of --mass or --cadence"
                    .into(),
            ));
        }
        let seconds = probe(&mut plan)?;
        self.announce(seconds * plan.trials_per_case());
        let found = with_progress(plan.scans(), |tick| plan.run(tick))?;
        self.draw(|| found.map(question))?;
        let inputs = self.inputs(question)?;
        let report = || if self.full { found.report() } else { found.summary() };
        self.report.print_as("window", inputs, &found.findings(), report)
    }

    fn map_of(&self, question: &Question, settings: [SettingName; 2]) -> Result<(), SimError> {
        let mut plan = Plan::new(question)?;
        let cells = u64::from(self.grid) * u64::from(self.grid);
        // a small map first, so that wrong options are refused before anything runs for long
        while_working(|| joint_map(question, settings, 2.min(self.grid), &|| ()))?;
        let seconds = probe(&mut plan)?;
        self.announce(seconds * plan.variations_per_case() * cells as f64);
        let found = with_progress(cells, |tick| joint_map(question, settings, self.grid, tick))?;
        self.draw(|| found.map(question))?;
        let inputs = self.inputs(question)?;
        self.report.print_as("window", inputs, &found.findings(), || found.report())
    }

    fn region_of(&self, question: &Question) -> Result<(), SimError> {
        let found = with_progress(self.samples.into(), |tick| region(question, self.samples, tick))?;
        let mut inputs = self.inputs(question)?;
        inputs["samples"] = json!(self.samples);
        self.report.print_as("window", inputs, &found.findings(), || found.findings())
    }

    /// Announces a long run on stderr.
    fn announce(&self, seconds: f64) {
        if seconds > ANNOUNCED_FROM_S {
            let about = if seconds < 100.0 {
                format!("{seconds:.0} s")
            } else {
                format!("{:.0} min", seconds / 60.0)
            };
            let quicker =
                if self.no_bands { "fewer scenarios are" } else { "--no-bands or fewer scenarios are" };
            message(&format!("this will take about {about}; {quicker} quicker"));
        }
    }

    fn draw(&self, map: impl FnOnce() -> Map) -> Result<(), SimError> {
        self.plot.as_ref().map_or(Ok(()), |file| file.write(&report::map::svg(&map())))
    }

    /// Inputs of the report, with those of the window study.
    fn inputs(&self, question: &Question) -> Result<Json, SimError> {
        let mut inputs = report::json::inputs(&question.setup, &question.setup.resolve()?);
        let limits = |(scenario, limits): (String, Vec<crate::scenario::Limit>)| json!({ "scenario": scenario, "limits": limits });
        inputs["scenarios"] = question.limits_by_scenario().into_iter().map(limits).collect();
        inputs["without"] = json!(question.without);
        inputs["masses_kg"] = json!(question.masses_kg);
        inputs["cadences_steps_per_min"] = json!(question.cadences_steps_per_min);
        inputs["edges_located_to_pct"] = json!(Windows::LOCATED_TO_PCT);
        Ok(inputs)
    }
}

/// Runs each scenario once; returns the time in seconds.
fn probe(plan: &mut Plan) -> Result<f64, SimError> {
    let begun = Instant::now();
    plan.probe()?;
    Ok(begun.elapsed().as_secs_f64())
}

/// `swing-flexion,swing-extension`.
fn two_settings(names: &str) -> Result<[SettingName; 2], SimError> {
    let known = || SettingName::ALL.map(SettingName::as_str).join(", ");
    let parse = |name: &str| {
        SettingName::parse(name.trim()).ok_or_else(|| SimError::Unknown {
            kind: "setting",
            name: name.trim().to_owned(),
            known: known(),
        })
    };
    match names.split(',').collect::<Vec<_>>().as_slice() {
        [a, b] => Ok([parse(a)?, parse(b)?]),
        _ => Err(SimError::Usage(format!(
            "--map {names}: wanted two settings, SETTING,SETTING; settings: {}",
            known()
        ))),
    }
}
