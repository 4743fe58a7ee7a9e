//! What a watcher would notice between two runs of a scenario: put together from the limits that break,
//! mend or move, and the registry's words for them. Nothing is scripted.

use super::margin_change::{Fate, Moved, said_list, unlimited};
use crate::outcome::Assessment;

/// Moves of less than this share of a margin are not told \[J\].
const TOLD_SHARE: f64 = 0.25;
/// More moves than this are not told; the table has them all.
const MOST_TOLD: usize = 3;

/// One sentence or two on `after` against `before`.
#[must_use]
pub fn noticed(before: &Assessment, after: &Assessment) -> String {
    let all = Moved::all(before, after);
    let of = |fate: Fate| -> Vec<&Moved> {
        let mut list: Vec<&Moved> = all.iter().filter(|m| m.fate(TOLD_SHARE) == fate).collect();
        list.sort_by(|a, b| b.loss().abs().total_cmp(&a.loss().abs()));
        list
    };
    let mut parts = Vec::new();
    let mut tell = |begin: &str, list: Vec<String>| {
        if !list.is_empty() {
            parts.push(format!("{begin}{}", list.join("; ")));
        }
    };
    let seen_after = |m: &&Moved| told(m.after.seen(), m);
    tell("what would be seen: ", distinct(of(Fate::Broken).iter().map(seen_after)));
    tell("more than before, ", distinct(of(Fate::Worse).iter().map(seen_after)));
    tell("less than before, ", distinct(of(Fate::Better).iter().map(seen_after)));
    tell("no longer: ", distinct(of(Fate::Mended).iter().map(|m| told(m.before.seen(), m))));
    tell("another course: ", of(Fate::OtherWord).iter().map(|m| m.said_both()).collect());
    tell("within limits, with less margin: ", shares(&of(Fate::Nearer)));
    tell("within limits, with more margin: ", both(&of(Fate::Further)));
    let beside = unlimited(before, after);
    if !beside.is_empty() {
        parts.push(format!("held against no limit: {}", said_list(&beside)));
    }
    if parts.is_empty() {
        return nothing(before, after, &all);
    }
    if !all.iter().any(|m| m.fate(TOLD_SHARE).verdict_changed()) {
        parts.insert(0, "no limit changes its verdict".to_owned());
    }
    sentences(&parts)
}

/// What is seen, with the numbers behind it.
fn told(seen: &str, m: &Moved) -> (String, String) {
    (seen.to_owned(), format!("({}{})", m.said_both(), m.said_severity()))
}

/// Each thing seen once, with the numbers of the first limit that says so.
fn distinct(list: impl Iterator<Item = (String, String)>) -> Vec<String> {
    let mut out: Vec<(String, String)> = Vec::new();
    for (seen, numbers) in list {
        if !out.iter().any(|(s, _)| *s == seen) {
            out.push((seen, numbers));
        }
    }
    out.into_iter().map(|(seen, numbers)| format!("{seen} {numbers}")).collect()
}

/// The foremost moves with the share of the margin that they use up.
fn shares(list: &[&Moved]) -> Vec<String> {
    let share = |m: &Moved| match m.share() {
        Some(s) if s.abs() < 10.0 => format!(" ({:.0} % of the margin)", 100.0 * s.abs()),
        _ => String::new(),
    };
    list.iter().take(MOST_TOLD).map(|m| m.said_both() + &share(m)).collect()
}

/// The foremost moves.
fn both(list: &[&Moved]) -> Vec<String> {
    list.iter().take(MOST_TOLD).map(|m| m.said_both()).collect()
}

fn nothing(before: &Assessment, after: &Assessment, all: &[Moved]) -> String {
    let same = before.outcomes.iter().all(|(m, v)| after.outcomes.get(m.key) == Some(v));
    if same {
        return "No outcome differs: nothing is changed, or it has no part in this scenario.".to_owned();
    }
    let share = |m: &&Moved| m.share().unwrap_or(0.0).abs();
    let shown = all.iter().filter(|m| m.said(m.before.value) != m.said(m.after.value));
    match shown.max_by(|a, b| share(a).total_cmp(&share(b))) {
        Some(m) => format!(
            "Hardly anything a watcher would notice: no limit changes its verdict; most moved is {}, by {:.0} % of the margin.",
            m.said_both(),
            100.0 * share(&m)
        ),
        None => "Hardly anything a watcher would notice: no limit changes its verdict.".to_owned(),
    }
}

/// Each part as a sentence of its own.
fn sentences(parts: &[String]) -> String {
    let capital = |p: &String| {
        let mut chars = p.chars();
        chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect::<String>()) + "."
    };
    parts.iter().map(capital).collect::<Vec<_>>().join(" ")
}
