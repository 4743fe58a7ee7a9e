//! `next`: what was seen explains some of what could be, and over that the steps are tried.
//!
//! Draws of everything uncertain (`population`) are weighted by how well each explains the observations
//! (`evidence`); more are drawn until they are worth [`ENOUGH`] equally likely ones. Draws picked by weight then try
//! every single step (`steps`) and tell which clue would tell most (`telling`). What is found is what the model
//! holds likely for a person like this; it prescribes no setting.

pub mod evidence;
pub mod measured;
pub mod population;
mod report;
pub mod steps;
pub mod telling;
mod way;

pub use evidence::{Grade, Observation};
pub use measured::MeasuredSwing;
pub use population::{Population, Step, Weighted};
pub use steps::{StepScore, Trials};
pub use telling::Clue;
pub use way::Way;

use crate::case::setup::Setup;
use crate::error::SimError;
use crate::scenario::Scenario;
use crate::scenario::uncertainty_file::UncertaintyFile;
use crate::study::Tick;

/// Effective sample size that is wanted. \[J\]
pub const ENOUGH: f64 = 200.0;
/// Draws from which the bands of inputs are read.
const FOR_BANDS: usize = 1024;

/// What is asked.
#[derive(Debug, Clone)]
pub struct NextOptions {
    /// What was seen.
    pub observations: Vec<Observation>,
    /// A swing that was measured.
    pub swing: Option<MeasuredSwing>,
    /// Where the settings really are: known to within this, percentage points.
    pub settings_pct: f64,
    /// Draws at first; doubled until enough of them explain what was seen.
    pub draws: u32,
    /// Draws that try every step.
    pub tries: usize,
    /// Step of every setting, percentage points; by default the joint's own.
    pub step_pct: Option<f64>,
    /// Seed of the draws.
    pub seed: u64,
}

/// What was found.
pub struct Next {
    /// What was asked.
    pub options: NextOptions,
    /// The population.
    pub population: Population,
    /// Draws with their weights.
    pub weighted: Weighted,
    /// Shares without any step, of the draws picked by weight.
    pub now: StepScore,
    /// The steps, the best first.
    pub steps: Vec<StepScore>,
    /// Several steps of a setting, tried where no single one does more good than harm.
    pub further: Vec<StepScore>,
    /// The settings that suit the middle best.
    pub way: Way,
    /// What would tell most, the best first.
    pub clues: Vec<Clue>,
}

/// Tries what could be against what was seen, and every step over what remains.
///
/// # Errors
/// Options out of range, an observation about a scenario that is not run, a set-up that is wrong in itself, a failed
/// integration.
pub fn next(
    setup: &Setup,
    scenarios: &[Scenario],
    file: &UncertaintyFile,
    options: NextOptions,
    tick: Tick<'_>,
) -> Result<Next, SimError> {
    options.check()?;
    let population = Population::new(setup, scenarios, file, (options.settings_pct, options.seed))?;
    for o in &options.observations {
        if population.about(o).next().is_none() {
            let why = format!("{}: none of the scenarios run is one in which it can occur", o.in_words());
            return Err(SimError::Usage(why));
        }
    }
    if let Some(swing) = &options.swing {
        swing.check(scenarios)?;
    }
    let weighted = weigh(&population, &options, tick)?;
    let picked = weighted.pick(options.tries);
    let candidates = steps::candidates(setup, options.step_pct)?;
    let trials = Trials::run(&population, &picked, &options.observations, &candidates, tick)?;
    let (now, steps) = trials.scores(&candidates);
    let hopeful = |s: &StepScore| s.is_setting() && s.value() > 0.0;
    let further = if steps.iter().any(hopeful) {
        vec![]
    } else {
        let moves = steps::further(setup, options.step_pct)?;
        Trials::run(&population, &picked, &options.observations, &moves, tick)?.scores(&moves).1
    };
    let clues = telling::clues(&population, &options.observations, &trials);
    let middle = population.middle(&weighted);
    let way = Way::find(&population, &middle, (&picked, &trials), tick)?;
    Ok(Next { population, weighted, now, steps, further, way, clues, options })
}

fn weigh(population: &Population, options: &NextOptions, tick: Tick<'_>) -> Result<Weighted, SimError> {
    let mut weighted = Weighted::default();
    let mut wanted = options.draws;
    loop {
        let first = weighted.draws.len() as u32;
        let fresh: Vec<u32> = (first..wanted).collect();
        weighted.weights.extend(population.likelihoods(
            &fresh,
            &options.observations,
            options.swing.as_ref(),
            &[],
            tick,
        )?);
        weighted.draws.extend(fresh);
        if weighted.effective() >= ENOUGH || wanted >= population::MOST_DRAWS {
            return Ok(weighted);
        }
        wanted = (2 * wanted).min(population::MOST_DRAWS);
    }
}

impl NextOptions {
    fn check(&self) -> Result<(), SimError> {
        let within = |what: &str, v: f64, least: f64, most: f64| {
            crate::units::within(what, v, least..=most).map(|_| ())
        };
        within("--settings-within (percent)", self.settings_pct, 0.1, 50.0)?;
        within("--draws", f64::from(self.draws), 256.0, f64::from(population::MOST_DRAWS))?;
        within("--tries", self.tries as f64, 16.0, 4096.0)?;
        if let Some(step) = self.step_pct {
            within("--step (percent)", step, 0.1, 50.0)?;
        }
        if self.observations.is_empty() {
            return Err(SimError::Usage(
                "next wants what was seen: --seen SYMPTOM or --not-seen SYMPTOM".into(),
            ));
        }
        Ok(())
    }
}
