//! Joint angles and people that are wrong: the error names file, line, what was found and what is needed.

use crate::common::library;
use crate::cross_code::users_drive::table;
use kneedamp::SimError;
use kneedamp::library::angles::{Converted, convert};
use kneedamp::library::table::Named;
use kneedamp::library::{Kind, check_text};

/// The shipped angles of one user in rows of cells, without comments; header first.
fn rows(subject: &str) -> Vec<Vec<String>> {
    let table = table("prosthesis_users_0p8.csv");
    let wanted = |l: &&str| l.starts_with("subject,") || l.starts_with(&format!("{subject},"));
    table.lines().filter(wanted).map(|l| l.split(',').map(str::to_owned).collect()).collect()
}

fn text(rows: &[Vec<String>]) -> String {
    rows.iter().map(|r| r.join(",") + "\n").collect()
}

const PEOPLE: &str = "subject,mass_kg,stature_m,level,speed_m_per_s\nTF05,79.4,1.65,K2,0.8\n";

fn run(angles: &str, people: &str, subjects: &[&str]) -> Result<Converted, SimError> {
    let base = library().drive("able-bodied-2008").expect("shipped drive");
    let tables = [Named { name: "a.csv", text: angles }, Named { name: "p.csv", text: people }];
    let subjects: Vec<String> = subjects.iter().map(|s| (*s).to_owned()).collect();
    convert(tables, &subjects, &[], &base, "mine")
}

/// Refused with all of these in the message.
fn refused(angles: &str, people: &str, wanted: &[&str]) {
    let Err(e) = run(angles, people, &[]) else { panic!("accepted; wanted: {wanted:?}") };
    let said = e.to_string();
    for w in wanted {
        assert!(said.contains(w), "no '{w}' in: {said}");
    }
}

/// The angles of one user with each number of some rows changed.
fn edited(which: impl Fn(&str, &str) -> bool, change: impl Fn(usize, f64) -> f64) -> String {
    let mut rows = rows("TF05");
    for row in rows.iter_mut().skip(1).filter(|r| which(&r[1], &r[2])) {
        for (i, cell) in row.iter_mut().skip(3).enumerate() {
            *cell = change(i, cell.parse().expect("a number")).to_string();
        }
    }
    text(&rows)
}

/// Line of a row in the edited table.
fn line(side: &str, angle: &str) -> String {
    let at = rows("TF05").iter().position(|r| r[1] == side && r[2] == angle).expect("a row");
    format!("a.csv, line {}:", at + 1)
}

#[test]
fn robustness_angles_of_one_user_are_good() {
    assert!(run(&text(&rows("TF05")), PEOPLE, &[]).is_ok());
}

#[test]
fn robustness_angles_bom_and_line_ends_do_not_matter() {
    let plain = run(&text(&rows("TF05")), PEOPLE, &[]).expect("good");
    let windows = |t: &str| format!("\u{feff}{}", t.replace('\n', "\r\n"));
    let commented = format!("# source: a treadmill\n#\n{}# end", text(&rows("TF05")));
    let other = run(&windows(&commented), &windows(PEOPLE), &[]).expect("good");
    assert_eq!(plain.mean, other.mean);
    assert!(other.file.source.starts_with("a treadmill Ground load"), "{}", other.file.source);
}

#[test]
fn robustness_angles_missing_side_or_angle() {
    let mut without: Vec<_> = rows("TF05");
    without.retain(|r| r[1] != "sound");
    refused(&text(&without), PEOPLE, &["a.csv, line 2", "TF05, sound", "both sides are needed"]);
    let mut without: Vec<_> = rows("TF05");
    without.retain(|r| !(r[1] == "sound" && r[2] == "hip_flexion"));
    refused(&text(&without), PEOPLE, &["a.csv, line 2", "TF05, sound", "hip_flexion", "all six angles"]);
}

#[test]
fn robustness_angles_wrong_unit() {
    let radians = edited(|_, _| true, |_, deg| deg.to_radians());
    refused(&radians, PEOPLE, &["a.csv, line", "degrees are needed", "radians"]);
    let knee = edited(|side, angle| side == "sound" && angle == "knee_flexion", |_, deg| deg.to_radians());
    refused(&knee, PEOPLE, &[&line("sound", "knee_flexion"), "TF05, sound, knee_flexion", "at least 10"]);
    let hip = edited(|_, angle| angle == "hip_flexion", |_, deg| deg.to_radians());
    refused(&hip, PEOPLE, &["hip_flexion", "degrees are needed", "radians"]);
    let far = edited(|side, angle| side == "sound" && angle == "pelvis_tilt", |_, deg| deg + 400.0);
    refused(&far, PEOPLE, &[&line("sound", "pelvis_tilt"), "within ±180"]);
}

#[test]
fn robustness_angles_few_points() {
    let short: Vec<Vec<String>> = rows("TF05").into_iter().map(|r| r[..3 + 19].to_vec()).collect();
    refused(&text(&short), PEOPLE, &["a.csv, line 1", "19 points", "20 to 1001 are needed"]);
    let mut skipped = rows("TF05");
    skipped[0][3 + 40] = "p040".into();
    refused(&text(&skipped), PEOPLE, &["a.csv, line 1", "found 'p040'", "p40"]);
    let mut ragged = rows("TF05");
    ragged[3].pop();
    refused(&text(&ragged), PEOPLE, &["a.csv, line 4", "103 values", "header has 104"]);
}

#[test]
fn robustness_angles_ends_that_do_not_close() {
    let open = edited(
        |side, angle| side == "prosthetic" && angle == "ankle_dorsiflexion",
        |i, deg| deg + 0.18 * i as f64,
    );
    let wanted = [&line("prosthetic", "ankle_dorsiflexion"), "from where it began", "at most 15"];
    refused(&open, PEOPLE, &wanted);
}

#[test]
fn robustness_angles_sides_that_do_not_fit() {
    // the pelvis as seen from the sound side, turned over: it moves against itself
    let turned = edited(|side, angle| side == "sound" && angle.starts_with("pelvis"), |_, deg| -deg);
    refused(&turned, PEOPLE, &["a.csv, line 2", "TF05", "phase score", "at least 1.5"]);
    let still = edited(|_, angle| angle == "pelvis_tilt", |_, _| 3.0);
    refused(&still, PEOPLE, &["TF05, pelvis", "does not change"]);
}

#[test]
fn robustness_angles_toe_that_slides() {
    // a foot that tips on its toes while it should stand: its ball cannot stay on the belt
    let tipping =
        |i: usize, deg: f64| if (45..56).contains(&i) { deg - 8.0 * (i as f64 - 45.0) } else { deg };
    let sliding = edited(|side, angle| side == "prosthetic" && angle == "ankle_dorsiflexion", tipping);
    refused(&sliding, PEOPLE, &["a.csv, line 2", "prosthetic toe", "slides", "at most 40 mm"]);
}

#[test]
fn robustness_angles_numbers_and_names() {
    for bad in ["NaN", "inf", "", "12.5x"] {
        let mut broken = rows("TF05");
        broken[4][3 + 17] = bad.into();
        refused(&text(&broken), PEOPLE, &["a.csv, line 5", "p17", &format!("'{bad}'"), "finite number"]);
    }
    for (column, bad, wanted) in [
        (1, "left", "needed: prosthetic or sound"),
        (2, "hip_abduction", "needed: pelvis_tilt"),
        (0, "TF99", "no row in p.csv"),
    ] {
        let mut broken = rows("TF05");
        broken[6][column] = bad.into();
        refused(&text(&broken), PEOPLE, &["a.csv, line 7", &format!("'{bad}'"), wanted]);
    }
    let mut twice = rows("TF05");
    twice.push(twice[2].clone());
    refused(&text(&twice), PEOPLE, &[&format!("a.csv, line {}", twice.len()), "twice"]);
    let renamed = text(&rows("TF05")).replace("angle_deg", "angle_rad");
    refused(&renamed, PEOPLE, &["a.csv, line 1", "angle_deg", "no such column"]);
    refused("", PEOPLE, &["a.csv", "needed columns"]);
    refused("subject,side,angle_deg,p0\n", PEOPLE, &["a.csv, line 1", "1 points"]);
}

#[test]
fn robustness_angles_people() {
    let angles = text(&rows("TF05"));
    for (from, to, wanted) in [
        ("79.4", "794", "mass_kg: 794 is outside the allowed range 30 to 200"),
        ("1.65", "165", "stature_m: 165 is outside the allowed range 1.2 to 2.2"),
        ("K2,0.8", "K2,2.9", "speed_m_per_s: 2.9 is outside the allowed range 0.2 to 2.5"),
        ("1.65", "nan", "'nan'; a finite number is needed"),
        ("K2,0.8", "0.8", "4 values; the header has 5"),
    ] {
        refused(&angles, &PEOPLE.replace(from, to), &["p.csv, line 2", wanted]);
    }
    refused(
        &angles,
        &PEOPLE.replace("stature_m", "stature_cm"),
        &["p.csv, line 1", "stature_m", "no such column"],
    );
    refused(&angles, &format!("{PEOPLE}TF05,80,1.7,K2,0.8\n"), &["p.csv, line 3", "twice"]);
    refused(&angles, &format!("{PEOPLE}a: b,80,1.7,K2,0.8\n"), &["p.csv, line 3", "'a: b'"]);
    // the base does not go so slowly
    refused(&angles, &PEOPLE.replace("K2,0.8", "K2,0.35"), &["mean v* of the users"]);
}

#[test]
fn robustness_angles_subjects() {
    let angles = text(&rows("TF05"));
    let more = format!("{PEOPLE}TF77,80,1.7,K2,0.8\n");
    let found = run(&angles, &more, &[]).expect("good");
    assert!(found.findings.text.iter().any(|t| t.contains("People without angles: TF77")));
    let Err(e) = run(&angles, &more, &["TF77"]) else { panic!("no angles") };
    assert!(e.to_string().contains("'TF77' has no angles; subjects in the table: TF05"), "{e}");
}

#[test]
fn robustness_drive_says_where_it_was_measured() {
    let shipped = library().text(Kind::Drive, "users-2020").expect("shipped").0;
    for (from, to, wanted) in [
        ("dimensionless_speeds: [0.", "dimensionless_speeds: [9.", "measured.dimensionless_speeds"),
        ("dimensionless_speeds: [", "dimensionless_speeds: [0.3, ", "must ascend"),
        ("shifted_from: able-bodied-2008", "shifted_from: ''", "needs the name of the drive"),
        ("dimensionless_speeds:", "speeds_m_per_s:", "speeds_m_per_s"),
    ] {
        assert!(shipped.contains(from), "{from}");
        let e = check_text(&shipped.replacen(from, to, 1), "mine.yaml").expect_err(to).to_string();
        assert!(e.contains("mine.yaml, line") && e.contains(wanted), "{e}");
    }
}
