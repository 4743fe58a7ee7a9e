//! `kneedamp compare`.

use super::{json, kneedamp, refused, stdout, unwrapped};

#[test]
fn commands_compare_tells_tables_and_sentences() {
    let out = stdout(&["compare", "--a", "swing-flexion=0", "--b", "swing-flexion=80"], 0);
    for word in ["A: swing-flexion 0 %", "B against A", "VERDICTS", "WALK-COMFORTABLE", "B − A"] {
        assert!(out.contains(word), "{word}");
    }
    assert!(["(outside)", "(doubtful)", "(not reached)"].iter().any(|word| out.contains(word)), "{out}");
    assert!(unwrapped(&out).contains("matches no mark on any joint") && out.contains("not a medical device"));
    assert!(!out.contains("-0.0 ") && !out.contains('\u{1b}'));
    let person =
        ["compare", "--a", "", "--b", "person=50-kg,knee=reference,prosthesis=light", "--scenario", "stand"];
    assert!(stdout(&person, 0).contains("person 50-kg (50 kg, 1.60 m), knee reference, prosthesis light"));
}

#[test]
fn commands_compare_json_and_csv() {
    let args = ["compare", "--a", "", "--b", "temperature_c=0", "--scenario", "walk-fast", "--format"];
    let j = json(&[&args[..], &["json"]].concat());
    assert_eq!((j["command"].as_str(), j["caution"].as_str()), (Some("compare"), Some(kneedamp::CAUTION)));
    let row = j["outcomes"].as_array().expect("rows").iter().find(|r| r["outcome"] == "peak_flexion_deg");
    let n = |k: &str| row.expect("a row")[k].as_f64().expect("a number");
    assert!((n("b") - n("a") - n("b_minus_a")).abs() < 1e-12 && n("b") < n("a"));
    assert_eq!(j["variants"][1]["temperature_c"], 0.0);
    for l in j["limits"].as_array().expect("rows") {
        let words = match l["severity"].as_str().expect("a word") {
            "target" => &["target met", "target not met"][..],
            "warning" => &["within", "warning"],
            _ => &["within", "doubtful", "outside", "not reached"],
        };
        assert!(words.contains(&l["verdict"].as_str().expect("a word")), "{l}");
    }
    let csv_text = stdout(&[&args[..], &["csv"]].concat(), 0);
    let mut reader = csv::Reader::from_reader(csv_text.as_bytes());
    assert_eq!(reader.headers().expect("head"), vec!["scenario", "outcome", "unit", "a", "b", "b_minus_a"]);
    assert_eq!(reader.records().count(), j["outcomes"].as_array().expect("rows").len());
}

#[test]
fn commands_compare_lessons() {
    let list = stdout(&["compare", "--lesson", "list"], 0);
    let j = json(&["compare", "--lesson", "list", "--format", "json"]);
    assert_eq!(j["lessons"].as_array().expect("rows").len(), 8);
    for l in kneedamp::teaching::lessons::LESSONS {
        let title = kneedamp::words::Words::of("en").expect("English").lesson(l.number, "title");
        assert!(list.contains(&title), "{title}");
        let out = stdout(&["compare", "--lesson", &l.number.to_string()], 0);
        assert!(out.contains(&title) && out.contains("Guess first") && out.contains("Why: "));
        for s in l.scenarios {
            assert!(out.contains(&s.to_uppercase()), "{}: {s}", l.number);
        }
        assert!(!out.contains("need not show"));
    }
    let other = stdout(&["compare", "--lesson", "1", "--person", "100-kg"], 0);
    assert!(other.contains("need not show what it says"));
}

#[test]
fn commands_compare_bad_usage_is_refused() {
    let two = |b: &'static str| vec!["compare", "--a", "", "--b", b];
    for (args, said) in [
        (vec!["compare"], "--a"),
        (vec!["compare", "--a", ""], "--b"),
        (two("swing-flexion=180"), "--b swing-flexion: 180 is outside the allowed range 0 to 100"),
        (two("swing-flexion=nan"), "0 to 100"),
        (two("swing-flexion=much"), "'much'"),
        (two("swing-flexion"), "wanted KEY=VALUE"),
        (two("swing-flexion=1,,"), "wanted KEY=VALUE"),
        (two("swing=10"), "--b: no input named 'swing'; known: person"),
        (two("mass_kg=80,mass_kg=81"), "mass_kg is given twice"),
        (two("person="), "wanted KEY=VALUE"),
        (two("person=nobody"), "75-kg"),
        (two("person=no/such.yaml"), "no/such.yaml"),
        (two("mass_kg=-75"), "30 to 200"),
        (vec!["compare", "--a", "", "--b", "", "--d", ""], "--c"),
        (vec!["compare", "--a", "", "--b", "", "--scenario", "moonwalk"], "walk-comfortable"),
        (vec!["compare", "--a", "", "--b", "", "--scenario", "stand", "--speed", "1"], "no level walking"),
        (vec!["compare", "--lesson", "9"], "1 to 8"),
        (vec!["compare", "--lesson", "x"], "1 to 8"),
        (vec!["compare", "--lesson", "1", "--a", ""], "cannot be used with"),
        (vec!["compare", "--lesson", "1", "--c", ""], "cannot be used with"),
    ] {
        let err = refused(&args);
        assert!(err.contains(said), "{args:?}: no '{said}' in: {err}");
    }
}

#[test]
fn commands_compare_nothing_that_can_run_is_a_failure() {
    let err = refused(&["compare", "--a", "speed_m_per_s=4.5", "--b", "speed_m_per_s=4.6"]);
    assert!(err.contains("outside the drive"), "{err}");
    let half = stdout(&["compare", "--a", "", "--b", "speed_m_per_s=4.5"], 0);
    assert!(half.contains("walk-comfortable, B: cannot run"), "{half}");
}

#[test]
fn commands_compare_same_bytes_for_any_number_of_threads() {
    let with = |threads: &str| {
        let out = kneedamp(&["compare", "--lesson", "8", "--format", "json"])
            .env("RAYON_NUM_THREADS", threads)
            .assert()
            .code(0);
        out.get_output().stdout.clone()
    };
    assert_eq!(with("1"), with("7"));
}
