//! Which clue, a symptom to look for in a scenario, would tell most about the best step.
//!
//! ```text
//! I(word; step) = H(step) − Σ P(word) H(step | word)      over the draws picked by weight, in shares of H(step)
//! less the bias of so few draws, (words − 1)(steps − 1) / 2N ln 2      (Miller 1955, from memory)
//! ```

use crate::numerics::math;
use std::collections::BTreeMap;

use super::evidence::{Grade, Observation};
use super::population::Population;
use super::steps::Trials;
use crate::study::adjust::{SYMPTOMS, excess};

/// Something to look at.
#[derive(Debug, Clone, PartialEq)]
pub struct Clue {
    /// Scenario.
    pub scenario: String,
    /// Name of the symptom to look for.
    pub symptom: &'static str,
    /// Share of what is not known of the best step that it tells.
    pub tells: f64,
    /// Share of the draws in which it would be seen.
    pub seen: f64,
}

/// Clues that have not been looked for, the one that tells most first; those that tell nothing are left out.
pub(super) fn clues(population: &Population, observations: &[Observation], trials: &Trials) -> Vec<Clue> {
    let best: Vec<Option<usize>> = (0..trials.draws()).map(|d| trials.best_step(d)).collect();
    let mut clues = Vec::new();
    for (i, scenario) in population.scenarios.iter().enumerate() {
        for symptom in SYMPTOMS.iter().filter(|s| s.activities.contains(&scenario.activity.kind())) {
            let taken =
                |o: &Observation| o.symptom == symptom && o.scenario.as_deref() == Some(&scenario.name);
            if observations.iter().any(taken) {
                continue;
            }
            let word = |d: usize| {
                let a = trials.as_it_is(d)[i].as_ref()?.assessment.as_ref().ok()?;
                excess(symptom, scenario, a).map(Grade::of)
            };
            let words: Vec<Option<Grade>> = (0..trials.draws()).map(word).collect();
            let seen = words.iter().flatten().filter(|g| **g != Grade::None).count();
            let clue = Clue {
                scenario: scenario.name.clone(),
                symptom: symptom.name,
                tells: told(&words, &best),
                seen: seen as f64 / words.len().max(1) as f64,
            };
            if clue.tells > 0.0 {
                clues.push(clue);
            }
        }
    }
    clues.sort_by(|a, b| b.tells.total_cmp(&a.tells));
    clues
}

/// Share of the entropy of `y` that `x` tells.
///
/// ```
/// use kneedamp::study::next::telling::told;
/// let same: Vec<u8> = (0..100).map(|i| i % 2).collect();
/// let other: Vec<u8> = (0..100).map(|i| i / 50).collect();
/// assert!(told(&same, &same) > 0.98);
/// assert!(told(&same, &other) < 0.01);
/// ```
#[must_use]
pub fn told<X: Ord + Copy, Y: Ord + Copy>(x: &[X], y: &[Y]) -> f64 {
    let n = x.len() as f64;
    let (hx, hy) = (counts(x.iter().copied()), counts(y.iter().copied()));
    let both = counts(x.iter().copied().zip(y.iter().copied()));
    let whole = entropy(&hy, n);
    let bias = (hx.len() as f64 - 1.0) * (hy.len() as f64 - 1.0) / (2.0 * n * std::f64::consts::LN_2);
    let told = entropy(&hx, n) + whole - entropy(&both, n) - bias;
    if whole > 0.0 { (told / whole).clamp(0.0, 1.0) } else { 0.0 }
}

fn counts<T: Ord>(all: impl Iterator<Item = T>) -> BTreeMap<T, usize> {
    all.fold(BTreeMap::new(), |mut counts, x| {
        *counts.entry(x).or_default() += 1;
        counts
    })
}

fn entropy<T>(counts: &BTreeMap<T, usize>, n: f64) -> f64 {
    counts.values().map(|c| *c as f64 / n).map(|p| -p * math::log2(p)).sum()
}
