//! `drive`.

use super::{refused, stdout};

const ANGLES: &str = "tests/reference/prosthesis_users_0p8.csv";
const PEOPLE: &str = "tests/reference/prosthesis_users_people.csv";

/// The command in the shipped file's second line, run into another file, makes the same file.
#[test]
fn commands_drive_makes_the_shipped_drive_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("made.yaml");
    let path = file.to_str().expect("UTF-8");
    let shipped = std::fs::read_to_string("models/drives/users-2020.yaml").expect("shipped");
    let command = shipped.lines().nth(1).expect("a command").trim_start_matches(['#', ' ']);
    let words: Vec<&str> = command.split(' ').skip(1).collect();
    let place = words.iter().position(|w| *w == "--output").expect("an output") + 1;
    let mut mine = words.clone();
    mine[place] = path;
    let out = stdout(&mine, 0);
    for shown in ["TF20", "misfit", "toe_at_rest_mm", "plain mean", "each user's own"] {
        assert!(out.contains(shown), "no '{shown}' in {out}");
    }
    let made = std::fs::read_to_string(&file).expect("written");
    assert_eq!(made.replace(path, words[place]), shipped);
    assert!(stdout(&["check", path], 0).contains("a good drive"));
}

#[test]
fn commands_drive_json_and_subjects() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("two.yaml");
    let path = file.to_str().expect("UTF-8");
    let options =
        ["--name", "two", "--output", path, "--subjects", "TF01,TF05", "--plain-mean", "--format", "json"];
    let out = stdout(&[&["drive", ANGLES, "--people", PEOPLE], &options[..]].concat(), 0);
    let found: serde_json::Value = serde_json::from_str(&out).expect("JSON");
    assert_eq!(found["users"].as_array().map(Vec::len), Some(2));
    assert_eq!(found["users"][1]["sound_contact_pct"], 45.0);
    assert_eq!(found["inputs"]["aligned_at"].as_array().map(Vec::len), Some(0));
    let made = std::fs::read_to_string(&file).expect("written");
    assert!(made.lines().nth(1).is_some_and(|l| l.ends_with("--subjects TF01,TF05 --plain-mean")), "{made}");
    assert!(made.contains("2 users of above-knee prostheses (TF01, TF05)"));
}

#[test]
fn commands_drive_writes_nothing_when_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let (file, bad) = (folder.path().join("made.yaml"), folder.path().join("bad.csv"));
    let (path, bad_path) = (file.to_str().expect("UTF-8"), bad.to_str().expect("UTF-8"));
    let text =
        std::fs::read_to_string(ANGLES).expect("shipped").replacen("prosthetic,knee", "prosthetic,shin", 1);
    std::fs::write(&bad, text).expect("writes");
    let said = refused(&["drive", bad_path, "--people", PEOPLE, "--name", "x", "--output", path]);
    assert!(said.contains("bad.csv, line ") && said.contains("'shin_flexion' is unknown"), "{said}");
    let said = refused(&["drive", ANGLES, "--people", PEOPLE, "--name", "a b", "--output", path]);
    assert!(said.contains("--name 'a b'"), "{said}");
    let nobody = ["drive", ANGLES, "--people", PEOPLE, "--name", "x", "--output", path, "--subjects", "TF99"];
    assert!(refused(&nobody).contains("'TF99' has no angles"));
    let heel = ["drive", ANGLES, "--people", PEOPLE, "--name", "x", "--output", path, "--landmarks", "heel"];
    assert!(refused(&heel).contains("sound-contact, toe-off, knee-peak, greatest-thigh"));
    assert!(!file.exists());
    let nowhere =
        refused(&["drive", ANGLES, "--people", PEOPLE, "--name", "x", "--output", "no/such/x.yaml"]);
    assert!(nowhere.contains("no/such"), "{nowhere}");
}
