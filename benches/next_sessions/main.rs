//! Sessions on people whose true values nobody knows: led by `next`, by the rules of thumb of `adjust`, and by
//! random steps. `cargo bench --bench next_sessions [-- PEOPLE [FIRST]]`.
//!
//! Each person is drawn: mass and build, which are known to whoever leads the session, and everything in the ranges of
//! the uncertainty file, half as wide again as `next` takes them, which is not. Those count who can be set up. All sessions start at the same
//! settings, make one change at a time and test the scenarios in the same order. A trial is one scenario at one
//! position; it is unsafe as in `adjust`.
#![allow(missing_docs, clippy::print_stdout, clippy::print_stderr)]

mod guided;
mod person;
mod random_steps;
mod tally;

use kneedamp::error::SimError;
use kneedamp::library::{Kind, Library};
use kneedamp::study::adjust::{Position, SessionOptions, run_session};
use rayon::prelude::*;

use person::{Hidden, Known};
use tally::{Outcome, Tally};

/// Starts, in percent of every setting's range.
const STARTS: [(&str, f64); 3] = [("open", 10.0), ("middle", 50.0), ("closed", 90.0)];
/// Who ends within every limit from one of these, or from the starts, led by the rules, can be set up.
const OTHER_STARTS: [f64; 5] = [20.0, 30.0, 40.0, 60.0, 70.0];
/// Trials after which a session is broken off.
const MOST_TRIALS: usize = 400;
/// Who leads.
const LEADERS: [&str; 3] = ["next", "rules of adjust", "random steps"];

fn main() -> Result<(), SimError> {
    // cargo hands on `--bench`
    let numbers: Vec<u32> = std::env::args().filter_map(|a| a.parse().ok()).collect();
    let people = numbers.first().copied().unwrap_or(20);
    let first = numbers.get(1).copied().unwrap_or(0);
    let library = Library::default();
    let all = library.names(Kind::Scenario);
    let scenarios: Vec<_> = all.iter().map(|n| library.scenario(n)).collect::<Result<_, _>>()?;
    let mut scenarios: Vec<_> = scenarios.into_iter().filter(|s| !s.by_name_only).collect();
    person::in_safe_order(&mut scenarios);
    let (text, origin) = library.text(Kind::Uncertainty, "default")?;
    let file = kneedamp::library::parse(&text, &origin)?;

    let mut tally = Tally::default();
    let begun = std::time::Instant::now();
    let (mut able, mut drawn) = (0, 0);
    while able < people {
        let known = Known { library: &library, scenarios: &scenarios, file: &file, n: first + drawn };
        drawn += 1;
        let ruled = by_rules(&known, &STARTS.map(|(_, pct)| pct))?;
        let elsewhere = || by_rules(&known, &OTHER_STARTS);
        if !ruled.iter().any(|o| o.set_up) && !elsewhere()?.iter().any(|o| o.set_up) {
            continue;
        }
        able += 1;
        for ((start, pct), ruled) in STARTS.into_iter().zip(ruled) {
            let setup = known.setup(pct)?;
            let hidden = Hidden::draw(&known, &setup)?;
            let guided = guided::session(&known, &setup, &hidden, &mut tally.calibration)?;
            let random = random_steps::session(&known, Position::of(&setup.settings), &hidden)?;
            tally.add(LEADERS.into_iter().zip([guided, ruled, random]).map(|(leader, o)| (leader, start, o)));
        }
        eprintln!("{able} of {drawn} people: {:.0} s", begun.elapsed().as_secs_f64());
    }
    println!("{able} people who can be set up, of {drawn}:");
    tally.print(&LEADERS, &STARTS.map(|(name, _)| name));
    Ok(())
}

/// Sessions led by the rules of thumb.
fn by_rules(known: &Known, starts_pct: &[f64]) -> Result<Vec<Outcome>, SimError> {
    let one = |pct: &f64| {
        let hidden = Hidden::draw(known, &known.setup(*pct)?)?;
        let options = SessionOptions { max_trials: MOST_TRIALS, ..SessionOptions::default() };
        let s = run_session(&hidden.setup, &hidden.scenarios, &options, &|| ())?;
        let set_up = s.final_results.iter().all(person::within);
        Ok(Outcome { set_up, trials: s.trials, unsafe_trials: s.unsafe_trials() })
    };
    starts_pct.par_iter().map(one).collect()
}
