//! What the page asks about a measured curve, as the program answers it.

use serde_json::{Value as Json, json};

use super::program::{Program, raw_slow, request, status};

fn asked(port: u16, path: &str, question: &Json) -> (u16, Json) {
    let head = "content-type: application/json\r\n";
    let answer = raw_slow(port, &request(port, &format!("POST /{path}"), head, &question.to_string()));
    let body = answer.split("\r\n\r\n").nth(1).unwrap_or_default();
    (status(&answer), serde_json::from_str(body).unwrap_or(Json::Null))
}

/// The curve turns with its heel contact; every refusal is said in words, and none ends the program.
#[test]
fn page_reads_a_measured_curve_or_says_why_not() {
    let mut program = Program::start();
    let table = std::fs::read_to_string("docs/examples/walk.csv").expect("shipped");
    let good = json!({ "scenario": "walk-comfortable", "leg": "speed_m_per_s=1.2", "table": table });
    let with = |key: &str, value: Json| {
        let mut question = good.clone();
        question[key] = value;
        question
    };
    let (ok, curve) = asked(program.port, "curve", &good);
    let knee = |c: &Json| -> Vec<f64> {
        c["knee_deg"].as_array().expect("a curve").iter().filter_map(Json::as_f64).collect()
    };
    assert_eq!((ok, knee(&curve).len(), &curve["strides"]), (200, 101, &json!(3)));
    let (_, later) = asked(program.port, "curve", &with("later_pct", json!(10)));
    assert!((knee(&later)[60] - knee(&curve)[70]).abs() < 1e-12);
    let many: String = (0..9000).map(|i| format!("{i},0\n")).collect();
    for (question, code, said) in [
        (with("table", json!("a,b\n1,2\n")), 422, "time_s or percent"),
        (with("table", json!("")), 422, "no header"),
        (with("table", json!(many)), 413, ""),
        (with("scenario", json!("sit-down")), 422, "does not walk"),
        (with("scenario", json!("nobody")), 422, "nobody"),
        (with("leg", json!("swing-flexion=nobody")), 422, "swing-flexion"),
        (with("columns", json!(["knee=x"])), 422, "is no column"),
        (with("later_pct", json!("x")), 400, "not a question"),
        (with("more", json!(1)), 400, "not a question"),
    ] {
        let (got, why) = asked(program.port, "curve", &question);
        let words = why["error"].as_str().unwrap_or_default();
        assert!(got == code && words.contains(said), "{said}: {got} {words}");
    }
    let (code, why) = asked(program.port, "next", &with("seen", json!(["toe-drag"])));
    assert!(code == 422 && why["error"].as_str().is_some_and(|w| w.contains("toe-drags")), "{why}");
    assert!(asked(program.port, "curve", &with("later_pct", json!(1e308))).0 == 200 && program.runs());
}
