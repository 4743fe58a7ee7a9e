//! Random legal inputs in every scenario: a result with a closed energy balance, or a reason why there is none.
//! `KNEEDAMP_DRAWS=100000 cargo test random_legal -- --nocapture` tries more and prints what came of them.

use std::collections::BTreeMap;

use kneedamp::case::inputs::{Case, INPUTS};
use kneedamp::error::SimError;
use kneedamp::library::{Kind, Library};
use kneedamp::motion::trial::Detail;
use kneedamp::numerics::random::Draw;
use kneedamp::numerics::tolerances::Tolerances;
use rayon::prelude::*;

use crate::common::setup;

/// Draws without `KNEEDAMP_DRAWS`.
const DRAWS: u64 = 2000;
/// Of so many draws at most one may be given up.
const GIVEN_UP_ONE_IN: u64 = 10_000;

fn draw(library: &Library, names: &[Vec<String>; 2], n: u64) -> (String, Result<(), SimError>) {
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
    (said, case.assess(Detail::default(), Tolerances::default()).map(|_| ()))
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
        let why =
            result.as_ref().map_or_else(|e| e.no_result_because().unwrap_or("refused"), |()| "a result");
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
    assert!(given_up * GIVEN_UP_ONE_IN <= draws, "{given_up} of {draws} given up");
    assert!(!counts.contains_key("refused"), "legal inputs: {counts:?}");
}
