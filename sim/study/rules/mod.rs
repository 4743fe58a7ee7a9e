//! Rules of the trade as statements, each tried over a sampled population: for what share of the sampled
//! inputs it holds, how strong the effect is, and where it does not hold.
//!
//! What the shares are shares of: the sampled inputs of `population.rs`, not people. A statement that makes
//! no sense for a sample (a knee that is never straight has no terminal impact) decides nothing there and
//! is counted apart. Judged values of the joint stay as its file has them; `spread` varies those.

mod findings;
mod judges;
mod matching;
pub mod population;
pub mod reading;
pub mod table;
pub mod trying;

use std::collections::BTreeMap;

use rayon::prelude::*;

pub use table::{RULES, Rule};
pub use trying::Bench;

use crate::error::SimError;
use crate::motion::Motion;
use crate::motion::leg_tasks::LegEnd;
use crate::study::Tick;
use crate::study::sampling::{median, rounded, wilson_95};
use population::{Sample, drawn};
use reading::{Read, compare};
use table::{Claim, Gate, Test};
use trying::{Catch, Judged, Run, Seen, Sense, Stop, Try};

/// Rules to try, on how many samples.
#[derive(Debug)]
pub struct RulesStudy {
    /// What is tried on.
    pub bench: Bench,
    /// Samples.
    pub samples: usize,
    /// Seed of the samples.
    pub seed: u64,
    /// Numbers of the rules to try; all if empty.
    pub only: Vec<u32>,
}

/// Most samples that are taken.
pub const MOST_SAMPLES: usize = 100_000;

/// One statement over all samples, with one way to set the catch load.
#[derive(Debug)]
pub struct Tally {
    /// Statement.
    pub rule: &'static Rule,
    /// Catch load.
    pub catch: Catch,
    /// Samples that agree.
    pub agree: usize,
    /// Samples that agree, disagree or show no difference.
    pub decided: usize,
    /// Of these, samples that show no difference.
    pub no_difference: usize,
    /// Samples for which it decides nothing, by reason.
    pub undecided: BTreeMap<&'static str, usize>,
    /// Median effect of the decided samples for which it is a number.
    pub median_effect: Option<f64>,
    /// The sample that disagrees most, and what it shows.
    pub counter: Option<(usize, Seen)>,
}

impl Tally {
    /// Share of the decided samples that agree.
    #[must_use]
    pub fn share(&self) -> Option<f64> {
        (self.decided > 0).then(|| self.agree as f64 / self.decided as f64)
    }

    /// Its interval of 95 %.
    #[must_use]
    pub fn interval(&self) -> (f64, f64) {
        wilson_95(self.agree, self.decided)
    }

    /// In plain words.
    #[must_use]
    pub fn verdict(&self) -> &'static str {
        if let Test::Elsewhere(why) = self.rule.test {
            return why;
        }
        let (low, high) = self.interval();
        match self.rule.claim {
            _ if self.decided == 0 => "decides nothing here",
            Claim::CanHappen if self.agree > 0 => "happens",
            Claim::CanHappen => "never happened",
            Claim::MostNotAll if low > 0.5 && self.agree < self.decided => {
                "for most, not for all: as the rule says"
            }
            Claim::MostNotAll if high < 0.5 => "contradicted: not for most",
            Claim::MostNotAll if low > 0.5 => "contradicted: for all",
            Claim::MostNotAll => "for about half",
            Claim::Holds if self.agree == self.decided => "held every time",
            Claim::Holds if self.agree == 0 => "contradicted every time",
            Claim::Holds if low > 0.5 => "holds for most",
            Claim::Holds if high < 0.5 => "contradicted for most",
            Claim::Holds => "holds for about half",
        }
    }

    /// The model contradicts it more often than not.
    #[must_use]
    pub fn contradicted(&self) -> bool {
        self.decided > 0 && self.verdict().starts_with("contradicted")
    }
}

/// What was found.
#[derive(Debug)]
pub struct RulesFound {
    /// One per statement and way to set the catch load.
    pub tallies: Vec<Tally>,
}

impl RulesStudy {
    /// Whether it can be tried.
    ///
    /// # Errors
    /// Samples out of range, a number that is no rule, a name to hold that is none.
    pub fn check(&self) -> Result<(), SimError> {
        if !(1..=MOST_SAMPLES).contains(&self.samples) {
            return Err(SimError::OutOfRange {
                field: "samples".into(),
                value: self.samples.to_string(),
                allowed: format!("1 to {MOST_SAMPLES}"),
            });
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
        if let Some(name) = self.bench.held.iter().find(|n| !judges::is_known(n)) {
            return Err(SimError::Unknown {
                kind: "sampled input",
                name: name.clone(),
                known: population::POPULATION.iter().map(|r| r.key).collect::<Vec<_>>().join(", "),
            });
        }
        self.bench.setup.resolve()?;
        Ok(())
    }

    fn columns(&self) -> Vec<(&'static Rule, Catch)> {
        let wanted = |r: &&Rule| self.only.is_empty() || self.only.contains(&r.number());
        let held = self.holds("catch-load");
        RULES
            .iter()
            .filter(wanted)
            .flat_map(|r| {
                // a catch load that is held has one way to be set
                let catches =
                    if held || matches!(r.test, Test::Elsewhere(_)) { &r.catches[..1] } else { r.catches };
                catches.iter().map(move |c| (r, *c))
            })
            .collect()
    }

    /// Whether a name stays as the set-up has it; settings that the joint does not have always do.
    fn holds(&self, key: &str) -> bool {
        let absent = |key: &str| {
            let name = crate::joint::SettingName::parse(key);
            let resolved = self.bench.setup.resolve();
            name.zip(resolved.ok()).is_some_and(|(n, r)| r.knee.settings.get(n).is_none())
        };
        // a stature goes with its mass
        let with_mass = key == "stature_m" && self.bench.held.contains("mass_kg");
        self.bench.held.contains(key) || with_mass || absent(key)
    }

    /// Steps of progress.
    #[must_use]
    pub fn steps(&self) -> u64 {
        self.samples as u64
    }

    /// Tries every rule on every sample.
    ///
    /// # Errors
    /// As [`RulesStudy::check`]; inputs that are wrong.
    pub fn run(&self, tick: Tick) -> Result<RulesFound, SimError> {
        self.check()?;
        let columns = self.columns();
        let held: BTreeMap<&str, bool> = population::POPULATION
            .iter()
            .map(|r| r.key)
            .chain(["stature_m"])
            .map(|key| (key, self.holds(key)))
            .collect();
        let held = |key: &str| held.get(key).copied().unwrap_or(false);
        let prostheses = self.bench.prostheses.len();
        let judged: Vec<Vec<Judged>> = (0..self.samples)
            .into_par_iter()
            .map(|index| {
                let sample = Sample::draw(self.seed, index, prostheses, &held);
                let [as_sampled, scaled] =
                    [Catch::AsSampled, Catch::Scaled].map(|c| Try::new(&self.bench, &sample, c));
                let all = columns.iter().map(|&(rule, catch)| match catch {
                    Catch::AsSampled => judge(rule, &as_sampled),
                    Catch::Scaled => judge(rule, &scaled),
                });
                let all = all.collect();
                tick();
                all
            })
            .collect();
        tallies(&columns, judged)
    }
}

fn judge(rule: &Rule, t: &Try) -> Judged {
    match rule.test {
        Test::Elsewhere(why) => Err(Stop::Undecided(why)),
        Test::Own(test) => test(t),
        Test::Move { input, read, sign, missing, gate } => {
            let runs = moved_pair(t, &t.base(rule.scenario), input)?;
            let motions = [t.motion(&runs[0])?, t.motion(&runs[1])?];
            let values = [read.of(&motions[0]), read.of(&motions[1])];
            passes(gate, &motions, values)?;
            compare(read, missing, sign, values, runs.to_vec())
        }
    }
}

/// A run with an input lower, and the same with it higher by the drawn step. Sampled values are drawn
/// closer together so that both stay in the range; a held one is kept as one of the two.
pub(super) fn moved_pair(t: &Try, run: &Run, key: &'static str) -> Result<[Run; 2], Stop> {
    let own = t.own(run, key)?;
    let step = t.sample.steps.get(key).copied().unwrap_or(0.0);
    let (low, high, decimals) = drawn(key).map_or((0.0, 100.0, 2), |r| (r.low, r.high, r.decimals));
    let sampled = t.sample.values.contains_key(key) || t.sample.besides.contains_key(key);
    let from = if sampled {
        rounded(low + (own - low) * (high - low - step) / (high - low), decimals.max(1))
    } else if own + step <= high {
        own
    } else {
        own - step
    };
    let held_in = |v: f64| if sampled { v.clamp(low, high) } else { v };
    Ok([run.with(key, from), run.with(key, held_in(rounded(from + step, 6)))])
}

/// Whether two runs decide anything.
fn passes(gate: Gate, motions: &[Motion; 2], values: [Option<f64>; 2]) -> Result<(), Stop> {
    let word = |key: &str, m: &Motion| {
        crate::outcome::metric(key).and_then(|row| (row.measure)(m).as_word()).unwrap_or("")
    };
    let undecided = |decides: bool, why| if decides { Ok(()) } else { Err(Stop::Undecided(why)) };
    match gate {
        Gate::None => Ok(()),
        Gate::Supported => undecided(
            motions.iter().any(|m| word("supported", m) == "yes"),
            "the load on the prosthesis does not close the stance valve",
        ),
        Gate::BothYield => undecided(
            motions.iter().all(|m| word("what_happens", m) == "yields"),
            "the knee does not yield to the other foot's contact with both",
        ),
        Gate::NotBothAtToeOff => {
            let at_toe_off = |m: &Motion| match m {
                Motion::Walk(w) => w.stride.release_s.is_none(),
                _ => false,
            };
            undecided(!motions.iter().all(at_toe_off), "closed until toe-off or never closed with both")
        }
        Gate::Bends => {
            let bends = motions.iter().zip(values).any(|(m, most)| match (m, most) {
                (Motion::Stumble(s), Some(most)) => {
                    most > s.task.start_flexion_deg + Read::Outcome("max_flexion_deg").noise()
                }
                _ => false,
            });
            undecided(bends, "straightens from the start either way")?;
            let collapses = motions.iter().all(|m| match m {
                Motion::Stumble(s) => s.run.ended() == LegEnd::Collapse,
                _ => false,
            });
            undecided(!collapses, "collapses either way")
        }
    }
}

/// Counts, in the order of the samples.
fn tallies(columns: &[(&'static Rule, Catch)], judged: Vec<Vec<Judged>>) -> Result<RulesFound, SimError> {
    let mut tallies: Vec<Tally> = columns
        .iter()
        .map(|&(rule, catch)| Tally {
            rule,
            catch,
            agree: 0,
            decided: 0,
            no_difference: 0,
            undecided: BTreeMap::new(),
            median_effect: None,
            counter: None,
        })
        .collect();
    let mut effects = vec![Vec::new(); columns.len()];
    for (index, of_sample) in judged.into_iter().enumerate() {
        for ((tally, effects), judged) in tallies.iter_mut().zip(&mut effects).zip(of_sample) {
            match judged {
                Ok(seen) => {
                    effects.extend(seen.effect);
                    tally.count(index, seen);
                }
                Err(Stop::Undecided(why)) => *tally.undecided.entry(why).or_default() += 1,
                Err(Stop::Error(e)) => return Err(e),
            }
        }
    }
    for (tally, effects) in tallies.iter_mut().zip(effects) {
        tally.median_effect = median(effects);
    }
    Ok(RulesFound { tallies })
}

impl Tally {
    fn count(&mut self, index: usize, seen: Seen) {
        self.decided += 1;
        match seen.sense {
            Sense::Agrees => {
                self.agree += 1;
                return;
            }
            Sense::NoDifference => self.no_difference += 1,
            Sense::Disagrees => {}
        }
        // the strongest that is a number; of equals the first
        let strength = |s: &Seen| s.effect.unwrap_or(f64::INFINITY);
        if self.counter.as_ref().is_none_or(|(_, c)| strength(&seen) < strength(c)) {
            self.counter = Some((index, seen));
        }
    }
}
