//! Words that the reports of a session and of a diagnosis share.

use crate::outcome::{LimitVerdict, Value, metric};

/// `label value, target range`.
#[must_use]
pub(super) fn limit_text(limit: &LimitVerdict) -> String {
    let Some(m) = metric(&limit.limit.outcome) else { return String::new() };
    let say = |v: f64| m.say(Value::Number(v));
    let target = match (limit.limit.min, limit.limit.max) {
        (Some(a), Some(b)) => format!("{} to {}", say(a), say(b)),
        (Some(a), None) => format!("at least {}", say(a)),
        (None, Some(b)) => format!("at most {}", say(b)),
        (None, None) => limit.limit.allowed.join(" or "),
    };
    // rounding must not make a broken limit look met
    let at_edge = |v: Option<f64>| v.is_some_and(|v| say(v) == m.say(limit.value));
    let just_beyond = !limit.holds() && (at_edge(limit.limit.min) || at_edge(limit.limit.max));
    let just = if just_beyond { "just beyond " } else { "" };
    format!("{} {just}{}, target {target}", m.label, m.say(limit.value))
}

/// `1 trial`, `2 trials`.
pub(super) fn count(n: usize, what: &str) -> String {
    if n == 1 { format!("{n} {what}") } else { format!("{n} {what}s") }
}
