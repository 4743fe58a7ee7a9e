//! Old names of commands, options, scenarios and kinds of file: the error says the new one.

use super::{refused, stdout};

#[test]
fn commands_old_names_say_the_new_one() {
    let cases: [(&[&str], &str, &str); 7] = [
        (&["spread"], "spread", "uncertainty"),
        (&["changed", "mass_kg=80"], "changed", "recheck"),
        (
            &["sweep", "mass_kg=60,70", "--outcomes", "release_pct", "--side-by-side"],
            "--side-by-side",
            "--batch",
        ),
        (&["uncertainty", "--spread", "default"], "--spread", "--ranges"),
        (&["uncertainty", "--spread=default"], "--spread", "--ranges"),
        (&["run", "walk-crowded"], "walk-crowded", "walk-hurried"),
        (&["recheck", "mass_kg=80", "--scenario", "walk-crowded"], "walk-crowded", "walk-hurried"),
    ];
    for (args, old, new) in cases {
        let err = refused(args);
        assert!(err.contains(&format!("'{old}' is called '{new}' now")), "{args:?}: {err}");
    }
}

/// The new names are there.
#[test]
fn commands_new_names_are_accepted() {
    let all = stdout(&["--help"], 0);
    for name in ["uncertainty", "recheck"] {
        assert!(all.contains(&format!("  {name} ")), "{name}: {all}");
    }
    for (command, option) in [("sweep", "--batch\n"), ("uncertainty", "--ranges ")] {
        let help = stdout(&[command, "--help"], 0);
        assert!(help.contains(option), "{command} {option}: {help}");
    }
    assert!(stdout(&["list", "scenarios"], 0).contains("walk-hurried"));
    let args = ["sweep", "swing-flexion=20,40,60,80", "--outcomes", "peak_flexion_deg", "--batch"];
    assert_eq!(stdout(&args, 0).lines().count(), 5);
}

/// The words are refused in their old place only: a file may have such a name.
#[test]
fn commands_old_names_are_free_for_files() {
    let err = refused(&["check", "spread"]);
    assert!(!err.contains("is called"), "{err}");
}

#[test]
fn commands_old_kind_of_file_names_the_new_one() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("mine.yaml");
    let text = "kind: spread\nname: x\nabout: y\ninputs:\n  - {input: mass_kg, low: 60, high: 90, why: z}\n";
    std::fs::write(&file, text).expect("writes");
    let path = file.to_str().expect("UTF-8");
    for args in [["check", path].as_slice(), &["uncertainty", "--samples", "8", "--ranges", path]] {
        let err = refused(args);
        assert!(err.contains("mine.yaml") && err.contains("spread"), "{args:?}: {err}");
        assert!(err.contains("uncertainty"), "{args:?}: {err}");
    }
}
