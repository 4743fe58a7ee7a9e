//! Outcomes of a motion. One registry row for each outcome drives terminal, JSON, CSV, limits and help; a new
//! outcome is a measure in one of the files here and a row in [`METRICS`].

mod ground;
mod leg;
pub mod many;
mod registry;
mod sitting;
mod standing;
pub mod stride;
pub mod verdict;
pub mod walking;
mod wording;

pub use crate::scenario::OutcomeWord;
pub use leg::{landing_rank, landing_word, step_word};
pub use registry::METRICS;
pub use stride::StrideReading;
pub use verdict::{
    Assessment, LimitVerdict, MISSED, Reading, TrialVerdict, Verdict, binding, measured_margin,
};
pub use walking::STRAIGHT_BEFORE_CONTACT_S;

use crate::error::SimError;
use crate::motion::Motion;
use crate::motion::stride_cache::ReferenceStride;
use crate::motion::trial::Detail;
use crate::scenario::{ActivityKind, Limit};

/// Value of an outcome.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Value {
    /// A number in the outcome's unit.
    Number(f64),
    /// One of the outcome's words.
    Word(OutcomeWord),
    /// Did not happen: never straight, never reached the seat.
    NotReached,
}

impl From<f64> for Value {
    fn from(v: f64) -> Self {
        Self::Number(v)
    }
}

impl Value {
    /// A number, or not reached.
    #[must_use]
    pub fn number(v: Option<f64>) -> Self {
        v.map_or(Self::NotReached, Self::Number)
    }

    /// The number, if it is one.
    #[must_use]
    pub fn as_number(self) -> Option<f64> {
        match self {
            Self::Number(v) => Some(v),
            _ => None,
        }
    }

    /// The word, if it is one.
    #[must_use]
    pub fn as_word(self) -> Option<OutcomeWord> {
        match self {
            Self::Word(w) => Some(w),
            _ => None,
        }
    }
}

/// One row of the registry.
#[derive(Debug)]
pub struct Metric {
    /// Key in JSON, CSV and limits; carries the unit.
    pub key: &'static str,
    /// What it is, for people.
    pub label: &'static str,
    /// Unit as printed.
    pub unit: &'static str,
    /// Decimals in tables.
    pub decimals: usize,
    /// Words for its sign; none where a minus sign is clear.
    pub sign: Option<SignWords>,
    /// Activities in which it is measured.
    pub activities: &'static [ActivityKind],
    /// Words it can be; empty for a number.
    pub words: &'static [OutcomeWord],
    /// What an observer sees when it lies below its limit.
    pub seen_below: &'static str,
    /// What an observer sees when it lies above its limit, or is a word that is not allowed.
    pub seen_above: &'static str,
    /// What an observer sees when it is not reached.
    pub seen_missing: &'static str,
    /// Outcomes that are judged beside it (`verdict`): for a word what happens at both ends of the band over the hip
    /// moment, and the friction needed; for full extension the flexion shortly before heel contact.
    pub beside: &'static [&'static str],
    /// What a sentence says where it is not reached; empty for the label and `not reached`.
    pub not_reached: &'static str,
    /// A check of the model: shown only in full, or where its limit is missed.
    pub internal: bool,
    /// Outcome whose limit already says that this one is not reached.
    pub missed_with: Option<&'static str>,
    /// Outcome whose missed limit is the same fault as a missed limit of this one.
    pub same_fault_as: Option<&'static str>,
    /// Reference stride that it needs.
    pub compared_with: Option<ReferenceStride>,
    /// Needs the landing after a stride.
    pub by_landing: bool,
    /// Activities in which values of judgement decide it: together they take part in at least half of its
    /// variance over the ranges that seem possible (study `uncertainty`).
    pub judged: &'static [ActivityKind],
    /// Needs the band over the hip moment.
    pub by_hip_band: bool,
    /// Needs the run without hip moment.
    pub without_hip: bool,
    /// How it is measured.
    pub measure: Measure,
}

/// Words for the sign of a number that is measured from something.
#[derive(Debug)]
pub struct SignWords {
    /// What a sentence begins with: `straight` 46 ms before the foot lands.
    pub begin: &'static str,
    /// Of a negative number.
    pub negative: &'static str,
    /// Of a positive number.
    pub positive: &'static str,
    /// Behind that word.
    pub from: &'static str,
    /// For a number that rounds to zero.
    pub zero: &'static str,
    /// The label above short values.
    pub table_label: &'static str,
    /// The label of plain numbers, whose minus sign means the opposite.
    pub number_label: &'static str,
}

/// What an outcome is measured on.
#[derive(Debug, Clone, Copy)]
pub enum Measure {
    /// A motion.
    OfMotion(fn(&Motion) -> Value),
    /// A stride alone, which may be one of a batch; none if it does not happen.
    OfStride(fn(&dyn StrideReading) -> Option<f64>),
}

impl Metric {
    /// It, and those that are judged beside it.
    pub fn with_those_beside(&'static self) -> impl Iterator<Item = &'static Self> + Clone {
        std::iter::once(self).chain(self.beside.iter().filter_map(|key| metric(key)))
    }

    /// Measures it on a motion.
    #[must_use]
    pub fn read(&self, motion: &Motion) -> Value {
        match (self.measure, motion) {
            (Measure::OfMotion(read), _) => read(motion),
            (Measure::OfStride(read), Motion::Walk(w)) => Value::number(read(w.as_ref())),
            (Measure::OfStride(_), _) => Value::NotReached,
        }
    }

    /// A value in words: rounded, with its unit.
    #[must_use]
    pub fn say(&self, value: Value) -> String {
        match value {
            Value::Number(v) => self.number_in_words(v),
            Value::Word(w) => w.to_string(),
            Value::NotReached => {
                let elsewhere = self.missed_with.and_then(metric);
                let see = elsewhere.map_or_else(String::new, |m| format!(" (see {})", m.label));
                format!("{}{see}", Verdict::NotReached.as_str())
            }
        }
    }
}

/// The row of a key.
#[must_use]
pub fn metric(key: &str) -> Option<&'static Metric> {
    METRICS.iter().find(|m| m.key == key)
}

/// What these outcomes need besides the motion, and no more.
#[must_use]
pub fn detail_for(outcomes: impl Iterator<Item = &'static Metric> + Clone) -> Detail {
    let outcomes = outcomes.flat_map(Metric::with_those_beside);
    Detail {
        never_closing: outcomes.clone().any(|m| m.compared_with == Some(ReferenceStride::NeverClosing)),
        comparison_joint: outcomes.clone().any(|m| m.compared_with == Some(ReferenceStride::ComparisonJoint)),
        landing: outcomes.clone().any(|m| m.by_landing),
        hip_band: outcomes.clone().any(|m| m.by_hip_band),
        without_hip: { outcomes }.any(|m| m.without_hip),
    }
}

/// What the outcomes of these limits need besides the motion, and no more.
#[must_use]
pub fn detail_for_limits(limits: &[Limit]) -> Detail {
    detail_for(limits.iter().filter_map(|l| metric(&l.outcome)))
}

/// All outcomes of a motion, in the order of the registry.
#[derive(Debug, Clone)]
pub struct Outcomes(Vec<(&'static Metric, Value)>);

impl Outcomes {
    /// Measures them.
    #[must_use]
    pub fn of(motion: &Motion) -> Self {
        Self::those(motion, |_| true)
    }

    /// Measures some of them, for scans.
    #[must_use]
    pub fn those(motion: &Motion, wanted: impl Fn(&'static Metric) -> bool) -> Self {
        let kind = motion.kind();
        Self(
            METRICS
                .iter()
                .filter(|m| m.activities.contains(&kind) && wanted(m))
                .map(|m| (m, m.read(motion)))
                .collect(),
        )
    }

    /// Measures those with a limit, and those beside them.
    #[must_use]
    pub fn limited(motion: &Motion, limits: &[Limit]) -> Self {
        let limited = limits.iter().filter_map(|l| metric(&l.outcome));
        let wanted: Vec<&str> = limited.flat_map(Metric::with_those_beside).map(|m| m.key).collect();
        Self::those(motion, |m| wanted.contains(&m.key))
    }

    /// Value of a key; `None` if it is not measured in this activity.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<Value> {
        self.0.iter().find(|(m, _)| m.key == key).map(|(_, v)| *v)
    }

    /// The number of a key, if it is a number.
    #[must_use]
    pub fn number(&self, key: &str) -> Option<f64> {
        self.get(key).and_then(Value::as_number)
    }

    /// Rows in order.
    pub fn iter(&self) -> impl Iterator<Item = (&'static Metric, Value)> + '_ {
        self.0.iter().copied()
    }
}

/// Checks that a limit names an existing outcome, with words that it can be.
///
/// # Errors
/// The key or the word that is unknown.
pub fn check_limit(limit: &Limit) -> Result<(), SimError> {
    let unknown = |field: &str, value: &str, allowed: String| SimError::OutOfRange {
        field: field.into(),
        value: format!("'{value}'"),
        allowed,
    };
    let Some(m) = metric(&limit.outcome) else {
        let (name, known) =
            (limit.outcome.clone(), METRICS.iter().map(|m| m.key).collect::<Vec<_>>().join(", "));
        let unknown = SimError::Unknown { kind: "outcome", name, known };
        return Err(SimError::Inconsistent { field: "outcome".into(), why: unknown.to_string() });
    };
    if limit.allowed.is_empty() != m.words.is_empty() {
        let why = if m.words.is_empty() { "is a number: give min or max" } else { "is a word: give allowed" };
        return Err(SimError::Inconsistent { field: "outcome".into(), why: format!("'{}' {why}", m.key) });
    }
    match limit.allowed.iter().find(|w| !m.words.contains(w)) {
        Some(w) => Err(unknown("allowed", w.as_str(), m.words.join(", "))),
        None => Ok(()),
    }
}

impl Motion {
    /// Kind of activity.
    #[must_use]
    pub fn kind(&self) -> ActivityKind {
        match self {
            Self::Walk(_) => ActivityKind::Walk,
            Self::Sit(_) => ActivityKind::Sit,
            Self::Ramp(_) => ActivityKind::Ramp,
            Self::Stairs(_) => ActivityKind::Stairs,
            Self::Stumble(_) => ActivityKind::Stumble,
            Self::Stand(_) => ActivityKind::Stand,
        }
    }
}
