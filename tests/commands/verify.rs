//! `kneedamp verify`, and `run --verify`. Each way in which a result can be wrong is tried.

use serde_json::{Value as Json, json};

use super::{kneedamp, refused, stdout, unwrapped};

/// A result of two scenarios.
fn result() -> Json {
    super::json(&["run", "walk-fast", "sit-down", "--format", "json"])
}

/// Verifies a document; gives the report for people and as data, both of which must end with `code`.
fn verified(document: &Json, code: i32) -> (String, Json) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("result.json");
    std::fs::write(&path, serde_json::to_string(document).expect("JSON")).expect("written");
    let path = path.to_str().expect("UTF-8");
    let text = unwrapped(&stdout(&["verify", path], code));
    let data = stdout(&["verify", path, "--format", "json"], code);
    (text, serde_json::from_str(&data).expect("JSON"))
}

/// Outcome and scenario of each row beyond its tolerance.
fn beyond(data: &Json) -> Vec<[&str; 2]> {
    let rows = data["beyond"].as_array().expect("rows");
    rows.iter().map(|row| ["outcome", "scenario"].map(|key| row[key].as_str().expect("a text"))).collect()
}

fn places(data: &Json) -> Vec<&str> {
    let rows = data["elsewhere"].as_array().expect("rows");
    rows.iter().map(|row| row["place"].as_str().expect("a text")).collect()
}

#[test]
fn commands_verify_a_result_as_it_was_written() {
    let (text, data) = verified(&result(), 0);
    assert!(
        text.contains("Run again from its own inputs: every outcome is the same to the last digit."),
        "{text}"
    );
    assert!(text.contains("second integrator") && text.ends_with(kneedamp::CAUTION), "{text}");
    assert!(beyond(&data).is_empty() && places(&data).is_empty(), "{data}");
    assert_eq!(data["inputs"]["same_version"], json!(true));
    let rows = data["differences"].as_array().expect("rows");
    assert!(rows.len() > 30, "{} outcomes", rows.len());
    for row in rows {
        assert_eq!(row["within"], json!(true), "{row}");
    }
    // the second integrator is other code: some last digits differ
    let second = |row: &Json| row["second_difference"].as_f64().expect("a number");
    assert!(rows.iter().filter(|row| second(row) > 0.0).count() > 10, "{data}");
}

#[test]
fn commands_verify_names_an_outcome_that_was_changed() {
    let mut document = result();
    let peak = document["runs"][0]["outcomes"]["peak_flexion_deg"].as_f64().expect("a number");
    // a tenth of the tolerance is none of its business, twice the tolerance is
    document["runs"][0]["outcomes"]["peak_flexion_deg"] = json!(peak + 1e-5);
    assert!(beyond(&verified(&document, 0).1).is_empty());
    document["runs"][0]["outcomes"]["peak_flexion_deg"] = json!(peak + 2e-4);
    let (text, data) = verified(&document, 4);
    assert_eq!(beyond(&data), [["peak_flexion_deg", "walk-fast"]]);
    assert!(
        text.contains("1 outcome beyond the tolerance; foremost peak flexion in swing of walk-fast"),
        "{text}"
    );
    assert!(text.contains(kneedamp::CAUTION), "{text}");
}

#[test]
fn commands_verify_names_words_verdicts_and_outcomes_that_are_missing_or_unknown() {
    let mut document = result();
    document["runs"][0]["outcomes"]["landing"] = json!("gives way");
    document["runs"][0]["outcomes"]["rebound_deg"] = Json::Null;
    document["runs"][0]["outcomes"].as_object_mut().expect("outcomes").remove("release_pct");
    document["runs"][1]["outcomes"]["sit_time_s_old"] = json!(1.5);
    document["runs"][1]["verdict"] = json!("outside");
    let (text, data) = verified(&document, 4);
    let wanted = [
        ["release_pct", "walk-fast"],
        ["rebound_deg", "walk-fast"],
        ["landing", "walk-fast"],
        ["sit_time_s_old", "sit-down"],
        ["verdict", "sit-down"],
    ];
    assert_eq!(beyond(&data), wanted);
    assert!(text.contains("not there") && text.contains("gives way"), "{text}");
}

#[test]
fn commands_verify_sees_an_input_that_was_changed() {
    let mut document = result();
    document["inputs"]["person"]["mass_kg"] = json!(80.0);
    let (text, data) = verified(&document, 4);
    assert!(beyond(&data).len() > 20, "{text}");
    assert!(places(&data).contains(&"inputs.resolved.mass_kg"), "{data}");
    // the second integrator agrees with the re-run all the same
    assert!(text.contains("event search): within the tolerance"), "{text}");
}

#[test]
fn commands_verify_sees_what_was_changed_elsewhere() {
    let mut document = result();
    document["runs"][0]["limits"][0]["verdict"] = json!("doubtful");
    document["inputs"]["resolved"]["shank_mass_kg"] = json!(9.0);
    document["caution"] = json!("None.");
    let (text, data) = verified(&document, 4);
    assert_eq!(places(&data), ["inputs.resolved.shank_mass_kg", "runs[0].limits[0].verdict", "caution"]);
    assert!(beyond(&data).is_empty(), "{data}");
    assert!(text.contains("3 values elsewhere in the file"), "{text}");
}

#[test]
fn commands_verify_tells_another_version_apart() {
    let mut document = result();
    document["version"] = json!("0.0.9");
    document["runs"][0]["sentence"] = json!("As an older version put it.");
    let (text, data) = verified(&document, 0);
    assert!(text.contains("made by version 0.0.9; this is"), "{text}");
    assert_eq!(data["inputs"]["version_of_file"], json!("0.0.9"));
    assert_eq!(data["inputs"]["same_version"], json!(false));
    document["runs"][1]["outcomes"]["sit_time_s"] = json!(1.0);
    let (text, data) = verified(&document, 4);
    assert_eq!(beyond(&data), [["sit_time_s", "sit-down"]]);
    assert!(text.contains("can come from what changed between the two"), "{text}");
}

/// What is no result is refused in clear words, and nothing is printed.
#[test]
fn commands_verify_refuses_what_is_no_result() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("result.json");
    let name = path.to_str().expect("UTF-8");
    let said = |bytes: &[u8]| {
        std::fs::write(&path, bytes).expect("written");
        refused(&["verify", name])
    };
    let whole = serde_json::to_string(&result()).expect("JSON");
    let changed = |change: &dyn Fn(&mut Json)| {
        let mut document = result();
        change(&mut document);
        document.to_string().into_bytes()
    };
    let compared = stdout(&["compare", "--lesson", "6", "--format", "json"], 0);
    let cases: Vec<(Vec<u8>, &str)> = vec![
        (b"  \n".to_vec(), "the file is empty"),
        (whole.as_bytes()[..whole.len() / 2].to_vec(), "no JSON: EOF while parsing"),
        (whole.replace("75.0", "NaN").into_bytes(), "a finite number is wanted"),
        (whole.replace("75.0", "1e999").into_bytes(), "a finite number is wanted"),
        (vec![b' '; 5 << 20], "larger than 4096 KiB"),
        ("[".repeat(5000).into_bytes(), "recursion limit"),
        (vec![b'{', 0xff, b'}'], "not UTF-8"),
        (b"[]".to_vec(), "version: missing"),
        (compared.into_bytes(), "a document of 'kneedamp compare'"),
        (
            changed(&|d| {
                d["inputs"].as_object_mut().expect("inputs").remove("files");
            }),
            "inputs.files: missing",
        ),
        (changed(&|d| d["inputs"]["person"]["mass_kg"] = Json::Null), "inputs.person"),
        (changed(&|d| d["inputs"]["person"]["mass_kg"] = json!(-75)), "inputs.person: mass_kg: -75"),
        (changed(&|d| d["inputs"]["person"]["mass_lb"] = json!(165)), "mass_lb"),
        (changed(&|d| d["inputs"]["settings_pct"]["catch-load"] = json!(120)), "catch-load: 120"),
        (changed(&|d| d["inputs"]["temperature_c"] = json!(900)), "temperature_c: 900"),
        (changed(&|d| d["inputs"]["foot_shift_m"] = json!("far")), "foot_shift_m: a number is wanted"),
        (
            changed(&|d| {
                d["runs"].as_array_mut().expect("runs").swap(0, 1);
            }),
            "one run for each scenario",
        ),
        (changed(&|d| d["runs"][0]["outcomes"]["landing"] = json!([1])), "landing: a number, a word or null"),
        (changed(&|d| d["runs"][0]["verdict"] = json!("\u{1b}[31m")), "control character U+001B"),
    ];
    for (bytes, wanted) in cases {
        let said = said(&bytes);
        assert!(said.starts_with("kneedamp: ") && said.contains("result.json"), "{said}");
        assert!(said.contains(wanted), "'{wanted}' is not in: {said}");
        assert!(said.lines().count() <= 2, "{said}");
    }
    assert!(refused(&["verify", folder.path().to_str().expect("UTF-8")]).contains("not a file"));
    assert!(refused(&["verify", "nowhere.json"]).contains("No such file"));
}

#[test]
fn commands_run_verify_does_it_in_one_go() {
    let plain = stdout(&["run", "sit-down"], 0);
    let text = stdout(&["run", "sit-down", "--verify"], 0);
    let (report, verification) = text.split_once("\nVERIFICATION\n").expect("two parts");
    assert_eq!(report.trim(), plain.trim());
    assert!(
        unwrapped(verification).contains("every outcome is the same to the last digit"),
        "{verification}"
    );
    let mut data = super::json(&["run", "sit-down", "--verify", "--format", "json"]);
    assert_eq!(data["verification"]["beyond"], json!([]));
    assert!(data["verification"]["differences"].as_array().is_some_and(|rows| rows.len() > 5), "{data}");
    // with what was found a result can be verified again
    verified(&data, 0);
    data["runs"][0]["outcomes"]["sit_time_s"] = json!(1.0);
    verified(&data, 4);
    let csv = ["run", "sit-down", "--format", "csv"];
    assert_eq!(stdout(&csv, 0), stdout(&[&csv[..], &["--verify"]].concat(), 0));
    let strict = ["run", "sit-down", "--set", "stance-yield=0", "--strict", "--verify"];
    kneedamp(&strict).assert().code(3);
}

/// Set-ups far from the built-in example: each document holds all its inputs, and the integrators agree.
#[test]
fn commands_run_verify_holds_for_other_people_joints_and_inputs() {
    for options in [
        "--person 50-kg --foot-shift -40",
        "--mass 150 --stature 2 --temperature 60 --foot-tilt -5",
        "--knee linear --prosthesis heavy --set swing-flexion=0,swing-extension=100",
        "--drive able-bodied-2008 --set stance-yield=100,catch-load=0",
        "walk-fast --input drive_share=0.3,valve_lag_ms=60",
        "walk-comfortable --speed 1.9 --cadence 140",
    ] {
        let words: Vec<&str> = ["run"].into_iter().chain(options.split(' ')).chain(["--verify"]).collect();
        let out = unwrapped(&stdout(&words, 0));
        assert!(out.contains("every outcome is the same to the last digit"), "{options}: {out}");
        assert!(out.contains("event search): within the tolerance"), "{options}: {out}");
    }
}
