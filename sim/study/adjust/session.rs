//! The fitting session: look, name what is seen, turn one setting by one step, re-check, keep or back out.
//!
//! **Order.** Stand, stumble, landing; then walking; then chair, ramp and stairs; then walking again; the
//! whole round again until a round changes nothing.
//! **A change** follows a rule of thumb of the symptom that is furthest from its limit. While the activity
//! shows no difference, the setting goes on the same way and only this activity is looked at: to the end of
//! its range towards more support or where the outcome is not reached at all, else for four steps.
//! **It is kept** if the symptom is less and, on re-checking everything looked at so far, (1) all that was
//! right is right and the worst margin is no worse (unless the symptom is an unsafe one: safety first), or
//! (2) the worst margin is better and nothing gives way, drops or goes without support that did not before;
//! a landing may become doubtful. Otherwise it is backed out and the next rule tried.
//! **It ends**: every move lies on a grid of steps; the session goes back to settings it has moved on from
//! only if it has looked at more activities since, which it can do no more often than there are
//! activities; and trials are bounded.

use std::collections::BTreeMap;

use super::session_engine::Run;
use super::symptoms::{Symptom, Turn};
use super::trials::{Book, Danger, Look, Position};
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::outcome::{LimitVerdict, metric};
use crate::scenario::{ActivityKind, Limit, Scenario};
use crate::study::Tick;
use crate::units::within;

/// What is looked at in the first steps, before the rest of walking.
const LANDING: &[&str] = &["landing"];

/// Order of settings and activities; what is not named follows in the usual order.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Order {
    /// Settings: with any given, rules are tried in this order whatever the symptom.
    pub settings: Vec<SettingName>,
    /// Scenarios by name; `landing` is the landing of the first walking scenario.
    pub activities: Vec<String>,
}

/// How a session goes.
#[derive(Debug, Clone, PartialEq)]
pub struct SessionOptions {
    /// Order.
    pub order: Order,
    /// Step of every setting, percentage points; by default the joint's own steps.
    pub step_pct: Option<f64>,
    /// Trials after which the session is broken off.
    pub most_trials: usize,
}

impl Default for SessionOptions {
    fn default() -> Self {
        Self { order: Order::default(), step_pct: None, most_trials: 2000 }
    }
}

impl SessionOptions {
    /// # Errors
    /// A step or a number of trials out of range.
    pub fn check(&self) -> Result<(), SimError> {
        if let Some(step) = self.step_pct {
            within("step (percent)", step, 0.1..=50.0)?;
        }
        if !(1..=100_000).contains(&self.most_trials) {
            return Err(SimError::OutOfRange {
                field: "most trials".into(),
                value: self.most_trials.to_string(),
                allowed: "1 to 100000".into(),
            });
        }
        Ok(())
    }
}

/// A setting turned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// Rule followed.
    pub turn: Turn,
    /// From, percent.
    pub from_pct: f64,
    /// To, percent.
    pub to_pct: f64,
    /// Single steps.
    pub steps: usize,
}

/// What came of looking or of a change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Came {
    /// Nothing to change.
    Right,
    /// Kept; all that was right is right.
    Kept,
    /// Kept because the worst margin is better, though this went out of its limit.
    Compromise(String),
    /// Backed out, and why.
    BackedOut(String),
    /// No rule of thumb helps here.
    Unmended(String),
    /// The trial cannot be followed.
    CannotRun(String),
}

/// One line of the log.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Round, from 1.
    pub round: usize,
    /// Activity.
    pub activity: String,
    /// Symptom.
    pub symptom: Option<&'static Symptom>,
    /// What was seen, with its value and limit.
    pub seen: String,
    /// What was turned.
    pub change: Option<Change>,
    /// What came of it.
    pub came: Came,
    /// Trials so far.
    pub trials: usize,
    /// Unsafe ones so far.
    pub unsafe_trials: usize,
}

/// How a session ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// Everything is right.
    AllRight,
    /// Something is not right, and no rule of thumb helps.
    NothingHelps,
    /// No trial was left.
    OutOfTrials,
}

/// A limit that the session could not mend.
#[derive(Debug, Clone, PartialEq)]
pub struct Unmended {
    /// Index of the scenario.
    pub scenario: usize,
    /// The limit as it is broken.
    pub limit: Limit,
    /// What was seen.
    pub seen: String,
    /// Symptom, if it has a name.
    pub symptom: Option<&'static Symptom>,
    /// Rules tried from the last settings, and what came of them.
    pub tried: Vec<String>,
}

/// A session.
#[derive(Debug, Clone)]
pub struct Session {
    /// Settings at the start.
    pub start: Position,
    /// Settings at the end.
    pub end: Position,
    /// Log.
    pub entries: Vec<Entry>,
    /// Runs of one scenario.
    pub trials: usize,
    /// Unsafe ones by reason.
    pub unsafe_by: BTreeMap<Danger, usize>,
    /// Changes of one setting by one step, kept or not.
    pub steps: usize,
    /// Those that were kept.
    pub kept_steps: usize,
    /// How it ended.
    pub ended: End,
    /// Limits still broken.
    pub unmended: Vec<Unmended>,
    /// Every scenario at the last settings.
    pub looks: Vec<Look>,
}

impl Session {
    /// Unsafe trials of any kind.
    #[must_use]
    pub fn unsafe_trials(&self) -> usize {
        self.unsafe_by.values().sum()
    }

    /// Worst margin at the end, over all scenarios.
    #[must_use]
    pub fn worst(&self) -> f64 {
        self.looks.iter().map(Look::worst).fold(f64::INFINITY, f64::min)
    }
}

/// An activity to look at.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stage {
    pub name: String,
    pub scenario: usize,
    pub only: Option<&'static [&'static str]>,
}

impl Stage {
    pub(super) fn about(&self, limit: &Limit) -> bool {
        self.only.is_none_or(|keys| keys.contains(&limit.outcome.as_str()))
    }
}

fn stages(scenarios: &[Scenario], order: &Order) -> Result<Vec<Stage>, SimError> {
    const USUAL: [ActivityKind; 6] = [
        ActivityKind::Stand,
        ActivityKind::Stumble,
        ActivityKind::Walk,
        ActivityKind::Sit,
        ActivityKind::Ramp,
        ActivityKind::Stairs,
    ];
    let of_kind =
        |kind: ActivityKind| scenarios.iter().enumerate().filter(move |(_, s)| s.activity.kind() == kind);
    let whole = |(i, s): (usize, &Scenario)| Stage { name: s.name.clone(), scenario: i, only: None };
    let mut all: Vec<Stage> = Vec::new();
    for kind in USUAL {
        if kind == ActivityKind::Walk
            && let Some((i, _)) = of_kind(kind).next()
        {
            all.push(Stage { name: "landing".into(), scenario: i, only: Some(LANDING) });
        }
        all.extend(of_kind(kind).map(whole));
    }
    let known = || all.iter().map(|s| s.name.as_str()).collect::<Vec<_>>().join(", ");
    for name in &order.activities {
        if !all.iter().any(|s| s.name == *name) {
            return Err(SimError::Unknown {
                kind: "activity of this session",
                name: name.clone(),
                known: known(),
            });
        }
    }
    let rank = |s: &Stage| order.activities.iter().position(|n| *n == s.name).unwrap_or(usize::MAX);
    all.sort_by_key(rank);
    // walking once more if anything came after it
    if all.last().is_some_and(|s| scenarios[s.scenario].activity.kind() != ActivityKind::Walk) {
        all.extend(
            of_kind(ActivityKind::Walk).map(whole).map(|s| Stage { name: format!("{} again", s.name), ..s }),
        );
    }
    Ok(all)
}

/// `label value, target range`.
#[must_use]
pub(super) fn said(limit: &LimitVerdict) -> String {
    let Some(m) = metric(&limit.limit.outcome) else { return String::new() };
    let say = |v: f64| m.say(crate::outcome::Value::Number(v));
    // rounding must not make a broken limit look kept
    let edge = |v: Option<f64>| v.is_some_and(|v| say(v) == m.say(limit.value));
    let beyond = !limit.holds() && (edge(limit.limit.min) || edge(limit.limit.max));
    let just = if beyond { "just beyond " } else { "" };
    format!("{} {just}{}, target {}", m.label, m.say(limit.value), limit.bounds())
}

/// A fitting session from the set-up's settings. Counts are those that a study over many people wants:
/// [`Session::trials`], [`Session::unsafe_trials`], [`Session::steps`].
///
/// # Errors
/// Options out of range, an unknown activity, a set-up that is wrong in itself, a failed integration.
pub fn session(
    setup: &Setup,
    scenarios: &[Scenario],
    options: &SessionOptions,
    tick: Tick<'_>,
) -> Result<Session, SimError> {
    options.check()?;
    let start = Position::of(&setup.resolve()?.knee.settings);
    let stages = stages(scenarios, &options.order)?;
    let mut run = Run::new(Book::new(setup, scenarios, options.most_trials, tick), options, start);
    let in_time = run.rounds(&stages)?;
    run.close(start, in_time)
}
