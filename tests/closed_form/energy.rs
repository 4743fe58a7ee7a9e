//! The energy balance of every shipped run.

use kneedamp::error::SimError;
use kneedamp::library::Kind;
use kneedamp::motion::Motion;
use kneedamp::motion::stance_tasks::LegRun;

use super::fixtures::row;
use crate::common::{knee, library, trial};
use crate::evidence::{Check, greatest};

/// Residuals |in − stored − out| / out of everything that a motion consists of; none for statics.
fn residuals(motion: &Motion) -> Vec<f64> {
    let legs = |run: &LegRun, band: &[Option<LegRun>; 3]| {
        std::iter::once(run).chain(band.iter().flatten()).map(|r| r.energy_residual).collect::<Vec<_>>()
    };
    match motion {
        Motion::Walk(w) => {
            let strides = [Some(&w.stride), w.never_closing.as_deref(), w.comparison.as_deref()];
            let strides = strides.into_iter().flatten().map(|s| s.energy_residual);
            let landings = w.landing.iter().chain(w.landing_band.iter().flatten()).map(|r| r.energy_residual);
            strides.chain(landings).collect()
        }
        Motion::Sit(s) => vec![s.energy_residual],
        Motion::Ramp(m) => legs(&m.run, &m.band),
        Motion::Stairs(m) => legs(&m.run, &m.band),
        Motion::Stumble(m) => legs(&m.run, &m.band),
        Motion::Stand(_) => Vec::new(),
    }
}

/// Every shipped scenario with this knee; a run that fails by its energy balance is without bound, one
/// that a knee cannot do (a foot that lifts) is left out and named.
fn shipped(knee_name: &str) -> (f64, usize, usize) {
    let (mut all, mut left_out) = (Vec::new(), 0);
    for scenario in library().names(Kind::Scenario) {
        let mut trial = trial(&scenario);
        trial.knee = knee(knee_name);
        match trial.run() {
            Ok(motion) => all.extend(residuals(&motion)),
            Err(SimError::FootLifts { .. } | SimError::CannotRun(_)) => {
                println!("{scenario} with {knee_name}: cannot be followed");
                left_out += 1;
            }
            Err(e) => {
                println!("{scenario} with {knee_name}: {e}");
                all.push(f64::INFINITY);
            }
        }
    }
    let runs = all.len();
    (greatest(all), runs, left_out)
}

const WHAT: &str = "energy balance of every shipped run";

pub fn checks() -> Vec<Check> {
    let (built_in, runs, left_out) = shipped("built-in");
    println!("{runs} runs with the built-in knee");
    assert_eq!(left_out, 0, "the built-in knee can do every shipped scenario");
    let others: Vec<f64> = library()
        .names(Kind::Knee)
        .into_iter()
        .filter(|name| name != "built-in")
        .map(|name| {
            let (worst, runs, left_out) = shipped(&name);
            println!("{name}: {worst:.1e} in {runs} runs, {left_out} left out");
            worst
        })
        .collect();
    let source = "in − stored − out of the quadrature states over the dissipated energy";
    vec![
        row("AENERGY", WHAT, source, 1e-8, built_in, "of the dissipated"),
        row(
            "AENERGY-k",
            "the same with every other shipped knee",
            source,
            1e-8,
            greatest(others),
            "of the dissipated",
        ),
    ]
}

#[test]
fn closed_form_energy_balance_closes() {
    for check in checks() {
        check.assert();
    }
}
