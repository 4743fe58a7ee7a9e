//! Comparison: variants of a set-up next to each other in the same scenarios. All outcomes with their
//! differences from the first variant, verdicts with the closest limit, what an observer would notice, the
//! knee's curves.

mod curves;
mod plot;
mod report;

use rayon::prelude::*;

pub use curves::Curves;

use super::Tick;
use crate::case::setup::{Resolved, Setup};
use crate::case::variant::Variant;
use crate::error::SimError;
use crate::motion::Motion;
use crate::motion::trial::Detail;
use crate::numerics::tolerances::Tolerances;
use crate::outcome::Assessment;
use crate::scenario::Scenario;

/// Names of the variants, in order.
const LETTERS: [&str; 4] = ["A", "B", "C", "D"];

/// What to compare.
#[derive(Debug)]
pub struct ComparisonStudy {
    /// Set-up that the variants change.
    pub base: Setup,
    /// Two to four variants, A first.
    pub variants: Vec<Variant>,
    /// Scenarios to run.
    pub scenarios: Vec<Scenario>,
}

/// Variants in scenarios.
#[derive(Debug)]
pub struct Comparison {
    /// Set-up that the variants change.
    pub base: Setup,
    /// The variants, A first.
    pub variants: Vec<Variant>,
    /// Each variant resolved, in the first scenario.
    pub resolved: Vec<(Setup, Resolved)>,
    /// One per scenario, in the order asked for.
    pub scenarios: Vec<ComparedScenario>,
}

/// One scenario.
#[derive(Debug)]
pub struct ComparedScenario {
    /// The scenario.
    pub scenario: Scenario,
    /// One per variant, or why it cannot run.
    pub runs: Vec<Result<VariantRun, SimError>>,
}

/// One variant in one scenario.
#[derive(Debug, Clone)]
pub struct VariantRun {
    /// Outcomes, limits, energy balance.
    pub assessment: Assessment,
    /// What a reader has to know besides.
    pub notes: Vec<String>,
    /// The knee's curves; empty if it does not move.
    pub curves: Curves,
    /// Toe-off, % of stride, for walking.
    pub toe_off_pct: Option<f64>,
    /// Walking speed, m/s, for walking.
    pub speed_m_per_s: Option<f64>,
}

impl ComparisonStudy {
    /// Steps of progress.
    #[must_use]
    pub fn steps(&self) -> u64 {
        (self.variants.len() * self.scenarios.len()) as u64
    }

    /// Runs every variant in every scenario.
    ///
    /// # Errors
    /// Too few or too many variants; a variant that is wrong in itself. One that cannot run a scenario
    /// or give a result is reported in its place.
    pub fn run(self, tick: Tick) -> Result<Comparison, SimError> {
        let Self { base, variants, scenarios } = self;
        if !(2..=LETTERS.len()).contains(&variants.len()) {
            return Err(SimError::Usage(format!(
                "two to four variants are compared, not {}",
                variants.len()
            )));
        }
        let Some(first) = scenarios.first() else {
            return Err(SimError::Usage("no scenario to compare in".into()));
        };
        let resolved = variants
            .iter()
            .map(|v| {
                let setup = v.case(&base, first)?.setup;
                let resolved = setup.resolve()?;
                Ok((setup, resolved))
            })
            .collect::<Result<Vec<_>, SimError>>()?;
        let pairs: Vec<(&Scenario, &Variant)> =
            scenarios.iter().flat_map(|s| variants.iter().map(move |v| (s, v))).collect();
        let mut runs = pairs
            .into_par_iter()
            .map(|(scenario, variant)| {
                let run = run_variant(&base, scenario, variant);
                tick();
                SimError::finding(run)
            })
            .collect::<Result<Vec<_>, SimError>>()?
            .into_iter();
        let scenarios = scenarios
            .into_iter()
            .map(|scenario| ComparedScenario { scenario, runs: runs.by_ref().take(variants.len()).collect() })
            .collect();
        Ok(Comparison { base, variants, resolved, scenarios })
    }
}

fn run_variant(base: &Setup, scenario: &Scenario, variant: &Variant) -> Result<VariantRun, SimError> {
    let trial = variant.case(base, scenario)?.trial(Detail::default(), Tolerances::default())?;
    let motion = trial.run()?;
    let assessment = Assessment::of_motion(&trial, &motion)?;
    let drive = match &motion {
        Motion::Walk(w) => Some(&w.stride.drive),
        _ => None,
    };
    Ok(VariantRun {
        notes: assessment.notes(&motion),
        assessment,
        curves: Curves::of(&trial, &motion),
        toe_off_pct: drive.map(|d| 100.0 * d.toe_off_s / d.stride_time_s),
        speed_m_per_s: drive.map(|d| d.speed_m_per_s),
    })
}

impl Comparison {
    /// Nothing could be run.
    #[must_use]
    pub fn nothing_ran(&self) -> bool {
        self.scenarios.iter().all(|s| s.runs.iter().all(Result::is_err))
    }
}
