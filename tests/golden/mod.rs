//! Regression: outcomes of every shipped scenario with the built-in knee. Golden files are reviewed:
//! `KNEEDAMP_BLESS=1 cargo test golden` writes them anew, and the difference is read before it is
//! committed.

use std::path::PathBuf;

use serde_json::{Map, Value as Json, json};

use crate::common::{library, trial};
use kneedamp::library::Kind;
use kneedamp::outcome::{Assessment, Value};

/// Other libm versions differ in the last digits; a change of the model does not hide below this.
const RELATIVE: f64 = 1e-6;
const ABSOLUTE: f64 = 1e-7;

fn file(scenario: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/golden").join(format!("{scenario}.json"))
}

fn found(scenario: &str) -> Json {
    let a = Assessment::of(&trial(scenario)).expect("every shipped scenario runs");
    let value = |v: Value| match v {
        Value::Number(n) => json!(n),
        Value::Word(w) => json!(w),
        Value::NotReached => Json::Null,
    };
    let outcomes: Map<String, Json> = a.outcomes.iter().map(|(m, v)| (m.key.to_owned(), value(v))).collect();
    let limits: Vec<Json> = a.limits.iter().map(|l| json!([l.limit.outcome, l.verdict.as_str()])).collect();
    json!({ "outcomes": outcomes, "limits": limits, "verdict": a.word() })
}

pub fn differences(path: &str, a: &Json, b: &Json, out: &mut Vec<String>) {
    match (a, b) {
        (Json::Number(x), Json::Number(y)) => {
            let (x, y) = (x.as_f64().unwrap_or(f64::NAN), y.as_f64().unwrap_or(f64::NAN));
            let allowed = ABSOLUTE + RELATIVE * x.abs().max(y.abs());
            if (x - y).abs() > allowed || x.is_nan() || y.is_nan() {
                out.push(format!("{path}: {x} was {y}"));
            }
        }
        (Json::Object(x), Json::Object(y)) => {
            for key in x.keys().chain(y.keys().filter(|k| !x.contains_key(*k))) {
                let null = Json::Null;
                let (p, q) = (x.get(key), y.get(key));
                if p.is_none() || q.is_none() {
                    out.push(format!("{path}.{key}: only on one side"));
                }
                differences(&format!("{path}.{key}"), p.unwrap_or(&null), q.unwrap_or(&null), out);
            }
        }
        _ if a == b => {}
        _ => out.push(format!("{path}: {a} was {b}")),
    }
}

#[test]
fn golden_outcomes_of_every_scenario() {
    let mut wrong = Vec::new();
    for scenario in library().names(Kind::Scenario) {
        let now = found(&scenario);
        if std::env::var_os("KNEEDAMP_BLESS").is_some() {
            let text = serde_json::to_string_pretty(&now).expect("JSON") + "\n";
            std::fs::write(file(&scenario), text).expect("writes");
        }
        match std::fs::read_to_string(file(&scenario)) {
            Ok(text) => {
                let golden = serde_json::from_str(&text).expect("JSON");
                differences(&scenario, &now, &golden, &mut wrong);
            }
            Err(e) => wrong.push(format!("{scenario}: no golden file ({e})")),
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn golden_comparison_can_fail() {
    let a = json!({ "outcomes": { "peak_flexion_deg": 49.05, "landing": "caught" } });
    let b = json!({ "outcomes": { "peak_flexion_deg": 49.06, "landing": "straight" } });
    let mut wrong = Vec::new();
    differences("x", &a, &b, &mut wrong);
    assert_eq!(wrong.len(), 2, "{wrong:?}");
}
