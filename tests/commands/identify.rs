//! `identify`.

use super::{json, refused, stdout, unwrapped};

const BENCH: &str = "docs/examples/damper.csv";

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
        ("rate_rad_per_s,torque_n_m\n1,0\n2,0\n3,0\n4,0\n5,0\n6,0\n", "no point resists"),
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

const WALK: &str = "docs/examples/walk.csv";

/// The made-up walk of the documents: the settings it was made with (40 and 65 %) lie within the intervals, and the
/// models that are written run under their names.
#[test]
fn commands_identify_stride_writes_models_that_run() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name).to_str().expect("UTF-8").to_owned();
    let (out, plot) = (at("anna"), at("anna.svg"));
    let walk =
        ["identify", "stride", WALK, "--mass", "82", "--speed", "1.2", "--name", "anna", "--output", &out];
    let found = json(&[&walk[..], &["--plot", &plot, "--format", "json"]].concat());
    // b of 40 and 65 % of the built-in ranges
    for (i, b) in [0.02 * 100_f64.powf(0.40), 0.015 * (2.0_f64 / 0.015).powf(0.65)].into_iter().enumerate() {
        let row = &found["values"][i];
        let [low, high] = ["from", "to"].map(|k| row[k].as_f64().expect("a number"));
        assert!(low < b && b < high, "{row}: {b}");
    }
    assert!(std::fs::read_to_string(&plot).expect("drawn").contains("95 % band"));
    for file in ["knees/anna.yaml", "people/anna.yaml", "drives/anna.yaml"] {
        assert!(stdout(&["check", &format!("{out}/{file}")], 0).contains("a good"));
    }
    let run = json(&[
        "run",
        "walk-comfortable",
        "--library",
        &out,
        "--person",
        "anna",
        "--knee",
        "anna",
        "--drive",
        "anna",
        "--speed",
        "1.2",
        "--format",
        "json",
    ]);
    let peak = run["runs"][0]["outcomes"]["peak_flexion_deg"].as_f64();
    assert!(peak.is_some_and(|p| (p - 58.0).abs() < 2.0), "{peak:?}");
    // the same again gives the same bytes, whatever the number of threads
    let before = std::fs::read(format!("{out}/knees/anna.yaml")).expect("written");
    super::kneedamp(&walk).env("RAYON_NUM_THREADS", "1").assert().code(0);
    assert_eq!(std::fs::read(format!("{out}/knees/anna.yaml")).expect("written"), before);
}

/// A motion table with a header, its own names, flexion counted the other way, in radians; and decimal commas.
#[test]
fn commands_identify_stride_reads_other_tables() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name).to_str().expect("UTF-8").to_owned();
    let text = std::fs::read_to_string(WALK).expect("shipped");
    let rows: Vec<Vec<f64>> =
        text.lines().skip(2).map(|l| l.split(',').map(|c| c.parse().expect("a number")).collect()).collect();
    let mut motion =
        "gait\nversion=1\nnRows=226\nnColumns=3\ninDegrees=no\nendheader\ntime\tknee_r\tthigh_r\n".to_owned();
    let mut commas = "\u{feff}time_ms;knee_deg;thigh_deg\r\n".to_owned();
    for r in &rows {
        motion += &format!("{:.3}\t {:.6} {:.6}\n", r[0], -r[1].to_radians(), r[2].to_radians());
        commas += &format!("{};{};{}\r\n", 1e3 * r[0], r[1], r[2]).replace('.', ",");
    }
    let values = |table: &str, more: &[&str]| {
        let out = at("out");
        let args = [
            "identify", "stride", table, "--speed", "1.2", "--name", "x", "--output", &out, "--format",
            "json",
        ];
        json(&[&args[..], more].concat())["values"].clone()
    };
    let plain = values(WALK, &[]);
    for (name, text, more) in [
        ("gait.mot", motion, &["--columns", "knee_deg=-knee_r,thigh_deg=thigh_r"][..]),
        ("gait.csv", commas, &[]),
    ] {
        std::fs::write(at(name), text).expect("writes");
        let read = values(&at(name), more);
        for i in 0..3 {
            let [a, b] = [&plain, &read].map(|v| v[i]["found"].as_f64().expect("a number"));
            assert!((a - b).abs() < 2e-3 * a.abs().max(1.0), "{name}: {a} {b}");
        }
    }
}

/// A thigh that counts the other way and a wrong speed are warned of; a knee that counts the other way is refused.
#[test]
fn commands_identify_stride_warns_of_tables_that_are_wrong() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("out").to_str().expect("UTF-8").to_owned();
    let said = |more: &[&str]| {
        unwrapped(&stdout(
            &[&["identify", "stride", WALK, "--name", "x", "--output", &out], more].concat(),
            0,
        ))
    };
    assert!(!said(&["--speed", "1.2"]).contains("Warning"));
    let contacts = ["--heel-contact", "0.67,1.79", "--columns", "thigh_deg=-thigh_deg"];
    let thigh = said(&[&["--speed", "1.2"][..], &contacts].concat());
    assert!(thigh.contains("Warning: the model does not follow this knee"), "{thigh}");
    let knee = ["identify", "stride", WALK, "--name", "x", "--output", &out, "--speed", "1.2", "--columns"];
    let knee = refused(&[&knee[..], &["knee_deg=-knee_deg"]].concat());
    assert!(knee.contains("look at signs and units of knee and thigh"), "{knee}");
    assert!(said(&["--speed", "0.55"]).contains("look at time and speed"));
}

#[test]
fn commands_identify_stride_writes_nothing_when_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name).to_str().expect("UTF-8").to_owned();
    let (out, table) = (at("out"), at("table.csv"));
    let flat: String = (0..300).map(|i| format!("{},0\n", 0.01 * f64::from(i))).collect();
    for (text, said) in [
        ("time_s,knee_deg\n0,1\n0.1,abc\n".to_owned(), "line 3: knee_deg: 'abc'; a finite number is needed"),
        ("time_s,knee_deg\n0,1\n0,2\n".to_owned(), "line 3: time_s: each row must come later"),
        ("knee_deg\n0\n".to_owned(), "time_s or percent: no such column; see --columns"),
        ("time_s,hip\n0,1\n".to_owned(), "knee_deg: no such column"),
        ("time_s,knee_deg\n0,1\n0.1,2\n".to_owned(), "number of samples"),
        ("time_s,knee_deg\n0,700\n".to_owned(), "700 is outside the allowed range"),
        (format!("time_s,knee_deg\n{flat}"), "two peaks of flexion above 20° are needed"),
        ("\u{0}\u{1}".to_owned(), "time_s or percent"),
        (String::new(), "no header"),
    ] {
        std::fs::write(&table, &text).expect("writes");
        let message = refused(&["identify", "stride", &table, "--name", "x", "--output", &out]);
        assert!(message.contains(said), "{:?}: {message}", text.chars().take(60).collect::<String>());
        assert!(!std::path::Path::new(&out).exists());
    }
    for (more, said) in [
        (&["--heel-contact", "0.5"][..], "two or more instants"),
        (&["--heel-contact", "2,1"], "two or more instants"),
        (&["--heel-contact", "0.5,90"], "time between heel contacts"),
        (&["--heel-contact", "4,5.1"], "beyond the table"),
        (&["--toe-off", "20"], "--toe-off"),
        (&["--columns", "knee=x"], "is no column; known: time_s"),
        (&["--columns", "knee_deg=nobody"], "nobody: no such column"),
        (&["--speed", "4"], "outside"),
    ] {
        let args = [&["identify", "stride", WALK, "--name", "x", "--output", &out], more].concat();
        assert!(refused(&args).contains(said), "{more:?}: {}", refused(&args));
        assert!(!std::path::Path::new(&out).exists());
    }
}
