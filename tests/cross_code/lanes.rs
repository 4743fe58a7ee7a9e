//! Trials side by side against the reference path: every outcome of random trials, one by one.

use kneedamp::body::Alignment;
use kneedamp::case::setup::Setup;
use kneedamp::joint::{SettingName, Settings};
use kneedamp::motion::Trial;
use kneedamp::motion::trial::Detail;
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::outcome::many::{BAND, STEPS_BAND, SUMS_OVER_STEPS, measure_each};
use kneedamp::outcome::{Assessment, METRICS, Value};
use kneedamp::units::Setting;

use super::batch_population::Draw;
use crate::common::{library, person, walking_drive};

const SCENARIOS: [&str; 8] = [
    "walk-slow",
    "walk-comfortable",
    "walk-fast",
    "walk-hurried",
    "ramp-down-8-deg",
    "stairs-down",
    "stumble",
    "sit-down",
];
const DRAWS: u64 = 32;

/// Trials of random people, settings, oils, feet and cadences: nothing like a patient.
fn trials() -> Vec<Trial> {
    let library = library();
    let knee = library.knee("built-in").expect("shipped");
    let prosthesis = library.prosthesis("typical").expect("shipped");
    let draws = (0..DRAWS).flat_map(|i| SCENARIOS.map(|name| (i, name)));
    let trial = |(i, name): (u64, &str)| {
        let mut draw = Draw::new(7_000 + i);
        let who = person(draw.between(50.0, 110.0), draw.between(1.55, 1.95));
        let mut setup = Setup::new(who, prosthesis.clone(), knee.clone(), walking_drive());
        let mut settings = Settings::default();
        for setting in SettingName::ALL {
            settings.set(setting, Setting::from_pct("setting", draw.between(0.0, 100.0)).expect("in range"));
        }
        setup.settings = settings;
        setup.temperature_c = Some(draw.between(10.0, 40.0));
        setup.alignment =
            Alignment { foot_shift_m: draw.between(-0.01, 0.01), foot_tilt_deg: draw.between(-2.0, 2.0) };
        if name.starts_with("walk") {
            setup.cadence_steps_per_min = Some(draw.between(85.0, 115.0));
        }
        let mut trial = setup.trial(&library.scenario(name).expect("shipped")).expect("resolves");
        trial.comparison_knee = crate::common::knee("reference");
        (trial.tolerances, trial.detail) = (Tolerances::scan(), Detail::default());
        trial
    };
    draws.map(trial).collect()
}

/// Outcomes of a motion, or why there is none.
type Read = Result<Vec<(&'static str, Value)>, String>;

fn read(motion: Result<kneedamp::motion::Motion, kneedamp::error::SimError>) -> Read {
    let motion = motion.map_err(|e| e.to_string())?;
    let wanted = METRICS.iter().filter(|m| m.activities.contains(&motion.kind()));
    Ok(wanted.map(|m| (m.key, m.read(&motion))).collect())
}

/// How far two values are apart, as a share of the greater of 1 and the value; infinite for other words.
fn apart(a: Value, b: Value) -> f64 {
    match (a, b) {
        (Value::Number(a), Value::Number(b)) => (a - b).abs() / a.abs().max(1.0),
        _ if a == b => 0.0,
        _ => f64::INFINITY,
    }
}

#[test]
fn lanes_give_the_outcomes_of_single_trials() {
    let trials = trials();
    assert!(trials.len() >= 200);
    let together = Trial::run_each(&trials, |_, motion| read(motion));
    let (mut compared, mut ran, mut off) = (0, 0, Vec::new());
    let mut worst = (0.0, String::new());
    for (trial, together) in trials.iter().zip(together) {
        let alone = read(trial.run());
        let name = &trial.scenario.name;
        match (&alone, &together) {
            (Ok(alone), Ok(together)) => {
                ran += 1;
                for ((key, a), (_, b)) in alone.iter().zip(together) {
                    compared += 1;
                    let distance = apart(*a, *b);
                    let is_sum = SUMS_OVER_STEPS.contains(key);
                    if distance > worst.0 && !is_sum {
                        worst = (distance, format!("{name}: {key} {a:?} {b:?}"));
                    }
                    if distance > if is_sum { STEPS_BAND } else { BAND } {
                        off.push(format!("{name}: {key} {a:?} {b:?}"));
                    }
                }
            }
            _ => assert_eq!(alone, together, "{name}"),
        }
    }
    println!("{compared} outcomes of {ran} trials; farthest apart {:.1e}: {}", worst.0, worst.1);
    assert!(ran > trials.len() / 2, "{ran} of {} trials run", trials.len());
    assert!(off.is_empty(), "{} of {compared} outcomes off:\n{}", off.len(), off.join("\n"));
}

#[test]
fn lanes_give_the_verdicts_of_single_trials() {
    let trials = trials();
    let verdicts = |a: &Assessment| -> Vec<_> {
        let of = |l: &kneedamp::outcome::LimitVerdict| (l.limit.outcome.clone(), l.verdict, l.in_band);
        a.limits.iter().map(of).collect()
    };
    let together = measure_each(&trials, &[], |trial, motion| {
        motion.and_then(|m| Assessment::of_motion(trial, &m)).map(|a| verdicts(&a)).map_err(|e| e.to_string())
    });
    for (trial, together) in trials.iter().zip(together) {
        let alone = Assessment::of(trial).map(|a| verdicts(&a)).map_err(|e| e.to_string());
        assert_eq!(alone, together, "{}", trial.scenario.name);
    }
}

/// What runs beside a trial does not touch its last digit: shards of a sweep rest on it.
#[test]
fn lanes_do_not_depend_on_their_neighbours() {
    let trials = trials();
    let together = Trial::run_each(&trials, |_, motion| read(motion));
    for (trial, together) in trials.iter().zip(together).step_by(5) {
        let single = Trial::run_each(std::slice::from_ref(trial), |_, motion| read(motion)).remove(0);
        assert_eq!(single, together, "{}", trial.scenario.name);
    }
}
