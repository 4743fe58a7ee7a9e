//! Diagnoses as findings: what to rule out, whether the model shows the symptom, what each setting does, what
//! else can cause it.

use super::diagnosis::{Diagnosis, Move, MoveResult, Presence};
use crate::findings::{Cell, Findings, Table};
use crate::outcome::{Value, metric};
use crate::study::text::{capitalised, count};
use crate::units::percent;

/// A report on diagnoses.
#[derive(Debug)]
pub struct DiagnosisReport<'a>(pub &'a [Diagnosis]);

impl DiagnosisReport<'_> {
    /// As findings; with every move as a table, or, for people, in sentences alone.
    #[must_use]
    pub fn findings(&self, with_table: bool) -> Findings {
        let text = self.0.iter().flat_map(sentences).collect();
        let tables = if with_table { vec![moves(self.0)] } else { vec![] };
        Findings { text, tables, plots: vec![] }
    }
}

fn sentences(d: &Diagnosis) -> Vec<String> {
    let s = d.symptom;
    let presence = match &d.presence {
        Presence::Shown(outcomes) => {
            format!("The model shows it for this person with these settings: {}.", outcomes.join("; "))
        }
        Presence::NotShown(nearest) => format!(
            "This model does not reproduce it for this person with these settings{}; the joint may be set differently, or \
             the cause may lie outside the damper.{}",
            nearest.as_ref().map_or_else(String::new, |n| format!(" (nearest: {n})")),
            if d.moves.is_empty() { "" } else { " What the settings would do follows all the same." }
        ),
        Presence::NotTested => {
            "None of the scenarios run has such an activity: the model cannot tell.".to_owned()
        }
    };
    let mut text = vec![
        format!("{}: {}.", s.name.to_uppercase(), s.description),
        format!("Rule out first: {}.", s.rule_out_first.join("; ")),
        presence,
    ];
    let rules = d.moves.chunk_by(|a, b| a.adjustment == b.adjustment);
    text.extend(rules.map(|moves| rule(d, moves)));
    let solved = d.moves.iter().any(|m| m.result == MoveResult::Resolved && m.breaks.is_empty());
    let begin = if solved {
        "If it is not a damper problem after all"
    } else {
        "Not a damper problem, or not one that a setting mends alone"
    };
    text.push(format!("{begin}: {}.", s.other_causes.join("; ")));
    text
}

/// A rule of thumb with its moves.
fn rule(d: &Diagnosis, moves: &[Move]) -> String {
    let a = moves[0].adjustment;
    let mut out =
        format!("{} {}, because {}: ", capitalised(a.setting.as_str()), a.direction.as_str(), a.why);
    if moves.iter().all(|m| m.result == MoveResult::NoRoom) {
        return out + "no room, the setting is at the end of its range or this knee has none.";
    }
    let m = d.target.as_ref().and_then(|t| metric(t.1));
    let say = |v: Value| m.map_or_else(String::new, |m| m.say(v));
    let now = |(scenario, _, value): &(String, &'static str, Value)| {
        format!("{scenario} as set: {}.", m.map_or_else(String::new, |m| m.sentence(*value)))
    };
    out += &d.target.as_ref().map_or_else(String::new, now);
    for m in moves {
        let to = m.pct.map_or_else(String::new, |[_, to]| format!(" ({})", percent(to)));
        out += &format!(" After {}{to} {}: {}.", count(m.steps, "step"), say(m.after), m.result.as_str());
        if !m.breaks.is_empty() {
            out += &format!(" Then no longer met: {}.", few(&m.breaks));
        }
    }
    out
}

/// Texts, the first three and how many more.
fn few(all: &[String]) -> String {
    let more = all.len().saturating_sub(3);
    let listed = all[..all.len() - more].join("; ");
    if more == 0 { listed } else { format!("{listed}; and {}", count(more, "more limit")) }
}

fn moves(all: &[Diagnosis]) -> Table {
    let value = |v: Value| match v {
        Value::Number(x) => Cell::Number(x, 2),
        Value::Word(w) => Cell::text(w),
        Value::NotReached => Cell::Empty,
    };
    let mut rows = Vec::new();
    for d in all {
        for m in &d.moves {
            #[allow(clippy::cast_precision_loss)] // a handful
            let steps = Cell::Number(m.steps as f64, 0);
            rows.push(vec![
                Cell::text(d.symptom.name),
                Cell::text(if d.shown() { "true" } else { "false" }),
                Cell::text(m.adjustment.setting.as_str()),
                Cell::text(m.adjustment.direction.as_str()),
                steps,
                Cell::number(m.pct.map(|p| p[0]), 1),
                Cell::number(m.pct.map(|p| p[1]), 1),
                d.target.as_ref().map_or(Cell::Empty, |t| Cell::text(&t.0)),
                d.target.as_ref().map_or(Cell::Empty, |t| Cell::text(t.1)),
                d.target.as_ref().map_or(Cell::Empty, |t| value(t.2)),
                value(m.after),
                Cell::text(m.result.as_str()),
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
