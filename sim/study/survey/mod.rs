//! The main job: every scenario for one set-up, with verdicts, the limiting limit and a sentence.

pub mod plot;

use rayon::prelude::*;

use super::sensitivity::{NUDGE_PCT, SettingSensitivity, breaks_elsewhere, setting_sensitivity};
use crate::case::setup::{Resolved, Setup};
use crate::error::SimError;
use crate::motion::Motion;
use crate::outcome::{Assessment, LimitVerdict, Value, metric};
use crate::scenario::Scenario;

/// What `run` found.
#[derive(Debug)]
pub struct Survey {
    /// What went in.
    pub setup: Setup,
    /// The same in numbers that act.
    pub resolved: Resolved,
    /// One per scenario, in the order asked for.
    pub runs: Vec<ScenarioRun>,
}

/// One scenario.
#[derive(Debug)]
pub struct ScenarioRun {
    /// The scenario as run.
    pub scenario: Scenario,
    /// What came out, or why it cannot run.
    pub result: Result<RunResult, SimError>,
}

/// Outcomes and verdicts of one scenario.
#[derive(Debug, Clone)]
pub struct RunResult {
    /// Outcomes, limits, energy balance.
    pub assessment: Assessment,
    /// What a reader has to know besides.
    pub notes: Vec<String>,
    /// Stride time and toe-off, s, for walking.
    pub stride_s: Option<(f64, f64)>,
    /// The setting that does most for the limiting limit.
    pub acting: Option<SettingSensitivity>,
}

/// Runs the scenarios for a set-up.
///
/// # Errors
/// A set-up that is wrong in itself. A scenario that cannot run is reported in its place; any other
/// failure of a run is an error.
pub fn survey(setup: Setup, scenarios: Vec<Scenario>) -> Result<Survey, SimError> {
    let resolved = setup.resolve()?;
    let mut runs = scenarios
        .into_par_iter()
        .map(|scenario| {
            let result = SimError::finding(one(&setup, &scenario))?;
            Ok(ScenarioRun { scenario, result })
        })
        .collect::<Result<Vec<_>, SimError>>()?;
    look_elsewhere(&setup, &mut runs);
    Ok(Survey { setup, resolved, runs })
}

/// What each move that helps one scenario does to the others that hold.
fn look_elsewhere(setup: &Setup, runs: &mut [ScenarioRun]) {
    let held: Vec<&ScenarioRun> =
        runs.iter().filter(|r| r.result.as_ref().is_ok_and(|x| x.assessment.holds())).collect();
    let found: Vec<Vec<(String, &'static str)>> = runs
        .par_iter()
        .map(|run| {
            let Some(acting) = run.result.as_ref().ok().and_then(|r| r.acting.as_ref()) else {
                return vec![];
            };
            let others = held.iter().filter(|r| r.scenario.name != run.scenario.name);
            others
                .filter_map(|r| {
                    breaks_elsewhere(setup, &r.scenario, acting).map(|label| (r.scenario.name.clone(), label))
                })
                .collect()
        })
        .collect();
    for (run, elsewhere) in runs.iter_mut().zip(found) {
        if let Ok(RunResult { acting: Some(acting), .. }) = &mut run.result {
            acting.elsewhere = elsewhere;
        }
    }
}

fn one(setup: &Setup, scenario: &Scenario) -> Result<RunResult, SimError> {
    let trial = setup.trial(scenario)?;
    let motion = trial.run()?;
    let assessment = Assessment::of_motion(&trial, &motion)?;
    let acting = setting_sensitivity(setup, scenario, &assessment)?;
    let stride_s = match &motion {
        Motion::Walk(w) => Some((w.stride.drive.stride_time_s, w.stride.drive.toe_off_s)),
        _ => None,
    };
    Ok(RunResult { assessment, notes: motion.notes(), stride_s, acting })
}

impl Survey {
    /// Every scenario ran and holds its limits.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.runs.iter().all(|r| r.result.as_ref().is_ok_and(|x| x.assessment.holds()))
    }
}

impl RunResult {
    /// One plain sentence: what would be seen, and which setting acts on it.
    #[must_use]
    pub fn sentence(&self) -> String {
        let Some(limit) = self.assessment.limiting() else {
            return "No limits to hold it against.".into();
        };
        let seen = limit.seen();
        let begin = if limit.holds() {
            let beyond = beyond(limit);
            format!(
                "All limits hold; closest is {} at {}; beyond it {beyond}",
                label(limit),
                said(limit, limit.value)
            )
        } else {
            format!("What would be seen: {seen} ({} {})", label(limit), said(limit, limit.value))
        };
        let end = match &self.acting {
            Some(a) => format!(
                " Of the settings, {} acts most: {:.0} points {} and it is {}{}{}.",
                a.setting,
                a.moved_pct.abs(),
                if a.moved_pct < 0.0 { "less" } else { "more" },
                said(limit, a.to),
                breaking(&a.breaks),
                elsewhere(&a.elsewhere)
            ),
            None if limit.holds() => String::new(),
            None => format!(
                " No setting moved by {NUDGE_PCT:.0} points betters the worst of this scenario: look at assist \
                 spring, stop, alignment or another joint."
            ),
        };
        format!("{begin}.{end}")
    }
}

/// `, but then … is beyond its limit`.
fn breaking(keys: &[&'static str]) -> String {
    let labels: Vec<&str> = keys.iter().filter_map(|k| metric(k)).map(|m| m.label).collect();
    match labels.as_slice() {
        [] => String::new(),
        [one] => format!(", but then {one} no longer holds"),
        many => format!(", but then {} no longer hold", listed(many)),
    }
}

/// `; elsewhere it breaks sit-down (time to sit down)`.
fn elsewhere(broken: &[(String, &'static str)]) -> String {
    let said: Vec<String> = broken.iter().map(|(scenario, label)| format!("{scenario} ({label})")).collect();
    let said: Vec<&str> = said.iter().map(String::as_str).collect();
    if said.is_empty() { String::new() } else { format!("; it would break {}", listed(&said)) }
}

/// `a, b and c`.
fn listed(parts: &[&str]) -> String {
    match parts {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// What would be seen beyond the nearer edge of a limit that holds.
fn beyond(limit: &LimitVerdict) -> &'static str {
    let Some(m) = metric(&limit.limit.outcome) else { return "" };
    let Value::Number(v) = limit.value else { return m.seen_above };
    let below = limit.limit.min.map_or(f64::INFINITY, |min| v - min);
    let above = limit.limit.max.map_or(f64::INFINITY, |max| max - v);
    if below < above { m.seen_below } else { m.seen_above }
}

fn label(limit: &LimitVerdict) -> &'static str {
    metric(&limit.limit.outcome).map_or("", |m| m.label)
}

fn said(limit: &LimitVerdict, value: Value) -> String {
    metric(&limit.limit.outcome).map_or_else(String::new, |m| m.say(value))
}
