//! Words that the reports of a session and of a diagnosis share.

use crate::outcome::{LimitVerdict, OutcomeWord, Value, Verdict, metric};

/// `time to sit down 1.50 s, limit range`, and `doubtful` where it is neither met nor broken.
#[must_use]
pub(super) fn limit_text(limit: &LimitVerdict) -> String {
    let Some(m) = metric(&limit.limit.outcome) else { return String::new() };
    let say = |v: f64| m.say(Value::Number(v));
    // rounding must not make a broken limit look met
    let at_edge = |v: Option<f64>| v.is_some_and(|v| say(v) == m.say(limit.value));
    let just_beyond = !limit.holds() && (at_edge(limit.limit.min) || at_edge(limit.limit.max));
    let just = if just_beyond { "just beyond the " } else { "" };
    let said = limit.value == Value::Word(OutcomeWord::Doubtful);
    let doubtful = if limit.verdict == Verdict::Doubtful && !said { ", doubtful" } else { "" };
    let hip = if limit.depends_on_hip() { ": depends on hip strength too" } else { "" };
    format!("{}, {just}limit {}{doubtful}{hip}", m.sentence(limit.value), limit.bounds())
}
