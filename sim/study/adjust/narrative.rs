//! The log of a session: in sentences for people, as a table for data.

use super::report::count;
use super::session::{Came, Change, Entry};
use crate::findings::{Cell, Table};

/// The log in sentences; steps that follow the same rule and are kept stand in one.
pub(super) fn narrated(entries: &[Entry]) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let mut explained: Vec<&str> = Vec::new();
    let mut i = 0;
    while i < entries.len() {
        let first = &entries[i];
        let mut last = first;
        let mut steps = first.change.map_or(0, |c| c.steps);
        while let Some(next) = entries.get(i + 1).filter(|next| goes_on(last, next)) {
            steps += next.change.map_or(0, |c| c.steps);
            last = next;
            i += 1;
        }
        let news = first.symptom.is_some_and(|s| !explained.contains(&s.name));
        explained.extend(first.symptom.map(|s| s.name));
        out.push(sentence(out.len() + 1, [first, last], steps, news));
        i += 1;
    }
    out
}

fn goes_on(a: &Entry, b: &Entry) -> bool {
    let turn = |e: &Entry| e.change.map(|c| c.turn);
    a.came == Came::Kept
        && b.came == Came::Kept
        && a.activity == b.activity
        && a.symptom == b.symptom
        && turn(a) == turn(b)
}

fn sentence(number: usize, [first, last]: [&Entry; 2], steps: usize, explain: bool) -> String {
    let mut out = format!("{number}. {}: ", first.activity);
    let seen = |e: &Entry| if e.seen.is_empty() { String::new() } else { format!(" ({})", e.seen) };
    match (&first.came, first.symptom) {
        (Came::Right, _) => {
            let closest =
                if first.seen.is_empty() { String::new() } else { format!("; closest is {}", first.seen) };
            out += &format!("right{closest}.");
        }
        (Came::CannotRun(why), _) => out += &format!("cannot be followed here: {why}."),
        (_, Some(s)) => {
            out += &format!("{}{}.", s.seen, seen(first));
            if explain {
                out += &format!(" It can mean: {}.", s.means);
            }
        }
        (_, None) => out += &format!("not right{}, and no rule of thumb is about it.", seen(first)),
    }
    if let (Some(c), Some(end)) = (first.change, last.change) {
        out += &turned(c, end, steps);
    }
    match &last.came {
        Came::Right | Came::CannotRun(_) => {}
        Came::Kept => out += " Kept: what was right is right.",
        Came::Compromise(what) => {
            out += &format!(" Kept as a compromise: the worst is better, though now {what}.");
        }
        Came::BackedOut(why) => out += &format!(" Backed out: {why}."),
        Came::Unmended(why) if why.is_empty() => out += " Left as it is: no setting acts on it.",
        Came::Unmended(why) => out += &format!(" Left as it is: {why}."),
    }
    format!("{out} [{}, {} unsafe]", count(last.trials, "trial"), last.unsafe_trials)
}

fn turned(first: Change, last: Change, steps: usize) -> String {
    let (from, to) = (first.from_pct, last.to_pct);
    let decimals = usize::from((from - to).abs() < 1.0);
    format!(
        " Turned: {} {from:.decimals$} → {to:.decimals$} % ({}): {}.",
        first.turn.setting,
        count(steps, "step"),
        first.turn.why
    )
}

/// The log as a table of every step.
pub(super) fn table_of(entries: &[Entry]) -> Table {
    let rows = entries
        .iter()
        .map(|e| {
            let (came, why) = match &e.came {
                Came::Right => ("right", ""),
                Came::Kept => ("kept", ""),
                Came::Compromise(w) => ("compromise", w.as_str()),
                Came::BackedOut(w) => ("backed out", w.as_str()),
                Came::Unmended(w) => ("left as it is", w.as_str()),
                Came::CannotRun(w) => ("cannot be followed", w.as_str()),
            };
            let c = e.change;
            #[allow(clippy::cast_precision_loss)] // counts
            let number = |n: usize| Cell::Number(n as f64, 0);
            vec![
                number(e.round),
                Cell::text(&e.activity),
                e.symptom.map_or(Cell::Empty, |s| Cell::text(s.name)),
                Cell::text(&e.seen),
                e.symptom.map_or(Cell::Empty, |s| Cell::text(s.means)),
                c.map_or(Cell::Empty, |c| Cell::text(c.turn.setting.as_str())),
                Cell::number(c.map(|c| c.from_pct), 1),
                Cell::number(c.map(|c| c.to_pct), 1),
                c.map_or(Cell::Empty, |c| number(c.steps)),
                c.map_or(Cell::Empty, |c| Cell::text(c.turn.why)),
                Cell::text(came),
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
