//! `kneedamp next`.

use super::{json, refused, stdout, unwrapped};

const QUICK: [&str; 7] = ["next", "walk-fast", "stumble", "--draws", "256", "--tries", "16"];

fn quick<'a>(more: &[&'a str]) -> Vec<&'a str> {
    QUICK.iter().copied().chain(more.iter().copied()).collect()
}

#[test]
fn commands_next_tells_people() {
    let out =
        stdout(&quick(&["--seen", "knee-late-straight:clear@walk-fast", "--set", "swing-extension=65"]), 0);
    let text = unwrapped(&out);
    for said in [
        "Told: knee-late-straight: clear in walk-fast.",
        "equally likely",
        "swing-extension 5 % less: helps and loses nothing in",
        "makes something unsafe in",
        "no prescription",
        "as it is",
        "foot 5 mm further back",
    ] {
        assert!(text.contains(said), "no '{said}' in {text}");
    }
    assert!(text.ends_with(kneedamp::CAUTION));
}

#[test]
fn commands_next_as_data() {
    let args = quick(&["--seen", "heel-flies-up", "--not-seen", "toe-drags", "--format", "json"]);
    let found = json(&args);
    for table in ["steps", "plausible", "clues"] {
        assert!(found[table].is_array(), "{table}");
    }
    let steps = found["steps"].as_array().expect("rows");
    assert_eq!(steps[0]["step"], "as it is");
    for row in steps {
        let [low, good, high] =
            ["good_low_95_pct", "good_pct", "good_high_95_pct"].map(|k| row[k].as_f64().expect("a number"));
        assert!(low <= good + 0.5 && good <= high + 0.5, "{row}");
    }
    for row in found["plausible"].as_array().expect("rows") {
        let value = |k: &str| row[k].as_f64().expect("a number");
        assert!(value("before_5") <= value("before_50") && value("after_50") <= value("after_95"), "{row}");
    }
}

#[test]
fn commands_next_refuses() {
    let cases: [(&[&str], &[&str]); 7] = [
        (&[], &["--seen"]),
        (&["--seen", "toe-drag"], &["toe-drag", "toe-drags"]),
        (&["--seen", "toe-drags:much"], &["much", "slight or clear"]),
        (&["--seen", "drops-into-chair"], &["drops-into-chair", "none of the scenarios"]),
        (&["--seen", "toe-drags@walk-fats"], &["walk-fats", "none of the scenarios"]),
        (&["--seen", "toe-drags", "--settings-within", "NaN"], &["--settings-within"]),
        (&["--seen", "toe-drags", "--step", "-5"], &["--step"]),
    ];
    for (args, said) in cases {
        let error = refused(&quick(args));
        for word in said {
            assert!(error.contains(word), "{args:?}: no '{word}' in {error}");
        }
    }
    assert!(refused(&["next", "--seen", "toe-drags", "--draws", "10"]).contains("--draws"));
    assert!(refused(&["next", "--seen", "toe-drags", "--tries", "1"]).contains("--tries"));
}

/// A measured swing narrows what could be: with the walk of the documents, which was made with swing-extension at 65 %,
/// the plausible positions move from those said towards it.
#[test]
fn commands_next_takes_a_trace() {
    let at = |more: &[&str]| {
        let said =
            ["next", "walk-comfortable", "--draws", "1024", "--tries", "16", "--settings-within", "30"];
        let seen =
            ["--not-seen", "toe-drags", "--set", "swing-extension=50", "--speed", "1.2", "--mass", "82"];
        let found = json(&[&said[..], &seen, more, &["--format", "json"]].concat());
        let rows = found["plausible"].as_array().expect("rows").clone();
        let row = rows.iter().find(|r| r["input"] == "swing-extension").expect("a row").clone();
        ["after_5", "after_50", "after_95"].map(|k| row[k].as_f64().expect("a number"))
    };
    let (without, with) = (at(&[]), at(&["--trace", "docs/examples/walk.csv"]));
    assert!(with[1] > without[1] + 2.0, "{without:?} {with:?}");
    assert!(with[2] - with[0] < without[2] - without[0], "{without:?} {with:?}");
    let seen = ["next", "sit-down", "walk-slow", "--seen", "drops-into-chair", "--trace"];
    assert!(refused(&[&seen[..], &["docs/examples/walk.csv@walk-fast"]].concat()).contains("has this name"));
    assert!(refused(&[&seen[..], &["nobody.csv"]].concat()).contains("nobody.csv"));
    assert!(
        refused(&["next", "sit-down", "--seen", "drops-into-chair", "--trace", "docs/examples/walk.csv"])
            .contains("none of the scenarios run walks")
    );
}
