//! A session of random single steps: kept where the scenario that is not within comes nearer, else backed out.

use kneedamp::error::SimError;
use kneedamp::joint::SettingName;
use kneedamp::numerics::random::Draw;
use kneedamp::study::adjust::Position;

use crate::MOST_TRIALS;
use crate::person::{Book, Hidden, Known};
use crate::tally::Outcome;

/// Seed of the steps.
const SEED: u64 = 91;
/// Changes after which a session is given up.
const MOST_CHANGES: usize = 100;

pub fn session(known: &Known, start: Position, hidden: &Hidden) -> Result<Outcome, SimError> {
    let mut draw = Draw::new(SEED, u64::from(known.n));
    let mut book = Book::new(hidden);
    let mut at = start;
    let mut set_up = false;
    for _ in 0..MOST_CHANGES {
        if book.trials() >= MOST_TRIALS {
            break;
        }
        let Some(complaint) = book.first_complaint(at)? else {
            set_up = true;
            break;
        };
        let name = SettingName::ALL[draw.index(SettingName::ALL.len())];
        let sign = if draw.index(2) == 0 { 1.0 } else { -1.0 };
        let step = hidden.setup.knee.step_pct(name).unwrap_or(0.0);
        let Some(to) = at.moved(name, sign * step) else { continue };
        let before = book.run(at, complaint)?.0.worst();
        if book.run(to, complaint)?.0.worst() >= before {
            at = to;
        }
    }
    Ok(Outcome { set_up, trials: book.trials(), unsafe_trials: book.unsafe_trials })
}
