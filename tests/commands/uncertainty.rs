//! `kneedamp uncertainty`, and uncertainty files in the library.

use serde_json::Value as Json;

use super::{json, kneedamp, refused, stdout};

#[test]
fn commands_uncertainty_in_three_forms() {
    let args = ["uncertainty", "--scenario", "stand", "--samples", "16"];
    let out = stdout(&args, 0);
    for said in ["stand: ", "SOBOL' INDICES", "extension_moment_n_m", "all limits together", "Caution."] {
        assert!(out.contains(said), "{said}: {out}");
    }
    let j = json(&[args.as_slice(), &["--format", "json"]].concat());
    assert_eq!(j["command"], "uncertainty");
    assert_eq!(j["outcomes"].as_array().expect("rows").len(), 4);
    assert_eq!(j["limits"][0]["within_pct"], 100.0);
    let csv = stdout(&[args.as_slice(), &["--format", "csv"]].concat(), 0);
    assert!(csv.starts_with("outcome,pct_5,pct_50,pct_95"));
}

#[test]
fn commands_uncertainty_same_bytes_for_any_number_of_threads() {
    let with = |threads: &str| {
        kneedamp(&["uncertainty", "--samples", "8", "--format", "json"])
            .env("RAYON_NUM_THREADS", threads)
            .assert()
            .code(0)
            .get_output()
            .stdout
            .clone()
    };
    assert_eq!(with("1"), with("3"));
    let seed = |s: &str| stdout(&["uncertainty", "--scenario", "sit-down", "--samples", "8", "--seed", s], 0);
    assert_ne!(seed("1"), seed("2"));
}

#[test]
fn commands_uncertainty_of_ones_own() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("mine.yaml");
    let path = file.to_str().expect("UTF-8");
    kneedamp(&["new", "uncertainty", path]).assert().code(0);
    assert!(stdout(&["check", path], 0).contains("a good uncertainty"));
    assert!(stdout(&["list", "uncertainty"], 0).contains("default"));
    let args = ["uncertainty", "--scenario", "stand", "--samples", "8", "--format", "json"];
    let shipped = json(&args);
    assert_eq!(shipped["outcomes"], json(&[args.as_slice(), &["--ranges", path]].concat())["outcomes"]);
    // a range of one's own takes the place of the file's
    let varied = json(&[args.as_slice(), &["--vary", "mass_kg=60..90"]].concat());
    let ranges = varied["ranges"].as_array().expect("rows");
    assert_eq!(ranges.iter().filter(|r| r["input"] == "mass_kg").count(), 1);
    assert_eq!(varied["inputs"]["person"]["name"], "75-kg", "the set-up stands beside them");
    assert_eq!(varied["inputs"]["arguments"][0], "uncertainty");
    let width = |j: &Json| {
        let row = &j["outcomes"][1];
        row["pct_95"].as_f64().expect("a number") - row["pct_5"].as_f64().expect("a number")
    };
    // with a foot that hardly tilts, mass decides
    let still = [args.as_slice(), &["--vary", "foot_tilt_deg=-0.01..0.01"]].concat();
    let varied = json(&[still.as_slice(), &["--vary", "mass_kg=60..90"]].concat());
    assert!(width(&varied) > 3.0 * width(&json(&still)));
}

#[test]
fn commands_uncertainty_bad_files_name_line_field_and_range() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("bad.yaml");
    let good =
        "kind: uncertainty\nname: x\nabout: y\ninputs:\n  - {input: mass_kg, low: 60, high: 90, why: z}\n";
    for (from, to, said) in [
        ("mass_kg", "mass_lb", vec!["line 5", "inputs[0].input", "mass_lb", "mass_kg"]),
        ("high: 90", "high: 900", vec!["line 5", "inputs[0].high", "900", "30 to 200"]),
        ("low: 60", "low: 95", vec!["line 5", "inputs[0].high", "90"]),
        ("low: 60", "low: .nan", vec!["line 5", "inputs[0].low", "NaN"]),
        ("low: 60", "low_kg: 60", vec!["line 5", "low_kg"]),
        ("low: 60, ", "", vec!["low"]),
        ("why: z", "why: ''", vec!["line 5", "why"]),
        ("why: z", "why: z, around: moon", vec!["line 5", "moon"]),
        ("inputs:\n  - {input: mass_kg, low: 60, high: 90, why: z}", "inputs: []", vec!["line 4", "inputs"]),
    ] {
        assert!(good.contains(from));
        std::fs::write(&file, good.replace(from, to)).expect("writes");
        let path = file.to_str().expect("UTF-8");
        for args in [vec!["check", path], vec!["uncertainty", "--ranges", path]] {
            let err = refused(&args);
            for s in &said {
                assert!(err.contains("bad.yaml") && err.contains(s), "{args:?}: no '{s}' in: {err}");
            }
        }
    }
}

#[test]
fn commands_uncertainty_bad_usage() {
    for (args, said) in [
        (vec!["uncertainty", "--samples", "100"], "powers of two"),
        (vec!["uncertainty", "--samples", "0"], "powers of two"),
        (vec!["uncertainty", "--scenario", "moonwalk"], "walk-comfortable"),
        (vec!["uncertainty", "--ranges", "nothing"], "default"),
        (vec!["uncertainty", "--vary", "mass_kg"], "LOW..HIGH"),
        (vec!["uncertainty", "--vary", "mass_kg=70"], "LOW..HIGH"),
        (vec!["uncertainty", "--vary", "mass_kg=80..70"], "greater"),
        (vec!["uncertainty", "--vary", "mass_kg=1..70"], "30 to 200"),
        (vec!["uncertainty", "--vary", "mass_kg=nan..70"], "30 to 200"),
        (vec!["uncertainty", "--vary", "mass_lb=1..2"], "mass_kg"),
        (vec!["uncertainty", "--scenario", "sit-down", "--speed", "1"], "no level walking"),
    ] {
        let err = refused(&args);
        assert!(err.contains(said), "{args:?}: no '{said}' in: {err}");
    }
}
