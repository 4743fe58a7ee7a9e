//! Regression: outcomes of every shipped scenario with the built-in knee. Golden files are reviewed:
//! `KNEEDAMP_BLESS=1 cargo test golden` writes them anew, and the difference is read before it is
//! committed.

mod transcripts;

use std::path::PathBuf;

use serde_json::{Map, Value as Json, json};

use crate::common::{library, trial};
use kneedamp::findings::Findings;
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
    json!({ "outcomes": outcomes, "limits": limits, "verdict": a.verdict().as_str() })
}

/// Where two documents differ: numbers by more than `relative` of the greater one, anything else at all.
pub fn differences(path: &str, a: &Json, b: &Json, relative: f64, out: &mut Vec<String>) {
    match (a, b) {
        (Json::Number(x), Json::Number(y)) => {
            let (x, y) = (x.as_f64().unwrap_or(f64::NAN), y.as_f64().unwrap_or(f64::NAN));
            let allowed = ABSOLUTE + relative * x.abs().max(y.abs());
            if (x - y).abs() > allowed || x.is_nan() || y.is_nan() {
                out.push(format!("{path}: {x} was {y}"));
            }
        }
        (Json::Object(x), Json::Object(y)) => {
            for key in x.keys().chain(y.keys().filter(|k| !x.contains_key(*k))) {
                match (x.get(key), y.get(key)) {
                    (Some(p), Some(q)) => differences(&format!("{path}.{key}"), p, q, relative, out),
                    _ => out.push(format!("{path}.{key}: only on one side")),
                }
            }
        }
        (Json::Array(x), Json::Array(y)) if x.len() == y.len() => {
            for (i, (p, q)) in x.iter().zip(y).enumerate() {
                differences(&format!("{path}[{i}]"), p, q, relative, out);
            }
        }
        _ if a == b => {}
        _ => out.push(format!("{path}: {a} was {b}")),
    }
}

/// What a study found, held against tests/golden/studies.
pub fn study(name: &str, now: &Json, relative: f64) {
    let path = file(&format!("studies/{name}"));
    if std::env::var_os("KNEEDAMP_BLESS").is_some() {
        std::fs::write(&path, serde_json::to_string_pretty(now).expect("JSON") + "\n").expect("writes");
    }
    let was = serde_json::from_str(&std::fs::read_to_string(&path).expect("golden file")).expect("JSON");
    let mut wrong = Vec::new();
    differences(name, now, &was, relative, &mut wrong);
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Findings held against tests/golden/studies, numbers to one part in a million; neither the version nor
/// the caution is a finding.
pub fn findings(name: &str, found: &Findings) {
    study(name, &plain(name, found), RELATIVE);
}

/// Findings as JSON without version and caution.
pub fn plain(name: &str, found: &Findings) -> Json {
    let text = kneedamp::report::findings::json(name, Json::Null, found);
    let mut now: Json = serde_json::from_str(&text).expect("JSON");
    let document = now.as_object_mut().expect("an object");
    document.shift_remove("version");
    document.shift_remove("caution");
    now
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
                differences(&scenario, &now, &golden, RELATIVE, &mut wrong);
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
    differences("x", &a, &b, RELATIVE, &mut wrong);
    assert_eq!(wrong.len(), 2, "{wrong:?}");
}
