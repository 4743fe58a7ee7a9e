//! Drives that are legal number by number and make no sense: refused on reading, or at the speed asked for.

use kneedamp::error::SimError;
use kneedamp::library::{Kind, check_text, parse};
use kneedamp::scenario::{Drive, DriveFile, Pace};

use crate::commands::refused;
use crate::common::{library, person, trial};

/// The shipped drive with the knee's harmonics of some rows put to a number.
fn flattened(rows: &[usize], to: f64) -> DriveFile {
    let mut file = library().drive("able-bodied-2008").expect("shipped");
    for row in rows {
        let knee = &mut file.speeds[*row].knee_flexion_deg;
        knee.cos.iter_mut().chain(&mut knee.sin).for_each(|v| *v = to);
    }
    file
}

fn at_row(file: &DriveFile, row: f64) -> Result<Drive, SimError> {
    let who = person(75.0, 1.75);
    let v = |i: usize| file.speeds[i].dimensionless_speed;
    let dimensionless =
        v(row.floor() as usize) + row.fract() * (v(row.ceil() as usize) - v(row.floor() as usize));
    let speed_m_per_s = dimensionless * (9.80665 * who.leg_length_m()).sqrt();
    let pace = Pace { speed_m_per_s, cadence_steps_per_min: None };
    Drive::new(file, who.leg_length_m(), who.thigh_length_m(), pace)
}

#[test]
fn robustness_a_drive_with_a_stiff_knee_is_refused_on_reading() {
    let text = library().text(Kind::Drive, "able-bodied-2008").expect("shipped").0;
    let file: DriveFile = parse(&text, "shipped").expect("good");
    let mut flat = file.clone();
    flat.speeds[1].knee_flexion_deg = flattened(&[1], 0.0).speeds[1].knee_flexion_deg.clone();
    let yaml = kneedamp::library::to_yaml(&flat).expect("YAML");
    let said = check_text(&yaml, "flat.yaml").expect_err("refused").to_string();
    assert!(
        said.contains("speeds[1].knee_flexion_deg: ") && said.contains("at least 5° are needed"),
        "{said}"
    );
    let line =
        yaml.lines().enumerate().filter(|(_, l)| l.contains("knee_flexion_deg:")).nth(1).expect("there").0
            + 1;
    assert!(said.contains(&format!("line {line}:")), "{said}; wanted line {line}");
    // the program says so too, and shows no peak of thousands of degrees
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("flat.yaml");
    std::fs::write(&path, &yaml).expect("written");
    let path = path.to_str().expect("UTF-8");
    assert!(refused(&["check", path]).contains("at least 5° are needed"));
    assert!(refused(&["run", "--drive", path]).contains("at least 5° are needed"));
}

/// Two rows with the same knee, which bends and straightens twice, and toe-off at either bend: half-way between them it is
/// straight again at toe-off.
#[test]
fn robustness_a_stiff_knee_between_rows_cannot_run() {
    let mut file = flattened(&[0, 1], 0.0);
    file.speeds.truncate(2);
    let bent_at = [0.56, 0.56 + 1.0 / 3.0];
    for (row, toe_off) in file.speeds.iter_mut().zip(bent_at) {
        let turned = 3.0 * std::f64::consts::TAU * bent_at[0];
        let knee = &mut row.knee_flexion_deg;
        (knee.mean, knee.cos[2], knee.sin[2]) = (30.0, 20.0 * turned.cos(), 20.0 * turned.sin());
        row.toe_off_fraction = toe_off;
    }
    assert!(file.check().is_ok() && Drive::check_rows(&file).is_ok(), "on reading both rows are good");
    match at_row(&file, 0.5) {
        Err(SimError::CannotRun(why)) => assert!(why.contains("from late stance to toe-off"), "{why}"),
        other => panic!("{other:?}"),
    }
}

#[test]
fn robustness_shipped_drives_bend_the_knee_far_enough() {
    for name in ["able-bodied-2008", "users-2020"] {
        let file = library().drive(name).expect("shipped");
        let last = file.speeds.len() - 1;
        for tenth in 0..=10 * last {
            let drive = at_row(&file, tenth as f64 / 10.0).expect("bends");
            let [start, end] = [drive.preswing_start_s, drive.toe_off_s].map(|t| drive.published_knee(t)[0]);
            let bend_deg = (end - start).to_degrees();
            assert!(bend_deg > 20.0, "{name}: {bend_deg}, twice and more the least");
        }
    }
}

/// A motion beyond what a leg can do is an error in words, not an outcome.
#[test]
fn robustness_motions_beyond_what_a_leg_does_are_errors() {
    let mut wild = trial("walk-comfortable");
    let mut file = library().drive("able-bodied-2008").expect("shipped");
    for row in &mut file.speeds {
        let knee = &mut row.knee_flexion_deg;
        knee.cos.iter_mut().chain(&mut knee.sin).for_each(|v| *v *= 12.0);
    }
    wild.drive = Some(file.into());
    wild.knee.flexion_stop.angle_rad = 20.0;
    match wild.run() {
        Err(e @ SimError::BeyondBounds { .. }) => {
            assert!(e.is_finding() && !e.cannot_run());
            assert!(e.to_string().starts_with("could not be computed: stride: a "), "{e}");
        }
        Err(e) => panic!("{e}"),
        Ok(_) => panic!("ran"),
    }
}
