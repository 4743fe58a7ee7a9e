//! What a symptom is: what an observer sees, which outcomes indicate it, what to rule out first, which settings
//! a rule of thumb adjusts and in which direction, what else can cause it. The symptoms themselves are data in
//! `sim/study/adjust/symptom_data.rs`.

use crate::joint::SettingName::{self, CatchLoad, StanceYield};
use crate::outcome::{OutcomeWord, Outcomes, STRAIGHT_BEFORE_CONTACT_S, Value};
use crate::scenario::{ActivityKind, Limit};

/// Direction in which a setting is adjusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Direction {
    /// Towards 100 %.
    More,
    /// Towards 0 %: open, or the least catch load.
    Less,
}

impl Direction {
    /// +1 or −1.
    #[must_use]
    pub fn factor(self) -> f64 {
        match self {
            Self::More => 1.0,
            Self::Less => -1.0,
        }
    }

    /// The word in reports.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::More => "more",
            Self::Less => "less",
        }
    }
}

/// A rule of thumb: which setting, in which direction, why.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Adjustment {
    /// Setting.
    pub setting: SettingName,
    /// Direction.
    pub direction: Direction,
    /// Why it should help.
    pub why: &'static str,
}

impl Adjustment {
    /// Gives more support under load, or sooner support.
    #[must_use]
    pub fn adds_support(&self) -> bool {
        matches!(
            (self.setting, self.direction),
            (StanceYield, Direction::More) | (CatchLoad, Direction::Less)
        )
    }
}

/// How an outcome indicates a symptom. The text is the key of the outcome.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Indicator {
    /// Below its limit.
    Below(&'static str),
    /// Above its limit.
    Above(&'static str),
    /// Not reached.
    NotReached(&'static str),
    /// One of these words, and the limit does not allow it.
    Word(&'static str, &'static [OutcomeWord]),
    /// Above this number, a value of judgement, for an outcome that no shipped limit is about.
    AboveNumber(&'static str, f64),
}

/// What else must be true of the trial: the same outcome can have opposite causes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Condition {
    /// Nothing else.
    Always,
    /// The knee was straight before the foot landed.
    WasStraight,
    /// It was not.
    NotStraight,
    /// The knee gave way.
    GaveWay,
    /// It did not.
    DidNotGiveWay,
}

/// What happened in the trial besides the outcome in question.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Situation {
    /// Straight in time before the foot landed ([`STRAIGHT_BEFORE_CONTACT_S`]).
    pub was_straight: bool,
    /// Gave way under the weight.
    pub gave_way: bool,
}

impl Situation {
    /// From the outcomes of a trial.
    #[must_use]
    pub fn of(outcomes: &Outcomes) -> Self {
        Self {
            was_straight: outcomes
                .number("extension_margin_ms")
                .is_some_and(|ms| ms > 1e3 * STRAIGHT_BEFORE_CONTACT_S),
            gave_way: outcomes.get("what_happens").and_then(Value::as_word) == Some(OutcomeWord::GivesWay),
        }
    }

    pub(super) fn meets(self, condition: Condition) -> bool {
        match condition {
            Condition::Always => true,
            Condition::WasStraight => self.was_straight,
            Condition::NotStraight => !self.was_straight,
            Condition::GaveWay => self.gave_way,
            Condition::DidNotGiveWay => !self.gave_way,
        }
    }
}

/// A symptom.
#[derive(Debug, PartialEq)]
pub struct Symptom {
    /// Name on the command line.
    pub name: &'static str,
    /// What an observer sees, as a sentence without a full stop.
    pub description: &'static str,
    /// What it means if the damper is the cause.
    pub meaning: &'static str,
    /// Activities in which it can occur.
    pub activities: &'static [ActivityKind],
    /// Outcomes that indicate it.
    pub indicators: &'static [(Indicator, Condition)],
    /// The outcome that says how severe it is.
    pub measure: Indicator,
    /// What to rule out before a setting is changed.
    pub rule_out_first: &'static [&'static str],
    /// Rules of thumb, the usual first.
    pub adjustments: &'static [Adjustment],
    /// Causes to consider if no setting helps.
    pub other_causes: &'static [&'static str],
}

impl Indicator {
    /// Key of the outcome.
    #[must_use]
    pub fn outcome(self) -> &'static str {
        match self {
            Self::Below(k)
            | Self::Above(k)
            | Self::NotReached(k)
            | Self::Word(k, _)
            | Self::AboveNumber(k, _) => k,
        }
    }

    /// Whether `value`, which breaks `limit`, is this indicator.
    #[must_use]
    pub fn matches(self, limit: &Limit, value: Value) -> bool {
        if self.outcome() != limit.outcome {
            return false;
        }
        match (self, value) {
            (Self::NotReached(_), Value::NotReached) => true,
            // an allowed word breaks a limit where the knee gives way at an end of the band over the hip moment
            (Self::Word(_, words), Value::Word(w)) if limit.allowed.contains(&w) => {
                words.contains(&OutcomeWord::GivesWay)
            }
            (Self::Word(_, words), Value::Word(w)) => words.contains(&w),
            (Self::Below(_), Value::Number(v)) => limit.min.is_some_and(|min| v < min),
            (Self::Above(_) | Self::AboveNumber(..), Value::Number(v)) => {
                limit.max.is_some_and(|max| v > max)
            }
            _ => false,
        }
    }
}

impl Symptom {
    /// Whether a broken limit of an activity indicates this symptom.
    #[must_use]
    pub fn matches(&self, kind: ActivityKind, limit: &Limit, value: Value, situation: Situation) -> bool {
        self.activities.contains(&kind)
            && self
                .indicators
                .iter()
                .any(|(indicator, condition)| situation.meets(*condition) && indicator.matches(limit, value))
    }
}
