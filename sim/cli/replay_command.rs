//! The command that repeats a run of a study.

use crate::case::setup::Setup;
use crate::joint::SettingName;
use crate::study::rules::evidence::{KneeChoice, RunSpec};
use crate::study::rules::scenario_names::has_own_pace;

/// Options of `run` that name the models.
#[derive(Debug, Clone, Default)]
pub struct ModelNames {
    /// `--person`.
    pub person: String,
    /// `--mass`, if one was given.
    pub mass_kg: Option<f64>,
    /// `--stature`, if one was given.
    pub stature_m: Option<f64>,
    /// `--knee`.
    pub knee: String,
    /// `--knee` with constant friction.
    pub friction_knee: String,
    /// `--prosthesis`, one for each to draw from.
    pub prostheses: Vec<String>,
    /// `--prosthesis` of the set-up.
    pub prosthesis: String,
    /// `--drive`, if one was given.
    pub drive: Option<String>,
    /// `--library`, if one was given.
    pub library: Option<String>,
}

/// The command that repeats a run with the models of these names and the other inputs of `setup`.
#[must_use]
pub fn replay_command(names: &ModelNames, setup: &Setup, run: &RunSpec) -> String {
    match run.session {
        Some(order) => session(names, setup, run, order),
        None => one_run(names, setup, run),
    }
}

fn one_run(names: &ModelNames, setup: &Setup, run: &RunSpec) -> String {
    const OPTIONS: [&str; 3] = ["speed_m_per_s", "cadence_steps_per_min", "temperature_c"];
    let mut words = Words::new(&["run", run.scenario]);
    words.person(names, names.mass_kg, names.stature_m);
    let knee = if run.knee == KneeChoice::Setup { &names.knee } else { &names.friction_knee };
    words.leg(names, run, knee);
    words.listed("--set", settings(setup, run));
    if run.scenario.starts_with("walk") {
        let given = |v: Option<f64>| v.filter(|_| !has_own_pace(run.scenario));
        words.number("--speed", run.values.get("speed_m_per_s").copied().or(given(setup.speed_m_per_s)));
        let cadence = run.values.get("cadence_steps_per_min").copied();
        words.number("--cadence", cadence.or(given(setup.cadence_steps_per_min)));
    }
    words.surroundings(names, setup, run);
    let others = run.values.iter().filter(|(k, _)| SettingName::parse(k).is_none() && !OPTIONS.contains(*k));
    words.listed("--input", others.map(|(k, v)| format!("{k}={v}")).collect());
    words.line()
}

/// The command of a fitting session.
fn session(names: &ModelNames, setup: &Setup, run: &RunSpec, order: &[SettingName]) -> String {
    let mut words = Words::new(&["adjust", "--starts", "0"]);
    let value = |key: &str| run.values.get(key).copied();
    words.person(names, value("mass_kg").or(names.mass_kg), value("stature_m").or(names.stature_m));
    words.leg(names, run, &names.knee);
    words.listed("--start", settings(setup, run));
    words.listed("--order", order.iter().map(|n| n.as_str().to_owned()).collect());
    words.number("--speed", setup.speed_m_per_s);
    words.number("--cadence", setup.cadence_steps_per_min);
    words.surroundings(names, setup, run);
    words.line()
}

/// Settings of the run, else those of the set-up.
fn settings(setup: &Setup, run: &RunSpec) -> Vec<String> {
    let given = |n| setup.settings.get(n).map(|s| s.pct());
    let value = |n: SettingName| run.values.get(n.as_str()).copied().or(given(n));
    SettingName::ALL.into_iter().filter_map(|n| value(n).map(|pct| format!("{n}={pct}"))).collect()
}

/// Words of a command.
struct Words(Vec<String>);

impl Words {
    fn new(first: &[&str]) -> Self {
        Self(std::iter::once(&"kneedamp").chain(first).map(|w| (*w).to_owned()).collect())
    }

    fn option(&mut self, name: &str, value: &str) {
        self.0.extend([name.to_owned(), value.to_owned()]);
    }

    fn number(&mut self, name: &str, value: Option<f64>) {
        if let Some(v) = value {
            self.option(name, &v.to_string());
        }
    }

    fn listed(&mut self, name: &str, values: Vec<String>) {
        if !values.is_empty() {
            self.option(name, &values.join(","));
        }
    }

    fn person(&mut self, names: &ModelNames, mass_kg: Option<f64>, stature_m: Option<f64>) {
        self.option("--person", &names.person);
        self.number("--mass", mass_kg);
        self.number("--stature", stature_m);
    }

    fn leg(&mut self, names: &ModelNames, run: &RunSpec, knee: &str) {
        let prosthesis = run.prosthesis.and_then(|i| names.prostheses.get(i));
        self.option("--prosthesis", prosthesis.unwrap_or(&names.prosthesis));
        self.option("--knee", knee);
    }

    /// Oil temperature, alignment and library.
    fn surroundings(&mut self, names: &ModelNames, setup: &Setup, run: &RunSpec) {
        self.number("--temperature", run.values.get("temperature_c").copied().or(setup.temperature_c));
        let shift = setup.alignment.foot_shift_m;
        let own = run.values.contains_key("foot_shift_m");
        self.number("--foot-shift", (shift.abs() > 0.0 && !own).then_some(1e3 * shift));
        if let Some(drive) = &names.drive {
            self.option("--drive", drive);
        }
        if let Some(folder) = &names.library {
            self.option("--library", folder);
        }
    }

    fn line(&self) -> String {
        self.0.iter().map(|w| quoted(w)).collect::<Vec<_>>().join(" ")
    }
}

/// A word as a shell takes it.
pub(super) fn quoted(word: &str) -> String {
    if !word.is_empty() && word.chars().all(|c| c.is_alphanumeric() || "-_.,=/:".contains(c)) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', r"'\''"))
    }
}
