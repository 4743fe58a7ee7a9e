//! Options that several commands share, and how they become a set-up.

use std::collections::BTreeMap;
use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::value_list::ValueList;
use super::{output, slips};
use crate::body::alignment::{MOST_FOOT_SHIFT_M, MOST_FOOT_TILT_DEG};
use crate::body::{Alignment, Person};
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::findings::Findings;
use crate::joint::{SettingName, Settings};
use crate::library::{Library, example};
use crate::report;
use crate::scenario::{Activity, ActivityKind, Scenario};
use crate::units::{Setting, comma_hint, number, within};
use crate::words::{LANGUAGES, Words};

const CADENCE_OPTION: &str = "--cadence (steps per minute)";
const CADENCE_RANGE: std::ops::RangeInclusive<f64> = 30.0..=240.0;
const MASS_OPTION: &str = "--mass (kg)";
const MASS_RANGE_KG: std::ops::RangeInclusive<f64> = 30.0..=200.0;

/// The language of what is written for people.
#[derive(Debug, Args)]
pub struct LanguageOption {
    /// Language of the file: en or de
    #[arg(long, value_name = "CODE", default_value = LANGUAGES[0].0)]
    pub lang: String,
}

impl LanguageOption {
    /// Its words.
    ///
    /// # Errors
    /// A language that there is not.
    pub fn words(&self) -> Result<&'static Words, SimError> {
        Words::of(&self.lang)
    }
}

/// Where files are looked for.
#[derive(Debug, Args)]
pub struct LibraryOptions {
    /// Folder with knees/, people/, prostheses/, drives/, uncertainty/, scenarios/ whose files come before the built-in ones
    #[arg(long, value_name = "FOLDER", env = "KNEEDAMP_LIBRARY")]
    pub library: Option<PathBuf>,
}

impl LibraryOptions {
    /// The library.
    ///
    /// # Errors
    /// A folder that is not there.
    pub fn open(&self) -> Result<Library, SimError> {
        if let Some(folder) = self.library.as_ref().filter(|f| !f.is_dir()) {
            return Err(SimError::File { path: folder.display().to_string(), why: "no such folder".into() });
        }
        Ok(Library { user_folder: self.library.clone(), ..Library::default() })
    }
}

/// Letters, digits and `-`, as in every name of the library.
///
/// # Errors
/// Anything else.
pub fn check_name(name: &str) -> Result<(), SimError> {
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '-';
    if name.is_empty() || !name.chars().all(plain) {
        return Err(SimError::Usage(format!("--name '{name}': letters, digits and - are needed")));
    }
    Ok(())
}

/// Form of a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people
    Table,
    /// One JSON document
    Json,
    /// One row per finding
    Csv,
}

/// How a study reports.
#[derive(Debug, Args)]
pub struct ReportOptions {
    /// Form of the report; csv is the first table
    #[arg(long, value_enum, default_value = "table")]
    pub format: Format,
}

impl ReportOptions {
    /// Prints findings.
    ///
    /// # Errors
    /// Standard output cannot be written.
    pub fn print(&self, command: &str, setup: &Setup, found: &Findings) -> Result<(), SimError> {
        let inputs = report::json::inputs(setup, &setup.resolve()?);
        self.print_as(command, inputs, found, || found.clone())
    }

    /// Prints data, or the findings for people; `inputs` go into the JSON document.
    ///
    /// # Errors
    /// Standard output cannot be written.
    pub fn print_as(
        &self,
        command: &str,
        mut inputs: serde_json::Value,
        data: &Findings,
        for_people: impl FnOnce() -> Findings,
    ) -> Result<(), SimError> {
        // with its arguments a document can be made again
        inputs["arguments"] = output::arguments().into();
        output::data(&match self.format {
            Format::Table => report::findings::terminal(&for_people()),
            Format::Json => report::findings::json(command, inputs, data),
            Format::Csv => report::findings::csv(data)?,
        })?;
        if self.format == Format::Csv {
            output::message(&format!("Caution. {}", crate::CAUTION));
        }
        Ok(())
    }
}

/// Person, prosthesis, knee, settings, pace.
#[derive(Debug, Args)]
pub struct SetupOptions {
    /// Person: name or path
    #[arg(long, value_name = "NAME|FILE", default_value = example::PERSON)]
    pub person: String,
    /// Body mass, kg, in place of the person's; the stature that commonly goes with it follows
    #[arg(long, value_name = "KG", allow_negative_numbers = true)]
    pub mass: Option<ValueList>,
    /// Stature, m, in place of the person's
    #[arg(long, value_name = "M", allow_negative_numbers = true)]
    pub stature: Option<f64>,
    /// Prosthesis below the knee axis: name or path
    #[arg(long, value_name = "NAME|FILE", default_value = example::PROSTHESIS)]
    pub prosthesis: String,
    /// Knee: name or path
    #[arg(long, value_name = "NAME|FILE", default_value = example::KNEE)]
    pub knee: String,
    /// Settings in percent of the model's range, for instance swing-flexion=70,catch-load=20
    #[arg(long, value_name = "SETTING=PCT,…", value_delimiter = ',')]
    pub set: Vec<String>,
    /// Walking speed, m/s; alone it runs walk-comfortable at that speed
    #[arg(long, value_name = "M/S", allow_negative_numbers = true)]
    pub speed: Option<f64>,
    /// Cadence, steps per minute; alone it runs walk-comfortable at that cadence
    #[arg(long, value_name = "STEPS/MIN", allow_negative_numbers = true)]
    pub cadence: Option<ValueList>,
    /// Oil temperature, °C; by default the knee file's reference temperature
    #[arg(long, value_name = "°C", allow_negative_numbers = true)]
    pub temperature: Option<f64>,
    /// Foot further forward under the knee axis by this, mm; negative is further back
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    pub foot_shift: Option<f64>,
    /// Foot tilted toes down (plantarflexed) by this, degrees; negative is toes up
    #[arg(long, value_name = "°", allow_negative_numbers = true)]
    pub foot_tilt: Option<f64>,
    /// Walking drive instead of those of the scenarios: name or path, for instance able-bodied-2008
    #[arg(long, value_name = "NAME|FILE")]
    pub drive: Option<String>,
    #[command(flatten)]
    pub library: LibraryOptions,
}

impl SetupOptions {
    /// Whether this is the built-in example, unchanged.
    #[must_use]
    pub fn is_default(&self) -> bool {
        [self.person.as_str(), &self.prosthesis, &self.knee]
            == [example::PERSON, example::PROSTHESIS, example::KNEE]
            && self.mass.is_none()
            && self.stature.is_none()
            && self.set.is_empty()
            && self.speed.is_none()
            && self.cadence.is_none()
            && self.temperature.is_none()
            && self.foot_shift.is_none()
            && self.foot_tilt.is_none()
            && self.drive.is_none()
            && self.library.library.is_none()
    }

    /// Reads the models. Drives are those that the scenarios need.
    ///
    /// # Errors
    /// An unknown name, what is wrong in a file, a setting out of range.
    pub fn read(&self, library: &Library, scenarios: &[Scenario]) -> Result<Setup, SimError> {
        let cadence = self.cadence.as_ref().map(|c| c.single(CADENCE_OPTION)).transpose()?;
        let mass_kg = self.mass.as_ref().map(|m| m.single(MASS_OPTION)).transpose()?;
        self.read_at(library, scenarios, mass_kg, cadence)
    }

    /// The masses given; none for the person's own.
    ///
    /// # Errors
    /// One outside its range.
    pub fn masses(&self) -> Result<Vec<f64>, SimError> {
        let checked = |m: &ValueList| m.checked(MASS_OPTION, MASS_RANGE_KG).map(<[f64]>::to_vec);
        Ok(self.mass.as_ref().map(checked).transpose()?.unwrap_or_default())
    }

    /// The cadences given; none for the scenarios' own.
    ///
    /// # Errors
    /// One outside its range.
    pub fn cadences(&self) -> Result<Vec<f64>, SimError> {
        let checked = |c: &ValueList| c.checked(CADENCE_OPTION, CADENCE_RANGE).map(<[f64]>::to_vec);
        Ok(self.cadence.as_ref().map(checked).transpose()?.unwrap_or_default())
    }

    /// The person, with the mass and stature given in place of its own.
    fn person(&self, library: &Library, mass_kg: Option<f64>) -> Result<Person, SimError> {
        let mut person = library.person(&self.person)?;
        if mass_kg.is_some() || self.stature.is_some() {
            // no longer the person of that name
            let example = self.person == example::PERSON;
            person.about = format!("Mass or stature given as an option; the rest as {}.", person.name);
            person.name = if example { "unnamed".into() } else { format!("{} changed", person.name) };
        }
        if let Some(mass_kg) = mass_kg {
            person.mass_kg = within(MASS_OPTION, mass_kg, MASS_RANGE_KG)?;
            person.stature_given_m = None;
        }
        if let Some(stature_m) = self.stature {
            person.stature_given_m = Some(within("--stature (m)", stature_m, 1.2..=2.2)?);
        }
        Ok(person)
    }

    /// [`SetupOptions::read`] with one of the masses and cadences given. Values that are legal but look like slips
    /// are named on stderr.
    ///
    /// # Errors
    /// As there.
    pub fn read_at(
        &self,
        library: &Library,
        scenarios: &[Scenario],
        mass_kg: Option<f64>,
        cadence: Option<f64>,
    ) -> Result<Setup, SimError> {
        if let Some(v) = self.speed {
            within("--speed (m/s)", v, 0.1..=5.0)?;
        }
        if let Some(c) = cadence {
            within(CADENCE_OPTION, c, CADENCE_RANGE)?;
        }
        if let Some(t) = self.temperature {
            within("--temperature (°C)", t, -30.0..=100.0)?;
        }
        let most = 1e3 * MOST_FOOT_SHIFT_M;
        let shift = within("--foot-shift (mm)", self.foot_shift.unwrap_or(0.0), -most..=most)?;
        let most = MOST_FOOT_TILT_DEG;
        let tilt = within("--foot-tilt (°)", self.foot_tilt.unwrap_or(0.0), -most..=most)?;
        let instead = self.drive.as_ref().map(|name| library.walking_drive(name)).transpose()?;
        let mut drives = BTreeMap::new();
        for scenario in scenarios {
            if let Activity::Walk(w) = &scenario.activity
                && !drives.contains_key(&w.drive)
            {
                let own = || library.walking_drive(&w.drive);
                drives.insert(w.drive.clone(), instead.clone().map_or_else(own, Ok)?);
            }
        }
        let setup = Setup {
            person: self.person(library, mass_kg)?,
            prosthesis: library.prosthesis(&self.prosthesis)?,
            alignment: Alignment { foot_shift_m: shift / 1e3, foot_tilt_deg: tilt },
            knee: library.knee(&self.knee)?,
            comparison: Library::default().knee(example::KNEE)?,
            settings: settings("--set", &self.set)?,
            temperature_c: self.temperature,
            speed_m_per_s: self.speed,
            cadence_steps_per_min: cadence,
            drives,
            drive_share: None,
            deadline: None,
        };
        slips::name(&setup, scenarios);
        Ok(setup)
    }

    /// The scenarios named, or the default ones.
    ///
    /// # Errors
    /// An unknown name or what is wrong in a file.
    pub fn scenarios(&self, library: &Library, names: &[String]) -> Result<Vec<Scenario>, SimError> {
        let paced = self.speed.is_some() || self.cadence.is_some();
        if names.is_empty() && paced {
            return Ok(vec![library.scenario(example::SCENARIO)?]);
        }
        if !names.is_empty() {
            return names.iter().map(|n| library.scenario(n)).collect();
        }
        library.default_scenarios()
    }
}

/// With a given pace, walk-comfortable stands for all walking: one pace does not suit four speeds. Says on stderr
/// what is left out.
pub fn at_one_pace(scenarios: Vec<Scenario>) -> Vec<Scenario> {
    let (kept, left): (Vec<_>, Vec<_>) = scenarios
        .into_iter()
        .partition(|s| s.activity.kind() != ActivityKind::Walk || s.name == example::SCENARIO);
    let names: Vec<String> = left.into_iter().map(|s| s.name).collect();
    if !names.is_empty() {
        output::message(&format!(
            "Note: left out at a pace of your own: {}. They have other paces; {} stands for all walking.",
            names.join(", "),
            example::SCENARIO
        ));
    }
    kept
}

/// `swing-flexion=70` and the like, given with `option`.
///
/// # Errors
/// A pair that is none, an unknown setting, a value out of range, a setting given twice.
pub fn settings(option: &str, pairs: &[String]) -> Result<Settings, SimError> {
    let mut settings = Settings::default();
    for (i, pair) in pairs.iter().enumerate() {
        let known = || SettingName::ALL.map(SettingName::as_str).join(", ");
        let Some((name, value)) = pair.split_once('=') else {
            let hint = comma_hint(i.checked_sub(1).map(|i| pairs[i].as_str()), pair);
            return Err(SimError::Usage(format!(
                "{option} {pair}: wanted SETTING=PERCENT{hint}; settings: {}",
                known()
            )));
        };
        let Some(setting) = SettingName::parse(name.trim()) else {
            return Err(SimError::Unknown { kind: "setting", name: name.trim().into(), known: known() });
        };
        let field = format!("{option} {setting} (percent)");
        let pct = number(&field, value, 0.0..=100.0, "%")?;
        if settings.get(setting).is_some() {
            return Err(SimError::Usage(format!("{option} {setting} is given twice")));
        }
        settings.set(setting, Setting::from_pct(&field, pct)?);
    }
    Ok(settings)
}
