//! What the page is shown: words, curves, and the checks that every text goes through.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use kneedamp::report::page_data;
use serde_json::Value;

use super::{english, models};
use crate::commands::refused;

/// A curve as numbers.
fn unpacked(curve: &Value) -> Vec<f64> {
    let part = |curve: &Value| -> Vec<f64> {
        let (lo, hi) = (curve["lo"].as_f64().expect("lo"), curve["hi"].as_f64().expect("hi"));
        let bytes = STANDARD.decode(curve["u16"].as_str().expect("text")).expect("base64");
        let value = |b: &[u8]| lo + (hi - lo) * f64::from(u16::from_le_bytes([b[0], b[1]])) / 65535.0;
        bytes.chunks(2).map(value).collect()
    };
    curve.as_array().expect("parts").iter().flat_map(part).collect()
}

#[test]
fn page_curves_are_the_computed_ones() {
    let models = models();
    for scenario in &models.scenarios {
        let answer = models.answer(&scenario.name, &["swing-flexion=30"], 400).expect("runs");
        let animation = &answer.legs[0].as_ref().expect("ran").animation;
        let json = page_data::answer(&answer);
        let knee = unpacked(&json["legs"][0]["animation"]["curves"]["knee_deg"]);
        assert_eq!(knee.len(), animation.frames.len());
        let range = knee.iter().fold(1.0_f64, |m, v| m.max(v.abs()));
        for (k, f) in knee.iter().zip(&animation.frames) {
            assert!((k - f.knee_rad.to_degrees()).abs() < 2.0 * range / 65535.0 + 1e-6, "{}", scenario.name);
        }
    }
}

/// The sentence of an open knee in a hurry, and that of the command line, are the same.
#[test]
fn page_says_what_compare_says() {
    let answer = models().answer("walk-fast", &["swing-flexion=60", "swing-flexion=0"], 100).expect("runs");
    let json = page_data::answer(&answer);
    let b = &json["legs"][1];
    assert_eq!(b["verdict"], "outside");
    assert!(b["seen"].to_string().contains("straight only just before the foot lands, or after it"), "{b}");
    let noticed = json["noticed"][1].as_str().expect("noticed").to_owned();
    let out = crate::commands::stdout(
        &["compare", "--a", "swing-flexion=60", "--b", "swing-flexion=0", "--scenario", "walk-fast"],
        0,
    );
    let flat = |s: &str| s.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat(&out).contains(&flat(&noticed)), "{noticed}\n{out}");
}

/// A landing that can go either way is told as doubtful: neither as within nor as broken, with a mark of its own.
#[test]
fn page_tells_three_verdicts_apart() {
    let models = models();
    let positions: Vec<String> = (0..=10).map(|i| format!("stance-yield={}", 10 * i)).collect();
    let legs: Vec<&str> = positions.iter().map(String::as_str).collect();
    let mut found = 0;
    for pair in legs.chunks(2) {
        let json = page_data::answer(&models.answer("stumble", pair, 10).expect("runs"));
        for leg in json["legs"].as_array().expect("legs") {
            if leg["outcomes"]["what_happens"] != "doubtful" {
                continue;
            }
            found += 1;
            assert_eq!((&leg["verdict"], &leg["mark"]), (&"doubtful".into(), &"?".into()), "{leg}");
            let headline = leg["headline"].as_str().expect("text");
            assert!(headline.contains("doubtful"), "{headline}");
            assert!(!headline.contains("broken") && !headline.contains("Within"), "{headline}");
            assert_eq!(leg["closest"], Value::Null, "only what is within has a closest limit");
            assert!(leg["seen"][0]["what"].as_str().expect("text").starts_with("Doubtful: "), "{leg}");
            let limits = leg["limits"].as_array().expect("limits");
            assert!(limits.iter().any(|l| l["verdict"] == "doubtful" && l["mark"] == "?"), "{leg}");
        }
    }
    assert!(found > 0, "a softer valve makes the stumble doubtful");
}

/// A target stands apart: it has no mark, and not meeting it is not called outside.
#[test]
fn page_keeps_targets_apart() {
    let models = models();
    let walks = models.scenarios.iter().filter(|s| s.name.starts_with("walk"));
    let mut missed = 0;
    for scenario in walks {
        let json =
            page_data::answer(&models.answer(&scenario.name, &["swing-flexion=100"], 10).expect("runs"));
        let limits = json["legs"][0]["limits"].as_array().expect("limits");
        for (limit, shown) in scenario.limits.iter().zip(limits) {
            if limit.severity == kneedamp::scenario::Severity::Target {
                assert_eq!(shown["mark"], "", "{shown}");
                let said = shown["verdict"].as_str().expect("text");
                assert!(["target met", "target not met"].contains(&said), "{said}");
                missed += usize::from(said == "target not met");
            }
        }
    }
    assert!(missed > 0, "a closed valve misses the heel rise of able-bodied walking somewhere");
}

/// Texts of a request are refused as those of the command line are, and no text leads to a file.
#[test]
fn page_refuses_what_the_command_line_refuses() {
    let models = models();
    let said = |leg: &str| models.answer("walk-fast", &[leg], 10).expect_err(leg).to_string();
    for leg in [
        "swing-flexion=180",
        "swing-flexion=nan",
        "mass_kg=-3",
        "nonsense=1",
        "swing-flexion",
        "mass_kg=1,mass_kg=2",
    ] {
        let same = refused(&["compare", "--a", leg, "--b", "", "--scenario", "walk-fast"]);
        let own = said(leg);
        // the command line names its option in front of the field
        let tail = own.split_once(": ").map_or(own.as_str(), |x| x.1);
        assert!(same.contains(tail), "{own} against {same}");
    }
    for leg in
        ["person=/etc/passwd", "person=../x.yaml", "knee=models/knees/built-in.yaml", "prosthesis=file:x"]
    {
        assert!(said(leg).contains("known:"), "{}", said(leg));
    }
    assert!(models.answer("../stand", &[""], 10).is_err());
    assert!(models.answer::<&str>("stand", &[], 10).is_err());
    assert!(models.answer("stand", &[""; 5], 10).is_err());
}

/// A leg that cannot be run is told of in its place.
#[test]
fn page_tells_of_a_leg_that_cannot_run() {
    let answer = models().answer("walk-fast", &["", "speed_m_per_s=4.9"], 10).expect("a question");
    let json = page_data::answer(&answer);
    assert_eq!(json["legs"][0]["verdict"].as_str().map(|v| v == "cannot run"), Some(false));
    assert_eq!(json["legs"][1]["verdict"], "cannot run");
    assert!(json["legs"][1]["seen"].to_string().contains("lies outside the drive"));
    // what it was asked for is told all the same: a slider at 0 % would be wrong
    assert_eq!(json["legs"][1]["settings"], json["legs"][0]["settings"]);
    assert_eq!(json["legs"][1]["inputs"], json["legs"][0]["inputs"]);
    assert!(json["legs"][1]["settings"]["swing-flexion"].as_f64().is_some_and(|v| v > 0.0));
}

/// A locked knee has settings that cannot act; what was asked for is told in full.
#[test]
fn page_tells_what_a_locked_knee_was_asked_for() {
    let mut models = models();
    let mut locked = models.base.knee.clone();
    locked.name = "locked".into();
    locked.locked = true;
    models.knees.push(locked);
    let answer = models.answer("walk-fast", &["", "knee=locked,stance-yield=10"], 10).expect("a question");
    let json = page_data::answer(&answer);
    assert_eq!(json["legs"][1]["verdict"], "cannot run");
    assert_eq!(json["legs"][1]["settings"]["stance-yield"], 10.0);
    assert!(json["legs"][1]["inputs"].to_string().contains("knee locked"), "{}", json["legs"][1]["inputs"]);
}

/// Names of those in a list that are marked so.
fn marked<'a>(list: &'a serde_json::Value, mark: &str, so: bool, name: &str) -> Vec<&'a str> {
    let all = list.as_array().expect("a list").iter();
    all.filter(|x| x[mark] == so).map(|x| x[name].as_str().expect("a name")).collect()
}

/// Only what a sheet cannot take is refused, and the page is told beforehand.
#[test]
fn page_sheet_takes_what_belongs_to_no_scenario() {
    let models = models();
    let start = page_data::start(&models, english()).expect("good models");
    let refused = marked(&start["inputs"], "on_sheet", false, "key");
    assert_eq!(
        refused,
        [
            "speed_m_per_s",
            "cadence_steps_per_min",
            "stumble_flexion_deg",
            "stand_slope_deg",
            "hip_moment_n_m_per_kg",
            "sitting_share"
        ]
    );
    let said = models.sheet("sitting_share=0.6,swing-flexion=60").expect_err("refused").to_string();
    assert!(said.contains("cannot take sitting_share"), "{said}");
}

/// A speed set by hand takes a pace given by factors away, so the page has to know where there is one; and the speed
/// that acts is that of the leg's own person.
#[test]
fn page_knows_a_pace_by_factor() {
    let models = models();
    let start = page_data::start(&models, english()).expect("good models");
    let by_factor = marked(&start["scenarios"], "paced_by_factor", true, "name");
    assert_eq!(by_factor, ["walk-hurried"]);
    let answer = models.answer("walk-hurried", &["", "person=50-kg"], 10).expect("runs");
    let speed = |i: usize| {
        page_data::answer(&answer)["legs"][i]["animation"]["speed_m_per_s"].as_f64().expect("a speed")
    };
    assert!(speed(1) < 0.98 * speed(0), "{} {}", speed(0), speed(1));
}

#[test]
fn page_start_has_caution_scenarios_and_lessons() {
    let start = page_data::start(&models(), english()).expect("good models");
    assert_eq!(start["caution"], kneedamp::CAUTION);
    assert_eq!(start["lessons"].as_array().map(Vec::len), Some(8));
    assert!(start["scenarios"].as_array().is_some_and(|s| s.len() >= 10));
}

/// The page runs at the precision of scans; what it shows are the digits that `run` shows.
#[test]
fn page_shows_the_digits_of_the_tighter_precision() {
    use kneedamp::motion::trial::Detail;
    use kneedamp::numerics::tolerances::Tolerances;
    let models = models();
    let (mut same, mut apart) = (0, Vec::new());
    for scenario in &models.scenarios {
        for text in ["", "swing-flexion=60", "swing-flexion=20,stance-yield=60", "person=50-kg,catch-load=30"]
        {
            let answer = models.answer(&scenario.name, &[text], 2).expect("runs");
            let shown = page_data::answer(&answer)["legs"][0]["outcomes"].clone();
            let tight = models
                .variant(text)
                .and_then(|v| v.case(&models.base, scenario))
                .and_then(|c| c.assess(Detail::default(), Tolerances::default()))
                .expect("runs");
            for (m, v) in tight.outcomes.iter() {
                match shown[m.key].as_str() {
                    Some(said) if said == m.say_short(v) => same += 1,
                    Some(said) => apart.push(format!("{} {text}: {} {said}", scenario.name, m.key)),
                    None => {}
                }
            }
        }
    }
    println!("{same} values are the same in all digits shown");
    assert!(same > 500 && apart.is_empty(), "{same}, {apart:?}");
}
