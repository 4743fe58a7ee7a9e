//! Surveys and traces as CSV.

use crate::error::SimError;
use crate::motion::sample::Samples;
use crate::outcome::{LimitVerdict, Value};
use crate::study::survey::Survey;

/// One row per outcome and limit: scenario, outcome, value, unit, min, max, allowed, verdict, margin, severity.
///
/// # Errors
/// None in practice; the writer's.
pub fn survey(survey: &Survey) -> Result<String, SimError> {
    let mut rows: Vec<[String; 10]> = Vec::new();
    let head =
        ["scenario", "outcome", "value", "unit", "min", "max", "allowed", "verdict", "margin", "severity"];
    rows.push(head.map(str::to_owned));
    for run in &survey.runs {
        let name = run.scenario.name.clone();
        let result = match &run.result {
            Ok(result) => result,
            Err(e) => {
                let mut row = std::array::from_fn(|_| String::new());
                row[0] = name;
                row[7] = e.in_place_of_verdict().into();
                rows.push(row);
                continue;
            }
        };
        for (metric, value) in result.assessment.outcomes.iter() {
            let mut limits =
                result.assessment.limits.iter().filter(|l| l.limit.outcome == metric.key).peekable();
            let start = [name.clone(), metric.key.to_owned(), plain(value), metric.unit.to_owned()];
            if limits.peek().is_none() {
                rows.push(row(&start, None));
            }
            rows.extend(limits.map(|l| row(&start, Some(l))));
        }
        let residual = result.assessment.energy_residual.to_string();
        rows.push(row(&[name, "energy_residual".into(), residual, String::new()], None));
    }
    write(rows.iter().map(|r| r.to_vec()))
}

fn row(start: &[String; 4], limit: Option<&LimitVerdict>) -> [String; 10] {
    let number = |v: Option<f64>| v.map_or_else(String::new, |x| x.to_string());
    match limit {
        None => std::array::from_fn(|i| start.get(i).cloned().unwrap_or_default()),
        Some(l) => {
            let [a, b, c, d] = start.clone();
            [
                a,
                b,
                c,
                d,
                number(l.limit.min),
                number(l.limit.max),
                l.limit.allowed.join("|"),
                l.in_words().to_owned(),
                number(l.margin),
                l.limit.severity.as_str().to_owned(),
            ]
        }
    }
}

fn plain(v: Value) -> String {
    match v {
        Value::Number(n) => n.to_string(),
        Value::Word(w) => w.to_string(),
        Value::NotReached => String::new(),
    }
}

/// In full; a negative zero is a zero.
fn plain_number(v: f64) -> String {
    (v + 0.0).to_string()
}

/// A trace with its column names.
///
/// # Errors
/// None in practice; the writer's.
pub fn trace(samples: &Samples) -> Result<String, SimError> {
    let (columns, rows) = samples.table();
    let head = columns.into_iter().map(str::to_owned).collect();
    let rows = rows.iter().map(|r| r.iter().map(|v| plain_number(*v)).collect::<Vec<_>>());
    write(std::iter::once(head).chain(rows))
}

pub(crate) fn write(rows: impl Iterator<Item = Vec<String>>) -> Result<String, SimError> {
    let failed = |e: &dyn std::fmt::Display| SimError::Syntax(e.to_string());
    let mut writer = csv::Writer::from_writer(Vec::new());
    for row in rows {
        writer.write_record(&row).map_err(|e| failed(&e))?;
    }
    let bytes = writer.into_inner().map_err(|e| failed(&e))?;
    String::from_utf8(bytes).map_err(|e| failed(&e))
}
