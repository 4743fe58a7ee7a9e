//! Texts that are read, shown and written: lines that errors name, one-line YAML, control characters, odd names.

use kneedamp::library::{Kind, check_text, line_of_field, parse, to_yaml};
use kneedamp::scenario::DriveFile;

use crate::commands::{kneedamp, refused, stdout, unwrapped};
use crate::common::library;

fn said(text: &str) -> String {
    check_text(text, "mine.yaml").expect_err("refused").to_string()
}

/// Every number of every shipped drive, put out of range: the error names its line.
#[test]
fn robustness_errors_in_drives_name_the_line() {
    for name in ["able-bodied-2008", "users-2020"] {
        let text = library().text(Kind::Drive, name).expect("shipped").0;
        let mut tried = 0;
        for (i, line) in text.lines().enumerate().filter(|(_, l)| !l.starts_with('#') && l.contains(": ")) {
            let (key, value) = line.split_once(": ").expect("a key");
            let values: Vec<&str> = value.trim_matches(['[', ']']).split(", ").collect();
            if value.starts_with('"') || values.iter().any(|v| v.parse::<f64>().is_err()) {
                continue;
            }
            for k in 0..values.len() {
                let mut wrong = values.clone();
                wrong[k] = "1e6";
                let list = wrong.join(", ");
                let value = if value.starts_with('[') { format!("[{list}]") } else { list };
                let changed: Vec<String> = text
                    .lines()
                    .enumerate()
                    .map(|(n, l)| if n == i { format!("{key}: {value}") } else { l.to_owned() })
                    .collect();
                let said = said(&changed.join("\n"));
                assert!(said.contains(&format!("line {}:", i + 1)), "{name}, {key}, line {}: {said}", i + 1);
                tried += 1;
            }
        }
        assert!(tried > 300, "{name}: {tried} numbers");
    }
}

#[test]
fn robustness_lines_are_not_those_of_comments_and_texts() {
    let text = "# mass_kg: 3\nkind: person\nname: x # mass_kg: 4\nabout: \"mass_kg: 5\"\nwho:\n  mass_kg: 6\nmass_kg: 900\n";
    assert_eq!(line_of_field(text, "mass_kg"), Some(7));
    assert_eq!(line_of_field(text, "who.mass_kg"), Some(6));
    // what is missing has the line of what it is missing in
    assert_eq!(line_of_field(text, "who.stature_m"), Some(5));
    assert_eq!(line_of_field(text, "stature_m"), None);
    let list = "limits:\n- outcome: a\n  max: 1\n- outcome: b\n  # max: 2\n- outcome: c\n  max: 3\n";
    assert_eq!(line_of_field(list, "limits[2].max"), Some(7));
    assert_eq!(line_of_field(list, "limits[1].max"), Some(4));
    let apostrophe = "about: the person's 'own'\nmass_kg: 900\n";
    assert_eq!(line_of_field(apostrophe, "mass_kg"), Some(2));
}

#[test]
fn robustness_one_line_yaml_is_read_by_all_commands() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("me.yaml");
    let path = file.to_str().expect("UTF-8");
    std::fs::write(&file, "{kind: person, name: me, about: x, mass_kg: 71, stature_m: 1.7}\n")
        .expect("written");
    assert!(stdout(&["check", path], 0).contains("a good person"));
    assert!(stdout(&["run", "stand", "--person", path], 0).contains("Person me (71 kg"));
    assert!(refused(&["run", "stand", "--knee", path]).contains("this file is a person"));
    std::fs::write(&file, "{kind: spoon, name: me}\n").expect("written");
    assert!(refused(&["check", path]).contains("'spoon' is none"));
    assert!(check_text("kind: \"person\"\nname: me\nabout: x\nmass_kg: 71\n", "quoted").is_ok());
}

#[test]
fn robustness_control_characters_are_refused_with_their_field() {
    for (name, code) in [("\"a\\x1b[31mb\"", "U+001B"), ("\"a\\nb\"", "U+000A"), ("\"a\\u202eb\"", "U+202E")]
    {
        let said = said(&format!("kind: person\nname: {name}\nabout: x\nmass_kg: 71\n"));
        assert!(said.contains("mine.yaml, line 2: name: control character") && said.contains(code), "{said}");
    }
    let said = said("kind: person\nname: a\nabout: \"a\\x07b\"\nmass_kg: 71\n");
    assert!(said.contains("line 3: about: control character U+0007"), "{said}");
    let two_lines = "kind: person\nname: a\nabout: |\n  one\n  two\nmass_kg: 71\n";
    assert!(check_text(two_lines, "two lines").is_ok(), "a longer text may have lines");
    let drive = library().text(Kind::Drive, "able-bodied-2008").expect("shipped").0;
    let labelled = drive.replacen("label: ", "label: \"\\x1b\" # ", 1);
    let said = check_text(&labelled, "mine.yaml").expect_err("refused").to_string();
    assert!(said.contains("speeds[0].label: control character U+001B"), "{said}");
}

/// Names that YAML would take for something else come back as they were.
#[test]
fn robustness_odd_names_are_written_so_that_they_are_read() {
    let folder = tempfile::tempdir().expect("a folder");
    for name in [
        "true", "null", "~", "12", "1e3", "0x10", "a: b", "a #b", "- a", "{a}", "'a", "\"a", "&a", "*a", "?",
        "a\\b",
    ] {
        let file = folder.path().join(format!("{name}.yaml"));
        let path = file.to_str().expect("UTF-8");
        kneedamp(&["new", "person", path]).assert().success();
        assert!(stdout(&["check", path], 0).contains("a good person"), "{name}");
        let out = stdout(&["run", "stand", "--person", path], 0);
        assert!(out.contains(&format!("Person {name} (")), "{name}: {out}");
        let mut drive = library().drive("users-2020").expect("shipped");
        drive.name = name.into();
        let read: DriveFile = parse(&to_yaml(&drive).expect("YAML"), name).expect("good");
        assert_eq!(read, drive);
    }
    let file = folder.path().join("a\u{1b}b.yaml");
    let said = refused(&["new", "person", file.to_str().expect("UTF-8")]);
    assert!(said.contains("name: control character U+001B") && !file.exists(), "{said}");
}

#[cfg(unix)]
#[test]
fn robustness_a_named_pipe_is_refused_and_not_waited_for() {
    let folder = tempfile::tempdir().expect("a folder");
    let pipe = folder.path().join("pipe.yaml");
    let made = std::process::Command::new("mkfifo").arg(&pipe).status().expect("mkfifo");
    assert!(made.success());
    let path = pipe.to_str().expect("UTF-8");
    for args in [&["check", path][..], &["run", "stand", "--person", path]] {
        let done = kneedamp(args).timeout(std::time::Duration::from_secs(20)).assert().code(2);
        let said = String::from_utf8_lossy(&done.get_output().stderr).into_owned();
        assert!(said.contains("a named pipe or a device"), "{said}");
    }
    let text = library().text(Kind::Person, "75-kg").expect("shipped").0;
    let piped = kneedamp(&["check", "/dev/stdin"]).write_stdin(text).assert().success();
    assert!(String::from_utf8_lossy(&piped.get_output().stdout).contains("a good person"));
}

#[test]
fn robustness_uncertainty_says_where_a_range_is_cut() {
    let args = ["uncertainty", "--scenario", "stumble", "--samples", "8", "--mass"];
    let out = |mass: &str| unwrapped(&stdout(&[&args[..], &[mass]].concat(), 0));
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("mine.yaml");
    let ranges = "kind: uncertainty\nname: mine\nabout: x\ninputs:\n- {input: mass_kg, low: -10, high: 10, around: set-up, why: x}\n";
    std::fs::write(&file, ranges).expect("written");
    let path = file.to_str().expect("UTF-8");
    let args = ["uncertainty", "--scenario", "stumble", "--samples", "8", "--ranges", path, "--mass"];
    let with = |mass: &str| unwrapped(&stdout(&[&args[..], &[mass]].concat(), 0));
    let cut = with("35");
    assert!(
        cut.contains("reach beyond what an input takes: mass_kg from 25 to 45 kg is cut to 30 to 45 kg."),
        "{cut}"
    );
    assert!(!with("75").contains("reach beyond"));
    assert!(!out("75").contains("mass_kg from"));
}
