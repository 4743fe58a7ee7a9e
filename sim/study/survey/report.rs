//! A run in words.

use super::RunResult;
use crate::outcome::{LimitVerdict, Value, Verdict, metric};
use crate::study::sensitivity::SettingSensitivity;
use crate::study::text::list;

impl RunResult {
    /// One or two sentences: what would be seen, and which setting acts most.
    #[must_use]
    pub fn sentence(&self) -> String {
        let Some(limit) = self.assessment.limiting() else {
            return "No limits here.".into();
        };
        let seen = limit.seen();
        let begin = if limit.holds() {
            let beyond = beyond(limit);
            format!("All limits hold; closest: {}; beyond it {beyond}", sentence(limit))
        } else {
            // the closest limit can be doubtful while another one is broken
            let begin = match limit.verdict {
                Verdict::Doubtful => "Doubtful, might be seen",
                _ => "What would be seen",
            };
            format!("{begin}: {seen} ({})", sentence(limit))
        };
        let end = match (&self.acting, &self.free) {
            (Some(a), None) => {
                format!(" Of the settings, {} acts most: {}{}.", a.setting, moved(limit, a), price(a))
            }
            (Some(a), Some(free)) => format!(
                " Of the settings, {} acts most: {}{}. Without loss: {} {}.",
                a.setting,
                moved(limit, a),
                price(a),
                free.setting,
                moved(limit, free)
            ),
            (None, _) if limit.holds() => String::new(),
            (None, _) => {
                " No move of one setting, to either end of its range, improves this: look at assist spring, stop, \
                 alignment or another joint."
                    .into()
            }
        };
        format!("{begin}.{end}")
    }
}

/// `10 points less and it is 5.1°`.
fn moved(limit: &LimitVerdict, a: &SettingSensitivity) -> String {
    let direction = if a.moved_pct < 0.0 { "less" } else { "more" };
    let then = match a.to {
        Value::Word(_) => ": ",
        Value::Number(_) => " and it is ",
        Value::NotReached => " and it is nearer, still ",
    };
    format!("{:.0} points {direction}{then}{}", a.moved_pct.abs(), in_words(limit, a.to))
}

/// What is lost by a move.
fn price(a: &SettingSensitivity) -> String {
    breaking(&a.breaks) + &elsewhere(&a.elsewhere)
}

/// `, but then … is beyond its limit`.
fn breaking(keys: &[&'static str]) -> String {
    let labels: Vec<&str> = keys.iter().filter_map(|k| metric(k)).map(|m| m.label).collect();
    match labels.as_slice() {
        [] => String::new(),
        [one] => format!(", but then {one} no longer holds"),
        many => format!(", but then {} no longer hold", list(many)),
    }
}

/// `; then no longer within: sit-down (time to sit down)`.
fn elsewhere(broken: &[(String, &'static str)]) -> String {
    let names: Vec<String> = broken.iter().map(|(scenario, label)| format!("{scenario} ({label})")).collect();
    if names.is_empty() { String::new() } else { format!("; then no longer within: {}", list(&names)) }
}

/// What would be seen beyond the nearer edge of a limit that is met.
fn beyond(limit: &LimitVerdict) -> &'static str {
    let Some(m) = metric(&limit.limit.outcome) else { return "" };
    let Value::Number(v) = limit.value else { return m.seen_above };
    let below = limit.limit.min.map_or(f64::INFINITY, |min| v - min);
    let above = limit.limit.max.map_or(f64::INFINITY, |max| max - v);
    if below < above { m.seen_below } else { m.seen_above }
}

fn sentence(limit: &LimitVerdict) -> String {
    metric(&limit.limit.outcome).map_or_else(String::new, |m| m.sentence(limit.value))
}

fn in_words(limit: &LimitVerdict, value: Value) -> String {
    metric(&limit.limit.outcome).map_or_else(String::new, |m| m.say(value))
}
