//! `kneedamp align`, and the shift of the foot in `run`.

use approx::assert_abs_diff_eq;
use serde_json::Value as Json;

use super::{json, kneedamp, refused, stdout};

#[test]
fn commands_align_tells_the_range_and_what_closes_it() {
    let out = stdout(&["align", "--step", "20"], 0);
    let flat = out.split_whitespace().collect::<Vec<_>>().join(" ");
    for said in [
        "in front of the knee axis",
        "1 in 12",
        "The near edge is closed by release in walking",
        "The far edge is closed by release in walking: the heel hardly rises",
        "Common practice",
        "WHERE EACH HOLDS",
    ] {
        assert!(flat.contains(said), "{said}");
    }
    assert!(flat.ends_with(kneedamp::CAUTION));
}

/// Numbers of the JSON are those of single runs with the same shift.
#[test]
fn commands_align_rows_are_those_of_run() {
    let j = json(&["align", "--from", "-10", "--to", "20", "--step", "15", "--format", "json"]);
    let rows = j["shifts"].as_array().expect("rows");
    assert_eq!(rows.len(), 3);
    for row in rows {
        let mm = row["foot_shift_mm"].as_f64().expect("a number");
        let shift = format!("{mm}");
        let run = json(&["run", "stand", "walk-comfortable", "--foot-shift", &shift, "--format", "json"]);
        let of = |i: usize, key: &str| run["runs"][i]["outcomes"][key].clone();
        let close = |a: &Json, b: &Json| (a.as_f64().expect("a") - b.as_f64().expect("b")).abs() < 1e-3;
        assert!(close(&row["extension_moment_n_m"], &of(0, "extension_moment_n_m")));
        assert!(close(&row["slope_limit_deg"], &of(0, "slope_limit_deg")));
        assert!(close(&row["peak_flexion_deg"], &of(1, "peak_flexion_deg")), "{row}");
        assert!(close(&row["release_pct"], &of(1, "release_pct")));
        assert_eq!(row["landing"], of(1, "landing"));
        assert_abs_diff_eq!(
            run["inputs"]["foot_shift_m"].as_f64().expect("a number"),
            mm / 1e3,
            epsilon = 1e-12
        );
    }
}

#[test]
fn commands_align_same_bytes_for_any_number_of_threads() {
    let with = |threads: &str| {
        let mut command = kneedamp(&["align", "--step", "30", "--format", "json"]);
        command.env("RAYON_NUM_THREADS", threads).assert().code(0).get_output().stdout.clone()
    };
    assert_eq!(with("1"), with("4"));
}

#[test]
fn commands_align_takes_a_pace_and_another_person() {
    let rows = |args: &[&str]| {
        let all = [&["align", "--from", "0", "--to", "0", "--format", "csv"], args].concat();
        stdout(&all, 0)
    };
    let plain = rows(&[]);
    assert_eq!(plain.lines().count(), 2);
    assert_ne!(rows(&["--speed", "0.8"]), plain);
    assert_ne!(rows(&["--person", "100-kg"]), plain);
    let shifted = stdout(&["run", "stand", "--foot-shift=-10"], 0);
    assert!(shifted.contains("foot 10 mm back"), "{shifted}");
}

#[test]
fn commands_align_bad_requests_are_refused() {
    for (args, said) in [
        (vec!["align", "--from", "-61"], "-60 to 60"),
        (vec!["align", "--to=nan"], "-60 to 60"),
        (vec!["align", "--from", "10", "--to", "0"], "empty"),
        (vec!["align", "--step", "0"], "greater than 0"),
        (vec!["align", "--step", "-5"], "greater than 0"),
        (vec!["align", "--step", "nan"], "greater than 0"),
        (vec!["align", "--step", "0.000001"], "the most is 2000"),
        (vec!["align", "--foot-shift", "5"], "leave out --foot-shift"),
        (vec!["align", "--speed", "4.5"], "outside the drive"),
        (vec!["run", "--foot-shift", "100"], "-60 to 60"),
    ] {
        let err = refused(&args);
        assert!(err.contains(said), "{args:?}: no '{said}' in: {err}");
    }
}
