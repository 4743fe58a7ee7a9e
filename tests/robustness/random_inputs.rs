//! Random legal inputs in every scenario: a result with a closed energy balance, or a reason why there is none.
//! `KNEEDAMP_DRAWS=100000 cargo test random_legal -- --nocapture` tries more and prints what came of them.

use std::collections::BTreeMap;

use kneedamp::case::inputs::{Case, INPUTS};
use kneedamp::error::SimError;
use kneedamp::library::{Kind, Library};
use kneedamp::motion::sample::Samples;
use kneedamp::motion::trial::{Detail, Motion, Trial};
use kneedamp::numerics::random::Draw;
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::outcome::Assessment;
use rayon::prelude::*;

use crate::common::setup;

/// Draws without `KNEEDAMP_DRAWS`.
const DRAWS: u64 = 2000;
/// Of so many draws at most one may be given up.
const GIVEN_UP_ONE_IN: u64 = 10_000;

/// Greater than it may be, or no number.
fn beyond(value: f64, most: f64) -> bool {
    value.is_nan() || value > most
}

/// What no motion may do, whatever the inputs: numbers that are none, a damper or seal that drives, an energy balance that is
/// open, a stop that pulls. How far a stop gives way is no such thing: 20 N m of an assist spring press a stop of 2000 N m/rad
/// in by half a degree, and 200 kg on the leg by more than two.
fn wrong(trial: &Trial, motion: &Motion, assessment: &Assessment) -> Vec<String> {
    let mut wrong = Vec::new();
    let numbers = assessment.outcomes.iter().filter_map(|(m, v)| Some((m.key, v.as_number()?)));
    wrong.extend(numbers.filter(|(_, v)| !v.is_finite()).map(|(key, v)| format!("{key} is {v}")));
    if beyond(assessment.energy_residual, 1e-6) {
        wrong.push(format!("energy is off by {:e}", assessment.energy_residual));
    }
    let knees = Samples::of(motion, 2e-3).map(|s| s.knee()).unwrap_or_default();
    let flexion_stop = trial.knee.flexion_stop.angle_rad;
    for k in knees {
        let at = format!("at {:.3} s", k.t_s);
        for (name, torque) in [("the damper", k.damper_n_m), ("the seal", k.friction_n_m)] {
            // in watts; a torque of rounding is none
            let power = torque * k.rate_rad_per_s;
            if beyond(power, 1e-9) {
                wrong.push(format!("{name} drives with {power} W {at}"));
            }
        }
        // it pushes towards flexion, and never pulls
        if beyond(-k.stop_n_m, 0.0) && k.flexion_rad < flexion_stop {
            wrong.push(format!("the extension stop pulls with {} N m {at}", k.stop_n_m));
        }
    }
    wrong
}

fn assessed(case: &Case) -> Result<Vec<String>, SimError> {
    let trial = case.trial(Detail::default(), Tolerances::default())?;
    let motion = trial.run()?;
    let assessment = Assessment::of_motion(&trial, &motion)?;
    Ok(wrong(&trial, &motion, &assessment))
}

fn draw(library: &Library, names: &[Vec<String>; 2], n: u64) -> (String, Result<Vec<String>, SimError>) {
    let mut draw = Draw::new(1, n);
    let mut pick = |of: &[String]| of[draw.index(of.len())].clone();
    let (scenario, knee) = (pick(&names[0]), pick(&names[1]));
    let scenario = library.scenario(&scenario).expect("shipped");
    let mut said = format!("run {} --knee {knee} --input ", scenario.name);
    let mut case = Case { setup: setup("75-kg", &knee), scenario };
    // few, some or most inputs at once, a third of them at an end of their range
    let share = draw.unit();
    for input in INPUTS {
        let value = match draw.index(6) {
            0 => input.least,
            1 => input.most,
            _ => draw.within(input.least, input.most),
        };
        if draw.unit() < share && (input.get)(&case).is_some() && case.set(input.key, value).is_ok() {
            said += &format!("{}={value},", input.key);
        }
    }
    (said, assessed(&case))
}

#[test]
fn robustness_random_legal_inputs() {
    let library = Library::default();
    let mut names = [Kind::Scenario, Kind::Knee].map(|kind| library.names(kind));
    names[0].retain(|n| !n.starts_with("reference"));
    let draws = std::env::var("KNEEDAMP_DRAWS").ok().and_then(|n| n.parse().ok()).unwrap_or(DRAWS);
    let found: Vec<_> = (0..draws).into_par_iter().map(|n| draw(&library, &names, n)).collect();
    let mut counts: BTreeMap<&str, u64> = BTreeMap::new();
    let mut given_up = 0;
    for (said, result) in &found {
        let why = result.as_ref().map_or_else(|e| e.no_result_because().unwrap_or("refused"), |_| "a result");
        *counts.entry(why).or_default() += 1;
        if let Err(SimError::BeyondBounds { what, .. }) = result {
            *counts.entry(what).or_default() += 1;
        }
        if let Err(e @ (SimError::Integration { .. } | SimError::EnergyBalance { .. })) = result {
            given_up += 1;
            println!("{said}: {e}");
        }
    }
    println!("{counts:?}");
    let wrong: Vec<_> =
        found.iter().filter_map(|(said, r)| Some((said, r.as_ref().ok()?.first()?))).collect();
    assert!(wrong.is_empty(), "{} of {draws}: {:#?}", wrong.len(), &wrong[..wrong.len().min(10)]);
    assert!(given_up * GIVEN_UP_ONE_IN <= draws, "{given_up} of {draws} given up");
    assert!(!counts.contains_key("refused"), "legal inputs: {counts:?}");
}
