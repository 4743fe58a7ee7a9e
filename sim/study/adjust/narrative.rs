//! The log of a session: in sentences for people, as a table for data.

use super::session::{LogEntry, SettingChange, StepOutcome};
use crate::findings::{Cell, Table};
use crate::study::text::count;
use crate::units::percent;

/// Consecutive entries of the log that follow the same rule and are kept, told as one.
pub(super) struct Episode<'l> {
    pub first: &'l LogEntry,
    pub last: &'l LogEntry,
    pub steps: usize,
}

/// The log in episodes.
pub(super) fn episodes(log: &[LogEntry]) -> Vec<Episode<'_>> {
    let mut out: Vec<Episode<'_>> = Vec::new();
    for entry in log {
        let steps = entry.change.map_or(0, |c| c.steps);
        match out.last_mut().filter(|episode| continues(episode.last, entry)) {
            Some(episode) => {
                episode.last = entry;
                episode.steps += steps;
            }
            None => out.push(Episode { first: entry, last: entry, steps }),
        }
    }
    out
}

fn continues(a: &LogEntry, b: &LogEntry) -> bool {
    let adjustment = |e: &LogEntry| e.change.map(|c| c.adjustment);
    a.outcome == StepOutcome::Kept
        && b.outcome == StepOutcome::Kept
        && a.activity == b.activity
        && a.symptom == b.symptom
        && adjustment(a) == adjustment(b)
}

/// The log in sentences, one per episode; a symptom is explained where it comes first.
pub(super) fn sentences(log: &[LogEntry]) -> Vec<String> {
    let mut explained: Vec<&str> = Vec::new();
    let mut out = Vec::new();
    for (i, episode) in episodes(log).iter().enumerate() {
        let name = episode.first.symptom.map(|s| s.name);
        let explain = name.is_some_and(|name| !explained.contains(&name));
        explained.extend(name);
        out.push(sentence(i + 1, episode, explain));
    }
    out
}

fn sentence(number: usize, &Episode { first, last, steps }: &Episode<'_>, explain: bool) -> String {
    let mut out = format!("{number}. {}: ", first.activity);
    let unless_empty = |begin: &str, end: &str| match first.observed.as_str() {
        "" => String::new(),
        observed => format!("{begin}{observed}{end}"),
    };
    let observed = unless_empty(" (", ")");
    match (&first.outcome, first.symptom) {
        (StepOutcome::WithinLimits, _) => {
            out += &format!("within limits{}.", unless_empty("; closest is ", ""));
        }
        (StepOutcome::CannotRun(why), _) => out += &format!("cannot be followed here: {why}."),
        (StepOutcome::Returned(why), _) => out += &format!("back to the best settings seen: {why}."),
        (_, Some(s)) => {
            out += &format!("{}{observed}.", s.description);
            if explain {
                out += &format!(" It can mean: {}.", s.meaning);
            }
        }
        (_, None) => out += &format!("not within limits{observed}, and no rule of thumb is about it."),
    }
    if let (Some(c), Some(end)) = (first.change, last.change) {
        out += &change_text(c, end, steps);
    }
    match &last.outcome {
        StepOutcome::WithinLimits | StepOutcome::CannotRun(_) | StepOutcome::Returned(_) => {}
        StepOutcome::Kept => out += " Kept: every limit that was met still is.",
        StepOutcome::Compromise(what) => {
            out += &format!(" Kept as a compromise: the worst is better, though now {what}.");
        }
        StepOutcome::BackedOut(why) => out += &format!(" Backed out: {why}."),
        StepOutcome::NothingHelps(why) if why.is_empty() => out += " Left as it is: no setting acts on it.",
        StepOutcome::NothingHelps(why) => out += &format!(" Left as it is: {why}."),
    }
    format!("{out} [{}, {} unsafe]", count(last.trials, "trial"), last.unsafe_trials)
}

fn change_text(first: SettingChange, last: SettingChange, steps: usize) -> String {
    let (from, to) = (first.from_pct, last.to_pct);
    format!(
        " Turned: {} {} → {} ({}): {}.",
        first.adjustment.setting,
        percent(from).trim_end_matches(" %"),
        percent(to),
        count(steps, "step"),
        first.adjustment.why
    )
}

/// The log as a table of every step.
pub(super) fn table(log: &[LogEntry]) -> Table {
    let rows = log
        .iter()
        .map(|e| {
            let (outcome, why) = match &e.outcome {
                StepOutcome::WithinLimits => ("right", ""),
                StepOutcome::Kept => ("kept", ""),
                StepOutcome::Compromise(w) => ("compromise", w.as_str()),
                StepOutcome::BackedOut(w) => ("backed out", w.as_str()),
                StepOutcome::NothingHelps(w) => ("left as it is", w.as_str()),
                StepOutcome::CannotRun(w) => ("cannot be followed", w.as_str()),
                StepOutcome::Returned(w) => ("returned", w.as_str()),
            };
            let c = e.change;
            #[allow(clippy::cast_precision_loss)] // counts
            let number = |n: usize| Cell::Number(n as f64, 0);
            vec![
                number(e.round),
                Cell::text(&e.activity),
                e.symptom.map_or(Cell::Empty, |s| Cell::text(s.name)),
                Cell::text(&e.observed),
                e.symptom.map_or(Cell::Empty, |s| Cell::text(s.meaning)),
                c.map_or(Cell::Empty, |c| Cell::text(c.adjustment.setting.as_str())),
                Cell::number(c.map(|c| c.from_pct), 1),
                Cell::number(c.map(|c| c.to_pct), 1),
                c.map_or(Cell::Empty, |c| number(c.steps)),
                c.map_or(Cell::Empty, |c| Cell::text(c.adjustment.why)),
                Cell::text(outcome),
                Cell::text(why),
                number(e.trials),
                number(e.unsafe_trials),
            ]
        })
        .collect();
    Table {
        key: "log".into(),
        title: "Log".into(),
        columns: [
            "round",
            "activity",
            "symptom",
            "seen",
            "means",
            "setting",
            "from_pct",
            "to_pct",
            "steps",
            "why",
            "result",
            "because",
            "trials",
            "unsafe_trials",
        ]
        .map(str::to_owned)
        .to_vec(),
        rows,
    }
}
