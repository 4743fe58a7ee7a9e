//! `kneedamp recheck`.

use super::{kneedamp, refused, stdout};
use serde_json::Value as Json;

const BOOTS: [&str; 3] = ["recheck", "foot_extra_mass_kg=0.5", "temperature_c=0"];

#[test]
fn commands_recheck_says_what_to_look_at_again() {
    let out = super::unwrapped(&stdout(&BOOTS, 0));
    for word in [
        "matches no mark on any joint",
        "Before: Person 75-kg",
        "Changed: mass added at the foot 0.5 kg; oil temperature 0 °C.",
        "What to look at again, in order",
        "foot_extra_mass_kg alone",
        "WHAT MOVED",
        "not a medical device",
    ] {
        assert!(out.contains(word), "{word}");
    }
    let spring = stdout(&["recheck", "assist_n_m=4", "--scenario", "walk-fast"], 0);
    assert!(spring.contains("walk-fast") && !spring.contains("sit-down") && !spring.contains(" alone"));
}

/// Fate, margins and share of every row follow from its own values and bounds.
#[test]
fn commands_recheck_json_follows_from_its_numbers() {
    let j: Json =
        serde_json::from_str(&stdout(&[&BOOTS[..], &["--format", "json"]].concat(), 0)).expect("JSON");
    let rows = j["moved"].as_array().expect("rows");
    let mut shares = 0;
    for row in rows {
        let margin = |v: &Json| {
            let v = v.as_f64()?;
            let above = row["min"].as_f64().map_or(f64::INFINITY, |m| v - m);
            Some(above.min(row["max"].as_f64().map_or(f64::INFINITY, |m| m - v)))
        };
        let (Some(before), Some(after)) = (margin(&row["before"]), margin(&row["after"])) else { continue };
        let share = (before - after) / before.abs();
        assert!((share - row["share_of_margin"].as_f64().expect("a share")).abs() < 1e-9, "{row}");
        let target = row["severity"] == "target";
        let fate = match (before >= 0.0, after >= 0.0, share > 0.0) {
            (true, false, _) if target => "now target not met",
            (false, true, _) if target => "now target met",
            (true, false, _) if row["fate"] == "now doubtful" => "now doubtful",
            (true, false, _) => "now beyond its limit",
            (false, true, _) => "now within",
            (true, true, true) => "nearer to its limit",
            (true, true, false) => "further within its limit",
            (false, false, true) => "further beyond its limit",
            (false, false, false) => "still beyond its limit, by less",
        };
        assert_eq!(row["fate"], fate, "{row}");
        assert!(share.abs() >= 0.25 || fate.starts_with("now"), "{row}");
        shares += 1;
    }
    assert!(shares > 8, "{shares}");
    assert_eq!(j["verdicts"].as_array().expect("rows").len(), 10);
}

#[test]
fn commands_recheck_bad_usage_is_refused() {
    for (args, said) in [
        (vec!["recheck"], "KEY=VALUE"),
        (vec!["recheck", ""], "nothing is changed"),
        (
            vec!["recheck", "foot_extra_mass_kg=-1"],
            "recheck foot_extra_mass_kg: -1 is outside the allowed range 0 to 3",
        ),
        (vec!["recheck", "mass_kg=80", "mass_kg=90"], "given twice"),
        (vec!["recheck", "boots=1"], "foot_extra_mass_kg"),
        (vec!["recheck", "mass_kg"], "wanted KEY=VALUE"),
        (vec!["recheck", "prosthesis=none"], "typical"),
        (vec!["recheck", "mass_kg=80", "--share", "0"], "1 to 100"),
        (vec!["recheck", "mass_kg=80", "--share=nan"], "1 to 100"),
        (vec!["recheck", "mass_kg=80", "--scenario", "moonwalk"], "walk-comfortable"),
        (
            vec!["recheck", "speed_m_per_s=4.5", "--scenario", "walk-fast", "--speed", "4.4"],
            "outside the drive",
        ),
    ] {
        let err = refused(&args);
        assert!(err.contains(said), "{args:?}: no '{said}' in: {err}");
    }
}

#[test]
fn commands_recheck_scenario_that_stops_running_is_said() {
    let out = stdout(&["recheck", "speed_m_per_s=4.5", "--scenario", "walk-fast"], 0);
    let said = super::unwrapped(&out);
    assert!(said.contains("Of 8 limits, newly broken: 8;"), "{out}");
    assert!(said.contains("1. walking - walk-fast: ran before and does not now: cannot run"), "{out}");
    assert!(!said.contains("Nothing asks to be looked at"), "{out}");
}

#[test]
fn commands_recheck_same_bytes_for_any_number_of_threads() {
    let with = |threads: &str| {
        let args = [&BOOTS[..], &["--format", "csv"]].concat();
        kneedamp(&args).env("RAYON_NUM_THREADS", threads).assert().code(0).get_output().stdout.clone()
    };
    assert_eq!(with("1"), with("7"));
}
