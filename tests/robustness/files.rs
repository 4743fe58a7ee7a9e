//! Files that are wrong: the error names file, line, field and what is allowed.

use crate::common::library;
use kneedamp::library::{Kind, check_text, read_text};

fn shipped(kind: Kind, name: &str) -> String {
    library().text(kind, name).expect("shipped").0
}

/// Refused, with all of these in the message.
fn refused(text: &str, wanted: &[&str]) {
    match check_text(text, "mine.yaml") {
        Ok(kind) => panic!("accepted as a {}:\n{text}", kind.as_str()),
        Err(e) => {
            let said = e.to_string();
            assert!(said.contains("mine.yaml"), "no file in: {said}");
            for w in wanted {
                assert!(said.contains(w), "no '{w}' in: {said}");
            }
        }
    }
}

/// A shipped file with one line changed.
fn edited(kind: Kind, name: &str, from: &str, to: &str) -> String {
    let text = shipped(kind, name);
    assert!(text.contains(from), "'{from}' stands in {name}");
    text.replacen(from, to, 1)
}

fn line_of(text: &str, part: &str) -> String {
    let line = text.lines().position(|l| l.contains(part)).expect("the line is there") + 1;
    format!("line {line}")
}

#[test]
fn robustness_wrong_unit_suffix_and_unknown_key() {
    let text = edited(Kind::Person, "75-kg", "mass_kg:", "mass_lb:");
    refused(&text, &["mass_lb", &line_of(&text, "mass_lb")]);
    let text = edited(Kind::Knee, "built-in", "lag_ms:", "lag_s:");
    refused(&text, &["lag_s", &line_of(&text, "lag_s:")]);
    let text = edited(Kind::Scenario, "sit-down", "seat_height_m:", "seat_height_cm:");
    refused(&text, &["seat_height_cm", &line_of(&text, "seat_height_cm")]);
}

#[test]
fn robustness_missing_field() {
    let text = edited(Kind::Person, "75-kg", "mass_kg: 75", "# mass_kg: 75");
    refused(&text, &["mass_kg"]);
}

#[test]
fn robustness_values_out_of_range_name_line_field_value_range() {
    for (value, said) in [("-75", "-75"), (".nan", "NaN"), (".inf", "inf"), ("1e9", "1000000000")] {
        let text = edited(Kind::Person, "75-kg", "mass_kg: 75", &format!("mass_kg: {value}"));
        refused(&text, &[&line_of(&text, "mass_kg:"), "mass_kg", said, "30 to 200"]);
    }
    let text = edited(Kind::Knee, "built-in", "factor: 8", "factor: 0.5");
    refused(&text, &[&line_of(&text, "factor: 0.5"), "cushion.factor", "0.5", "1 to 100"]);
    let text = edited(Kind::Prosthesis, "typical", "mass_kg: 0.41", "mass_kg: -0.41");
    refused(&text, &[&line_of(&text, "-0.41"), "parts[3].mass_kg", "0 to 10"]);
    let text = edited(Kind::Scenario, "walk-slow", "max: 2.5", "max: .nan");
    refused(&text, &[&line_of(&text, ".nan"), "limits[7].max"]);
    let text = edited(Kind::Scenario, "walk-slow", "most_n_m_per_kg: 0.3", "most_n_m_per_kg: 7");
    refused(&text, &[&line_of(&text, "most_n_m_per_kg: 7"), "hip_moment.most_n_m_per_kg", "7"]);
}

#[test]
fn robustness_setting_over_100_pct() {
    let text = edited(Kind::Knee, "built-in", "set_b_n_m_s2_per_rad2: 30", "set_pct: 101");
    refused(&text, &["stance.yield.set_pct", "101", "0 to 100", &line_of(&text, "set_pct: 101")]);
}

#[test]
fn robustness_oil_that_is_no_grade() {
    let text = edited(Kind::Knee, "built-in", "grade_iso_vg: 15", "grade_iso_vg: 17");
    refused(&text, &["oil.grade_iso_vg", "17", "ISO 3448"]);
}

#[test]
fn robustness_limits_on_unknown_outcomes_and_words() {
    let text = edited(Kind::Scenario, "walk-slow", "outcome: terminal_energy_j", "outcome: terminal_energy");
    refused(&text, &["limits[7].outcome", "terminal_energy_j"]);
    let text = edited(Kind::Scenario, "walk-slow", "[straight, caught, yields]", "[straight, cought]");
    refused(&text, &["cought", "gives way"]);
    let text = edited(
        Kind::Scenario,
        "walk-slow",
        "outcome: landing, allowed: [straight, caught, yields]",
        "outcome: landing, max: 5",
    );
    refused(&text, &["is a word"]);
}

#[test]
fn robustness_empty_duplicate_alias_brackets() {
    refused("", &["kind"]);
    refused("   \n\n", &["kind"]);
    refused("kind: person\n", &["name"]);
    refused("kind: spoon\nname: x\n", &["spoon", "knee"]);
    let text = edited(Kind::Person, "75-kg", "mass_kg: 75", "mass_kg: 75\nmass_kg: 80");
    refused(&text, &["mass_kg", "line"]);
    refused("kind: person\nname: &a x\nabout: *a\nmass_kg: 75\n", &["line"]);
    let brackets = format!("kind: person\nname: {}\n", "[".repeat(128 * 1024));
    refused(&brackets, &[]);
    let mut bomb = String::from("kind: person\na: &a [x,x,x,x,x,x,x,x,x]\n");
    for (n, p) in ('b'..='i').zip('a'..='h') {
        bomb.push_str(&format!("{n}: &{n} [*{p},*{p},*{p},*{p},*{p},*{p},*{p},*{p},*{p}]\n"));
    }
    refused(&bomb, &[]);
    refused("kind: person\nname: x\n\tmass_kg: 75\n", &[]);
    refused("kind: person\nname: [1, 2\n", &[]);
}

#[test]
fn robustness_wrong_types() {
    let text = edited(Kind::Person, "75-kg", "mass_kg: 75", "mass_kg: seventy-five");
    refused(&text, &["line"]);
    let text = edited(Kind::Person, "75-kg", "mass_kg: 75", "mass_kg: 75,5");
    refused(&text, &["line", "write 75.5"]);
    let text = edited(Kind::Person, "75-kg", "mass_kg: 75", "mass_kg: 75 kg # by the scales");
    refused(&text, &["line", "write the number alone, without 'kg'"]);
    let text = edited(Kind::Person, "75-kg", "mass_kg: 75", "mass_kg: [75]");
    refused(&text, &["line"]);
}

#[test]
fn robustness_read_text_refuses_huge_and_binary() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("x.yaml");
    let said = |bytes: &[u8]| {
        std::fs::write(&path, bytes).expect("writes");
        read_text(&path).expect_err("refused").to_string()
    };
    assert!(said(&vec![b' '; 10 * 1024 * 1024]).contains("larger than 256 KiB"));
    assert!(said(&[0xff, 0xfe, 0x00]).contains("not UTF-8"));
    assert!(read_text(&folder.path().join("none.yaml")).is_err());
    assert!(read_text(folder.path()).is_err(), "a folder is no file");
    std::fs::write(&path, "\u{feff}kind: person\n").expect("writes");
    assert_eq!(read_text(&path).expect("a byte order mark is fine"), "kind: person\n");
}

#[test]
fn robustness_every_shipped_file_is_good() {
    let library = library();
    for kind in Kind::ALL {
        let names = library.names(kind);
        assert!(!names.is_empty());
        for name in names {
            let (text, origin) = library.text(kind, &name).expect("there");
            assert_eq!(check_text(&text, &origin).expect("good"), kind, "{name}");
            assert!(text.contains(&format!("name: {name}\n")), "{name}: file and name agree");
        }
    }
}

#[test]
fn robustness_truncated_files_never_panic() {
    for (kind, name) in [(Kind::Knee, "built-in"), (Kind::Scenario, "walk-slow"), (Kind::Person, "75-kg")] {
        let text = shipped(kind, name);
        for end in (0..text.len()).filter(|&i| text.is_char_boundary(i)) {
            let _ = check_text(&text[..end], "mine.yaml");
        }
    }
}
