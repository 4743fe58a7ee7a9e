//! The registry of inputs: what is put in is read back, and the values of judgement are the same
//! wherever they stand.

use crate::common::{library, setup};
use kneedamp::case::inputs::{Case, INPUTS, input};
use kneedamp::joint::{DirectionFile, SettingName, TableFile};
use kneedamp::scenario::uncertainty_file::UncertaintyFile;
use kneedamp::study::window::variations::JUDGED;

/// The built-in example in every kind of scenario.
fn cases() -> Vec<Case> {
    let scenarios = ["walk-comfortable", "sit-down", "ramp-down-8-deg", "stairs-down", "stumble", "stand"];
    let case = |name: &&str| Case {
        setup: setup("75-kg", "built-in"),
        scenario: library().scenario(name).expect("shipped"),
    };
    scenarios.iter().map(case).collect()
}

/// Every input takes its ends and two values between, in every scenario that has it; elsewhere it is not
/// there, before and after.
#[test]
fn inputs_values_put_in_are_read_back() {
    for i in INPUTS {
        let mut taken = 0;
        for case in cases() {
            let name = case.scenario.name.clone();
            let before = format!("{case:?}");
            for value in [i.least, 0.7 * i.least + 0.3 * i.most, 0.2 * i.least + 0.8 * i.most, i.most] {
                let mut changed = case.clone();
                changed.set(i.key, value).expect("within its range");
                match changed.get(i.key) {
                    Some(read) => {
                        taken += 1;
                        let error = (read - value).abs();
                        assert!(
                            error <= 1e-12 * value.abs().max(1.0),
                            "{} in {name}: {value}, {read}",
                            i.key
                        );
                        // twice is once
                        let once = format!("{changed:?}");
                        changed.set(i.key, value).expect("within its range");
                        assert_eq!(once, format!("{changed:?}"), "{} in {name}", i.key);
                    }
                    None => {
                        assert_eq!(before, format!("{changed:?}"), "{} changes {name} unseen", i.key);
                        assert!(case.get(i.key).is_none(), "{} in {name}", i.key);
                    }
                }
            }
        }
        assert!(taken > 0, "{} is nowhere", i.key);
    }
    assert!(cases()[0].get("no such input").is_none());
}

/// A sweep works out person, leg and drive once for rows that differ in inputs of the knee: these change nothing else.
#[test]
fn inputs_of_the_knee_change_nothing_else() {
    let mut changed = 0;
    for i in INPUTS.iter().filter(|i| i.of_knee) {
        for case in cases() {
            let rest = |value| {
                let mut other = case.clone();
                other.set(i.key, value).expect("within its range");
                changed += usize::from(format!("{:?}", other.setup) != format!("{:?}", case.setup));
                other.setup.knee = case.setup.knee.clone();
                other.setup.settings = case.setup.settings;
                other.setup.temperature_c = case.setup.temperature_c;
                format!("{other:?}")
            };
            assert!([i.least, i.most].map(rest).iter().all(|r| *r == format!("{case:?}")), "{}", i.key);
        }
    }
    assert!(changed > 0, "they do change the knee");
    assert!(INPUTS.iter().any(|i| !i.of_knee), "not all of them");
}

/// Values of the built-in example, by hand from its files.
#[test]
fn inputs_of_the_built_in_example() {
    let cases = cases();
    let value = |scenario: usize, key: &str| cases[scenario].get(key);
    assert_eq!(value(0, "mass_kg"), Some(75.0));
    assert_eq!(value(0, "foot_extra_mass_kg"), Some(0.0));
    for key in ["speed_m_per_s", "cadence_steps_per_min"] {
        assert!(value(0, key).is_some() && value(1, key).is_none() && value(5, key).is_none(), "{key}");
    }
    let drive = cases[0].trial(Default::default(), Default::default()).expect("a trial");
    let kneedamp::scenario::Activity::Walk(walk) = &drive.scenario.activity else { panic!("walks") };
    let stride_s = drive.resolved_drive(walk).expect("in the table").stride_time_s;
    let cadence = value(0, "cadence_steps_per_min").expect("walks");
    assert!((cadence * stride_s - 120.0).abs() < 1e-9, "two steps a stride: {cadence}, {stride_s}");
    let mut hurried = cases[0].clone();
    hurried.set("speed_m_per_s", 1.6).expect("in range");
    assert!(hurried.get("cadence_steps_per_min").expect("walks") > cadence, "cadence follows the speed");
}

/// A setting that a knee does not have is read as none: a measured damper has none.
#[test]
fn inputs_settings_that_a_knee_lacks() {
    let mut case = cases().swap_remove(0);
    let read = |case: &Case| SettingName::ALL.map(|n| case.get(n.as_str()).is_some());
    assert_eq!(read(&case), [true; 4]);
    let measured = TableFile { rate_rad_per_s: vec![1.0, 8.0], torque_n_m: vec![0.5, 4.0] };
    case.setup.knee.swing_flexion = DirectionFile::Table(measured);
    let lacking = SettingName::ALL.map(|n| n != SettingName::SwingFlexion);
    assert_eq!(read(&case), lacking);
}

/// Values of judgement: the column of the registry, the ranges of `uncertainty` (each begins its reason with
/// `[J]`) and those that `window` varies, over the same ranges.
#[test]
fn inputs_values_of_judgement_are_the_same_everywhere() {
    let file: UncertaintyFile = library().read("default").expect("shipped");
    let ranged = |key: &str| file.inputs.iter().find(|u| u.input == key);
    for i in INPUTS.iter().filter(|i| i.judged) {
        assert!(ranged(i.key).is_some_and(|u| u.why.starts_with("[J]")), "{} has no judged range", i.key);
    }
    for u in file.inputs.iter().filter(|u| u.why.starts_with("[J]")) {
        assert!(input(&u.input).expect("an input").judged, "{} is no value of judgement", u.input);
    }
    for j in JUDGED {
        assert!(input(j.key).expect("an input").judged, "{} is no value of judgement", j.key);
        let range = ranged(j.key).expect("is uncertain");
        assert_eq!((range.low, range.high), (j.least, j.most), "{}", j.key);
    }
}
