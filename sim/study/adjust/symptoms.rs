//! What a symptom is: what is seen, which outcomes show it, what to rule out first, which settings a rule of
//! thumb turns and which way, what else it can be. The symptoms themselves are data in
//! `sim/study/adjust/symptom_data.rs`.

use super::symptom_data::SYMPTOMS;
use crate::joint::SettingName::{self, CatchLoad, StanceYield};
use crate::outcome::{OutcomeWord, Outcomes, Value};
use crate::scenario::{ActivityKind, Limit};

/// Which way a setting is turned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Way {
    /// Towards most.
    More,
    /// Towards open, or least.
    Less,
}

impl Way {
    /// +1 or −1.
    #[must_use]
    pub fn sign(self) -> f64 {
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

/// A rule of thumb: which setting, which way, why.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Turn {
    /// Setting.
    pub setting: SettingName,
    /// Way.
    pub way: Way,
    /// Why it should help.
    pub why: &'static str,
}

impl Turn {
    /// Leads towards more support under load, or sooner.
    #[must_use]
    pub fn supports(&self) -> bool {
        matches!((self.setting, self.way), (StanceYield, Way::More) | (CatchLoad, Way::Less))
    }
}

/// How an outcome shows a symptom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Sign {
    /// Below its limit.
    Below(&'static str),
    /// Above its limit.
    Above(&'static str),
    /// Not reached.
    Missing(&'static str),
    /// One of these words, and the limit does not allow it.
    Word(&'static str, &'static [OutcomeWord]),
    /// Above a judged number, for an outcome that no shipped limit is about.
    Beyond(&'static str, f64),
}

/// What else must have been seen: the same outcome can mean opposite things.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
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

/// What was seen besides the outcome in question.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Situation {
    /// Straight at some instant before the foot landed.
    pub was_straight: bool,
    /// Gave way under the weight.
    pub gave_way: bool,
}

impl Situation {
    /// Read off the outcomes of a trial.
    #[must_use]
    pub fn of(outcomes: &Outcomes) -> Self {
        Self {
            was_straight: outcomes.number("extension_margin_ms").is_some_and(|ms| ms > 0.0),
            gave_way: outcomes.get("what_happens").and_then(Value::as_word) == Some(OutcomeWord::GivesWay),
        }
    }

    pub(super) fn fits(self, when: When) -> bool {
        match when {
            When::Always => true,
            When::WasStraight => self.was_straight,
            When::NotStraight => !self.was_straight,
            When::GaveWay => self.gave_way,
            When::DidNotGiveWay => !self.gave_way,
        }
    }
}

/// A symptom.
#[derive(Debug, PartialEq)]
pub struct Symptom {
    /// Name on the command line.
    pub name: &'static str,
    /// What is seen, as a sentence without a full stop.
    pub seen: &'static str,
    /// What it means if the damper is the reason.
    pub means: &'static str,
    /// Activities in which it is looked for.
    pub activities: &'static [ActivityKind],
    /// Outcomes that show it.
    pub signs: &'static [(Sign, When)],
    /// The outcome by which more and less of it is told apart.
    pub measure: Sign,
    /// What to rule out before a setting is touched.
    pub first: &'static [&'static str],
    /// Rules of thumb, the usual first.
    pub turns: &'static [Turn],
    /// What it can be if no setting mends it.
    pub otherwise: &'static [&'static str],
}

impl Sign {
    /// Key of the outcome.
    #[must_use]
    pub fn outcome(self) -> &'static str {
        match self {
            Self::Below(k) | Self::Above(k) | Self::Missing(k) | Self::Word(k, _) | Self::Beyond(k, _) => k,
        }
    }

    /// Whether `value`, which does not hold `limit`, shows this sign.
    #[must_use]
    pub fn shown_by(self, limit: &Limit, value: Value) -> bool {
        if self.outcome() != limit.outcome {
            return false;
        }
        match (self, value) {
            (Self::Missing(_), Value::NotReached) => true,
            (Self::Word(_, words), Value::Word(w)) => words.contains(&w) && !limit.allowed.contains(&w),
            (Self::Below(_), Value::Number(v)) => limit.min.is_some_and(|min| v < min),
            (Self::Above(_) | Self::Beyond(..), Value::Number(v)) => limit.max.is_some_and(|max| v > max),
            _ => false,
        }
    }
}

impl Symptom {
    /// Whether a broken limit of an activity is this symptom.
    #[must_use]
    pub fn shown_by(&self, kind: ActivityKind, limit: &Limit, value: Value, besides: Situation) -> bool {
        self.activities.contains(&kind)
            && self.signs.iter().any(|(s, when)| besides.fits(*when) && s.shown_by(limit, value))
    }
}

/// The symptom of a name.
#[must_use]
pub fn symptom(name: &str) -> Option<&'static Symptom> {
    SYMPTOMS.iter().find(|s| s.name == name)
}

/// The symptom that a broken limit shows.
#[must_use]
pub fn named(
    kind: ActivityKind,
    limit: &Limit,
    value: Value,
    besides: Situation,
) -> Option<&'static Symptom> {
    SYMPTOMS.iter().find(|s| s.shown_by(kind, limit, value, besides))
}
