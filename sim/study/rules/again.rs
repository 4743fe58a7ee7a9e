//! Counter-examples as commands that run them again.

use super::RulesStudy;
use super::trying::{Joint, Run};
use crate::joint::SettingName;

/// The command that runs it again.
pub(super) fn command(study: &RulesStudy, run: &Run) -> String {
    let (names, setup) = (&study.bench.names, &study.bench.setup);
    if let Some(order) = run.session {
        return session(study, run, order);
    }
    let mut words = vec!["kneedamp".to_owned(), "run".into(), run.scenario.into()];
    let mut option = |name: &str, value: String| words.extend([name.to_owned(), value]);
    option("--person", names.person.clone());
    let prosthesis = run.prosthesis.and_then(|i| names.prostheses.get(i)).unwrap_or(&names.prosthesis);
    option("--prosthesis", prosthesis.clone());
    let own = run.joint == Joint::Own;
    option("--knee", if own { names.knee.clone() } else { names.friction_knee.clone() });
    let settings: Vec<String> = SettingName::ALL
        .into_iter()
        .filter_map(|n| {
            let given = setup.settings.get(n).map(|s| s.pct());
            run.values.get(n.as_str()).copied().or(given).map(|pct| format!("{n}={pct}"))
        })
        .collect();
    if !settings.is_empty() {
        option("--set", settings.join(","));
    }
    let walks = run.scenario.starts_with("walk");
    let hurried = run.scenario == super::table::CROWD;
    let pace = |key: &str, given: Option<f64>| {
        run.values.get(key).copied().or(given.filter(|_| !hurried)).filter(|_| walks)
    };
    if let Some(v) = pace("speed_m_per_s", setup.speed_m_per_s) {
        option("--speed", v.to_string());
    }
    if let Some(v) = pace("cadence_steps_per_min", setup.cadence_steps_per_min) {
        option("--cadence", v.to_string());
    }
    if let Some(v) = run.values.get("temperature_c").copied().or(setup.temperature_c) {
        option("--temperature", v.to_string());
    }
    let shift = setup.alignment.foot_shift_m;
    if shift.abs() > 0.0 && !run.values.contains_key("foot_shift_m") {
        option("--foot-shift", (1e3 * shift).to_string());
    }
    if let Some(folder) = &names.library {
        option("--library", folder.clone());
    }
    const OPTIONS: [&str; 3] = ["speed_m_per_s", "cadence_steps_per_min", "temperature_c"];
    let others: Vec<String> = run
        .values
        .iter()
        .filter(|(k, _)| SettingName::parse(k).is_none() && !OPTIONS.contains(*k))
        .map(|(k, v)| format!("{k}={v}"))
        .collect();
    if !others.is_empty() {
        option("--input", others.join(","));
    }
    words.iter().map(|w| quoted(w)).collect::<Vec<_>>().join(" ")
}

/// The command of a fitting session. It takes a person from a file: what to put into a copy of it stands in a
/// comment of the shell.
fn session(study: &RulesStudy, run: &Run, order: &[SettingName]) -> String {
    const OWN_PERSON: &str = "mine.yaml";
    let (names, setup) = (&study.bench.names, &study.bench.setup);
    let mut words = vec!["kneedamp".to_owned(), "adjust".into(), "--starts".into(), "0".into()];
    let mut option = |name: &str, value: String| words.extend([name.to_owned(), value]);
    let person: Vec<String> = ["mass_kg", "stature_m"]
        .iter()
        .filter_map(|key| run.values.get(key).map(|v| format!("{key}: {v}")))
        .collect();
    option("--person", if person.is_empty() { names.person.clone() } else { OWN_PERSON.into() });
    let prosthesis = run.prosthesis.and_then(|i| names.prostheses.get(i)).unwrap_or(&names.prosthesis);
    option("--prosthesis", prosthesis.clone());
    option("--knee", names.knee.clone());
    let start: Vec<String> = SettingName::ALL
        .into_iter()
        .filter_map(|n| {
            let given = setup.settings.get(n).map(|s| s.pct());
            run.values.get(n.as_str()).copied().or(given).map(|pct| format!("{n}={pct}"))
        })
        .collect();
    if !start.is_empty() {
        option("--start", start.join(","));
    }
    if !order.is_empty() {
        option("--order", order.iter().map(|n| n.as_str()).collect::<Vec<_>>().join(","));
    }
    if let Some(v) = setup.speed_m_per_s {
        option("--speed", v.to_string());
    }
    if let Some(v) = setup.cadence_steps_per_min {
        option("--cadence", v.to_string());
    }
    if let Some(v) = run.values.get("temperature_c").copied().or(setup.temperature_c) {
        option("--temperature", v.to_string());
    }
    if setup.alignment.foot_shift_m.abs() > 0.0 {
        option("--foot-shift", (1e3 * setup.alignment.foot_shift_m).to_string());
    }
    if let Some(folder) = &names.library {
        option("--library", folder.clone());
    }
    let command = words.iter().map(|w| quoted(w)).collect::<Vec<_>>().join(" ");
    if person.is_empty() {
        return command;
    }
    format!("{command}  # {OWN_PERSON}: person {} with {}", names.person, person.join(", "))
}

/// A word as a shell takes it.
fn quoted(word: &str) -> String {
    if word.chars().all(|c| c.is_alphanumeric() || "-_.,=/:".contains(c)) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', r"'\''"))
    }
}
