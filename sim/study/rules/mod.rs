//! Rules of the trade as statements, each tested over a sampled population: for what share of the sampled
//! inputs it holds, how strong the effect is, and where it does not hold.
//!
//! The shares are shares of the sampled inputs of `population.rs`, not of people. A statement that makes no sense
//! for a sample (a knee that is never straight has no terminal impact) is undecided there and counted
//! separately. Values of judgement of the joint stay as in its file; `uncertainty` varies those.

pub mod criteria;
mod evaluation;
pub mod evidence;
pub mod experiment;
pub mod fixtures;
pub mod measure;
pub mod population;
mod report;
pub mod root_find;
pub mod rule;
pub mod scenario_names;
mod table;
mod tally;

use std::collections::BTreeMap;

use rayon::prelude::*;

pub use evaluation::evaluate;
pub use fixtures::Fixtures;
pub use rule::Rule;
pub use table::RULES;
pub use tally::{RuleTally, RuleVerdict};

use crate::error::SimError;
use crate::study::Tick;
use evidence::{CatchLoadMode, ExperimentResult};
use experiment::Experiment;
use population::{Sample, fixable};

/// Which rules are tested, and on how many samples.
#[derive(Debug)]
pub struct RulesStudy {
    /// What is the same for all samples.
    pub fixtures: Fixtures,
    /// Samples.
    pub samples: usize,
    /// Rules that run whole fitting sessions are tested on the first samples only, this many.
    pub sessions: usize,
    /// Seed of the samples.
    pub seed: u64,
    /// Numbers of the rules to test; all if empty.
    pub only: Vec<u32>,
}

/// Greatest number of samples.
pub const MAX_SAMPLES: usize = 100_000;

/// Result of the study.
#[derive(Debug)]
pub struct RulesResult {
    /// One per statement and way to set the catch load.
    pub tallies: Vec<RuleTally>,
}

/// A statement with a way to set the catch load.
type RuleVariant = (&'static Rule, CatchLoadMode);

impl RulesStudy {
    /// Whether it can run.
    ///
    /// # Errors
    /// Samples out of range, a number that is no rule, an unknown input to fix.
    pub fn check(&self) -> Result<(), SimError> {
        for (field, n) in [("samples", self.samples), ("sessions", self.sessions)] {
            if !(1..=MAX_SAMPLES).contains(&n) {
                return Err(SimError::OutOfRange {
                    field: field.into(),
                    value: n.to_string(),
                    allowed: format!("1 to {MAX_SAMPLES}"),
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
        self.fixtures.check()
    }

    /// What is tested, in the order of the table.
    fn variants(&self) -> Vec<RuleVariant> {
        // a fixed catch load has one mode
        let modes = if self.fixtures.is_fixed("catch-load") { 1 } else { usize::MAX };
        RULES
            .iter()
            .filter(|r| self.only.is_empty() || self.only.contains(&r.number()))
            .flat_map(|r| r.catch_loads.iter().take(modes).map(move |c| (r, *c)))
            .collect()
    }

    /// Samples on which a statement is tested.
    fn samples_for(&self, rule: &Rule) -> usize {
        if rule.runs_sessions() { self.sessions.min(self.samples) } else { self.samples }
    }

    /// Inputs that stay as in the set-up, by name.
    #[must_use]
    pub fn fixed(&self) -> Vec<&str> {
        let mut fixed: Vec<&str> = self.fixtures.fixed.iter().map(String::as_str).collect();
        fixed.sort_unstable();
        fixed
    }

    /// Steps of progress.
    #[must_use]
    pub fn steps(&self) -> u64 {
        let (long, short): (Vec<RuleVariant>, Vec<RuleVariant>) =
            self.variants().into_iter().partition(|(r, _)| r.runs_sessions());
        let short = if short.is_empty() { 0 } else { self.samples };
        (short + long.iter().map(|(r, _)| self.samples_for(r)).sum::<usize>()) as u64
    }

    /// Tests every rule on every sample.
    ///
    /// # Errors
    /// As [`RulesStudy::check`]; inputs that are wrong.
    pub fn run(&self, tick: Tick) -> Result<RulesResult, SimError> {
        self.check()?;
        let variants = self.variants();
        let fixed: BTreeMap<&str, bool> = fixable().map(|key| (key, self.fixtures.is_fixed(key))).collect();
        let sample = |index: usize| {
            let fixed = |key: &str| fixed.get(key).copied().unwrap_or(false);
            Sample::draw(self.seed, index, self.fixtures.prostheses.len(), &fixed)
        };
        let short: Vec<RuleVariant> = variants.iter().copied().filter(|(r, _)| !r.runs_sessions()).collect();
        let indices = if short.is_empty() { 0..0 } else { 0..self.samples };
        let results: Vec<Vec<ExperimentResult>> = indices
            .into_par_iter()
            .map(|index| {
                let sample = sample(index);
                let test = |&(rule, catch_load): &RuleVariant| {
                    evaluate(rule, &Experiment::new(&self.fixtures, &sample, catch_load))
                };
                let all = short.iter().map(test).collect();
                tick();
                all
            })
            .collect();
        let mut by_sample: Vec<_> = results.into_iter().map(Vec::into_iter).collect();
        let mut tallies = Vec::new();
        for (rule, catch_load) in variants {
            tallies.push(if rule.runs_sessions() {
                // a session takes as long as all other rules together: one by one over all cores
                let results: Vec<ExperimentResult> = (0..self.samples_for(rule))
                    .into_par_iter()
                    .map(|index| {
                        let result =
                            evaluate(rule, &Experiment::new(&self.fixtures, &sample(index), catch_load));
                        tick();
                        result
                    })
                    .collect();
                RuleTally::of(rule, catch_load, results.into_iter())?
            } else {
                RuleTally::of(rule, catch_load, by_sample.iter_mut().filter_map(Iterator::next))?
            });
        }
        Ok(RulesResult { tallies })
    }
}
