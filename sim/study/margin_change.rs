//! How outcomes lie to their limits before and after a change.
//!
//! ```text
//! share = (margin before − margin after)/|margin before|
//! ```
//! of a limit that held: 0.25 says that a quarter of the margin is used up, more than 1 that it is
//! broken; of a limit that was broken already: by how much of itself the excess grows. Negative is for the
//! better. Moves that the digits shown do not show count as none, and of a warning, which breaks nothing, all
//! that leave its verdict. Checked in tests/studies/recheck.rs.

use crate::outcome::{Assessment, LimitVerdict, Metric, Value, landing_rank, metric};
use crate::scenario::Severity;

/// How one limit fared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fate {
    /// FrozenMode and no longer does.
    Broken,
    /// Was broken and is further out.
    Worse,
    /// Another word that is neither better nor worse, allowed or forbidden as before.
    OtherWord,
    /// Holds with less margin.
    Nearer,
    /// Was broken and holds now.
    Mended,
    /// Is still broken, but by less.
    Better,
    /// Holds with more margin.
    Further,
    /// Has moved by less than the share asked for.
    Still,
}

impl Fate {
    /// The words in reports.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Broken => "now beyond its limit",
            Self::Worse => "further beyond its limit",
            Self::OtherWord => "another course",
            Self::Nearer => "nearer to its limit",
            Self::Mended => "now within its limit",
            Self::Better => "still beyond its limit, by less",
            Self::Further => "further within its limit",
            Self::Still => "hardly moved",
        }
    }

    /// Whether it is for the worse, or not known to be for the better.
    #[must_use]
    pub fn asks_for_a_look(self) -> bool {
        matches!(self, Self::Broken | Self::Worse | Self::OtherWord | Self::Nearer)
    }

    /// Whether the verdict is another one.
    #[must_use]
    pub fn verdict_changed(self) -> bool {
        matches!(self, Self::Broken | Self::Mended)
    }
}

/// One limit before and after.
#[derive(Debug, Clone)]
pub struct Moved {
    /// The outcome's row.
    pub metric: &'static Metric,
    /// Before.
    pub before: LimitVerdict,
    /// After.
    pub after: LimitVerdict,
}

impl Moved {
    /// All limits of two runs of the same scenario, in its order. A warning about an outcome that is not
    /// reached warns of nothing and is left out.
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

    /// Share of the margin used up, or by which the excess grew; none where either is no number.
    #[must_use]
    pub fn share(&self) -> Option<f64> {
        let (before, after) = (self.before.margin?, self.after.margin?);
        let lost = before - after;
        if lost == 0.0 {
            return Some(0.0);
        }
        Some(lost / before.abs().max(1e-9 * self.before.limit.unit_margin()))
    }

    /// Loss of margin in units of the limit's own scale, for putting limits in order.
    #[must_use]
    pub fn loss(&self) -> f64 {
        self.before.relative_margin.min(1.0) - self.after.relative_margin.min(1.0)
    }

    /// How it fared; moves of less than `share` of the margin count as none.
    #[must_use]
    pub fn fate(&self, share: f64) -> Fate {
        match (self.before.holds(), self.after.holds()) {
            (true, false) => return Fate::Broken,
            (false, true) => return Fate::Mended,
            _ if self.said(self.before.value) == self.said(self.after.value) => return Fate::Still,
            _ if self.before.limit.severity == Severity::Warning => return Fate::Still,
            _ => {}
        }
        let worse = match (self.before.value, self.after.value) {
            (Value::Word(a), Value::Word(b)) => match (landing_rank(a), landing_rank(b)) {
                (Some(a), Some(b)) => b > a,
                _ => return Fate::OtherWord,
            },
            (Value::Number(_), Value::Number(_)) => {
                let moved = self.share().unwrap_or(0.0);
                if moved.abs() < share {
                    return Fate::Still;
                }
                moved > 0.0
            }
            // reached is better than not reached
            (_, after) => after == Value::NotReached,
        };
        match (self.before.holds(), worse) {
            (true, true) => Fate::Nearer,
            (true, false) => Fate::Further,
            (false, true) => Fate::Worse,
            (false, false) => Fate::Better,
        }
    }

    /// A value of this outcome as people read it.
    #[must_use]
    pub fn said(&self, value: Value) -> String {
        self.metric.say(value)
    }

    /// `time straight before heel contact 94 ms → 12 ms`.
    #[must_use]
    pub fn said_both(&self) -> String {
        format!("{} {} → {}", self.metric.label, self.said(self.before.value), self.said(self.after.value))
    }

    /// `, a warning` for limits that break nothing.
    #[must_use]
    pub fn said_severity(&self) -> &'static str {
        match self.before.limit.severity {
            Severity::Limit => "",
            Severity::Warning => ", a warning",
        }
    }
}

/// Outcomes that no limit of the scenario is about, but of which a watcher sees something, where they
/// differ: words that are others; numbers that differ by a quarter and by ten units of the last digit
/// shown \[J\], or of which one is not reached.
#[must_use]
pub fn unlimited(before: &Assessment, after: &Assessment) -> Vec<(&'static Metric, Value, Value)> {
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
        .filter(|(m, _)| !limited(m) && (m.is_seen() || !m.words.is_empty()))
        .filter_map(|(m, a)| after.outcomes.get(m.key).map(|b| (m, a, b)))
        .filter(|(m, a, b)| differs(m, *a, *b))
        .collect()
}

/// `toe height lost 0.0 mm → 29.0 mm; …`.
#[must_use]
pub fn said_list(list: &[(&'static Metric, Value, Value)]) -> String {
    let one = |(m, a, b): &(&Metric, Value, Value)| {
        format!("{} {} → {}", m.label, said_unlimited(m, *a), said_unlimited(m, *b))
    };
    list.iter().map(one).collect::<Vec<_>>().join("; ")
}

/// A value that no limit waits for.
#[must_use]
pub fn said_unlimited(m: &Metric, value: Value) -> String {
    match value {
        Value::NotReached if m.words.is_empty() => "none".to_owned(),
        Value::NotReached => "not to be followed".to_owned(),
        v => m.say(v),
    }
}
