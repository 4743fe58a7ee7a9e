//! What an observer would notice between two runs of a scenario: the limits that break, become doubtful, are restored or
//! change their margin, in the registry's words.

use super::margin_change::{ChangeKind, MarginChange, changes_in_words, changes_without_limit};
use super::text::sentences;
use crate::outcome::Assessment;

/// Changes of less than this share of a margin are left out \[J\].
const LEAST_SHARE: f64 = 0.25;
/// At most this many changes of a kind are listed; the table has them all.
const MOST_LISTED: usize = 3;

/// One or two sentences about `after` compared with `before`.
#[must_use]
pub fn observation(before: &Assessment, after: &Assessment) -> String {
    let all = MarginChange::all(before, after);
    let of = |kind: ChangeKind| -> Vec<&MarginChange> {
        let mut list: Vec<&MarginChange> = all.iter().filter(|m| m.kind(LEAST_SHARE) == kind).collect();
        list.sort_by(|a, b| b.loss().abs().total_cmp(&a.loss().abs()));
        list
    };
    let mut parts = Vec::new();
    let mut add = |begin: &str, list: Vec<String>| {
        if !list.is_empty() {
            parts.push(format!("{begin}{}", list.join("; ")));
        }
    };
    let seen_after = |m: &&MarginChange| seen_with_numbers(m.after.seen(), m);
    let seen_before = |m: &&MarginChange| seen_with_numbers(m.before.seen(), m);
    add("what would be seen: ", distinct(of(ChangeKind::NewlyBroken).iter().map(seen_after)));
    add("doubtful now, might be seen: ", distinct(of(ChangeKind::NewlyDoubtful).iter().map(seen_after)));
    add("more than before, ", distinct(of(ChangeKind::FurtherBeyond).iter().map(seen_after)));
    add("less than before, ", distinct(of(ChangeKind::LessBeyond).iter().map(seen_after)));
    add("now within, no longer: ", distinct(of(ChangeKind::Restored).iter().map(seen_before)));
    add("doubtful instead of outside: ", distinct(of(ChangeKind::NoLongerBroken).iter().map(seen_before)));
    add("another course: ", of(ChangeKind::OtherCourse).iter().map(|m| m.before_after()).collect());
    add("within limits, with less margin: ", with_shares(&of(ChangeKind::LessMargin)));
    add("within limits, with more margin: ", without_shares(&of(ChangeKind::MoreMargin)));
    add("target not met any more: ", without_shares(&of(ChangeKind::TargetMissed)));
    add("target met now: ", without_shares(&of(ChangeKind::TargetMet)));
    let others = changes_without_limit(before, after);
    if !others.is_empty() {
        parts.push(format!("also changed, without a limit: {}", changes_in_words(&others)));
    }
    if parts.is_empty() {
        return hardly_anything(before, after, &all);
    }
    if !all.iter().any(|m| m.kind(LEAST_SHARE).verdict_changed()) {
        parts.insert(0, "no limit changes its verdict".to_owned());
    }
    sentences(&parts)
}

/// What is seen, and the numbers behind it.
fn seen_with_numbers(seen: &str, m: &MarginChange) -> (String, String) {
    (seen.to_owned(), format!("({}{})", m.before_after(), m.severity_note()))
}

/// Each visible effect once, with the numbers of the first limit that names it.
fn distinct(list: impl Iterator<Item = (String, String)>) -> Vec<String> {
    let mut out: Vec<(String, String)> = Vec::new();
    for (seen, numbers) in list {
        if !out.iter().any(|(s, _)| *s == seen) {
            out.push((seen, numbers));
        }
    }
    out.into_iter().map(|(seen, numbers)| format!("{seen} {numbers}")).collect()
}

/// The largest changes, with the share of the margin that each uses up.
fn with_shares(list: &[&MarginChange]) -> Vec<String> {
    let share = |m: &MarginChange| match m.share() {
        Some(s) if s.abs() < 10.0 => format!(" ({:.0} % of the margin)", 100.0 * s.abs()),
        _ => String::new(),
    };
    list.iter().take(MOST_LISTED).map(|m| m.before_after() + &share(m)).collect()
}

/// The largest changes.
fn without_shares(list: &[&MarginChange]) -> Vec<String> {
    list.iter().take(MOST_LISTED).map(|m| m.before_after()).collect()
}

fn hardly_anything(before: &Assessment, after: &Assessment, all: &[MarginChange]) -> String {
    let same = before.outcomes.iter().all(|(m, v)| after.outcomes.get(m.key) == Some(v));
    if same {
        return "No outcome differs: nothing is changed, or it has no part in this scenario.".to_owned();
    }
    let share = |m: &&MarginChange| m.share().unwrap_or(0.0).abs();
    let shown = all.iter().filter(|m| m.value_in_words(m.before.value) != m.value_in_words(m.after.value));
    match shown.max_by(|a, b| share(a).total_cmp(&share(b))) {
        Some(m) => format!(
            "Hardly anything a watcher would notice: no limit changes its verdict; most moved is {}, by {:.0} % of the margin.",
            m.before_after(),
            100.0 * share(&m)
        ),
        None => "Hardly anything a watcher would notice: no limit changes its verdict.".to_owned(),
    }
}
