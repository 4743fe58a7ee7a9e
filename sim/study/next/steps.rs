//! Every single step, tried on the draws that explain what was seen: how often it does good, how often harm.

use rayon::prelude::*;

use super::evidence::{Grade, Observation};
use super::population::{Draw, Population, Step};
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::outcome::LimitVerdict;
use crate::scenario::Severity;
use crate::study::Tick;
use crate::study::adjust::TrialResult;

/// A complaint that moves by less than this, in units of its limit's scale, does not move.
const LEAST_GAIN: f64 = 0.02;
/// A chance of harm weighs so much more than the same chance of good. \[J\]
const HARM_WEIGHS: f64 = 2.0;
/// Steps of what is no setting of a valve: reminders of what else could be turned.
const REMINDERS: [Step; 6] = [
    Step { key: "assist_n_m", by: 0.5 },
    Step { key: "assist_n_m", by: -0.5 },
    Step { key: "extension_stop_deg", by: 1.0 },
    Step { key: "extension_stop_deg", by: -1.0 },
    Step { key: "foot_shift_m", by: 0.005 },
    Step { key: "foot_shift_m", by: -0.005 },
];

/// What a step does, as shares of the draws that tried it.
#[derive(Debug, Clone, PartialEq)]
pub struct StepScore {
    /// The step; none for leaving everything as it is.
    pub step: Option<Step>,
    /// Draws that tried it.
    pub tried: usize,
    /// Every limit of every scenario is within.
    pub within: usize,
    /// The complaints get less, and nothing that was met is lost.
    pub good: usize,
    /// Something becomes unsafe that was not.
    pub harm: usize,
    /// A limit that was met is not met any more.
    pub loses: usize,
    /// Mean change of each complaint's excess, in the order of the observations; none where nothing was complained of.
    pub change: Vec<Option<f64>>,
}

impl StepScore {
    /// Chance of good against chance of harm, by which steps are ranked.
    #[must_use]
    pub fn value(&self) -> f64 {
        let n = self.tried.max(1) as f64;
        (self.good as f64 - HARM_WEIGHS * self.harm as f64) / n
    }

    /// Whether it moves one of the four settings.
    #[must_use]
    pub fn is_setting(&self) -> bool {
        self.step.is_some_and(|s| SettingName::parse(s.key).is_some())
    }
}

/// Steps of the further moves.
const FURTHER: f64 = 4.0;

/// One step of each setting in both directions, and the reminders.
pub(super) fn candidates(setup: &Setup, step_pct: Option<f64>) -> Result<Vec<Step>, SimError> {
    Ok(of_settings(setup, step_pct, 1.0)?.into_iter().chain(REMINDERS).collect())
}

/// Several steps of each setting in both directions: beyond a cliff a single step shows nothing.
pub(super) fn further(setup: &Setup, step_pct: Option<f64>) -> Result<Vec<Step>, SimError> {
    of_settings(setup, step_pct, FURTHER)
}

/// So many steps of each setting in both directions; by default the joint's own.
///
/// # Errors
/// A set-up that is wrong in itself.
pub fn of_settings(setup: &Setup, step_pct: Option<f64>, steps: f64) -> Result<Vec<Step>, SimError> {
    let settings = setup.resolve()?.knee.settings;
    let of = |name: SettingName| {
        settings.get(name)?;
        let by = steps * step_pct.or_else(|| setup.knee.step_pct(name))?;
        Some([by, -by].map(|by| Step { key: name.as_str(), by }))
    };
    Ok(SettingName::ALL.into_iter().filter_map(of).flatten().collect())
}

/// What one draw shows at one position.
#[derive(Debug, Clone, Default)]
struct Shown {
    within: bool,
    /// Scenarios that are unsafe.
    unsafe_in: Vec<bool>,
    /// Limits met, by scenario and limit.
    met: Vec<Vec<bool>>,
    /// Excess of each observation.
    excess: Vec<Option<f64>>,
    /// Every scenario, for what else could be looked at.
    results: Vec<Option<TrialResult>>,
}

/// All draws at all positions; the first position is as it is.
pub struct Trials {
    complaints: Vec<bool>,
    shown: Vec<Vec<Shown>>,
}

impl Trials {
    /// Runs every scenario for every draw, as it is and after every step.
    ///
    /// # Errors
    /// A failed integration.
    pub fn run(
        population: &Population,
        draws: &[Draw],
        observations: &[Observation],
        steps: &[Step],
        tick: Tick<'_>,
    ) -> Result<Self, SimError> {
        let shown_by = |results: Vec<Option<TrialResult>>, as_it_is: bool| {
            let counts = |l: &LimitVerdict| l.limit.severity == Severity::Limit && l.holds();
            let met = |r: &TrialResult| -> Vec<bool> {
                r.assessment.iter().flat_map(|a| &a.limits).map(counts).collect()
            };
            let flat = || results.iter().flatten();
            Shown {
                within: flat().all(|r| r.assessment.as_ref().is_ok_and(|a| a.holds())),
                unsafe_in: flat().map(|r| r.danger.is_some()).collect(),
                met: flat().map(met).collect(),
                excess: observations.iter().map(|o| population.excess(o, &results)).collect(),
                results: if as_it_is { results } else { vec![] },
            }
        };
        // all scenarios at all positions of a draw side by side
        let scenarios = population.scenarios.len();
        let positions: Vec<&[Step]> = std::iter::once(&[][..]).chain(steps.chunks(1)).collect();
        let of_draw = |draw: &Draw| -> Result<Vec<Shown>, SimError> {
            let runs = positions.iter().flat_map(|steps| (0..scenarios).map(move |i| (*draw, i, *steps)));
            let mut results = population.run_each(runs)?.into_iter().map(Some);
            let mut position = |i: usize| shown_by(results.by_ref().take(scenarios).collect(), i == 0);
            let shown = (0..positions.len()).map(&mut position).collect();
            tick();
            Ok(shown)
        };
        let shown = draws.par_iter().map(of_draw).collect::<Result<Vec<_>, _>>()?;
        let complaints = observations.iter().map(|o| o.grade != Grade::None).collect();
        Ok(Self { complaints, shown })
    }

    /// What one draw gains from a step (from 1): good, harm, a limit lost.
    fn judged(&self, draw: usize, step: usize) -> (bool, bool, bool) {
        let (before, after) = (&self.shown[draw][0], &self.shown[draw][step]);
        let harm = before.unsafe_in.iter().zip(&after.unsafe_in).any(|(b, a)| *a && !b);
        let lost = |(b, a): (&Vec<bool>, &Vec<bool>)| {
            // a scenario that cannot run any more has no limits met
            b.iter().enumerate().any(|(i, met)| *met && !a.get(i).copied().unwrap_or(false))
        };
        let loses = before.met.iter().zip(&after.met).any(lost);
        let gain = self.gain(draw, step);
        (gain > LEAST_GAIN && !loses && !harm, harm, loses)
    }

    /// By how much the complaints get less in one draw; where there is none, by how many limits more are met.
    fn gain(&self, draw: usize, step: usize) -> f64 {
        let (before, after) = (&self.shown[draw][0], &self.shown[draw][step]);
        if !self.complaints.contains(&true) {
            let met = |s: &Shown| s.met.iter().flatten().filter(|m| **m).count() as f64;
            return met(after) - met(before);
        }
        let sum = |s: &Shown| -> f64 {
            let counted = s.excess.iter().zip(&self.complaints).filter(|(_, complaint)| **complaint);
            counted.map(|(x, _)| x.unwrap_or(crate::study::adjust::MOST_EXCESS).max(0.0)).sum()
        };
        sum(before) - sum(after)
    }

    /// Number of draws.
    #[must_use]
    pub fn draws(&self) -> usize {
        self.shown.len()
    }

    /// Every scenario of a draw as it is.
    #[must_use]
    pub fn as_it_is(&self, draw: usize) -> &[Option<TrialResult>] {
        &self.shown[draw][0].results
    }

    /// The best step for a draw (from 1); none if no step does good.
    #[must_use]
    pub fn best_step(&self, draw: usize) -> Option<usize> {
        let good = (1..self.shown[draw].len()).filter(|s| self.judged(draw, *s).0);
        good.max_by(|a, b| self.gain(draw, *a).total_cmp(&self.gain(draw, *b)).then(b.cmp(a)))
    }

    /// As it is, and every step, the best first.
    #[must_use]
    pub fn scores(&self, steps: &[Step]) -> (StepScore, Vec<StepScore>) {
        let score = |i: usize| {
            let judged: Vec<_> = (0..self.draws()).map(|d| self.judged(d, i)).collect();
            let count = |f: fn(&(bool, bool, bool)) -> bool| judged.iter().filter(|j| f(j)).count();
            let mean_change = |o: usize| {
                let change = |s: &Vec<Shown>| Some(s[i].excess[o]? - s[0].excess[o]?);
                let all: Vec<f64> = self.shown.iter().filter_map(change).collect();
                (self.complaints[o] && !all.is_empty()).then(|| all.iter().sum::<f64>() / all.len() as f64)
            };
            StepScore {
                step: i.checked_sub(1).map(|i| steps[i]),
                tried: self.draws(),
                within: self.shown.iter().filter(|s| s[i].within).count(),
                good: count(|j| j.0),
                harm: count(|j| j.1),
                loses: count(|j| j.2),
                change: (0..self.complaints.len()).map(mean_change).collect(),
            }
        };
        let mut all: Vec<StepScore> = (1..=steps.len()).map(score).collect();
        // stable: equal ones keep the order of the settings, which come before the reminders
        all.sort_by(|a, b| b.value().total_cmp(&a.value()));
        (score(0), all)
    }
}
