//! Values that make no sense: refused before anything runs, or said to be impossible.

use crate::common::{drive_file, person, trial};
use kneedamp::body::{Prosthesis, prosthesis::ProsthesisKind};
use kneedamp::error::SimError;
use kneedamp::joint::damper::Table;
use kneedamp::joint::{SettingName, Settings};
use kneedamp::motion::Trial;
use kneedamp::outcome::Assessment;
use kneedamp::scenario::{Activity, Drive, Pace};
use kneedamp::units::Setting;

fn reason(trial: &Trial) -> String {
    match Assessment::of(trial) {
        Err(e) => e.to_string(),
        Ok(_) => panic!("{} ran", trial.scenario.name),
    }
}

#[test]
fn robustness_locked_joint_says_why_and_stands() {
    for scenario in ["walk-slow", "sit-down", "ramp-down-8-deg", "stairs-down", "stumble"] {
        let mut t = trial(scenario);
        t.knee.locked = true;
        let why = reason(&t);
        assert!(why.starts_with("cannot run: the joint is locked straight"), "{why}");
    }
    let mut standing = trial("stand");
    standing.knee.locked = true;
    assert!(Assessment::of(&standing).is_ok());
}

#[test]
fn robustness_speed_outside_the_drive() {
    let who = person(75.0, 1.75);
    let at = |v: f64| {
        let pace = Pace { speed_m_per_s: v, cadence_steps_per_min: None };
        Drive::new(&drive_file(), who.leg_length_m(), who.thigh_length_m(), pace)
    };
    let held = at(2.3).expect("a little beyond is held");
    assert!(held.clamped && held.speed_m_per_s < 2.3);
    for v in [0.01, 6.0, f64::NAN, f64::INFINITY, -1.0] {
        match at(v) {
            Err(SimError::CannotRun(why)) => assert!(why.contains("covers"), "{why}"),
            other => panic!("{v}: {other:?}"),
        }
    }
}

#[test]
fn robustness_held_speed_is_said() {
    let mut t = trial("walk-fast");
    if let Activity::Walk(w) = &mut t.scenario.activity {
        w.speed_m_per_s = Some(2.3);
    }
    let notes = t.run().expect("runs").notes();
    assert!(notes.iter().any(|n| n.contains("outside the published strides")), "{notes:?}");
}

#[test]
fn robustness_people_and_settings() {
    for mass in [0.0, -75.0, 29.0, 201.0, f64::NAN, f64::INFINITY] {
        assert!(person(mass, 1.75).check().is_err(), "{mass} kg");
    }
    for stature in [0.0, 1.19, 2.3, f64::NAN] {
        assert!(person(75.0, stature).check().is_err(), "{stature} m");
    }
    for pct in [-0.1, 100.1, f64::NAN, f64::INFINITY] {
        assert!(Setting::from_pct("swing-flexion", pct).is_err(), "{pct} %");
    }
}

#[test]
fn robustness_prosthesis_needs_parts_or_totals() {
    let empty = Prosthesis {
        kind: ProsthesisKind::Prosthesis,
        name: "x".into(),
        about: String::new(),
        parts: vec![],
        totals: None,
    };
    assert!(empty.shank().is_err());
}

#[test]
fn robustness_tables() {
    assert!(Table::new(vec![], vec![]).is_err());
    assert!(Table::new(vec![1.0, 1.0], vec![1.0, 2.0]).is_err());
    assert!(Table::new(vec![2.0, 1.0], vec![1.0, 2.0]).is_err());
    assert!(Table::new(vec![1.0], vec![1.0, 2.0]).is_err());
    assert!(Table::new(vec![f64::NAN], vec![1.0]).is_err());
    assert!(Table::new(vec![1.0], vec![-1.0]).is_err());
}

/// The corners of all settings, light and heavy people, cold and warm oil: a verdict or a reason,
/// never a panic, never a number that is not finite.
#[test]
fn robustness_corners_of_the_settings() {
    let file = crate::common::library().knee("built-in").expect("shipped");
    for scenario in ["walk-fast", "walk-hurried", "sit-down", "ramp-down-8-deg", "stairs-down", "stumble"] {
        for corner in 0..16 {
            for (mass, temperature) in [(35.0, 0.0), (160.0, 60.0)] {
                let mut settings = Settings::default();
                for (i, name) in SettingName::ALL.into_iter().enumerate() {
                    settings.set(name, Setting::clamped(f64::from(corner >> i & 1)));
                }
                let mut t = trial(scenario);
                t.person.mass_kg = mass;
                t.person.stature_given_m = None;
                t.knee = file.resolve(&settings, Some(temperature)).expect("resolves");
                match Assessment::of(&t) {
                    Ok(a) => {
                        assert!(a.energy_residual <= 1e-6);
                        assert!(a.outcomes.iter().filter_map(|(_, v)| v.as_number()).all(f64::is_finite));
                    }
                    Err(SimError::CannotRun(_) | SimError::FootLifts { .. }) => {}
                    Err(e) => panic!("{scenario}, corner {corner}, {mass} kg: {e}"),
                }
            }
        }
    }
}

#[test]
fn robustness_same_answer_every_time() {
    let once = |t: &Trial| format!("{:?}", Assessment::of(t).expect("runs").outcomes);
    let t = trial("walk-comfortable");
    assert_eq!(once(&t), once(&t));
}

/// A valve that has opened but for the last digits leaves a state that is almost zero at the start of
/// pre-swing: the first step must not be guessed from its size.
#[test]
fn robustness_motion_starts_from_almost_nothing() {
    for mass_kg in [59.0, 60.0, 61.0] {
        let mut trial = trial("walk-comfortable");
        trial.person = person(mass_kg, 1.6);
        let mut settings = Settings::default();
        for (name, pct) in [
            (SettingName::SwingFlexion, 0.0),
            (SettingName::SwingExtension, 90.0),
            (SettingName::CatchLoad, 100.0),
        ] {
            settings.set(name, Setting::from_pct("setting", pct).expect("a percentage"));
        }
        let knee = crate::common::library().knee("built-in").expect("shipped");
        trial.knee = knee.resolve(&settings, None).expect("resolves");
        let found = Assessment::of(&trial).unwrap_or_else(|e| panic!("{mass_kg} kg: {e}"));
        assert!(found.outcomes.number("peak_flexion_deg").is_some());
    }
}
