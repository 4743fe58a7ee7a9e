//! `list`, `new`, `check`.

use super::{kneedamp, refused, stdout};

#[test]
fn commands_list() {
    let all = stdout(&["list"], 0);
    for name in ["walk-hurried", "built-in", "constant-friction", "75-kg", "typical", "able-bodied-2008"] {
        assert!(all.contains(name), "{name}");
    }
    assert!(all.contains("invented"));
    let outcomes = stdout(&["list", "outcomes"], 0);
    for m in kneedamp::outcome::METRICS {
        assert!(outcomes.contains(m.key));
    }
}

#[test]
fn commands_new_check_and_user_folder() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::create_dir(folder.path().join("people")).expect("a folder");
    let file = folder.path().join("people/anna.yaml");
    let path = file.to_str().expect("UTF-8");
    kneedamp(&["new", "person", path]).assert().code(0);
    assert!(stdout(&["check", path], 0).contains("a good person"));
    // an existing file is not touched
    assert!(refused(&["new", "person", path]).contains("exists already"));
    let text = std::fs::read_to_string(&file).expect("reads").replace("mass_kg: 75 ", "mass_kg: 62 ");
    std::fs::write(&file, text).expect("writes");
    let library = folder.path().to_str().expect("UTF-8");
    let out = stdout(&["run", "stand", "--person", "anna", "--library", library], 0);
    assert!(out.contains("62 kg"), "{out}");
    assert!(stdout(&["list", "people", "--library", library], 0).contains("anna"));
    let by_path = stdout(&["run", "stand", "--person", path], 0);
    assert_eq!(out, by_path);
}

/// A copy has the name of its file, whatever the name looks like, and reports show it.
#[test]
fn commands_new_names_the_copy_after_its_file() {
    let folder = tempfile::tempdir().expect("a folder");
    for (what, option) in [("person", "--person"), ("prosthesis", "--prosthesis"), ("knee", "--knee")] {
        for name in ["me", "12", "yes", "a # b"] {
            let file = folder.path().join(what).join(format!("{name}.yaml"));
            std::fs::create_dir_all(file.parent().expect("a folder")).expect("a folder");
            let path = file.to_str().expect("UTF-8");
            kneedamp(&["new", what, path]).assert().code(0);
            let out = stdout(&["run", "stand", option, path], 0);
            let said = format!("{what} {name}");
            assert!(out.to_lowercase().replace('\n', " ").contains(&said), "{said}: {out}");
        }
    }
    // nor does a full report of another joint speak of the built-in one
    let knee = folder.path().join("knee/me.yaml");
    let out = stdout(&["run", "--full", "--knee", knee.to_str().expect("UTF-8")], 0);
    assert!(!out.contains("built-in"), "{out}");
}

#[test]
fn commands_new_writes_whole_or_nothing() {
    assert!(refused(&["new", "person", "no/such/folder/x.yaml"]).contains("no/such/folder"));
    assert!(refused(&["new", "knee", "y.yaml", "--from", "nothing"]).contains("built-in"));
    assert!(!std::path::Path::new("y.yaml").exists());
}

#[test]
fn commands_check_looks_at_every_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let (good, bad) = (folder.path().join("good.yaml"), folder.path().join("bad.yaml"));
    kneedamp(&["new", "knee", good.to_str().expect("UTF-8")]).assert().code(0);
    std::fs::write(&bad, "kind: person\nname: x\nabout: y\nmass_kg: 7\n").expect("writes");
    let assert =
        kneedamp(&["check", bad.to_str().expect("UTF-8"), good.to_str().expect("UTF-8")]).assert().code(2);
    let output = assert.get_output();
    assert!(String::from_utf8_lossy(&output.stdout).contains("a good knee"));
    let err = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(err.contains("bad.yaml, line 4: mass_kg: 7 is outside the allowed range 30 to 200"), "{err}");
}

/// The built-in drive is the table of tests/reference converted: not a character by hand.
#[test]
fn commands_drive_is_converted_from_its_table() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("able-bodied-2008.yaml");
    let root = env!("CARGO_MANIFEST_DIR");
    let table = format!("{root}/tests/reference/walking_drive.csv");
    kneedamp(&["new", "drive", file.to_str().expect("UTF-8"), "--from-csv", &table]).assert().code(0);
    let made = std::fs::read_to_string(&file).expect("reads");
    let shipped =
        std::fs::read_to_string(format!("{root}/models/drives/able-bodied-2008.yaml")).expect("reads");
    // but for the line for editors
    assert_eq!(made, format!("# yaml-language-server: $schema=drive.schema.json\n{shipped}"));
}

#[test]
fn commands_drive_tables_that_are_wrong() {
    let folder = tempfile::tempdir().expect("a folder");
    let (table, out) = (folder.path().join("t.csv"), folder.path().join("d.yaml"));
    let good =
        std::fs::read_to_string(format!("{}/tests/reference/walking_drive.csv", env!("CARGO_MANIFEST_DIR")))
            .expect("reads");
    let last = good.lines().rfind(|l| !l.starts_with('#')).expect("rows").to_owned();
    let cases = [
        (String::new(), "speeds"),
        ("signal;meaning;label;v;1\n".into(), "wanted: signal"),
        (good.replace("0.172095,0.337155", "0.172095,nan"), "must be a number"),
        (good.replace("0.172095,0.337155", "0.172095,\"0,337155\""), "must be a number"),
        (good.replace(&last, ""), "forward_load_bw"),
        (good.lines().filter(|l| l.starts_with('#')).take(2).collect::<Vec<_>>().join("\n"), "speeds"),
    ];
    for (text, said) in cases {
        std::fs::write(&table, &text).expect("writes");
        let err = refused(&[
            "new",
            "drive",
            out.to_str().expect("UTF-8"),
            "--from-csv",
            table.to_str().expect("UTF-8"),
        ]);
        assert!(err.contains(said) && err.contains("t.csv"), "no '{said}' in: {err}");
        assert!(!out.exists(), "nothing written");
    }
    // a byte order mark does no harm
    std::fs::write(&table, format!("\u{feff}{good}")).expect("writes");
    kneedamp(&["new", "drive", out.to_str().expect("UTF-8"), "--from-csv", table.to_str().expect("UTF-8")])
        .assert()
        .code(0);
}

#[test]
fn commands_help_shows_an_example_first() {
    let all = stdout(&["--help"], 0);
    // every command the program lists, so that a new one cannot be forgotten
    let listed = all.split("Commands:").nth(1).and_then(|s| s.split("Options:").next()).expect("a list");
    let names: Vec<&str> = listed
        .lines()
        .filter(|l| l.starts_with("  ") && !l.starts_with("   "))
        .filter_map(|l| l.split_whitespace().next())
        .filter(|n| *n != "help")
        .collect();
    assert!(names.contains(&"run") && names.contains(&"adjust"), "{names:?}");
    for name in names {
        let help = stdout(&[name, "--help"], 0);
        assert!(help.starts_with("Example"), "{name}: {help}");
        assert!(help.contains(&format!("kneedamp {name}")));
    }
    assert!(!all.contains("Examples:"), "one line each");
}
