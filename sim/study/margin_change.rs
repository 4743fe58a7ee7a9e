//! How the margins of limits differ between two runs of a scenario, before and after a change.
//!
//! ```text
//! share = (margin before − margin after)/|margin before|
//! ```
//! For a limit that held, a share of 0.25 means that a quarter of the margin is used up, and more than 1
//! that the limit is broken or doubtful. For a limit that was so already it is the growth of the excess, relative to
//! the excess. A negative share is an improvement. A change too small for the digits shown counts as none; so
//! does a change of a warning that keeps its verdict. Checked in tests/studies/recheck.rs.

use crate::outcome::{Assessment, LimitVerdict, Metric, TrialVerdict, Value, landing_rank, metric};
use crate::scenario::Severity;

/// What happened to one limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ChangeKind {
    /// It held or was doubtful, and is broken now.
    NewlyBroken,
    /// It held and is doubtful now.
    NewlyDoubtful,
    /// It was broken or doubtful, still is, and is further out.
    FurtherBeyond,
    /// Another word that is neither better nor worse; allowed or forbidden as before.
    OtherCourse,
    /// It holds with less margin.
    LessMargin,
    /// It was broken or doubtful and holds now.
    Restored,
    /// It was broken and is only doubtful now.
    NoLongerBroken,
    /// It is still broken or doubtful, but by less.
    LessBeyond,
    /// It holds with more margin.
    MoreMargin,
    /// A target was met and is not met now.
    TargetMissed,
    /// A target was not met and is met now.
    TargetMet,
    /// It changed by less than the share asked for.
    Unchanged,
}

impl ChangeKind {
    /// The words in reports.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::NewlyBroken => "now beyond its limit",
            Self::NewlyDoubtful => "now doubtful",
            Self::FurtherBeyond => "further beyond its limit",
            Self::OtherCourse => "another course",
            Self::LessMargin => "nearer to its limit",
            Self::Restored => "now within",
            Self::NoLongerBroken => "now doubtful instead of beyond its limit",
            Self::LessBeyond => "still beyond its limit, by less",
            Self::MoreMargin => "further within its limit",
            Self::TargetMissed => "now target not met",
            Self::TargetMet => "now target met",
            Self::Unchanged => "hardly moved",
        }
    }

    /// Whether it is a change for the worse, or one that is not known to be an improvement.
    #[must_use]
    pub fn needs_review(self) -> bool {
        matches!(
            self,
            Self::NewlyBroken
                | Self::NewlyDoubtful
                | Self::FurtherBeyond
                | Self::OtherCourse
                | Self::LessMargin
                | Self::TargetMissed
        )
    }

    /// Whether the verdict on a limit changed.
    #[must_use]
    pub fn verdict_changed(self) -> bool {
        matches!(self, Self::NewlyBroken | Self::NewlyDoubtful | Self::Restored | Self::NoLongerBroken)
    }
}

/// One limit before and after.
#[derive(Debug, Clone)]
pub struct MarginChange {
    /// The outcome's row.
    pub metric: &'static Metric,
    /// Before.
    pub before: LimitVerdict,
    /// After.
    pub after: LimitVerdict,
}

impl MarginChange {
    /// All limits of two runs of the same scenario, in the scenario's order. Warnings about an outcome that
    /// is not reached are left out.
    #[must_use]
    pub fn all(before: &Assessment, after: &Assessment) -> Vec<Self> {
        let pairs = before.limits.iter().zip(&after.limits);
        pairs
            .filter_map(|(b, a)| {
                let metric = metric(&b.limit.outcome)?;
                let missing = [b.value, a.value].contains(&Value::NotReached);
                if missing && b.limit.severity == Severity::Warning {
                    return None;
                }
                Some(Self { metric, before: b.clone(), after: a.clone() })
            })
            .collect()
    }

    /// Share of the margin used up, or growth of the excess; none where a margin is not a number.
    #[must_use]
    pub fn share(&self) -> Option<f64> {
        let (before, after) = (self.before.margin?, self.after.margin?);
        let lost = before - after;
        if lost == 0.0 {
            return Some(0.0);
        }
        Some(lost / before.abs().max(1e-9 * self.before.limit.unit_margin()))
    }

    /// Loss of margin in units of the limit's own scale, for sorting.
    #[must_use]
    pub fn loss(&self) -> f64 {
        self.before.relative_margin.min(1.0) - self.after.relative_margin.min(1.0)
    }

    /// What happened to the limit; changes of less than `share` of the margin count as none.
    #[must_use]
    pub fn kind(&self, share: f64) -> ChangeKind {
        let verdicts = [&self.before, &self.after].map(|l| TrialVerdict::worst(std::iter::once(l)));
        let target = self.before.limit.severity == Severity::Target;
        match verdicts {
            [a, b] if target && a != b => {
                return if self.after.holds() { ChangeKind::TargetMet } else { ChangeKind::TargetMissed };
            }
            [a, b] if a < b && b == TrialVerdict::Doubtful => return ChangeKind::NewlyDoubtful,
            [a, b] if a < b => return ChangeKind::NewlyBroken,
            [a, b] if a > b && b == TrialVerdict::Doubtful => return ChangeKind::NoLongerBroken,
            [a, b] if a > b => return ChangeKind::Restored,
            _ if self.value_in_words(self.before.value) == self.value_in_words(self.after.value) => {
                return ChangeKind::Unchanged;
            }
            _ if self.before.limit.severity != Severity::Limit => return ChangeKind::Unchanged,
            _ => {}
        }
        let worse = match (self.before.value, self.after.value) {
            (Value::Word(a), Value::Word(b)) => match (landing_rank(a), landing_rank(b)) {
                (Some(a), Some(b)) => b > a,
                _ => return ChangeKind::OtherCourse,
            },
            (Value::Number(_), Value::Number(_)) => {
                let moved = self.share().unwrap_or(0.0);
                if moved.abs() < share {
                    return ChangeKind::Unchanged;
                }
                moved > 0.0
            }
            // reached is better than not reached
            (_, after) => after == Value::NotReached,
        };
        match (self.before.holds(), worse) {
            (true, true) => ChangeKind::LessMargin,
            (true, false) => ChangeKind::MoreMargin,
            (false, true) => ChangeKind::FurtherBeyond,
            (false, false) => ChangeKind::LessBeyond,
        }
    }

    /// A value of this outcome with its unit.
    #[must_use]
    pub fn value_in_words(&self, value: Value) -> String {
        self.metric.say(value)
    }

    /// `straight 94 ms before → 12 ms before the foot lands`.
    #[must_use]
    pub fn before_after(&self) -> String {
        self.metric.change(self.before.value, self.after.value)
    }

    /// Whether reports for people leave it out: a check of the model that is not missed.
    #[must_use]
    pub fn is_internal(&self) -> bool {
        self.metric.internal && self.before.holds() && self.after.holds()
    }

    /// `, a warning` for limits that break nothing.
    #[must_use]
    pub fn severity_note(&self) -> &'static str {
        match self.before.limit.severity {
            Severity::Limit => "",
            Severity::Warning => ", a warning",
            Severity::Target => ", a target",
        }
    }
}

/// Visible outcomes without a limit in the scenario that differ between the runs: other words; numbers that
/// differ by a quarter and by ten units of the last digit shown \[J\]; or one of the two is not reached.
#[must_use]
pub fn changes_without_limit(
    before: &Assessment,
    after: &Assessment,
) -> Vec<(&'static Metric, Value, Value)> {
    let limited = |m: &Metric| before.limits.iter().any(|l| l.limit.outcome == m.key);
    let differs = |m: &Metric, a: Value, b: Value| match (a, b) {
        (Value::Number(x), Value::Number(y)) => {
            let least = 10.0 * 10f64.powi(-i32::try_from(m.decimals).unwrap_or(0));
            (y - x).abs() >= least.max(0.25 * x.abs().max(y.abs()))
        }
        _ => a != b,
    };
    before
        .outcomes
        .iter()
        .filter(|(m, _)| !m.internal && !limited(m) && (m.is_seen() || !m.words.is_empty()))
        .filter_map(|(m, a)| after.outcomes.get(m.key).map(|b| (m, a, b)))
        .filter(|(m, a, b)| differs(m, *a, *b))
        .collect()
}

/// `toe height lost 0.0 mm → 29.0 mm; …`.
#[must_use]
pub fn changes_in_words(list: &[(&'static Metric, Value, Value)]) -> String {
    let one = |(m, a, b): &(&Metric, Value, Value)| match m.sign.is_some() || !m.not_reached.is_empty() {
        true => m.change(*a, *b),
        false => format!("{} {} → {}", m.label, value_without_limit(m, *a), value_without_limit(m, *b)),
    };
    list.iter().map(one).collect::<Vec<_>>().join("; ")
}

/// A value without a limit.
#[must_use]
pub fn value_without_limit(m: &Metric, value: Value) -> String {
    match value {
        Value::NotReached if m.words.is_empty() => "none".to_owned(),
        Value::NotReached => "not to be followed".to_owned(),
        v => m.say_short(v),
    }
}
