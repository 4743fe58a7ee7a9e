//! `adjust`.

use serde_json::Value as Json;

use super::{refused, stdout, unwrapped};

#[test]
fn commands_adjust_tells_a_session() {
    let out =
        super::unwrapped(&stdout(&["adjust", "--knee", "constant-friction", "--starts", "0", "--full"], 0));
    for said in [
        "1. stand: within limits",
        "walk-hurried: ",
        "Turned: swing-extension 10 → 20 %",
        "Kept",
        "Backed out",
        "unsafe",
        "SETTINGS",
        "Caution",
    ] {
        assert!(out.contains(said), "no '{said}' in: {out}");
    }
    assert!(!out.contains("SETTINGS TO USE") && !out.contains("null"));
    assert!(!out.contains("b_n_m"), "no coefficient is seen");
}

/// Text without its line breaks.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// By default one screen of 40 lines has the answer, and every part of it is that of the data.
#[test]
fn commands_adjust_answers_on_one_screen() {
    let args = ["adjust", "--knee", "constant-friction", "--starts", "1"];
    let out = stdout(&args, 0);
    assert!(out.lines().count() <= 40, "{} lines: {out}", out.lines().count());
    assert!(out.lines().all(|l| l.chars().count() <= 100), "{out}");
    let said = flat(&out);
    let json: Json =
        serde_json::from_str(&stdout(&[&args[..], &["--format", "json"]].concat(), 0)).expect("JSON");
    let rows = |key: &str| json[key].as_array().expect(key).clone();
    let text = |v: &Json| v.as_str().expect("text").to_owned();
    // settings at the start, at the end and the best found
    for row in rows("settings") {
        let pct = |key: &str| format!("{:.1}", row[key].as_f64().expect("percent"));
        let (start, end, best) = (pct("start_pct"), pct("end_pct"), pct("best_found_pct"));
        let line = format!("{} {start} {end} {best}", text(&row["setting"]));
        assert!(said.contains(&line), "no '{line}' in: {out}");
    }
    // the changes that were kept, the limits that are broken at the end
    let kept: Vec<Json> =
        rows("log").into_iter().filter(|r| r["result"] == "kept" || r["result"] == "compromise").collect();
    assert!(!kept.is_empty());
    // a line may put several steps of a setting together
    for row in &kept {
        let line = format!("- {} ", text(&row["setting"]));
        assert!(said.contains(&line), "no '{line}' in: {out}");
    }
    let first = format!("{} → ", kept[0]["from_pct"].as_f64().expect("percent"));
    assert!(said.contains(&first), "no '{first}' in: {out}");
    let broken = rows("unmended");
    assert!(!broken.is_empty());
    for row in &broken {
        let line = format!("- {}: {}", text(&row["scenario"]), text(&row["seen"]));
        assert!(said.contains(&line), "no '{line}' in: {out}");
    }
    let backed_out = rows("log").iter().filter(|r| r["result"] == "backed out").count();
    for part in [&format!("{backed_out} other change"), "Worst relative margin", "--full", "Caution"] {
        assert!(said.contains(part), "no '{part}' in: {out}");
    }
}

/// `--full` has every sentence of the JSON document, and the tables.
#[test]
fn commands_adjust_full_has_every_sentence_and_table() {
    let args = ["adjust", "--knee", "constant-friction", "--starts", "1"];
    let full = flat(&stdout(&[&args[..], &["--full"]].concat(), 0));
    let json: Json =
        serde_json::from_str(&stdout(&[&args[..], &["--format", "json"]].concat(), 0)).expect("JSON");
    let sentences = json["text"].as_array().expect("text");
    assert!(sentences.len() > 20);
    for sentence in sentences {
        assert!(full.contains(&flat(sentence.as_str().expect("text"))), "no '{sentence}' in: {full}");
    }
    for part in
        ["SETTINGS, PERCENT OF", "CLOSEST LIMIT OF EACH SCENARIO", "COUNTS", "positions searched", "Caution"]
    {
        assert!(full.contains(part), "no '{part}' in: {full}");
    }
    let short = flat(&stdout(&args, 0));
    assert!(!short.contains("CLOSEST LIMIT OF EACH SCENARIO") && !short.contains("Backed out:"));
}

#[test]
fn commands_adjust_json_and_csv_say_the_same() {
    let args = ["adjust", "sit-down", "--start", "stance-yield=0", "--starts", "1", "--format"];
    let json: Json = serde_json::from_str(&stdout(&[&args[..], &["json"]].concat(), 0)).expect("JSON");
    let log = json["log"].as_array().expect("a log");
    assert_eq!(json["inputs"]["settings_pct"]["stance-yield"], 0.0, "inputs are those of the start");
    let last = log.last().expect("entries");
    let count = |what: &str| {
        let rows = json["counts"].as_array().expect("counts");
        rows.iter().find(|r| r["what"] == what).map(|r| r["value"].as_f64()).expect(what)
    };
    assert_eq!(count("trials"), last["trials"].as_f64());
    assert_eq!(count("unsafe trials"), last["unsafe_trials"].as_f64());
    let gap = count("gap").expect("searched");
    assert!(gap >= 0.0, "{gap}");
    let csv = stdout(&[&args[..], &["csv"]].concat(), 0);
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    assert_eq!(reader.headers().expect("head").get(0), Some("round"));
    assert_eq!(reader.records().count(), log.len());
}

/// A stumble that can go either way is named as not within, and `--strict` says so.
#[test]
fn commands_adjust_strict_wants_more_than_doubtful() {
    let start = "swing-flexion=70,swing-extension=53,stance-yield=10,catch-load=20";
    let args = ["adjust", "stumble", "--start", start, "--most-trials", "1", "--starts", "0", "--strict"];
    let out = stdout(&args, 3);
    assert!(out.contains("doubtful") && out.contains("Not within:"), "{out}");
}

#[test]
fn commands_adjust_strict_and_broken_off() {
    stdout(&["adjust", "sit-down", "--start", "open", "--starts", "0", "--strict"], 0);
    let cut = ["adjust", "--start", "open", "--most-trials", "4", "--starts", "0"];
    let out = stdout(&[&cut[..], &["--strict"]].concat(), 3);
    assert!(out.contains("broken off") && out.contains("Not within:"), "{out}");
    assert!(!out.contains("no rule of thumb helps"), "nothing has been shown: {out}");
    let out = stdout(&[&cut[..], &["--full"]].concat(), 0);
    assert!(out.contains("broken off") && out.contains("Not right yet"), "{out}");
    assert!(!out.contains("No rule of thumb mends"), "nothing has been shown: {out}");
}

#[test]
fn commands_adjust_seen() {
    let out = stdout(&["adjust", "--seen", "drops-into-chair", "--set", "stance-yield=0"], 0);
    for said in [
        "Rule out first: ",
        "The model shows it",
        "Stance-yield more",
        "helps; now within limits",
        "If it is not a damper problem after all",
    ] {
        assert!(out.contains(said), "no '{said}' in: {out}");
    }
    // the symptoms with the most rules fit on one screen
    for name in ["knee-bends-after-landing", "knee-bends-again"] {
        let out = stdout(&["adjust", "--seen", name], 0);
        assert!(out.lines().count() <= 40, "{name}: {} lines", out.lines().count());
    }
    let out = stdout(&["adjust", "--seen", "knock-at-the-end,toe-drags"], 0);
    assert_eq!(out.matches("This model does not reproduce it").count(), 2, "{out}");
    let help = stdout(&["adjust", "--help"], 0);
    for s in kneedamp::study::adjust::SYMPTOMS {
        assert!(help.contains(s.name));
    }
}

#[test]
fn commands_adjust_refuses() {
    let cases: [(&[&str], &[&str]); 13] = [
        (&["--seen", "feels-odd"], &["feels-odd", "heel-flies-up"]),
        (&["--seen", "toe-drags", "--start", "open"], &["--start"]),
        (&["--seen", "toe-drags", "--full"], &["--full"]),
        (&["--start", "open,closed"], &["--start open", "SETTING=PERCENT"]),
        (&["--start", "stance-yield=101"], &["--start stance-yield", "0 to 100"]),
        (&["--start", "stance-yield=nan"], &["--start stance-yield", "0 to 100"]),
        (&["--start", "colour=1"], &["colour", "swing-flexion"]),
        (&["--order", "swing-flexion,swing-flexion"], &["given twice"]),
        (&["--order", "swimming"], &["swimming", "stairs-down"]),
        (&["--step", "0"], &["--step", "0.1 to 50"]),
        (&["--step", "inf"], &["--step", "0.1 to 50"]),
        (&["--most-trials", "0"], &["--most-trials"]),
        (&["--seed", "-1"], &["--seed"]),
    ];
    for (args, said) in cases {
        let err = refused(&[&["adjust"], args].concat());
        assert!(said.iter().all(|s| err.contains(s)), "{args:?}: {err}");
    }
}

/// Words of what was seen are set beside what the model has; a scenario behind `@` is the only one looked at.
#[test]
fn commands_adjust_seen_with_words() {
    let seen = "knee-late-straight:clear@walk-fast";
    let said = |more: &[&str]| unwrapped(&stdout(&[&["adjust", "--seen", seen][..], more].concat(), 0));
    let late = said(&["--set", "swing-extension=90"]);
    assert!(late.contains("Told: knee-late-straight: clear in walk-fast. In the model with these settings: clear; the model agrees."), "{late}");
    assert!(!late.contains("walk-slow"), "{late}");
    let well = said(&["--not-seen", "toe-drags"]);
    assert!(well.contains("In the model with these settings: not seen; kneedamp next asks"), "{well}");
    assert!(
        well.contains(
            "Told: toe-drags: not seen. In the model with these settings: not seen; the model agrees."
        ),
        "{well}"
    );
    for (args, words) in [
        (&["--seen", "toe-drags:much"][..], "slight or clear"),
        (&["--seen", "toe-drags@nowhere"], "none of the scenarios"),
        (&["--not-seen", "toe-drags"], "--seen"),
    ] {
        assert!(refused(&[&["adjust"], args].concat()).contains(words), "{args:?}");
    }
}
