//! What is plausible: draws of everything uncertain about person, joint and the model, each weighted by how well it
//! explains what was seen.

use rayon::prelude::*;

use super::evidence::Observation;
use super::measured::MeasuredSwing;
use crate::case::inputs::Case;
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::motion::Trial;
use crate::numerics::sobol::coordinate;
use crate::scenario::Scenario;
use crate::scenario::uncertainty_file::{Around, UncertainInput, UncertaintyFile};
use crate::study::Tick;
use crate::study::adjust::{TrialResult, assess, assess_each, excess};
use crate::study::uncertainty::Uncertain;
use crate::study::uncertainty::ranges::resolve;

/// Draws of one population at most: the points that the sequence has, less those of the hidden people of a trial.
pub const MOST_DRAWS: u32 = 1 << 15;

/// A change of one input.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Key of the input.
    pub key: &'static str,
    /// By how much, in the input's unit.
    pub by: f64,
}

impl Step {
    /// Changes the input, at most to the end of its range.
    fn apply(&self, case: &mut Case) -> Result<(), SimError> {
        let input = crate::case::inputs::input(self.key)?;
        match case.get(self.key) {
            Some(now) => case.set(self.key, (now + self.by).clamp(input.least, input.most)),
            None => Ok(()),
        }
    }
}

/// A scenario with the inputs that act in it.
struct ScenarioCase {
    base: Case,
    /// Row of the file, and its range here.
    inputs: Vec<(usize, Uncertain)>,
}

/// Everything that could be.
pub struct Population {
    /// Scenarios.
    pub scenarios: Vec<Scenario>,
    /// What is uncertain.
    pub file: UncertaintyFile,
    setup: Setup,
    cases: Vec<ScenarioCase>,
    seed: u64,
}

/// Draws whose trials run side by side.
const DRAWS_AT_ONCE: usize = 8;

/// One of the draws: its number in the sequence.
pub type Draw = u32;

impl Population {
    /// The set-up with the ranges of a file; where the settings really are is known to within `settings_pct`.
    ///
    /// # Errors
    /// A range that an input does not take, a set-up that is wrong in itself.
    pub fn new(
        setup: &Setup,
        scenarios: &[Scenario],
        file: &UncertaintyFile,
        (settings_pct, seed): (f64, u64),
    ) -> Result<Self, SimError> {
        let mut file = file.clone();
        let is_setting = |u: &UncertainInput| SettingName::parse(&u.input).is_some();
        file.inputs.retain(|u| !is_setting(u));
        file.inputs.extend(SettingName::ALL.map(|name| UncertainInput {
            input: name.as_str().into(),
            low: -settings_pct,
            high: settings_pct,
            around: Around::SetUp,
            why: "where the valve really stands".into(),
        }));
        let case = |scenario: &Scenario| {
            let setup = setup.paced_for(scenario);
            let (base, inputs, _) = resolve(&Case { setup, scenario: scenario.clone() }, &file)?;
            let row = |u: Uncertain| Some((file.inputs.iter().position(|f| f.input == u.input.key)?, u));
            Ok(ScenarioCase { base, inputs: inputs.into_iter().filter_map(row).collect() })
        };
        let cases = scenarios.iter().map(case).collect::<Result<Vec<_>, SimError>>()?;
        let (setup, scenarios) = (setup.clone(), scenarios.to_vec());
        Ok(Self { scenarios, setup, cases, file, seed })
    }

    /// Where a draw lies in the range of each row, from 0 to 1.
    #[must_use]
    pub fn point(&self, draw: Draw) -> Vec<f64> {
        (0..self.file.inputs.len()).map(|row| self.coordinate(draw, row)).collect()
    }

    /// The mean of weighted draws, as a point.
    #[must_use]
    pub fn middle(&self, weighted: &Weighted) -> Vec<f64> {
        let total: f64 = weighted.weights.iter().sum();
        let mut middle = vec![0.0; self.file.inputs.len()];
        for (draw, weight) in weighted.draws.iter().zip(&weighted.weights) {
            let point = self.point(*draw);
            middle.iter_mut().zip(point).for_each(|(m, x)| *m += weight / total * x);
        }
        middle
    }

    /// Set-up and scenarios at a point, for studies that take these.
    ///
    /// # Errors
    /// A value that an input does not take.
    pub fn person(&self, point: &[f64]) -> Result<(Setup, Vec<Scenario>), SimError> {
        let mut case = Case { setup: self.setup.clone(), scenario: self.scenarios[0].clone() };
        let mut scenarios = vec![];
        for scenario in &self.scenarios {
            case.scenario = scenario.clone();
            // a speed is a different one in every scenario
            for (row, _) in self.file.inputs.iter().enumerate().filter(|(_, u)| u.input != "speed_m_per_s") {
                // by the scenario in which the input first acts
                let acts =
                    |c: &'_ ScenarioCase| c.inputs.iter().find(|(r, _)| *r == row).map(|(_, u)| u.clone());
                if let Some(u) = self.cases.iter().find_map(acts) {
                    case.set(u.input.key, u.low + (u.high - u.low) * point[row])?;
                }
            }
            scenarios.push(case.scenario.clone());
        }
        Ok((case.setup, scenarios))
    }

    /// Value of an input in a draw, by the scenario in which it first acts; none if it acts nowhere.
    #[must_use]
    pub fn value(&self, draw: Draw, key: &str) -> Option<f64> {
        self.cases.iter().find_map(|c| {
            let (row, u) = c.inputs.iter().find(|(_, u)| u.input.key == key)?;
            Some(self.at(draw, *row, u))
        })
    }

    fn at(&self, draw: Draw, row: usize, u: &Uncertain) -> f64 {
        u.low + (u.high - u.low) * self.coordinate(draw, row)
    }

    fn coordinate(&self, draw: Draw, row: usize) -> f64 {
        #[allow(clippy::cast_possible_truncation)] // at most a hundred rows
        coordinate(self.seed, draw, row as u32)
    }

    /// Runs a scenario for a draw, after some steps.
    ///
    /// # Errors
    /// A failed integration; a scenario that cannot run is a result.
    pub fn run(&self, draw: Draw, scenario: usize, steps: &[Step]) -> Result<TrialResult, SimError> {
        assess(self.trial(draw, scenario, steps)?)
    }

    /// The same for several draws, scenarios and steps, side by side.
    ///
    /// # Errors
    /// As [`Population::run`].
    pub fn run_each<'a>(
        &self,
        runs: impl Iterator<Item = (Draw, usize, &'a [Step])>,
    ) -> Result<Vec<TrialResult>, SimError> {
        let trials = runs.map(|(draw, scenario, steps)| self.trial(draw, scenario, steps));
        assess_each(trials.collect::<Result<_, _>>()?)
    }

    fn trial(&self, draw: Draw, scenario: usize, steps: &[Step]) -> Result<Trial, SimError> {
        let c = &self.cases[scenario];
        let mut case = c.base.clone();
        for (row, u) in &c.inputs {
            case.set(u.input.key, self.at(draw, *row, u))?;
        }
        steps.iter().try_for_each(|step| step.apply(&mut case))?;
        case.setup.trial(&case.scenario)
    }

    /// Indices of the scenarios that an observation is about.
    pub fn about(&self, o: &Observation) -> impl Iterator<Item = usize> {
        let of = |s: &Scenario| o.is_about(&s.name) && o.symptom.activities.contains(&s.activity.kind());
        (0..self.scenarios.len()).filter(move |i| of(&self.scenarios[*i])).collect::<Vec<_>>().into_iter()
    }

    /// The worst excess of what an observation is about, by the results of scenarios that have run.
    #[must_use]
    pub fn excess(&self, o: &Observation, results: &[Option<TrialResult>]) -> Option<f64> {
        let of = |i: usize| {
            let a = results[i].as_ref()?.assessment.as_ref().ok()?;
            excess(o.symptom, &self.scenarios[i], a)
        };
        self.about(o).filter_map(of).reduce(f64::max)
    }

    /// Likelihood of all observations and of a measured swing in each draw, after some steps.
    ///
    /// # Errors
    /// A failed integration.
    pub fn likelihoods(
        &self,
        draws: &[Draw],
        observations: &[Observation],
        swing: Option<&MeasuredSwing>,
        steps: &[Step],
        tick: Tick<'_>,
    ) -> Result<Vec<f64>, SimError> {
        let walked = swing.and_then(|m| self.scenarios.iter().position(|s| s.name == m.scenario));
        let needed: Vec<usize> = (0..self.scenarios.len())
            .filter(|i| walked == Some(*i) || observations.iter().any(|o| self.about(o).any(|x| x == *i)))
            .collect();
        let likelihood = |found: &mut dyn Iterator<Item = TrialResult>| {
            let mut results: Vec<Option<TrialResult>> = vec![None; self.scenarios.len()];
            for i in &needed {
                results[*i] = found.next();
            }
            tick();
            let of_swing = swing.zip(walked).map_or(1.0, |(m, i)| {
                m.likelihood(results[i].as_ref().and_then(|r| r.assessment.as_ref().ok()))
            });
            let words = observations.iter().map(|o| o.likelihood(self.excess(o, &results)));
            of_swing * words.product::<f64>()
        };
        let of = |draws: &[Draw]| -> Result<Vec<f64>, SimError> {
            let runs = draws.iter().flat_map(|draw| needed.iter().map(move |i| (*draw, *i)));
            let mut found = self.run_each(runs.map(|(draw, i)| (draw, i, steps)))?.into_iter();
            Ok(draws.iter().map(|_| likelihood(&mut found)).collect())
        };
        Ok(draws.par_chunks(DRAWS_AT_ONCE).map(of).collect::<Result<Vec<_>, _>>()?.concat())
    }
}

/// Draws with weights.
#[derive(Debug, Clone, Default)]
pub struct Weighted {
    /// Draws.
    pub draws: Vec<Draw>,
    /// Weights, not normalised.
    pub weights: Vec<f64>,
}

impl Weighted {
    /// How many equally likely draws they are worth: (Σw)² / Σw².
    #[must_use]
    pub fn effective(&self) -> f64 {
        let (sum, squares) = self.weights.iter().fold((0.0, 0.0), |(s, q), w| (s + w, q + w * w));
        if squares > 0.0 { sum * sum / squares } else { 0.0 }
    }

    /// `n` draws by weight, evenly along the sum of the weights (systematic resampling).
    #[must_use]
    pub fn pick(&self, n: usize) -> Vec<Draw> {
        let sum: f64 = self.weights.iter().sum();
        let mut picked = Vec::with_capacity(n);
        let (mut reached, mut i) = (0.0, 0);
        for k in 0..n {
            let mark = sum * (k as f64 + 0.5) / n as f64;
            while i + 1 < self.weights.len() && reached + self.weights[i] < mark {
                reached += self.weights[i];
                i += 1;
            }
            picked.extend(self.draws.get(i));
        }
        picked
    }
}
