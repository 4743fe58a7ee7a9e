//! Rules 16 and 17: the counts of two whole fitting sessions. A session that runs out of trials has no count.

use crate::joint::SettingName;
use crate::study::adjust::{Order, Session, SessionEnd, SessionOptions, run_session};
use crate::study::rules::evidence::{Abort, Agreement, Evidence, ExperimentResult, KneeChoice, RunSpec};
use crate::study::rules::experiment::Experiment;
use crate::units::Setting;

const SWING: [&str; 2] = ["swing-flexion", "swing-extension"];
const FLEXION_FIRST: &[SettingName] = &[SettingName::SwingFlexion, SettingName::SwingExtension];
const EXTENSION_FIRST: &[SettingName] = &[SettingName::SwingExtension, SettingName::SwingFlexion];

/// A session with the sampled person, prosthesis and oil temperature. The settings at its start are sampled, except
/// `not_sampled`.
fn base(e: &Experiment, not_sampled: &[&str]) -> RunSpec {
    let mut values = e.sample.values.clone();
    if let Some(pct) = e.catch_pct() {
        values.insert("catch-load", pct);
    }
    const SAMPLED: [&str; 3] = ["mass_kg", "stature_m", "temperature_c"];
    values.retain(|key, _| {
        SAMPLED.contains(key) || (SettingName::parse(key).is_some() && !not_sampled.contains(key))
    });
    if e.fixtures.is_fixed("stature_m") && !e.fixtures.is_fixed("mass_kg") {
        values.insert("stature_m", e.fixtures.setup.person.stature_m());
    }
    RunSpec {
        scenario: "",
        knee: KneeChoice::Setup,
        prosthesis: e.sample.prosthesis,
        landing: false,
        session: Some(&[]),
        values,
    }
}

fn session(e: &Experiment, run: &RunSpec) -> Result<Session, Abort> {
    let mut setup = e.fixtures.setup.clone();
    if let Some(p) = run.prosthesis.and_then(|i| e.fixtures.prostheses.get(i)) {
        setup.prosthesis = p.clone();
    }
    for (key, value) in &run.values {
        match (SettingName::parse(key), *key) {
            (Some(name), _) => setup.settings.set(name, Setting::from_pct(key, *value)?),
            (None, "mass_kg") => setup.person.mass_kg = *value,
            (None, "stature_m") => setup.person.stature_given_m = Some(*value),
            _ => setup.temperature_c = Some(*value),
        }
    }
    let order = Order { settings: run.session.unwrap_or(&[]).to_vec(), activities: vec![] };
    let options = SessionOptions { order, ..SessionOptions::default() };
    let s = run_session(&setup, &e.fixtures.session_scenarios, &options, &|| ())?;
    if s.ended == SessionEnd::OutOfTrials {
        return Err(Abort::Undecided("a session runs out of trials"));
    }
    if s.final_results.iter().any(|r| r.assessment.is_err()) {
        return Err(Abort::Undecided("at the end of a session a scenario cannot be followed"));
    }
    Ok(s)
}

/// The counts of two sessions, and the worst margins at their ends.
fn counts_text(count: impl Fn(&Session) -> String, sessions: [&Session; 2]) -> String {
    let one =
        |s: &Session| format!("{} of {} trials (worst margin then {:.2})", count(s), s.trials, s.worst());
    format!("{} -> {}", one(sessions[0]), one(sessions[1]))
}

/// Unsafe trials of two starts: how many fewer the first has.
fn unsafe_trials(e: &Experiment, runs: [RunSpec; 2]) -> Result<(f64, String, Vec<RunSpec>), Abort> {
    let (a, b) = (session(e, &runs[0])?, session(e, &runs[1])?);
    let fewer = b.unsafe_trials() as f64 - a.unsafe_trials() as f64;
    Ok((fewer, counts_text(|s| format!("{} unsafe", s.unsafe_trials()), [&a, &b]), runs.to_vec()))
}

/// The start with the settings open, and with them closed; undecided if the joint does not have one of them.
fn open_and_closed(e: &Experiment, base: &RunSpec, keys: &[&'static str]) -> Result<[RunSpec; 2], Abort> {
    for key in keys {
        let name = SettingName::parse(key);
        if name.is_none_or(|n| e.fixtures.setup.knee.step_pct(n).is_none()) {
            return Err(Abort::Undecided("this joint has no such setting"));
        }
    }
    Ok([0.0, 100.0].map(|pct| keys.iter().fold(base.clone(), |run, key| run.with(key, pct))))
}

pub(in crate::study::rules) fn swing_open_is_safer(e: &Experiment) -> ExperimentResult {
    let runs = open_and_closed(e, &base(e, &["stance-yield", "catch-load"]), &SWING)?;
    let (fewer, description, runs) = unsafe_trials(e, runs)?;
    Ok(Evidence { agreement: Agreement::of(fewer, 0.0), effect: fewer, description, runs })
}

/// The statement says "no fewer": an equal number agrees with it, too.
pub(in crate::study::rules) fn yield_open_is_not_safer(e: &Experiment) -> ExperimentResult {
    let runs = open_and_closed(e, &base(e, &[]), &["stance-yield"])?;
    let (fewer, description, runs) = unsafe_trials(e, runs)?;
    Ok(Evidence { agreement: Agreement::of_bool(fewer <= 0.0), effect: -fewer, description, runs })
}

pub(in crate::study::rules) fn flexion_first_is_shorter(e: &Experiment) -> ExperimentResult {
    let start = base(e, &[]);
    open_and_closed(e, &start, &SWING)?;
    let runs =
        [FLEXION_FIRST, EXTENSION_FIRST].map(|order| RunSpec { session: Some(order), ..start.clone() });
    let (a, b) = (session(e, &runs[0])?, session(e, &runs[1])?);
    let fewer = b.steps as f64 - a.steps as f64;
    let description = counts_text(|s| format!("{} steps", s.steps), [&a, &b]);
    Ok(Evidence { agreement: Agreement::of(fewer, 0.0), effect: fewer, description, runs: runs.to_vec() })
}
