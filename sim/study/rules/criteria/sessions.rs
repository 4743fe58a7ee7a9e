//! Rules 16 and 17: two whole fitting sessions, counted. A session that runs out of trials has no count.

use crate::joint::SettingName;
use crate::study::adjust::{End, Order, Session, SessionOptions, session};
use crate::study::rules::experiment::{Joint, Judged, Run, Seen, Sense, Stop, Try};
use crate::units::Setting;

const SWING: [&str; 2] = ["swing-flexion", "swing-extension"];
const FLEXION_FIRST: &[SettingName] = &[SettingName::SwingFlexion, SettingName::SwingExtension];
const EXTENSION_FIRST: &[SettingName] = &[SettingName::SwingExtension, SettingName::SwingFlexion];

/// A session with the sampled person, prosthesis and oil; the settings at its start are drawn but for those
/// that stay `as_usual`.
fn base(t: &Try, as_usual: &[&str]) -> Run {
    let mut values = t.sample.values.clone();
    if let Some(pct) = t.catch_pct() {
        values.insert("catch-load", pct);
    }
    const TAKEN: [&str; 3] = ["mass_kg", "stature_m", "temperature_c"];
    values.retain(|key, _| {
        TAKEN.contains(key) || (SettingName::parse(key).is_some() && !as_usual.contains(key))
    });
    if t.bench.holds("stature_m") && !t.bench.holds("mass_kg") {
        values.insert("stature_m", t.bench.setup.person.stature_m());
    }
    Run {
        scenario: "",
        joint: Joint::Own,
        prosthesis: t.sample.prosthesis,
        landing: false,
        session: Some(&[]),
        values,
    }
}

fn held(t: &Try, run: &Run) -> Result<Session, Stop> {
    let mut setup = t.bench.setup.clone();
    if let Some(p) = run.prosthesis.and_then(|i| t.bench.prostheses.get(i)) {
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
    let s = session(&setup, &t.bench.session_scenarios, &options, &|| ())?;
    if s.ended == End::OutOfTrials {
        return Err(Stop::Undecided("a session runs out of trials"));
    }
    if s.looks.iter().any(|l| l.assessment.is_err()) {
        return Err(Stop::Undecided("at the end of a session a scenario cannot be followed"));
    }
    Ok(s)
}

/// What two sessions counted, and where they came to.
fn said(count: impl Fn(&Session) -> String, sessions: [&Session; 2]) -> String {
    let one =
        |s: &Session| format!("{} of {} trials (worst margin then {:.2})", count(s), s.trials, s.worst());
    format!("{} -> {}", one(sessions[0]), one(sessions[1]))
}

/// Unsafe trials from two starts: by how many fewer the first has.
fn unsafe_trials(t: &Try, runs: [Run; 2]) -> Result<(f64, String, Vec<Run>), Stop> {
    let (a, b) = (held(t, &runs[0])?, held(t, &runs[1])?);
    let fewer = b.unsafe_trials() as f64 - a.unsafe_trials() as f64;
    Ok((fewer, said(|s| format!("{} unsafe", s.unsafe_trials()), [&a, &b]), runs.to_vec()))
}

/// The start with settings all open, and all closed; a setting that the joint does not have has neither.
fn open_and_closed(t: &Try, base: &Run, keys: &[&'static str]) -> Result<[Run; 2], Stop> {
    for key in keys {
        let name = SettingName::parse(key);
        if name.is_none_or(|n| t.bench.setup.knee.step_pct(n).is_none()) {
            return Err(Stop::Undecided("this joint has no such setting"));
        }
    }
    Ok([0.0, 100.0].map(|pct| keys.iter().fold(base.clone(), |run, key| run.with(key, pct))))
}

pub(in crate::study::rules) fn swing_open_is_safer(t: &Try) -> Judged {
    let runs = open_and_closed(t, &base(t, &["stance-yield", "catch-load"]), &SWING)?;
    let (fewer, said, runs) = unsafe_trials(t, runs)?;
    Ok(Seen { sense: Sense::of(fewer, 0.0), effect: fewer, said, runs })
}

/// A denial: as many unsafe trials agree with it too.
pub(in crate::study::rules) fn yield_open_is_not_safer(t: &Try) -> Judged {
    let runs = open_and_closed(t, &base(t, &[]), &["stance-yield"])?;
    let (fewer, said, runs) = unsafe_trials(t, runs)?;
    Ok(Seen { sense: Sense::so(fewer <= 0.0), effect: -fewer, said, runs })
}

pub(in crate::study::rules) fn flexion_first_is_shorter(t: &Try) -> Judged {
    let start = base(t, &[]);
    open_and_closed(t, &start, &SWING)?;
    let runs = [FLEXION_FIRST, EXTENSION_FIRST].map(|order| Run { session: Some(order), ..start.clone() });
    let (a, b) = (held(t, &runs[0])?, held(t, &runs[1])?);
    let fewer = b.steps as f64 - a.steps as f64;
    let said = said(|s| format!("{} steps", s.steps), [&a, &b]);
    Ok(Seen { sense: Sense::of(fewer, 0.0), effect: fewer, said, runs: runs.to_vec() })
}
