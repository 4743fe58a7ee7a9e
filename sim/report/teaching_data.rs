//! Lessons and challenges as data of the page. What is asked before the guess stands in the data of the start; which
//! answer is right, and what `adjust` needs, is asked for on its own, when it is to be shown.

use serde_json::{Map, Value as Json, json};

use super::scenario_data::scenario;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::outcome::{LimitVerdict, Value, metric};
use crate::scenario::Scenario;
use crate::study::adjust::{Danger, ReportLevel, SessionEnd, SessionReport};
use crate::teaching::challenge_session;
use crate::teaching::challenges::{self, Challenge};
use crate::teaching::lesson_runs::LessonRuns;
use crate::teaching::lessons::{self, Lesson};
use crate::teaching::model_set::ModelSet;
use crate::words::Words;

/// A lesson with what can be moved in it.
pub(super) fn lesson(models: &ModelSet, words: &Words, l: &Lesson) -> Result<Json, SimError> {
    let grid = l.grid();
    let first = models.scenario(l.scenarios[0])?;
    let sliders = grid
        .sliders
        .iter()
        .map(|s| {
            let said = s.values_in_words(&models.base, first)?;
            Ok(json!({ "key": s.key, "label": s.label(), "values": s.values, "said": said }))
        })
        .collect::<Result<Vec<_>, SimError>>()?;
    let text = |what: &str| words.lesson(l.number, what);
    Ok(json!({
        "number": l.number,
        "title": text("title"),
        "situation": text("situation"),
        "watch": text("watch"),
        "question": text("question"),
        "answers": l.answers.iter().map(|a| text(&format!("answers.{}.text", a.key))).collect::<Vec<_>>(),
        "why": text("why"),
        "consider": text("consider"),
        "scenarios": l.scenarios,
        "variants": l.variants,
        "vote": { "scenario": l.about.scenario, "variant": l.about.variant },
        "sliders": sliders,
    }))
}

/// A challenge as it is put, with its scenarios.
pub(super) fn challenge(models: &ModelSet, words: &Words, c: &Challenge) -> Result<Json, SimError> {
    let scenarios = challenge_session::scenarios(models, c)?;
    let resolved = challenge_session::start(models, c)?.resolve()?;
    let pct = |n: SettingName| resolved.knee.settings.get(n).map(|s| (s.pct() * 10.0).round() / 10.0);
    let settings: Map<String, Json> =
        SettingName::ALL.into_iter().filter_map(|n| Some((n.to_string(), json!(pct(n)?)))).collect();
    Ok(json!({
        "number": c.number,
        "title": words.challenge(c.number, "title"),
        "situation": words.challenge(c.number, "situation"),
        "start": c.start,
        "settings": settings,
        "turns": c.turns.iter().map(|n| n.as_str()).collect::<Vec<_>>(),
        "goals": c.goals.iter().filter_map(|g| {
            let place = c.scenarios.iter().position(|s| *s == g.scenario)?;
            let limit = scenarios[place].limits.iter().find(|l| l.outcome == g.outcome)?;
            Some(json!({
                "scenario": c.scenario_name(g.scenario),
                "label": metric(g.outcome)?.table_label(),
                "bounds": LimitVerdict::of(limit, Value::NotReached).bounds(),
            }))
        }).collect::<Vec<_>>(),
        "scenarios": scenarios.iter().map(|s| scenario(models, s)).collect::<Vec<_>>(),
    }))
}

/// What is shown after a guess or at the end of a challenge: `lesson` or `challenge`, and its number.
///
/// # Errors
/// No such lesson or challenge; a failed run.
pub fn result(models: &ModelSet, words: &Words, of: &str, number: u8) -> Result<Json, SimError> {
    let unknown = || {
        SimError::Usage(format!(
            "there is no such {}: {number}",
            if of == "lesson" { of } else { "challenge" }
        ))
    };
    match of {
        "lesson" => lesson_result(models, words, lessons::lesson(number).ok_or_else(unknown)?),
        "challenge" => challenge_result(models, challenges::challenge(number).ok_or_else(unknown)?),
        _ => Err(SimError::Usage("a result is that of a lesson or a challenge".to_owned())),
    }
}

/// Which answer is right, what is said to each, and the numbers that were asked about.
fn lesson_result(models: &ModelSet, words: &Words, l: &'static Lesson) -> Result<Json, SimError> {
    let runs = LessonRuns::of(models, l)?;
    let answers = l.answers.iter().zip(runs.right()).map(|(a, right)| {
        let template = words.lesson(l.number, &format!("answers.{}.explanation", a.key));
        Ok(json!({ "right": right, "explanation": runs.fill(&template, &|value| words.said(value))? }))
    });
    let asked = runs.asked()?;
    Ok(json!({
        "answers": answers.collect::<Result<Vec<_>, SimError>>()?,
        "asked": asked.iter().map(|r| json!({
            "scenario": r.scenario, "label": r.label, "bounds": r.bounds, "values": r.values,
        })).collect::<Vec<_>>(),
    }))
}

/// Trials of the session of `adjust` from the same start, and what it changed.
fn challenge_result(models: &ModelSet, c: &Challenge) -> Result<Json, SimError> {
    let session = challenge_session::session(models, c)?;
    let scenarios: Vec<Scenario> = challenge_session::plainly_named(models, c)?;
    let report = SessionReport { scenarios: &scenarios, session: &session, best: None };
    let kinds =
        Danger::ALL.into_iter().filter_map(|d| session.unsafe_by.get(&d).map(|n| json!([d.as_str(), n])));
    let text = report.findings(ReportLevel::Answer).text;
    let text: Vec<String> = text.into_iter().skip(1).filter(|t| !t.starts_with("--")).collect();
    Ok(json!({
        "trials": session.trials,
        "unsafe": session.unsafe_trials(),
        "unsafe_by": kinds.collect::<Vec<_>>(),
        "won": session.ended == SessionEnd::AllWithinLimits,
        // counts stand above, and what to type next belongs to the command line
        "text": text,
    }))
}
