//! Examinations as findings: what to rule out, whether the model shows it, what each setting does, what
//! else it can be.

use super::diagnosis::{Examination, Move, Standing, Worked};
use super::report::count;
use crate::findings::{Cell, Findings, Table};
use crate::outcome::{Value, metric};

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().collect::<String>() + chars.as_str())
}

/// Examinations as findings; with every move as a table, or, for people, in words alone.
#[must_use]
pub fn examined(all: &[Examination], with_table: bool) -> Findings {
    let mut text = Vec::new();
    for e in all {
        let s = e.symptom;
        text.push(format!("{}: {}.", s.name.to_uppercase(), s.seen));
        text.push(format!("Rule out first: {}.", s.first.join("; ")));
        text.push(match &e.standing {
            Standing::Shown(where_) => {
                format!("The model shows it for this person with these settings: {}.", where_.join("; "))
            }
            Standing::NotShown(near) => format!(
                "The model does not show it for this person with these settings{}: look elsewhere first.{}",
                near.as_ref().map_or_else(String::new, |n| format!(" (nearest: {n})")),
                if e.moves.is_empty() { "" } else { " What the settings would do is said all the same." }
            ),
            Standing::NotLookedFor => {
                "None of the scenarios run has such an activity: nothing can be said.".to_owned()
            }
        });
        text.extend(e.moves.chunks(2).map(|moves| rule(e, moves)));
        let settled = e.moves.iter().any(|m| m.worked == Worked::Mends && m.breaks.is_empty());
        let begin = if settled {
            "If it is not a damper problem after all"
        } else {
            "Not a damper problem, or not one that a setting mends alone"
        };
        text.push(format!("{begin}: {}.", s.otherwise.join("; ")));
    }
    let tables = if with_table { vec![moves(all)] } else { vec![] };
    Findings { text, tables, plots: vec![] }
}

/// A rule of thumb with its moves: one step, several.
fn rule(e: &Examination, moves: &[Move]) -> String {
    let turn = moves[0].turn;
    let mut out = format!("{} {}, because {}: ", capital(turn.setting.as_str()), turn.way.as_str(), turn.why);
    if moves.iter().all(|m| m.worked == Worked::NoRoom) {
        return out + "no room, the setting is at the end of its range or this knee has none.";
    }
    let m = e.target.as_ref().and_then(|t| metric(t.1));
    let say = |v: Value| m.map_or_else(String::new, |m| m.say(v));
    out += &e
        .target
        .as_ref()
        .map_or_else(String::new, |t| format!("{} in {} is {}.", m.map_or("", |m| m.label), t.0, say(t.2)));
    for m in moves {
        let to = m.pct.map_or_else(String::new, |[_, to]| format!(" ({to:.0} %)"));
        out +=
            &format!(" After {}{to} it is {}: {}.", count(m.steps, "step"), say(m.after), m.worked.as_str());
        if !m.breaks.is_empty() {
            out += &format!(" That breaks {}.", few(&m.breaks));
        }
    }
    out
}

/// Texts, the first three and how many more.
fn few(all: &[String]) -> String {
    let more = all.len().saturating_sub(3);
    let said = all[..all.len() - more].join("; ");
    if more == 0 { said } else { format!("{said}; and {}", count(more, "more limit")) }
}

fn moves(all: &[Examination]) -> Table {
    let value = |v: Value| match v {
        Value::Number(x) => Cell::Number(x, 2),
        Value::Word(w) => Cell::text(w),
        Value::NotReached => Cell::Empty,
    };
    let mut rows = Vec::new();
    for e in all {
        for m in &e.moves {
            #[allow(clippy::cast_precision_loss)] // a handful
            let steps = Cell::Number(m.steps as f64, 0);
            rows.push(vec![
                Cell::text(e.symptom.name),
                Cell::text(if e.shown() { "true" } else { "false" }),
                Cell::text(m.turn.setting.as_str()),
                Cell::text(m.turn.way.as_str()),
                steps,
                Cell::number(m.pct.map(|p| p[0]), 1),
                Cell::number(m.pct.map(|p| p[1]), 1),
                e.target.as_ref().map_or(Cell::Empty, |t| Cell::text(&t.0)),
                e.target.as_ref().map_or(Cell::Empty, |t| Cell::text(t.1)),
                e.target.as_ref().map_or(Cell::Empty, |t| value(t.2)),
                value(m.after),
                Cell::text(m.worked.as_str()),
                Cell::Text(m.breaks.join("; ")),
            ]);
        }
    }
    Table {
        key: "moves".into(),
        title: "Moves".into(),
        columns: [
            "symptom", "shown", "setting", "way", "steps", "from_pct", "to_pct", "scenario", "outcome",
            "before", "after", "result", "breaks",
        ]
        .map(str::to_owned)
        .to_vec(),
        rows,
    }
}
