//! A survey for people: per scenario a table of limits, the other outcomes, a sentence; then the
//! summary and the caution.

use std::fmt::Write as _;

use comfy_table::{CellAlignment, ContentArrangement, Table, presets};

use crate::outcome::{LimitVerdict, Metric, TrialVerdict, Verdict, metric};
use crate::scenario::{ActivityKind, Severity};
use crate::study::survey::Survey;
use crate::study::survey::{RunResult, ScenarioRun};

/// Line width that texts are wrapped to.
const WIDTH: usize = 100;

/// The whole report.
#[must_use]
pub fn survey(survey: &Survey) -> String {
    let mut out = head(survey);
    for run in &survey.runs {
        out.push('\n');
        out.push_str(&scenario(run));
    }
    if survey.runs.len() > 1 {
        out.push('\n');
        out.push_str(&summary(survey));
    }
    let _ = write!(out, "\n{}\n", wrap(&format!("Caution. {}", crate::CAUTION), ""));
    out
}

fn head(survey: &Survey) -> String {
    let judged = "[J]: for the built-in example decided mostly by values of judgement; for yours see `kneedamp uncertainty`";
    survey.setup.in_words(&survey.resolved).join("\n") + "\n" + judged + "\n"
}

fn scenario(run: &ScenarioRun) -> String {
    let title = run.scenario.name.to_uppercase();
    match &run.result {
        Err(e) => format!("{title}\n{}\n", wrap(&e.to_string(), "")),
        Ok(r) => {
            let mut out = format!("{title}: {}\n", verdict_word(r));
            let kind = run.scenario.activity.kind();
            let _ = writeln!(out, "{}", limits_table(r, kind));
            let _ = writeln!(out, "{}", wrap(&format!("Also: {}.", others(r, kind).join("; ")), ""));
            for note in &r.notes {
                let _ = writeln!(out, "{}", wrap(&format!("Note: {note}."), ""));
            }
            let _ = writeln!(out, "{}", wrap(&r.sentence(), ""));
            out
        }
    }
}

fn verdict_word(r: &RunResult) -> String {
    let broken = r.assessment.binding().filter(|l| !l.holds()).count();
    match (r.assessment.verdict(), broken) {
        (TrialVerdict::Outside, 1) => "outside, one limit broken".into(),
        (TrialVerdict::Outside, n) => format!("outside, {n} limits broken"),
        (TrialVerdict::Within, _) => "within all limits".into(),
        (TrialVerdict::NoLimits, _) => TrialVerdict::NoLimits.as_str().into(),
    }
}

fn limits_table(r: &RunResult, kind: ActivityKind) -> String {
    let mut table = plain_table(&["", "value", "limit", "verdict", "margin"]);
    let limiting = r.assessment.limiting().map(|l| &l.limit);
    for l in &r.assessment.limits {
        let Some(m) = metric(&l.limit.outcome) else { continue };
        let mark = if limiting == Some(&l.limit) { "  ← limits" } else { "" };
        table.add_row(vec![
            marked(m, kind),
            m.say(l.value),
            l.bounds(),
            verdict(l),
            l.margin.map_or_else(String::new, |v| m.say(crate::outcome::Value::Number(v))) + mark,
        ]);
    }
    table.to_string()
}

/// Its label, with a mark if values of judgement decide it.
fn marked(m: &Metric, kind: ActivityKind) -> String {
    if m.judged.contains(&kind) { format!("{} [J]", m.label) } else { m.label.to_owned() }
}

fn verdict(l: &LimitVerdict) -> String {
    let word = match (l.verdict, l.limit.severity) {
        (Verdict::Within, _) => Verdict::Within.as_str(),
        (v, Severity::Limit) => return v.as_str().to_uppercase(),
        (_, Severity::Warning) => "warning",
    };
    match l.limit.band_pct {
        Some(band) if l.in_band => format!("{word} (inside the ±{band:.0} % band of a judged edge)"),
        _ => word.to_owned(),
    }
}

/// Outcomes that no limit is about.
fn others(r: &RunResult, kind: ActivityKind) -> Vec<String> {
    r.assessment
        .outcomes
        .iter()
        .filter(|(m, _)| !r.assessment.limits.iter().any(|l| l.limit.outcome == m.key))
        .map(|(m, v)| match v {
            crate::outcome::Value::NotReached => format!("{}: none", marked(m, kind)),
            v => format!("{}: {}", marked(m, kind), m.say(v)),
        })
        .collect()
}

fn summary(survey: &Survey) -> String {
    let mut table = plain_table(&["scenario", "verdict", "closest limit", "value", "margin"]);
    for run in &survey.runs {
        let name = run.scenario.name.clone();
        match &run.result {
            Err(_) => {
                table.add_row(vec![name, "cannot run".into()]);
            }
            Ok(r) => {
                let l = r.assessment.limiting();
                let m = l.and_then(|l| metric(&l.limit.outcome));
                let say = |v| m.map_or_else(String::new, |m| m.say(v));
                table.add_row(vec![
                    name,
                    r.assessment.verdict().as_str().to_owned(),
                    m.map_or_else(String::new, |m| m.label.to_owned()),
                    l.map_or_else(String::new, |l| say(l.value)),
                    l.and_then(|l| l.margin)
                        .map_or_else(String::new, |v| say(crate::outcome::Value::Number(v))),
                ]);
            }
        }
    }
    format!("SUMMARY\n{table}\n")
}

/// A table without lines, numbers to the right.
pub(crate) fn plain_table(head: &[&str]) -> Table {
    let mut table = Table::new();
    table.load_preset(presets::NOTHING).set_content_arrangement(ContentArrangement::Disabled);
    table.set_header(head.to_vec());
    if let Some(c) = table.column_mut(1) {
        c.set_cell_alignment(CellAlignment::Left);
    }
    table
}

/// Wraps at spaces; words longer than the width stand alone.
pub(crate) fn wrap(text: &str, indent: &str) -> String {
    let mut lines = vec![indent.to_owned()];
    for word in text.split_whitespace() {
        let line = lines.last_mut().expect("never empty");
        if line.chars().count() + word.chars().count() + 1 > WIDTH && line.len() > indent.len() {
            lines.push(format!("{indent}{word}"));
        } else {
            if line.len() > indent.len() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines.join("\n")
}
