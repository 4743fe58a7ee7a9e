//! What a fitting session takes and what it gives: options, log, result.

use std::collections::BTreeMap;

use super::symptoms::{Adjustment, Symptom};
use super::trials::{Danger, Position, TrialResult};
use crate::error::SimError;
use crate::joint::SettingName;
use crate::scenario::Limit;
use crate::units::within;

/// Order of settings and activities; what is not named follows in the usual order.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Order {
    /// Settings: with any given, rules are tried in this order whatever the symptom.
    pub settings: Vec<SettingName>,
    /// Scenarios by name; `landing` is the landing of the first walking scenario.
    pub activities: Vec<String>,
}

/// Options of a session.
#[derive(Debug, Clone, PartialEq)]
pub struct SessionOptions {
    /// Order.
    pub order: Order,
    /// Step of every setting, percentage points; by default the joint's own steps.
    pub step_pct: Option<f64>,
    /// Trials after which the session is broken off.
    pub max_trials: usize,
}

impl Default for SessionOptions {
    fn default() -> Self {
        Self { order: Order::default(), step_pct: None, max_trials: 2000 }
    }
}

impl SessionOptions {
    /// # Errors
    /// A step or a number of trials out of range.
    pub fn check(&self) -> Result<(), SimError> {
        if let Some(step) = self.step_pct {
            within("step (percent)", step, 0.1..=50.0)?;
        }
        if !(1..=100_000).contains(&self.max_trials) {
            return Err(SimError::OutOfRange {
                field: "most trials".into(),
                value: self.max_trials.to_string(),
                allowed: "1 to 100000".into(),
            });
        }
        Ok(())
    }
}

/// A change of one setting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SettingChange {
    /// Rule of thumb that it follows.
    pub adjustment: Adjustment,
    /// From, percent.
    pub from_pct: f64,
    /// To, percent.
    pub to_pct: f64,
    /// Single steps.
    pub steps: usize,
}

/// Result of testing an activity or of a change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StepOutcome {
    /// Every limit of the activity is met: nothing to change.
    WithinLimits,
    /// The change is kept; every limit that was met still is.
    Kept,
    /// The change is kept because the worst margin is better, though this limit is not met any more.
    Compromise(String),
    /// The change is backed out, and why.
    BackedOut(String),
    /// A limit is not met and no rule of thumb helps; what was tried.
    NothingHelps(String),
    /// The trial cannot be followed.
    CannotRun(String),
    /// The session goes back to settings that it has left, and why.
    Returned(String),
}

/// One line of the log.
#[derive(Debug, Clone, PartialEq)]
pub struct LogEntry {
    /// Round, from 1.
    pub round: usize,
    /// Activity.
    pub activity: String,
    /// Symptom.
    pub symptom: Option<&'static Symptom>,
    /// The worst outcome, with its value and limit.
    pub observed: String,
    /// Change made.
    pub change: Option<SettingChange>,
    /// Its result.
    pub outcome: StepOutcome,
    /// Trials so far.
    pub trials: usize,
    /// Unsafe ones so far.
    pub unsafe_trials: usize,
}

/// How a session ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SessionEnd {
    /// Every limit is met.
    AllWithinLimits,
    /// A limit is broken or doubtful, and no rule of thumb helps.
    NothingHelps,
    /// No trial was left.
    OutOfTrials,
}

/// A limit that is broken or doubtful at the end.
#[derive(Debug, Clone, PartialEq)]
pub struct UnmetLimit {
    /// Index of the scenario.
    pub scenario: usize,
    /// The limit.
    pub limit: Limit,
    /// The outcome, with its value and limit.
    pub observed: String,
    /// Symptom, if it has a name.
    pub symptom: Option<&'static Symptom>,
    /// Rules tried from the last settings, and their results.
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
    pub log: Vec<LogEntry>,
    /// Runs of one scenario.
    pub trials: usize,
    /// Unsafe ones by reason.
    pub unsafe_by: BTreeMap<Danger, usize>,
    /// Changes of one setting by one step, kept or not.
    pub steps: usize,
    /// Those that were kept.
    pub kept_steps: usize,
    /// How it ended.
    pub ended: SessionEnd,
    /// Limits broken or doubtful at the end.
    pub unmet: Vec<UnmetLimit>,
    /// Every scenario at the last settings.
    pub final_results: Vec<TrialResult>,
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
        self.final_results.iter().map(TrialResult::worst).fold(f64::INFINITY, f64::min)
    }
}
