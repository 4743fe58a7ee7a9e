//! Errors that say how to write it.

use super::{refused, stdout, unwrapped};

/// Refused, with this in the message.
fn says(args: &[&str], wanted: &str) {
    let said = unwrapped(&refused(args));
    assert!(said.contains(wanted), "{args:?}: no '{wanted}' in: {said}");
}

#[test]
fn commands_hint_at_decimal_commas_and_units() {
    for (args, wanted) in [
        (&["run", "--speed", "1,25"][..], "tip: write 1.25"),
        (&["run", "--speed", "1.25m/s"], "tip: write the number alone, without 'm/s'"),
        (&["run", "--foot-shift", "20mm"], "tip: write the number alone, without 'mm'"),
        (&["run", "--foot-tilt", "2°"], "tip: write the number alone, without '°'"),
        (&["run", "--cadence", "100,5"], "(a decimal point, not a comma: 100.5)"),
        (&["rules", "--samples", "1,024"], "tip: write 1.024 or 1024, without the comma"),
        (&["run", "--set", "swing-flexion=12,5"], "(a decimal point, not a comma: swing-flexion=12.5)"),
        (
            &["run", "--set", "swing-flexion=40°"],
            "'40°' is not a number: write the number alone, without '°', in %",
        ),
        (&["recheck", "mass_kg=70kg"], "mass_kg: '70kg' is not a number: write 70; allowed: 30 to 200"),
        (&["recheck", "mass_kg=70,5"], "(a decimal point, not a comma: mass_kg=70.5)"),
        (&["sweep", "mass_kg=70lb"], "without 'lb', in kg"),
        (&["uncertainty", "--vary", "mass_kg=70kg..80"], "'70kg' is not a number: write 70"),
    ] {
        says(args, wanted);
    }
    // what is no number is not called one
    assert!(!refused(&["run", "--speed", "fast"]).contains("tip"));
    assert!(refused(&["recheck", "mass_kg=heavy"]).contains("'heavy' is not a number; allowed: 30 to 200"));
}

#[test]
fn commands_name_the_kind_that_is_wrong() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("me.yaml");
    let path = file.to_str().expect("UTF-8");
    stdout(&["new", "person", path], 0);
    says(&["run", "--knee", path], "this file is a person; a knee is wanted (a person goes with --person)");
    says(&["run", "--knee", "75-kg"], "'75-kg' is a person; a knee is wanted (a person goes with --person)");
    says(
        &["run", "--person", "built-in"],
        "'built-in' is a knee; a person is wanted (a knee goes with --knee)",
    );
    says(&["run", "--drive", "walk-fast"], "'walk-fast' is a scenario; a drive is wanted");
}

#[test]
fn commands_ask_did_you_mean() {
    for (args, wanted) in [
        (
            &["run", "walk-huried"][..],
            "no scenario named 'walk-huried'; did you mean 'walk-hurried'? known: ",
        ),
        (&["run", "--set", "swing-flexoin=7"], "did you mean 'swing-flexion'?"),
        (&["recheck", "mas_kg=70"], "did you mean 'mass_kg'?"),
        (&["compare", "--a", "", "--b", "swing_flexion=70"], "did you mean 'swing-flexion'?"),
        (&["sweep", "mass_kg=70", "--outcomes", "peak_flexon_deg"], "did you mean 'peak_flexion_deg'?"),
        (&["run", "--knee", "buildin"], "did you mean 'built-in'?"),
        (&["run", "--person", "75kg"], "did you mean '75-kg'?"),
        (&["run", "--drive", "users-2021"], "did you mean 'users-2020'?"),
    ] {
        says(args, wanted);
    }
    assert!(!refused(&["run", "sprint"]).contains("did you mean"), "nothing is near");
}

#[test]
fn commands_name_the_missing_folder_as_asked_for() {
    for args in [
        &["run", "walk-fast", "--trace", "no-such/a.csv"][..],
        &["run", "walk-fast", "--plot", "no-such/a.svg"],
        &["sheet", "--output", "no-such/a.html"],
    ] {
        let said = refused(args);
        assert!(said.contains("no-such/a.") && said.contains("no such folder: no-such"), "{said}");
        assert!(!said.contains("tmp"), "{said}");
    }
}

#[test]
fn commands_tell_scenarios_from_symptoms() {
    says(
        &["adjust", "--seen", "walk-fast"],
        "'walk-fast' is a scenario; write: kneedamp adjust walk-fast --seen SYMPTOM",
    );
    says(
        &["adjust", "--seen", "toe-drags", "heel-flies-up"],
        "'heel-flies-up' is a symptom, and a scenario is wanted here; write: --seen toe-drags,heel-flies-up",
    );
    let behind = stdout(&["adjust", "--seen", "knee-late-straight", "walk-fast"], 0);
    assert_eq!(behind, stdout(&["adjust", "walk-fast", "--seen", "knee-late-straight"], 0));
}

#[test]
fn commands_do_not_write_over_a_model() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("me.yaml");
    let path = file.to_str().expect("UTF-8");
    assert!(super::stdout(&["new", "person", path], 0).is_empty());
    let before = std::fs::read(&file).expect("written");
    says(&["run", "sit-down", "--person", path, "--trace", path], "ends in .csv");
    says(&["run", "sit-down", "--trace", "x.svg", "--plot", "x.svg"], "ends in .csv");
    says(&["sheet", "--output", path], "ends in .html");
    says(&["lesson", "--output", path], "ends in .html");
    says(&["new", "knee", "-"], "no name for one");
    #[cfg(unix)]
    {
        let [to_model, to_nothing] = ["to-model.csv", "to-nothing.csv"].map(|n| folder.path().join(n));
        std::os::unix::fs::symlink(&file, &to_model).expect("linked");
        std::os::unix::fs::symlink(folder.path().join("none.csv"), &to_nothing).expect("linked");
        let [to_model, to_nothing] = [&to_model, &to_nothing].map(|p| p.to_str().expect("UTF-8"));
        says(&["run", "sit-down", "--trace", to_model], "ends in .csv");
        says(&["run", "sit-down", "--trace", to_nothing], "a link to a file that is not there");
    }
    assert_eq!(std::fs::read(&file).expect("still there"), before);
}

#[test]
fn commands_keep_words_of_the_file_reader_and_huge_text_to_themselves() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("me.yaml");
    let path = file.to_str().expect("UTF-8");
    std::fs::write(&file, "kind: person\nmass_kg: 70\nmass_kg: 71\n").expect("written");
    let said = unwrapped(&refused(&["check", path]));
    assert!(said.contains("duplicate mapping key: mass_kg") && !said.contains("Policy"), "{said}");
    std::fs::write(&file, format!("kind: {}\n", "x".repeat(200_000))).expect("written");
    let said = refused(&["check", path]);
    assert!(said.len() < 400 && said.contains("is none; wanted is one of: knee"), "{} bytes", said.len());
}

#[cfg(unix)]
#[test]
fn output_follows_links_and_keeps_permissions() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().expect("a folder");
    let (file, link) = (folder.path().join("a.csv"), folder.path().join("link.csv"));
    std::fs::write(&file, "old").expect("written");
    std::fs::set_permissions(&file, std::fs::Permissions::from_mode(0o600)).expect("set");
    std::os::unix::fs::symlink(&file, &link).expect("linked");
    super::stdout(&["run", "sit-down", "--trace", link.to_str().expect("UTF-8")], 0);
    assert!(link.is_symlink() && std::fs::read(&file).expect("there").len() > 100);
    assert_eq!(file.metadata().expect("there").permissions().mode() & 0o777, 0o600);
}
