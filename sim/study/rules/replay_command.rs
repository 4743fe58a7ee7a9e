//! Counter-examples as commands that run them again.

use super::RulesStudy;
use super::experiment::{Joint, Run};
use crate::joint::SettingName;

/// The command that runs it again.
pub(super) fn command(study: &RulesStudy, run: &Run) -> String {
    match run.session {
        Some(order) => session(study, run, order),
        None => one_run(study, run),
    }
}

fn one_run(study: &RulesStudy, run: &Run) -> String {
    const OPTIONS: [&str; 3] = ["speed_m_per_s", "cadence_steps_per_min", "temperature_c"];
    let (names, setup) = (&study.bench.names, &study.bench.setup);
    let mut words = Words::new(&["run", run.scenario]);
    words.option("--person", &names.person);
    let knee = if run.joint == Joint::Own { &names.knee } else { &names.friction_knee };
    words.legs(study, run, knee);
    words.listed("--set", settings(study, run));
    if run.scenario.starts_with("walk") {
        // a crowd has a pace of its own
        let given = |v: Option<f64>| v.filter(|_| run.scenario != crate::study::rules::table::HURRIED);
        words.number("--speed", run.values.get("speed_m_per_s").copied().or(given(setup.speed_m_per_s)));
        let cadence = run.values.get("cadence_steps_per_min").copied();
        words.number("--cadence", cadence.or(given(setup.cadence_steps_per_min)));
    }
    words.surroundings(study, run);
    let others = run.values.iter().filter(|(k, _)| SettingName::parse(k).is_none() && !OPTIONS.contains(*k));
    words.listed("--input", others.map(|(k, v)| format!("{k}={v}")).collect());
    words.line()
}

/// The command of a fitting session. It takes a person from a file: what to put into a copy of it stands in a
/// comment of the shell.
fn session(study: &RulesStudy, run: &Run, order: &[SettingName]) -> String {
    const OWN_PERSON: &str = "mine.yaml";
    let (names, setup) = (&study.bench.names, &study.bench.setup);
    let mut words = Words::new(&["adjust", "--starts", "0"]);
    let person: Vec<String> = ["mass_kg", "stature_m"]
        .iter()
        .filter_map(|key| run.values.get(key).map(|v| format!("{key}: {v}")))
        .collect();
    words.option("--person", if person.is_empty() { &names.person } else { OWN_PERSON });
    words.legs(study, run, &names.knee);
    words.listed("--start", settings(study, run));
    words.listed("--order", order.iter().map(|n| n.as_str().to_owned()).collect());
    words.number("--speed", setup.speed_m_per_s);
    words.number("--cadence", setup.cadence_steps_per_min);
    words.surroundings(study, run);
    if person.is_empty() {
        return words.line();
    }
    format!("{}  # {OWN_PERSON}: person {} with {}", words.line(), names.person, person.join(", "))
}

/// Settings of a run, else those given for the study.
fn settings(study: &RulesStudy, run: &Run) -> Vec<String> {
    let given = |n| study.bench.setup.settings.get(n).map(|s| s.pct());
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

    fn legs(&mut self, study: &RulesStudy, run: &Run, knee: &str) {
        let names = &study.bench.names;
        let prosthesis = run.prosthesis.and_then(|i| names.prostheses.get(i));
        self.option("--prosthesis", prosthesis.unwrap_or(&names.prosthesis));
        self.option("--knee", knee);
    }

    /// Oil temperature, alignment and library.
    fn surroundings(&mut self, study: &RulesStudy, run: &Run) {
        let setup = &study.bench.setup;
        self.number("--temperature", run.values.get("temperature_c").copied().or(setup.temperature_c));
        let shift = setup.alignment.foot_shift_m;
        let own = run.values.contains_key("foot_shift_m");
        self.number("--foot-shift", (shift.abs() > 0.0 && !own).then_some(1e3 * shift));
        if let Some(folder) = &study.bench.names.library {
            self.option("--library", folder);
        }
    }

    fn line(&self) -> String {
        self.0.iter().map(|w| quoted(w)).collect::<Vec<_>>().join(" ")
    }
}

/// A word as a shell takes it.
fn quoted(word: &str) -> String {
    if word.chars().all(|c| c.is_alphanumeric() || "-_.,=/:".contains(c)) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', r"'\''"))
    }
}
