//! A survey for people. The summary fits a screen: a table of all scenarios, and what to see and to change
//! where a scenario is not within its limits. The full report has every limit and outcome of each scenario.

use std::fmt::Write as _;

use comfy_table::{CellAlignment, ContentArrangement, Table as TerminalTable, presets};

use super::text::wrap;
use crate::outcome::{LimitVerdict, Metric, TrialVerdict, Value, Verdict, metric};
use crate::scenario::ActivityKind;
use crate::study::survey::Survey;
use crate::study::survey::{RunResult, ScenarioRun};

/// The summary; `more` says how to get the full report.
#[must_use]
pub fn summary(survey: &Survey, more: &str) -> String {
    let inputs = survey.setup.in_words(&survey.resolved);
    let mut out: String = inputs.iter().map(|line| wrap(line, "") + "\n").collect();
    out.push('\n');
    if let [run] = survey.runs.as_slice() {
        out += &one_scenario(run);
    } else {
        let _ = writeln!(out, "SUMMARY\n{}", summary_table(survey));
        for run in survey.runs.iter().filter(|r| !r.holds()) {
            let _ = write!(out, "\n{}", not_within(run));
        }
    }
    let _ = write!(out, "\n{}\n", wrap(more, ""));
    out + &caution()
}

/// The full report: every scenario, then the summary table.
#[must_use]
pub fn survey(survey: &Survey) -> String {
    let judged = "[J] = rests on an estimate (found for the example of the program; for yours: kneedamp uncertainty --scenario NAME)";
    let mut out = survey.setup.in_words(&survey.resolved).join("\n") + "\n" + judged + "\n";
    for run in &survey.runs {
        out.push('\n');
        out.push_str(&scenario(run));
    }
    if survey.runs.len() > 1 {
        let _ = write!(out, "\nSUMMARY\n{}\n", summary_table(survey));
    }
    out + &caution()
}

fn caution() -> String {
    format!("\n{}\n", wrap(&format!("Caution. {}", crate::CAUTION), ""))
}

/// What would be seen in a scenario that is not within its limits, and the setting that acts most.
fn not_within(run: &ScenarioRun) -> String {
    let name = &run.scenario.name;
    let text = match &run.result {
        Err(e) => format!("{name}: {e}"),
        Ok(r) => format!("{name}. {}", r.sentence()),
    };
    wrap(&text, "") + "\n"
}

/// The only scenario of a survey: its table of limits, notes and sentence.
fn one_scenario(run: &ScenarioRun) -> String {
    let title = run.scenario.name.to_uppercase();
    match &run.result {
        Err(e) => format!("{title}\n{}\n", wrap(&e.to_string(), "")),
        Ok(r) => {
            format!("{title}: {}\n{}\n{}", verdict_word(r), limits_table(r, None), notes_and_sentence(r))
        }
    }
}

fn scenario(run: &ScenarioRun) -> String {
    let title = run.scenario.name.to_uppercase();
    match &run.result {
        Err(e) => format!("{title}\n{}\n", wrap(&e.to_string(), "")),
        Ok(r) => {
            let kind = run.scenario.activity.kind();
            let mut out = format!("{title}: {}\n", verdict_word(r));
            let _ = writeln!(out, "{}", limits_table(r, Some(kind)));
            let _ = writeln!(out, "{}", wrap(&format!("Also: {}.", others(r, kind).join("; ")), ""));
            out + &notes_and_sentence(r)
        }
    }
}

fn notes_and_sentence(r: &RunResult) -> String {
    let notes = r.notes.iter().map(|n| format!("Note: {n}."));
    notes.chain([r.sentence()]).map(|text| wrap(&text, "") + "\n").collect()
}

fn verdict_word(r: &RunResult) -> String {
    let verdict = r.assessment.verdict();
    let [doubtful, broken] = r.assessment.not_within();
    let words = match (verdict, broken, doubtful) {
        (TrialVerdict::Outside, 1, _) => "outside, one limit broken".into(),
        (TrialVerdict::Outside, n, _) => format!("outside, {n} limits broken"),
        (TrialVerdict::Doubtful, _, 1) => "doubtful in one limit".into(),
        (TrialVerdict::Doubtful, _, n) => format!("doubtful in {n} limits"),
        (TrialVerdict::Within, ..) => "within all limits".into(),
        (TrialVerdict::NoLimits, ..) => TrialVerdict::NoLimits.as_str().into(),
    };
    format!("{} {words}", verdict.mark())
}

/// Every limit with its verdict; in full, for an activity, with a mark at the outcomes that values of judgement decide in
/// it and with the checks of the model that are met.
fn limits_table(r: &RunResult, marked_for: Option<ActivityKind>) -> TerminalTable {
    let mut table = plain_table(&["", "value", "limit", "verdict", "margin"]);
    let limiting = r.assessment.limiting().map(|l| &l.limit);
    for l in &r.assessment.limits {
        let Some(m) = metric(&l.limit.outcome) else { continue };
        if marked_for.is_none() && m.internal && l.holds() {
            continue;
        }
        let arrow = if limiting == Some(&l.limit) { " ←" } else { "" };
        table.add_row(vec![
            m.table_label() + mark(m, marked_for),
            m.say_short(l.value),
            l.bounds(),
            if r.assessment.said_elsewhere(l) { "not counted".into() } else { verdict(l) },
            l.margin.map_or_else(String::new, |v| m.say_difference(v)) + arrow,
        ]);
    }
    table
}

/// The mark of an outcome that values of judgement decide.
fn mark(m: &Metric, kind: Option<ActivityKind>) -> &'static str {
    if kind.is_some_and(|kind| m.judged.contains(&kind)) { " [J]" } else { "" }
}

fn verdict(l: &LimitVerdict) -> String {
    let word = match (l.mark(), l.verdict) {
        (Some(mark), Verdict::Outside | Verdict::NotReached) => {
            return format!("{mark} {}", l.in_words().to_uppercase());
        }
        (Some(mark), _) if l.depends_on_hip() => {
            return format!("{mark} {}: depends on hip strength too", l.in_words());
        }
        (Some(mark), _) => format!("{mark} {}", l.in_words()),
        (None, _) => l.in_words().to_owned(),
    };
    match l.limit.band_pct {
        Some(band) if l.in_band => format!("{word} (inside the ±{band:.0} % band of a judged edge)"),
        _ => word,
    }
}

/// Outcomes without a limit.
fn others(r: &RunResult, kind: ActivityKind) -> Vec<String> {
    r.assessment
        .outcomes
        .iter()
        .filter(|(m, _)| !r.assessment.limits.iter().any(|l| l.limit.outcome == m.key))
        .map(|(m, v)| {
            let mark = mark(m, Some(kind));
            match v {
                Value::NotReached if m.not_reached.is_empty() => format!("{}{mark}: none", m.label),
                v if m.sign.is_some() || v == Value::NotReached => m.sentence(v) + mark,
                v => format!("{}{mark}: {}", m.label, m.say(v)),
            }
        })
        .collect()
}

fn summary_table(survey: &Survey) -> TerminalTable {
    let mut table = plain_table(&["scenario", "verdict", "closest limit", "value", "margin"]);
    for run in &survey.runs {
        let mut row = vec![run.scenario.name.clone()];
        match &run.result {
            Err(e) => row.push(e.in_place_of_verdict().into()),
            Ok(r) => {
                let verdict = r.assessment.verdict();
                row.push(format!("{} {}", verdict.mark(), verdict.as_str()));
                let limiting = r.assessment.limiting().and_then(|l| Some((l, metric(&l.limit.outcome)?)));
                row.extend(limiting.into_iter().flat_map(|(l, m)| {
                    let margin = l.margin.map_or_else(String::new, |v| m.say_difference(v));
                    [m.table_label(), m.say_short(l.value), margin]
                }));
            }
        }
        table.add_row(row);
    }
    table
}

/// A table without lines, numbers to the right.
pub(crate) fn plain_table(head: &[&str]) -> TerminalTable {
    let mut table = TerminalTable::new();
    table.load_preset(presets::NOTHING).set_content_arrangement(ContentArrangement::Disabled);
    table.set_header(head.to_vec());
    if let Some(c) = table.column_mut(1) {
        c.set_cell_alignment(CellAlignment::Left);
    }
    table
}
