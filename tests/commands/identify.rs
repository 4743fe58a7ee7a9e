//! `identify`.

use super::{json, refused, stdout};

const BENCH: &str = "tests/reference/bench_made_up.csv";

/// A table as a rig writes it: deg/s, its own scale, decimal commas, torques signed by direction.
#[test]
fn commands_identify_bench_writes_a_knee_that_runs() {
    let folder = tempfile::tempdir().expect("a folder");
    let (file, picture) = (folder.path().join("my.yaml"), folder.path().join("my.svg"));
    let (path, plot) = (file.to_str().expect("UTF-8"), picture.to_str().expect("UTF-8"));
    let options = ["--open", "1", "--closed", "8", "--name", "my", "--output", path];
    let command = [&["identify", "bench", BENCH], &options[..]].concat();
    let found = json(&[&command[..], &["--plot", plot, "--format", "json"]].concat());
    let value = |i: usize| found["values"][i]["found"].as_f64().expect("a number");
    // made with b 0.03 to 1.5 in flexion, 0.02 to 1 in extension, a 0.25 and 0.15, seal friction 0.4, noise 0.15 N m
    assert!((value(0) - 0.03).abs() < 0.002 && (value(1) - 1.5).abs() < 0.02);
    assert!((value(3) - 0.02).abs() < 0.002 && (value(4) - 1.0).abs() < 0.02);
    assert_eq!(found["laws"][0]["law"], "orifice, area by equal factors, a fixed");
    assert!(stdout(&["check", path], 0).contains("a good knee"));
    let written = std::fs::read_to_string(&file).expect("written");
    assert!(written.contains("SHA-256 of the table: ") && !written.contains("null"), "{written}");
    assert!(std::fs::read_to_string(&picture).expect("drawn").contains("Left over in flexion"));
    stdout(&["run", "walk-comfortable", "--knee", path], 0);
}

#[test]
fn commands_identify_bench_writes_nothing_when_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name).to_str().expect("UTF-8").to_owned();
    let (out, table) = (at("my.yaml"), at("table.csv"));
    for (text, said) in [
        ("rate_rad_per_s,torque_n_m\n1,2\n2,abc\n", "line 3: torque_n_m: 'abc'; a finite number is needed"),
        ("rate_rad_per_s,torque_n_m\n1,NaN\n", "a finite number is needed"),
        ("speed,torque_n_m\n1,2\n", "rate_rad_per_s or rate_deg_per_s: no such column"),
        ("rate_rad_per_s,rate_deg_per_s,torque_n_m\n1,2,3\n", "both are there; one is needed"),
        ("rate_rad_per_s,torque_n_m\n400,2\n", "400 is outside the allowed range 0 to 50"),
        ("rate_rad_per_s,torque_n_m\n1,2\n2,4\n", "points are too few"),
        ("rate_rad_per_s,torque_n_m,setting\n1,2,130\n", "outside the scale from 0 (open) to 100 (closed)"),
        ("rate_rad_per_s,torque_n_m,direction\n1,2,up\n", "'up'; flexion or extension is needed"),
        ("rate_rad_per_s,torque_n_m\n0,2\n", "no point in motion"),
        ("", "no header"),
    ] {
        std::fs::write(&table, text).expect("writes");
        let message = refused(&["identify", "bench", &table, "--name", "my", "--output", &out]);
        assert!(message.contains(said), "{text}: {message}");
        assert!(!std::path::Path::new(&out).exists());
    }
    let reversed =
        ["identify", "bench", BENCH, "--open", "8", "--closed", "1", "--name", "my", "--output", &out];
    assert!(refused(&reversed).contains("swap --open and --closed"));
    assert!(
        refused(&["identify", "bench", BENCH, "--name", "a b", "--output", &out]).contains("--name 'a b'")
    );
}
