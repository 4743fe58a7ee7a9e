//! `kneedamp rules`.

use approx::assert_abs_diff_eq;
use serde_json::Value as Json;

use super::{json, kneedamp, refused, stdout};

#[test]
fn commands_rules_in_three_forms() {
    let help = stdout(&["rules", "--help"], 0);
    assert!(help.starts_with("Examples:"), "{help}");
    let out = stdout(&["rules", "--samples", "3", "--only", "1,11,17", "--sessions", "1"], 0);
    let flat = out.split_whitespace().collect::<Vec<_>>().join(" ");
    for said in [
        "RULES OF THE TRADE",
        "held every time",
        "10 statements tried on 3 sampled inputs",
        "two whole fitting sessions of `adjust`, over all its scenarios, for 1 sampled input:",
        "Caution.",
    ] {
        assert!(flat.contains(said), "{said}");
    }
    let j = json(&["rules", "--samples", "3", "--only", "11", "--format", "json"]);
    assert_eq!(j["command"], "rules");
    assert_eq!(j["rules"].as_array().expect("rows").len(), 7);
    assert_eq!(j["rules"][0]["agree"], 3.0);
    assert_eq!(j["rules"][0]["opposite"], 0.0);
    assert!(j["population"].as_array().expect("ranges").iter().all(|r| r["why"] != ""));
    let csv = stdout(&["rules", "--samples", "3", "--only", "11", "--format", "csv"], 0);
    assert_eq!(csv.lines().count(), 8);
    assert!(csv.starts_with("rule,catch_load,agree"));
}

/// The commands printed beside a counter-example show it again.
#[test]
fn commands_rules_counter_examples_run_again() {
    let j = json(&["rules", "--samples", "20", "--only", "8", "--format", "json"]);
    let rows = j["counter_examples"].as_array().expect("rows");
    let of = |rule: &str| -> Vec<&Json> {
        rows.iter().filter(|r| r["rule"] == rule && r["catch_load"] == "scaled").collect()
    };
    let outcomes = |row: &Json| {
        let words: Vec<&str> = row["command"].as_str().expect("text").split(' ').skip(1).collect();
        let again = json(&[words.as_slice(), &["--format", "json"]].concat());
        again["runs"][0]["outcomes"].clone()
    };
    // closed, and yields on the ramp all the same
    let closed = outcomes(of("8g")[0]);
    assert_eq!(closed["what_happens"], "yields");
    let bent = closed["knee_flexion_at_other_foot_contact_deg"].as_f64().expect("a number");
    assert!(of("8g")[0]["seen"].as_str().expect("text").contains(&format!("{bent:.2}°")), "{bent}");
    // more resistance, and the body sinks faster
    let drop: Vec<f64> = of("8d")
        .into_iter()
        .map(|r| outcomes(r)["body_drop_speed_m_per_s"].as_f64().expect("a number"))
        .collect();
    assert_eq!(drop.len(), 2);
    assert!(drop[1] > drop[0] + 0.01, "{drop:?}");
    let seen = of("8d")[0]["seen"].as_str().expect("text").to_owned();
    assert_eq!(seen, format!("{:.3} m/s -> {:.3} m/s", drop[0], drop[1]));
}

#[test]
fn commands_rules_same_bytes_for_any_number_of_threads() {
    let with = |threads: &str| {
        kneedamp(&["rules", "--samples", "5", "--sessions", "1", "--format", "json"])
            .env("RAYON_NUM_THREADS", threads)
            .assert()
            .code(0)
            .get_output()
            .stdout
            .clone()
    };
    assert_eq!(with("1"), with("3"));
    let seed =
        |s: &str| stdout(&["rules", "--samples", "5", "--only", "1", "--format", "csv", "--seed", s], 0);
    assert_ne!(seed("1"), seed("2"));
}

#[test]
fn commands_rules_other_knees() {
    let one = |args: &[&str]| {
        let j = json(&[&["rules", "--samples", "4", "--format", "json"], args].concat());
        j["rules"][0]["agree"].as_f64().expect("a number")
            + j["rules"][0]["opposite"].as_f64().expect("a number")
    };
    // a joint of friction has the same settings; held values are given with --set
    assert!(one(&["--only", "1", "--knee", "constant-friction"]) > 0.0);
    assert!(one(&["--only", "1", "--set", "swing-flexion=70,catch-load=20", "--speed", "1.1"]) > 0.0);
    assert!(one(&["--only", "8", "--person", "100-kg", "--hold", "mass_kg,stature_m"]) > 0.0);
}

/// What is given is held; what the defaults say is drawn.
#[test]
fn commands_rules_what_is_given_is_held() {
    let request = |args: &[&str]| {
        let fixed = ["rules", "--samples", "2", "--only", "11", "--format", "json"];
        json(&[&fixed, args].concat())["inputs"]["request"].clone()
    };
    let none: [&str; 0] = [];
    assert_eq!(request(&[])["held"], serde_json::json!(none));
    for (args, held) in [
        (vec!["--person", "75-kg"], vec!["mass_kg", "stature_m"]),
        (vec!["--prosthesis", "light"], vec!["prosthesis"]),
        (vec!["--foot-shift", "10"], vec!["foot_shift_m"]),
        (vec!["--set", "catch-load=20", "--temperature", "5"], vec!["catch-load", "temperature_c"]),
        (vec!["--hold", "stance-yield", "--speed", "1"], vec!["speed_m_per_s", "stance-yield"]),
    ] {
        assert_eq!(request(&args)["held"], serde_json::json!(held), "{args:?}");
    }
    // the foot stands where it is told to, or that and one step further
    let j = json(&["rules", "--samples", "8", "--only", "11", "--foot-shift", "-40", "--format", "json"]);
    let commands: Vec<&str> = j["counter_examples"]
        .as_array()
        .expect("rows")
        .iter()
        .filter(|r| r["rule"] == "11c")
        .filter_map(|r| r["command"].as_str())
        .collect();
    assert!(!commands.is_empty() && commands.len().is_multiple_of(2), "11c disagrees for some");
    assert!(commands.iter().step_by(2).all(|c| c.contains("foot_shift_m=-0.04")), "{commands:?}");
    let j = json(&["rules", "--samples", "8", "--only", "1", "--person", "100-kg", "--format", "json"]);
    assert!(j["text"].to_string().contains("Held as given, not sampled: mass_kg, stature_m."));
}

/// `inputs` and its `request` are what it takes to run the study again.
#[test]
fn commands_rules_run_again_from_the_request() {
    let first =
        ["rules", "--samples", "4", "--seed", "7", "--only", "1,9", "--person", "50-kg", "--format", "json"];
    let out = stdout(&first, 0);
    let j: Json = serde_json::from_str(&out).expect("JSON");
    let r = &j["inputs"]["request"];
    let list = |v: &Json| {
        let all = v.as_array().expect("a list").iter();
        all.map(|x| x.to_string().trim_matches('"').to_owned()).collect::<Vec<_>>().join(",")
    };
    let person = j["inputs"]["person"]["name"].as_str().expect("a name");
    let (samples, sessions, seed) =
        (r["samples"].to_string(), r["sessions"].to_string(), r["seed"].to_string());
    let (only, held) = (list(&r["only"]), list(&r["held"]));
    let again = stdout(
        &[
            "rules",
            "--samples",
            &samples,
            "--sessions",
            &sessions,
            "--seed",
            &seed,
            "--only",
            &only,
            "--hold",
            &held,
            "--person",
            person,
            "--format",
            "json",
        ],
        0,
    );
    // but for how it was written
    let parsed = |text: &str| {
        let mut j: Json = serde_json::from_str(text).expect("JSON");
        j["inputs"]["arguments"].take();
        j
    };
    assert!(parsed(&out) == parsed(&again), "another document");
}

/// The command beside a session counts the same steps and trials again.
#[test]
fn commands_rules_sessions_run_again() {
    let j = json(&["rules", "--samples", "12", "--sessions", "12", "--only", "17", "--format", "json"]);
    let rows = j["counter_examples"].as_array().expect("rows");
    let row = rows.iter().find(|r| r["seen"].is_string()).expect("one disagrees");
    let command = row["command"].as_str().expect("text");
    assert!(command.contains(" --mass ") && command.contains(" --stature "), "{command}");
    let words: Vec<&str> = command.split(' ').skip(1).collect();
    let again = json(&[words.as_slice(), &["--format", "json"]].concat());
    let counts = again["counts"].as_array().expect("counts");
    let count = |what: &str| {
        let row = counts.iter().find(|r| r["what"] == what).expect("a count");
        row["value"].to_string().trim_end_matches(".0").to_owned()
    };
    let seen = row["seen"].as_str().expect("text");
    let wanted = format!("{} steps of {} trials", count("steps"), count("trials"));
    assert!(seen.starts_with(&wanted), "{seen}: {wanted}");
}

/// A joint that never bends, and one without a setting: what makes no sense decides nothing.
#[test]
fn commands_rules_joints_without_flexion_or_setting() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("mine.yaml");
    let path = file.to_str().expect("UTF-8");
    let shipped = kneedamp::library::Library::default()
        .text(kneedamp::library::Kind::Knee, "built-in")
        .expect("shipped")
        .0;
    let undecided = |only: &str| {
        let j = json(&["rules", "--samples", "3", "--only", only, "--knee", path, "--format", "json"]);
        let rows = j["rules"].as_array().expect("rows").clone();
        rows.iter().filter(|r| r["undecided"] == 3.0).count() as f64 / rows.len() as f64
    };
    std::fs::write(&file, shipped.clone() + "locked: true\n").expect("writes");
    assert_abs_diff_eq!(undecided("1,6,8,12,13,15"), 1.0, epsilon = 1e-12);
    assert!((undecided("11") - 4.0 / 7.0).abs() < 1e-12, "standing straight is what a locked joint does");
    let from = shipped.find("swing_flexion:").expect("a law");
    let to = shipped.find("swing_extension:").expect("a law");
    let table = "swing_flexion:\n  table: {rate_rad_per_s: [0.5, 2, 6, 10], torque_n_m: [0.2, 2, 10, 30]}\n";
    std::fs::write(&file, format!("{}{table}{}", &shipped[..from], &shipped[to..])).expect("writes");
    assert!((undecided("1") - 1.0).abs() < 1e-12, "no such setting");
    assert!(undecided("5") < 1.0);
    let err = refused(&["rules", "--knee", path, "--set", "swing-flexion=3"]);
    assert!(err.contains("no setting"), "{err}");
}

#[test]
fn commands_rules_bad_usage() {
    for (args, said) in [
        (vec!["rules", "--samples", "0"], "1 to 100000"),
        (vec!["rules", "--samples", "-5"], "unexpected argument"),
        (vec!["rules", "--samples", "many"], "invalid"),
        (vec!["rules", "--only", "19"], "no rule named '19'"),
        (vec!["rules", "--only", "1a"], "invalid"),
        (vec!["rules", "--sessions", "0"], "1 to 100000"),
        (vec!["rules", "--hold", "moon"], "moon"),
        // drawn for single rules: the set-up has no such value to hold
        (
            vec!["rules", "--only", "12", "--hold", "catch_share_bw"],
            "no input to hold named 'catch_share_bw'",
        ),
        (vec!["rules", "--only", "10", "--hold", "light_mass_kg"], "known: mass_kg, prosthesis"),
        (vec!["rules", "--only", "13", "--hold", "added_foot_mass_kg"], "no input to hold"),
        (vec!["rules", "--hold", "taller_m"], "no input to hold"),
        (vec!["rules", "--set", "swing-flexion=200"], "0 to 100"),
        (vec!["rules", "--person", "nobody"], "75-kg"),
        (vec!["rules", "--speed", "9"], "0.1 to 5"),
    ] {
        let err = refused(&args);
        assert!(err.contains(said), "{args:?}: no '{said}' in: {err}");
    }
}

#[test]
fn commands_run_takes_any_input() {
    let time = |share: &str| {
        let given = format!("sitting_share={share}");
        let j = json(&["run", "sit-down", "--input", &given, "--format", "json"]);
        j["runs"][0]["outcomes"]["sit_time_s"].as_f64().expect("a number")
    };
    assert!(time("0.30") > time("0.42"), "less weight sinks slower");
    for (args, said) in [
        (vec!["run", "--input", "mass_kg=60"], "name one"),
        (vec!["run", "stand", "--input", "mass_kg"], "KEY=VALUE"),
        (vec!["run", "stand", "--input", "mass_kg=heavy"], "30 to 200"),
        (vec!["run", "stand", "--input", "mass_kg=nan"], "30 to 200"),
        (vec!["run", "stand", "--input", "mass_lb=60"], "mass_kg"),
        (vec!["run", "stand", "--input", "mass_kg=60,mass_kg=70"], "twice"),
    ] {
        let err = refused(&args);
        assert!(err.contains(said), "{args:?}: no '{said}' in: {err}");
    }
}
