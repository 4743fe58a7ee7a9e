//! A result of `kneedamp run --format json` read back: its set-up, its scenarios, and what it says of them.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde_json::Value as Json;

use super::json;
use crate::body::Alignment;
use crate::case::input;
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::findings::{Cell, Table};
use crate::joint::{SettingName, Settings};
use crate::library::{Model, check_texts, parse, to_yaml};
use crate::scenario::{Scenario, WalkingDrive};
use crate::study::survey::Survey;
use crate::study::verify::{RecordedRun, RecordedValue};
use crate::units::{Setting, within};

/// Numbers outside the outcomes may differ by this share of themselves, or of 1.
const TOLERANCE: f64 = 1e-6;
/// What is compared outcome by outcome in a run, or is rounding.
const NOT_COMPARED: [&str; 3] = ["outcomes", "verdict", "energy_residual"];
/// What is added to a result.
const ADDED: &str = "verification";
/// Longest text of a value in a table.
const LONGEST_TEXT: usize = 60;

/// A result as a file has it.
#[derive(Debug)]
pub struct Recorded {
    /// Version of the program that wrote it.
    pub version: String,
    /// Its inputs.
    pub setup: Setup,
    /// Its scenarios.
    pub scenarios: Vec<Scenario>,
    /// What it says of them, in the same order.
    pub runs: Vec<RecordedRun>,
    document: Json,
}

/// A part of a document, with its place for messages.
struct Part<'a> {
    value: &'a Json,
    origin: &'a str,
    place: String,
}

impl<'a> Part<'a> {
    fn wrong(&self, why: &str) -> SimError {
        in_file(self.origin, SimError::Inconsistent { field: self.place.clone(), why: why.into() })
    }

    fn get(&self, key: &str) -> Result<Part<'a>, SimError> {
        let place = if self.place.is_empty() { key.to_owned() } else { format!("{}.{key}", self.place) };
        let part = |value| Part { value, origin: self.origin, place: place.clone() };
        let missing = || part(self.value).wrong("missing; a result of 'kneedamp run --format json' has it");
        self.value.get(key).map(part).ok_or_else(missing)
    }

    fn list(&self) -> Result<Vec<Part<'a>>, SimError> {
        let list = self.value.as_array().ok_or_else(|| self.wrong("a list is wanted"))?;
        let part = |(i, value)| Part { value, origin: self.origin, place: format!("{}[{i}]", self.place) };
        Ok(list.iter().enumerate().map(part).collect())
    }

    fn entries(&self) -> Result<Vec<(&'a String, Part<'a>)>, SimError> {
        let map = self.value.as_object().ok_or_else(|| self.wrong("names with values are wanted"))?;
        map.keys().map(|key| Ok((key, self.get(key)?))).collect()
    }

    fn text(&self) -> Result<String, SimError> {
        self.value.as_str().map(str::to_owned).ok_or_else(|| self.wrong("a text is wanted"))
    }

    /// A number, or none where it is null.
    fn number(&self) -> Result<Option<f64>, SimError> {
        match self.value {
            Json::Null => Ok(None),
            value => value.as_f64().map(Some).ok_or_else(|| self.wrong("a number is wanted")),
        }
    }

    /// A number within the range of the input of this name, or none.
    fn input(&self, key: &str) -> Result<Option<f64>, SimError> {
        let (number, row) = (self.get(key)?.number()?, input(key)?);
        let checked =
            |v| within(key, v, row.least..=row.most).map_err(|e| in_file(self.origin, e.inside(&self.place)));
        number.map(checked).transpose()
    }

    fn model<M: Model>(&self) -> Result<M, SimError> {
        let origin = format!("{}, {}", self.origin, self.place);
        // lines are those of the part alone
        parse(&to_yaml(self.value)?, &origin).map_err(|e| match e {
            SimError::InFile { file, cause, .. } => SimError::InFile { file, line: None, cause },
            other => other,
        })
    }
}

fn in_file(origin: &str, cause: SimError) -> SimError {
    SimError::InFile { file: origin.into(), line: None, cause: Box::new(cause) }
}

/// Reads a result.
///
/// # Errors
/// No JSON, a document of another command, a part that is missing or wrong.
pub fn read(text: &str, origin: &str) -> Result<Recorded, SimError> {
    if text.trim().is_empty() {
        let why = "the file is empty; a result of 'kneedamp run --format json' is wanted";
        return Err(in_file(origin, SimError::Syntax(why.into())));
    }
    let document: Json = serde_json::from_str(text).map_err(|e| SimError::InFile {
        file: origin.into(),
        line: Some(e.line() as u64),
        cause: Box::new(SimError::Syntax(format!("no JSON: {}{}", without_place(&e), number_hint(text, &e)))),
    })?;
    check_texts(&document, "").map_err(|e| in_file(origin, e))?;
    let root = Part { value: &document, origin, place: String::new() };
    if let Ok(command) = root.get("command").and_then(|c| c.text()) {
        let why = format!(
            "a document of 'kneedamp {command}'; verify takes what 'kneedamp run --format json' writes"
        );
        return Err(in_file(origin, SimError::Syntax(why)));
    }
    let version = root.get("version")?.text()?;
    let inputs = root.get("inputs")?;
    let scenarios: Vec<Scenario> =
        inputs.get("files")?.get("scenarios")?.list()?.iter().map(Part::model).collect::<Result<_, _>>()?;
    let runs = root.get("runs")?;
    let recorded = runs.list()?.iter().map(recorded_run).collect::<Result<Vec<_>, _>>()?;
    let names = recorded.iter().map(|(name, _)| name);
    if recorded.is_empty() || !names.eq(scenarios.iter().map(|s| &s.name)) {
        return Err(
            runs.wrong("one run for each scenario of inputs.files.scenarios is wanted, in the same order")
        );
    }
    let setup = setup(&inputs)?;
    setup.resolve().map_err(|e| in_file(origin, e.inside("inputs")))?;
    let runs = recorded.into_iter().map(|(_, run)| run).collect();
    Ok(Recorded { version, setup, scenarios, runs, document })
}

/// The reader's message; the line stands before it.
fn without_place(e: &serde_json::Error) -> String {
    let said = e.to_string();
    said.split(" at line ").next().unwrap_or(&said).to_owned()
}

/// JSON has no word for what is no number.
fn number_hint(text: &str, e: &serde_json::Error) -> &'static str {
    let line = text.lines().nth(e.line().saturating_sub(1)).unwrap_or("").to_lowercase();
    let no_number =
        ["nan", "inf"].iter().any(|word| line.contains(word)) || e.to_string().contains("out of range");
    if no_number { "; a finite number is wanted" } else { "" }
}

fn setup(inputs: &Part<'_>) -> Result<Setup, SimError> {
    let mut settings = Settings::default();
    for name in SettingName::ALL {
        let pct = inputs.get("settings_pct")?.get(name.as_str())?;
        if let Some(value) = pct.number()? {
            let setting = Setting::from_pct(&pct.place, value).map_err(|e| in_file(inputs.origin, e))?;
            settings.set(name, setting);
        }
    }
    let files = inputs.get("files")?;
    let mut drives = BTreeMap::new();
    for (name, drive) in files.get("drives")?.entries()? {
        let base = drive.get("base")?;
        let base = if base.value.is_null() { None } else { Some(Arc::new(base.model()?)) };
        drives.insert(name.clone(), WalkingDrive { file: Arc::new(drive.get("file")?.model()?), base });
    }
    Ok(Setup {
        person: inputs.get("person")?.model()?,
        prosthesis: inputs.get("prosthesis")?.model()?,
        alignment: Alignment {
            foot_shift_m: inputs.input("foot_shift_m")?.unwrap_or(0.0),
            foot_tilt_deg: inputs.input("foot_tilt_deg")?.unwrap_or(0.0),
        },
        knee: inputs.get("knee")?.model()?,
        comparison: files.get("comparison_knee")?.model()?,
        settings,
        temperature_c: inputs.input("temperature_c")?,
        speed_m_per_s: inputs.input("speed_m_per_s")?,
        cadence_steps_per_min: inputs.input("cadence_steps_per_min")?,
        drives,
        drive_share: inputs.input("drive_share")?,
        deadline: None,
    })
}

/// The scenario's name, and what is said of it.
fn recorded_run(run: &Part<'_>) -> Result<(String, RecordedRun), SimError> {
    let outcome = |(key, value): (&String, Part<'_>)| {
        let value_read = match value.value {
            Json::Null => RecordedValue::NotReached,
            Json::String(word) => RecordedValue::Word(word.clone()),
            Json::Number(n) => RecordedValue::Number(n.as_f64().unwrap_or(f64::NAN)),
            _ => return Err(value.wrong("a number, a word or null is wanted")),
        };
        Ok((key.clone(), value_read))
    };
    let outcomes = run.get("outcomes")?.entries()?.into_iter().map(outcome).collect::<Result<_, _>>()?;
    Ok((run.get("scenario")?.text()?, RecordedRun { outcomes, verdict: run.get("verdict")?.text()? }))
}

impl Recorded {
    /// Whether this version of the program wrote it.
    #[must_use]
    pub fn is_of_this_version(&self) -> bool {
        self.version == env!("CARGO_PKG_VERSION")
    }

    /// What else differs between the file and the document of the re-run, outside outcomes and verdicts: resolved
    /// numbers, limits, sentences.
    #[must_use]
    pub fn elsewhere(&self, again: &Survey) -> Table {
        let mut rows = Vec::new();
        differences(&self.document, &json::survey_document(again), "", &mut rows);
        Table::new("elsewhere", "elsewhere in the file", &["place", "recorded", "run again"], rows)
    }
}

fn differences(recorded: &Json, again: &Json, place: &str, rows: &mut Vec<Vec<Cell>>) {
    let same = match (recorded, again) {
        (Json::Object(a), Json::Object(b)) => {
            let keys = a.keys().chain(b.keys().filter(|k| !a.contains_key(*k)));
            let of_run = place.starts_with("runs[") && !place.contains('.');
            let skipped = |k: &str| (of_run && NOT_COMPARED.contains(&k)) || (place.is_empty() && k == ADDED);
            for key in keys.filter(|k| !skipped(k)) {
                let inside = if place.is_empty() { key.clone() } else { format!("{place}.{key}") };
                let of = |map: &serde_json::Map<String, Json>| map.get(key).cloned().unwrap_or(Json::Null);
                differences(&of(a), &of(b), &inside, rows);
            }
            true
        }
        (Json::Array(a), Json::Array(b)) if a.len() == b.len() => {
            for (i, (a, b)) in a.iter().zip(b).enumerate() {
                differences(a, b, &format!("{place}[{i}]"), rows);
            }
            true
        }
        (Json::Number(a), Json::Number(b)) => match (a.as_f64(), b.as_f64()) {
            (Some(a), Some(b)) => (a - b).abs() <= TOLERANCE * b.abs().max(1.0),
            _ => a == b,
        },
        (a, b) => a == b,
    };
    if !same {
        rows.push([place.to_owned(), clipped(recorded), clipped(again)].map(Cell::Text).to_vec());
    }
}

fn clipped(value: &Json) -> String {
    let text = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
    if text.chars().count() <= LONGEST_TEXT {
        return text;
    }
    text.chars().take(LONGEST_TEXT).chain("…".chars()).collect()
}
