//! The best settings that a search over the whole range finds, to compare a session with.
//!
//! Objective: the largest worst relative margin over all limits that bind, of all scenarios; between
//! equal ones the larger sum of margins below zero. Many seeded positions are scored; from the best of
//! them, the given starts and the middle of the range a pattern search climbs: along each setting and along
//! seeded diagonals, moving on while the score improves, in steps of 16 points and halves of it down to 1.
//! Starts run in parallel and are collected in order; the result does not depend on the threads. It is a
//! search, not a proof: a better setting may exist.

use rayon::prelude::*;

use super::trials::{Position, TrialResult, run_trial};
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::numerics::random::split_mix;
use crate::scenario::Scenario;
use crate::study::Tick;

/// Longest and shortest step of the search, percentage points; halved from one to the other.
const STEPS_PCT: [f64; 2] = [16.0, 1.0];
/// Seeded diagonals tried at each position besides the settings themselves.
const DIAGONALS: usize = 8;
/// Seeded positions scored for each seeded start; the best of them become starts.
const CANDIDATES: usize = 32;
/// A gain below this does not count.
const LEAST_GAIN: f64 = 1e-6;

/// Options of the search.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SearchOptions {
    /// Seeded starts besides the given ones and the middle of the range.
    pub starts: usize,
    /// Seed.
    pub seed: u64,
    /// A worst margin that is good enough to stop.
    pub enough: f64,
}

impl Default for SearchOptions {
    fn default() -> Self {
        Self { starts: 3, seed: 1, enough: f64::INFINITY }
    }
}

/// The best found.
#[derive(Debug, Clone)]
pub struct BestFound {
    /// Settings.
    pub at: Position,
    /// Worst margin there.
    pub worst: f64,
    /// Every scenario there.
    pub results: Vec<TrialResult>,
    /// Positions tried, over all starts.
    pub positions: usize,
}

/// Worst margin, then the sum of margins below zero; and the index of the worst scenario.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Score {
    worst: f64,
    shortfall: f64,
    limiting: usize,
}

/// Worse than any score.
const WORST_SCORE: Score = Score { worst: f64::NEG_INFINITY, shortfall: f64::NEG_INFINITY, limiting: 0 };

impl Score {
    fn is_better_than(self, other: Self) -> bool {
        self.worst > other.worst + LEAST_GAIN
            || (self.worst >= other.worst - LEAST_GAIN && self.shortfall > other.shortfall + LEAST_GAIN)
    }
}

/// Reproducible numbers (splitmix64, Steele, Lea & Flood 2014).
struct SplitMix(u64);

impl SplitMix {
    fn next(&mut self) -> u64 {
        let bits = split_mix(self.0);
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        bits
    }

    #[allow(clippy::cast_precision_loss)] // 53 bits
    fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// Searches from `from`, the middle of the range and seeded starts.
///
/// # Errors
/// A set-up that is wrong in itself, a failed integration.
pub fn search(
    setup: &Setup,
    scenarios: &[Scenario],
    from: &[Position],
    options: SearchOptions,
    tick: Tick<'_>,
) -> Result<BestFound, SimError> {
    let base = Position::of(&setup.resolve()?.knee.settings);
    let mut starts = from.to_vec();
    starts.push(placed(base, |_| 50.0));
    starts.extend(promising(setup, scenarios, base, options)?);
    let found = starts
        .into_par_iter()
        .enumerate()
        .map(|(i, start)| {
            let mut search = PatternSearch {
                setup,
                scenarios,
                options,
                random: SplitMix(options.seed ^ ((i as u64 + 1) << 32)),
                positions: 0,
            };
            let found = search.climb(start);
            tick();
            found.map(|(at, score)| (at, score, search.positions))
        })
        .collect::<Result<Vec<_>, SimError>>()?;
    let positions = CANDIDATES * options.starts + found.iter().map(|f| f.2).sum::<usize>();
    let mut best = (found[0].0, found[0].1);
    for (at, score, _) in &found[1..] {
        if score.is_better_than(best.1) {
            best = (*at, *score);
        }
    }
    let results = scenarios.iter().map(|s| run_trial(setup, s, best.0)).collect::<Result<Vec<_>, _>>()?;
    Ok(BestFound { at: best.0, worst: best.1.worst, results, positions })
}

/// The best of many seeded positions.
fn promising(
    setup: &Setup,
    scenarios: &[Scenario],
    base: Position,
    options: SearchOptions,
) -> Result<Vec<Position>, SimError> {
    let mut random = SplitMix(options.seed);
    let drawn: Vec<Position> = (0..CANDIDATES * options.starts)
        .map(|_| placed(base, |_| (1e3 * random.unit()).round() / 10.0))
        .collect();
    let mut scored = drawn
        .into_par_iter()
        .map(|at| {
            let mut search = PatternSearch { setup, scenarios, options, random: SplitMix(0), positions: 0 };
            search.score(at, WORST_SCORE, true).map(|score| (at, score))
        })
        .collect::<Result<Vec<_>, SimError>>()?;
    // stable: equal ones keep the order in which they were drawn
    scored.sort_by(|(_, a), (_, b)| b.worst.total_cmp(&a.worst).then(b.shortfall.total_cmp(&a.shortfall)));
    Ok(scored.into_iter().take(options.starts).map(|(at, _)| at).collect())
}

/// A position with every setting of the knee at the value that `to_pct` gives.
fn placed(base: Position, mut to_pct: impl FnMut(SettingName) -> f64) -> Position {
    let mut at = base;
    for name in SettingName::ALL {
        let to = to_pct(name);
        if let Some(now) = at.pct(name) {
            at = at.moved(name, to - now).unwrap_or(at);
        }
    }
    at
}

struct PatternSearch<'a> {
    setup: &'a Setup,
    scenarios: &'a [Scenario],
    options: SearchOptions,
    random: SplitMix,
    positions: usize,
}

impl PatternSearch<'_> {
    fn climb(&mut self, start: Position) -> Result<(Position, Score), SimError> {
        let mut at = start;
        let mut score = self.score(start, WORST_SCORE, true)?;
        let [mut step, shortest] = STEPS_PCT;
        while step >= shortest && score.worst < self.options.enough {
            match self.neighbour(at, score, step)? {
                Some(better) => (at, score) = better,
                None => step /= 2.0,
            }
        }
        Ok((at, score))
    }

    /// The first direction that improves the score, followed as long as it does.
    fn neighbour(
        &mut self,
        at: Position,
        score: Score,
        step: f64,
    ) -> Result<Option<(Position, Score)>, SimError> {
        for direction in self.directions() {
            let (mut here, mut now) = (at, score);
            while let Some(next) = shifted(here, direction, step) {
                let there = self.score(next, now, false)?;
                if !there.is_better_than(now) {
                    break;
                }
                (here, now) = (next, there);
            }
            if here != at {
                return Ok(Some((here, now)));
            }
        }
        Ok(None)
    }

    fn directions(&mut self) -> Vec<[f64; 4]> {
        let mut all = Vec::with_capacity(8 + DIAGONALS);
        for i in 0..4 {
            for sign in [-1.0, 1.0] {
                let mut d = [0.0; 4];
                d[i] = sign;
                all.push(d);
            }
        }
        for _ in 0..DIAGONALS {
            let bits = self.random.next();
            all.push(std::array::from_fn(|i| match (bits >> (8 * i)) % 3 {
                0 => -1.0,
                1 => 0.0,
                _ => 1.0,
            }));
        }
        all
    }

    /// Score of a position; broken off as soon as it cannot beat `to_beat`, unless `whole` asks for all of it.
    fn score(&mut self, at: Position, to_beat: Score, whole: bool) -> Result<Score, SimError> {
        self.positions += 1;
        let mut score = Score { worst: f64::INFINITY, shortfall: 0.0, limiting: 0 };
        // the scenario that limits now is the likeliest to limit again
        let rest = (0..self.scenarios.len()).filter(|i| *i != to_beat.limiting);
        for i in std::iter::once(to_beat.limiting).chain(rest) {
            let result = run_trial(self.setup, &self.scenarios[i], at)?;
            score.shortfall += result.shortfall();
            if result.worst() < score.worst {
                (score.worst, score.limiting) = (result.worst(), i);
            }
            if !whole && score.worst < to_beat.worst - LEAST_GAIN {
                break;
            }
        }
        Ok(score)
    }
}

/// A position moved along a direction; none if it stays.
fn shifted(at: Position, direction: [f64; 4], step: f64) -> Option<Position> {
    let mut next = at;
    for (name, d) in SettingName::ALL.into_iter().zip(direction) {
        if d.abs() > 0.5 {
            next = next.moved(name, d * step).unwrap_or(next);
        }
    }
    (next != at).then_some(next)
}
