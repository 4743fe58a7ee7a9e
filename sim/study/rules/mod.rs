//! Rules of the trade as statements, each tried over a sampled population: for what share of the sampled
//! inputs it holds, how strong the effect is, and where it does not hold.
//!
//! What the shares are shares of: the sampled inputs of `population.rs`, not people. A statement that makes
//! no sense for a sample (a knee that is never straight has no terminal impact) decides nothing there and
//! is counted apart. Judged values of the joint stay as its file has them; `uncertainty` varies those.

pub mod criteria;
pub mod experiment;
pub mod fixtures;
pub mod measure;
pub mod population;
mod replay_command;
mod report;
pub mod root_find;
pub mod table;
pub mod tally;

use std::collections::BTreeMap;

use rayon::prelude::*;

pub use crate::study::rules::criteria::shared_yield::span;
pub use crate::study::rules::fixtures::{Bench, Names};
pub use table::{RULES, Rule};
pub use tally::{Tally, Verdict};

use super::rules::experiment::{Catch, Judged, Stop, Try};
use super::rules::measure::{NOT_CLOSED, Read, compare, valve_closes};
use crate::error::SimError;
use crate::motion::Motion;
use crate::study::Tick;
use population::{Sample, holdable};
use table::{Gate, Test};

/// Rules to try, on how many samples.
#[derive(Debug)]
pub struct RulesStudy {
    /// What is tried on.
    pub bench: Bench,
    /// Samples.
    pub samples: usize,
    /// The first so many of them are tried with rules that run whole fitting sessions.
    pub sessions: usize,
    /// Seed of the samples.
    pub seed: u64,
    /// Numbers of the rules to try; all if empty.
    pub only: Vec<u32>,
}

/// Most samples that are taken.
pub const MOST_SAMPLES: usize = 100_000;

/// What was found.
#[derive(Debug)]
pub struct RulesFound {
    /// One per statement and way to set the catch load.
    pub tallies: Vec<Tally>,
}

/// A statement with a way to set the catch load.
type Column = (&'static Rule, Catch);

impl RulesStudy {
    /// Whether it can be tried.
    ///
    /// # Errors
    /// Samples out of range, a number that is no rule, a name to hold that is none.
    pub fn check(&self) -> Result<(), SimError> {
        for (field, n) in [("samples", self.samples), ("sessions", self.sessions)] {
            if !(1..=MOST_SAMPLES).contains(&n) {
                return Err(SimError::OutOfRange {
                    field: field.into(),
                    value: n.to_string(),
                    allowed: format!("1 to {MOST_SAMPLES}"),
                });
            }
        }
        let mut numbers: Vec<u32> = RULES.iter().map(Rule::number).collect();
        numbers.dedup();
        if let Some(n) = self.only.iter().find(|n| !numbers.contains(n)) {
            return Err(SimError::Unknown {
                kind: "rule",
                name: n.to_string(),
                known: numbers.iter().map(u32::to_string).collect::<Vec<_>>().join(", "),
            });
        }
        self.bench.check()
    }

    /// What is tried, in the order of the table.
    fn columns(&self) -> Vec<Column> {
        // a catch load that is held has one way to be set
        let ways = if self.bench.holds("catch-load") { 1 } else { usize::MAX };
        RULES
            .iter()
            .filter(|r| self.only.is_empty() || self.only.contains(&r.number()))
            .flat_map(|r| r.catches.iter().take(ways).map(move |c| (r, *c)))
            .collect()
    }

    /// Samples on which a statement is tried.
    pub(crate) fn tried_on(&self, rule: &Rule) -> usize {
        if rule.takes_sessions() { self.sessions.min(self.samples) } else { self.samples }
    }

    /// Names that stay as the set-up has them, in order.
    #[must_use]
    pub fn held(&self) -> Vec<&str> {
        let mut held: Vec<&str> = self.bench.held.iter().map(String::as_str).collect();
        held.sort_unstable();
        held
    }

    /// Steps of progress.
    #[must_use]
    pub fn steps(&self) -> u64 {
        let (long, short): (Vec<Column>, Vec<Column>) =
            self.columns().into_iter().partition(|(r, _)| r.takes_sessions());
        let short = if short.is_empty() { 0 } else { self.samples };
        (short + long.iter().map(|(r, _)| self.tried_on(r)).sum::<usize>()) as u64
    }

    /// Tries every rule on every sample.
    ///
    /// # Errors
    /// As [`RulesStudy::check`]; inputs that are wrong.
    pub fn run(&self, tick: Tick) -> Result<RulesFound, SimError> {
        self.check()?;
        let columns = self.columns();
        let held: BTreeMap<&str, bool> = holdable().map(|key| (key, self.bench.holds(key))).collect();
        let sample = |index: usize| {
            let held = |key: &str| held.get(key).copied().unwrap_or(false);
            Sample::draw(self.seed, index, self.bench.prostheses.len(), &held)
        };
        let short: Vec<Column> = columns.iter().copied().filter(|(r, _)| !r.takes_sessions()).collect();
        let indices = if short.is_empty() { 0..0 } else { 0..self.samples };
        let judged: Vec<Vec<Judged>> = indices
            .into_par_iter()
            .map(|index| {
                let sample = sample(index);
                let of = |&(rule, catch): &Column| judge(rule, &Try::new(&self.bench, &sample, catch));
                let all = short.iter().map(of).collect();
                tick();
                all
            })
            .collect();
        let mut by_sample: Vec<_> = judged.into_iter().map(Vec::into_iter).collect();
        let mut tallies = Vec::new();
        for (rule, catch) in columns {
            tallies.push(if rule.takes_sessions() {
                // a session takes as long as all other rules together: one by one over all cores
                let judged: Vec<Judged> = (0..self.tried_on(rule))
                    .into_par_iter()
                    .map(|index| {
                        let judged = judge(rule, &Try::new(&self.bench, &sample(index), catch));
                        tick();
                        judged
                    })
                    .collect();
                Tally::of(rule, catch, judged.into_iter())?
            } else {
                Tally::of(rule, catch, by_sample.iter_mut().filter_map(Iterator::next))?
            });
        }
        Ok(RulesFound { tallies })
    }
}

/// One statement on one sample.
///
/// # Errors
/// It decides nothing there, or inputs are wrong.
pub fn judge(rule: &Rule, t: &Try) -> Judged {
    match rule.test {
        Test::Own(test) | Test::Sessions(test) => test(t),
        Test::Move { input, read, sign, missing, gate } => {
            let runs = t.moved_pair(&t.base(rule.scenario), input)?;
            let motions = [t.motion_read(&runs[0], read)?, t.motion_read(&runs[1], read)?];
            let values = [read.of(&motions[0]), read.of(&motions[1])];
            passes(gate, &motions, values, read)?;
            compare(read, missing, sign, values, runs.to_vec())
        }
    }
}

/// Whether two runs decide anything.
fn passes(gate: Gate, motions: &[Motion; 2], values: [Option<f64>; 2], read: Read) -> Result<(), Stop> {
    let word = |key: &str, m: &Motion| crate::outcome::metric(key).and_then(|row| row.read(m).as_word());
    let undecided = |decides: bool, why| if decides { Ok(()) } else { Err(Stop::Undecided(why)) };
    match gate {
        Gate::None => Ok(()),
        Gate::ValveCloses => undecided(motions.iter().any(valve_closes), NOT_CLOSED),
        Gate::BothYield => {
            undecided(motions.iter().any(valve_closes), NOT_CLOSED)?;
            undecided(
                motions.iter().all(|m| word("what_happens", m) == Some(crate::outcome::OutcomeWord::Yields)),
                "the knee does not yield to the other foot's contact with both",
            )
        }
        Gate::NotBothAtToeOff => {
            let at_toe_off = |m: &Motion| match m {
                Motion::Walk(w) => w.stride.release_s.is_none(),
                _ => false,
            };
            undecided(!motions.iter().all(at_toe_off), "closed until toe-off or never closed with both")
        }
        Gate::LetsGoLate => undecided(
            values.iter().flatten().any(|deg| *deg > read.noise()),
            "the valve takes nothing off the peak with either",
        ),
        // a knee that folds bends on, too
        Gate::Bends => undecided(
            values.iter().any(|on| on.is_none_or(|deg| deg > read.noise())),
            "straightens from the start either way",
        ),
    }
}
