//! Sessions on people whose true values nobody knows: led by `next`, by the rules of thumb of `adjust`, and by
//! random steps. `cargo bench --bench next_sessions [-- PEOPLE [FIRST]]`.
//!
//! Each person is drawn: mass and build, which are known to whoever leads the session, and everything in the ranges of
//! the uncertainty file, half as wide again as `next` takes them, which is not. Those count who can be set up: a search
//! that knows the true values, or the rules, finds settings within every limit. All sessions start at the same settings,
//! make one change at a time and test the scenarios in the same order. A trial is one scenario at one position; it is
//! unsafe as in `adjust`. The chances that `next` gives to single steps are checked for one person in ten.
#![allow(missing_docs, clippy::print_stdout, clippy::print_stderr)]

mod cloud;
mod guided;
mod person;
mod random_steps;
mod tally;

use kneedamp::error::SimError;
use kneedamp::library::{Kind, Library};
use kneedamp::study::adjust::{SessionOptions, run_session};
use rayon::prelude::*;

use person::{Hidden, Known};
use tally::{Calibration, Outcome, Row, Tally};

/// Starts, in percent of every setting's range.
const STARTS: [(&str, f64); 3] = [("open", 10.0), ("middle", 50.0), ("closed", 90.0)];
/// Trials after which a session is broken off.
const MOST_TRIALS: usize = 400;
/// People whose sessions run side by side.
const AT_ONCE: u32 = 8;
/// The chances of every step are checked for one person in so many.
const CHECKED_OF: u32 = 10;
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
        let next: Vec<u32> = (0..AT_ONCE).map(|i| first + drawn + i).collect();
        let found = next
            .par_iter()
            .map(|n| sessions(&Known { library: &library, scenarios: &scenarios, file: &file, n: *n }))
            .collect::<Result<Vec<_>, SimError>>()?;
        for sessions in found {
            drawn += 1;
            if let Some((rows, calibration)) = sessions.filter(|_| able < people) {
                able += 1;
                tally.add(rows);
                tally.calibration.extend(calibration);
            }
        }
        eprintln!("{able} of {drawn} people: {:.0} s", begun.elapsed().as_secs_f64());
        if able >= people || drawn % (8 * AT_ONCE) == 0 {
            println!("{able} people who can be set up, of {drawn}:");
            tally.print(&LEADERS, &STARTS.map(|(name, _)| name));
        }
    }
    Ok(())
}

/// All sessions of one person; none if the person cannot be set up.
fn sessions(known: &Known) -> Result<Option<(Vec<Row>, Calibration)>, SimError> {
    let ruled = by_rules(known, &STARTS.map(|(_, pct)| pct))?;
    let able = ruled.iter().any(|o| o.set_up) || Hidden::draw(known, &known.setup(50.0)?)?.can_be_set_up()?;
    if !able {
        return Ok(None);
    }
    let one = |((start, pct), ruled): ((&'static str, f64), Outcome)| {
        let hidden = Hidden::draw(known, &known.setup(pct)?)?;
        let mut calibration = Calibration::default();
        let checked = (known.n % CHECKED_OF == 0).then_some(&mut calibration);
        let plausible = guided::plausible(known, pct)?;
        let at = plausible.1;
        let guided = guided::session(known, plausible, &hidden, checked)?;
        let random = random_steps::session(known, at, &hidden)?;
        let rows = LEADERS.into_iter().zip([guided, ruled, random]).map(|(leader, o)| (leader, start, o));
        Ok((rows.collect::<Vec<Row>>(), calibration))
    };
    let all = STARTS.into_iter().zip(ruled).map(one).collect::<Result<Vec<_>, SimError>>()?;
    let (mut rows, mut calibration) = (vec![], Calibration::default());
    for (r, c) in all {
        rows.extend(r);
        calibration.extend(c);
    }
    Ok(Some((rows, calibration)))
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
