//! What a walking stride and the loaded tasks cost: steps, evaluations of the right-hand side, time.
//! `cargo bench --bench tally`.
#![allow(missing_docs, clippy::print_stdout)]

use std::hint::black_box;
use std::time::Instant;

use kneedamp::case::setup::Setup;
use kneedamp::library::Library;
use kneedamp::motion::trial::Detail;
use kneedamp::motion::{Motion, Trial};
use kneedamp::numerics::hybrid::IntegrationStats;
use kneedamp::numerics::tolerances::Tolerances;

/// Times taken; the least of them is shown, so that other work on the machine does not count.
const TAKEN: usize = 300;

/// Statistics, number of events, and how far the energy balance is off.
fn cost(motion: &Motion) -> (Vec<IntegrationStats>, usize, f64) {
    let leg = |r: &kneedamp::motion::stance_tasks::LegRun| {
        (vec![r.trajectory.stats], r.trajectory.events.len(), r.energy_residual)
    };
    match motion {
        Motion::Walk(w) => {
            let s = &w.stride;
            let events = s.trajectory.events.len() + s.valve_trajectory.events.len();
            (vec![s.valve_trajectory.stats, s.trajectory.stats], events, s.energy_residual)
        }
        Motion::Sit(s) => (vec![s.trajectory.stats], s.trajectory.events.len(), s.energy_residual),
        Motion::Ramp(m) => leg(&m.run),
        Motion::Stairs(m) => leg(&m.run),
        Motion::Stumble(m) => leg(&m.run),
        Motion::Stand(_) => (Vec::new(), 0, 0.0),
    }
}

fn least_us(trial: &Trial) -> f64 {
    let mut least = f64::INFINITY;
    for _ in 0..TAKEN {
        let start = Instant::now();
        let _ = black_box(black_box(trial).run().expect("runs"));
        least = least.min(start.elapsed().as_secs_f64() * 1e6);
    }
    least
}

fn main() {
    let library = Library::default();
    let setup = Setup::new(
        library.person("75-kg").expect("shipped"),
        library.prosthesis("typical").expect("shipped"),
        library.knee("built-in").expect("shipped"),
        library.walking_drive("users-2020").expect("shipped"),
    );
    let any_length = Tolerances { longest_step_s: 1.0, ..Tolerances::default() };
    for (name, tolerances) in [
        ("1e-9", Tolerances::default()),
        ("1e-7", Tolerances::scan()),
        ("1e-9, steps of any length that the error allows", any_length),
    ] {
        println!("tolerance {name}; ns are of all that a run does, per right-hand side");
        println!(
            "{:<18} {:>6} {:>9} {:>7} {:>9} {:>7} {:>8} {:>6} {:>9}",
            "", "steps", "rejected", "phases", "events", "evals", "us", "ns", "balance"
        );
        for scenario in ["walk-comfortable", "sit-down", "ramp-down-8-deg", "stairs-down", "stumble"] {
            let mut trial = setup.trial(&library.scenario(scenario).expect("shipped")).expect("resolves");
            (trial.detail, trial.tolerances) = (Detail::NONE, tolerances);
            let (stats, events, balance) = cost(&trial.run().expect("runs"));
            let sum = |of: fn(&IntegrationStats) -> usize| stats.iter().map(of).sum::<usize>();
            let us = least_us(&trial);
            println!(
                "{scenario:<18} {:>6} {:>9} {:>7} {events:>9} {:>7} {us:>8.1} {:>6.1} {balance:>9.1e}",
                sum(|t| t.accepted_steps),
                sum(|t| t.rejected_steps),
                sum(|t| t.phases),
                sum(|t| t.evaluations),
                1e3 * us / sum(|t| t.evaluations) as f64,
            );
        }
    }
}
