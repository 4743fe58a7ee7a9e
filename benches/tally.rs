//! What a walking stride and the loaded tasks cost: steps, right-hand sides, time per right-hand side.
//! `cargo bench --bench tally`.
#![allow(missing_docs, clippy::print_stdout)]

use std::hint::black_box;
use std::time::Instant;

use kneedamp::case::setup::Setup;
use kneedamp::library::Library;
use kneedamp::motion::trial::Detail;
use kneedamp::motion::{Motion, Trial};
use kneedamp::numerics::hybrid::Tally;
use kneedamp::numerics::tolerances::Tolerances;

/// Times taken; the least of them is shown, so that other work on the machine does not count.
const TAKEN: usize = 300;

/// Costs, switches located, and how far the energy balance is off.
fn cost(motion: &Motion) -> (Vec<Tally>, usize, f64) {
    let leg = |r: &kneedamp::motion::stance_tasks::LegRun| {
        (vec![r.trajectory.tally], r.trajectory.events.len(), r.energy_residual)
    };
    match motion {
        Motion::Walk(w) => {
            let s = &w.stride;
            let switches = s.trajectory.events.len() + s.valve_trajectory.events.len();
            (vec![s.valve_trajectory.tally, s.trajectory.tally], switches, s.energy_residual)
        }
        Motion::Sit(s) => (vec![s.trajectory.tally], s.trajectory.events.len(), s.energy_residual),
        Motion::Ramp(m) => leg(&m.run),
        Motion::Stairs(m) => leg(&m.run),
        Motion::Stumble(m) => leg(&m.run),
        Motion::Stand(_) => (Vec::new(), 0, 0.0),
    }
}

fn least_us(trial: &Trial) -> f64 {
    let mut least = f64::INFINITY;
    for _ in 0..TAKEN {
        let begun = Instant::now();
        let _ = black_box(black_box(trial).run().expect("runs"));
        least = least.min(begun.elapsed().as_secs_f64() * 1e6);
    }
    least
}

fn main() {
    let library = Library::default();
    let setup = Setup::new(
        library.person("75-kg").expect("shipped"),
        library.prosthesis("typical").expect("shipped"),
        library.knee("built-in").expect("shipped"),
        library.drive("able-bodied-2008").expect("shipped"),
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
            "", "steps", "rejected", "phases", "switches", "rates", "us", "ns", "balance"
        );
        for scenario in ["walk-comfortable", "sit-down", "ramp-down-8-deg", "stairs-down", "stumble"] {
            let mut trial = setup.trial(&library.scenario(scenario).expect("shipped")).expect("resolves");
            (trial.detail, trial.tolerances) = (Detail::NONE, tolerances);
            let (tallies, switches, balance) = cost(&trial.run().expect("runs"));
            let sum = |of: fn(&Tally) -> usize| tallies.iter().map(of).sum::<usize>();
            let us = least_us(&trial);
            println!(
                "{scenario:<18} {:>6} {:>9} {:>7} {switches:>9} {:>7} {us:>8.1} {:>6.1} {balance:>9.1e}",
                sum(|t| t.steps),
                sum(|t| t.rejected),
                sum(|t| t.phases),
                sum(|t| t.rates),
                1e3 * us / sum(|t| t.rates) as f64,
            );
        }
    }
}
