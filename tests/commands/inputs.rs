//! Inputs say what they are: a person by two numbers, slips of the unit, settings as shown.

use super::{json, kneedamp, refused, stdout};

/// Standard error of a run that must end with 0.
fn said(args: &[&str]) -> String {
    let out = kneedamp(args).assert().code(0).get_output().stderr.clone();
    String::from_utf8(out).expect("UTF-8")
}

#[test]
fn commands_inputs_a_person_by_mass_and_stature() {
    let out = stdout(&["run", "stand", "--mass", "92", "--stature", "1.83"], 0);
    assert!(out.contains("Person unnamed (92 kg, 1.83 m)"), "{out}");
    // without a stature the one that goes with the mass
    assert!(stdout(&["run", "stand", "--mass", "50"], 0).contains("Person unnamed (50 kg, 1.60 m)"));
    let out = stdout(&["run", "stand", "--person", "100-kg", "--stature", "1.9"], 0);
    assert!(out.contains("Person 100-kg changed (100 kg, 1.90 m)"), "{out}");
    // the same numbers give the same outcomes
    let outcomes = |args: &[&str]| json(&[args, &["--format", "json"]].concat())["runs"].clone();
    let by_name = outcomes(&["run", "sit-down", "--person", "100-kg"]);
    assert_eq!(by_name, outcomes(&["run", "sit-down", "--mass", "100", "--stature", "1.8"]));
}

/// Every command with a set-up takes both.
#[test]
fn commands_inputs_a_person_in_every_command() {
    for command in
        ["run", "window", "compare", "recheck", "adjust", "rules", "uncertainty", "align", "sweep", "sheet"]
    {
        let help = stdout(&[command, "--help"], 0);
        assert!(help.contains("--mass <KG") && help.contains("--stature <M>"), "{command}");
    }
    for (args, why) in [
        (vec!["run", "stand", "--mass", "10"], "30 to 200"),
        (vec!["run", "stand", "--mass", "50,60"], "one value"),
        (vec!["run", "stand", "--stature", "183"], "1.2 to 2.2"),
        (vec!["window", "stand", "--mass", "50,60", "--stature", "1.8"], "the stature follows"),
        (vec!["sweep", "mass_kg=60", "--mass", "70"], "both swept and given"),
    ] {
        let err = refused(&args);
        assert!(err.contains(why), "{args:?}: {err}");
    }
}

#[test]
fn commands_inputs_names_slips_of_the_unit() {
    let walk = ["run", "walk-comfortable"];
    for (args, note) in [
        (
            vec!["--set", "swing-flexion=0.4"],
            "swing-flexion=0.4 is 0.4 percent, almost open; did you mean swing-flexion=40?",
        ),
        (vec!["--input", "swing-flexion=0.4"], "did you mean swing-flexion=40?"),
        (vec!["--foot-shift", "0.02"], "--foot-shift 0.02 is in mm; if 0.02 m was meant, that is 20 mm."),
        (vec!["--temperature", "86"], "if 86 °F was meant, that is 30 °C"),
        (vec!["--speed", "1.4", "--cadence", "60"], "steps of 1.40 m, longer than the leg (0.93 m)"),
    ] {
        let err = said(&[&walk, args.as_slice()].concat());
        assert!(err.contains(note), "{args:?}: {err}");
    }
    // what is meant as written is not doubted
    for args in [
        vec!["--set", "swing-flexion=0,swing-extension=1"],
        vec!["--foot-shift", "-5"],
        vec!["--temperature", "5"],
        vec!["--speed", "1.4", "--cadence", "110"],
    ] {
        let err = said(&[&walk, args.as_slice()].concat());
        assert!(err.is_empty(), "{args:?}: {err}");
    }
}

#[test]
fn commands_inputs_says_which_scenarios_a_pace_leaves_out() {
    for command in [
        "window --no-bands --without peak_flexion_deg --mass 60 --cadence 120",
        "adjust --starts 0 --most-trials 1 --cadence 120",
    ] {
        let err = said(&command.split(' ').collect::<Vec<_>>());
        assert!(err.contains("left out at a pace of your own: walk-slow, walk-fast, walk-hurried."), "{err}");
    }
}

/// A measured law holds at the temperature of its measurement.
#[test]
fn commands_inputs_a_measured_table_ignores_temperature() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("measured.yaml");
    let path = file.to_str().expect("UTF-8");
    kneedamp(&["new", "knee", path]).assert().code(0);
    let text = std::fs::read_to_string(&file).expect("reads");
    let (before, rest) = text.split_once("swing_extension:\n").expect("a law");
    let (_, after) = rest.split_once("stance:\n").expect("a valve");
    let law = "  table: {rate_rad_per_s: [1, 3, 6], torque_n_m: [0.5, 2.4, 8.4]}";
    std::fs::write(&file, format!("{before}swing_extension:\n{law}\nstance:\n{after}")).expect("writes");
    let walk = ["run", "walk-comfortable", "--knee", path];
    let note = "the measured table of swing-extension ignores --temperature";
    let err = said(&[&walk[..], &["--temperature", "10"]].concat());
    assert!(err.contains(note), "{err}");
    assert!(said(&walk).is_empty());
    assert!(said(&["run", "walk-comfortable", "--temperature", "10"]).is_empty());
}

/// Settings are shown as they act: typed in, they give the same run to the last digit, also where the knee's file
/// gives a coefficient or a load instead of a position.
#[test]
fn commands_inputs_settings_as_shown_give_the_same_run() {
    let run = |args: &[&str]| json(&[&["run", "walk-fast", "stumble", "--format", "json"], args].concat());
    for args in [vec![], vec!["--set", "swing-flexion=7"], vec!["--knee", "constant-friction"]] {
        let first = run(&args);
        let shown = first["inputs"]["settings_pct"].as_object().expect("settings");
        let typed: Vec<String> =
            shown.iter().filter(|(_, v)| !v.is_null()).map(|(n, v)| format!("{n}={v}")).collect();
        assert!(
            typed.len() == 4 && typed.iter().all(|t| t.len() < "swing-extension=00.00".len()),
            "{typed:?}"
        );
        let knee = args.iter().skip_while(|a| **a != "--knee").copied();
        let typed = typed.join(",");
        let again = run(&knee.chain(["--set", &typed]).collect::<Vec<_>>());
        assert_eq!(again["runs"], first["runs"], "{typed}");
        // for people the same digits
        let out = stdout(&[&["run", "stand"], args.as_slice()].concat(), 0);
        for setting in typed.split(',') {
            let said = setting.replace('=', " ").replace(".0", "") + " %";
            assert!(out.replace('\n', " ").contains(&said), "{said}: {out}");
        }
    }
}
