//! Verify: whether a result is that of its inputs, and whether its motions are integrated right.
//!
//! Every outcome has up to three values: as recorded in a file, as it comes out now, and as it comes out with the
//! second integrator (`numerics::second_integrator`: other code, relative tolerance 1e-12, an event search of its own).
//! Numbers may differ by a thousandth of the last digit that reports show; words, verdicts and what is not reached may
//! not differ. The second integrator shares the equations and the measures of outcomes: it shows that the equations
//! are solved right, not that they are the right ones.

mod report;

use rayon::prelude::*;

use super::Tick;
use super::survey::{ScenarioRun, Survey};
use crate::error::SimError;
use crate::motion::trial::Detail;
use crate::numerics::tolerances::Tolerances;
use crate::outcome::{Assessment, METRICS, Metric, Value, metric};

/// Share of the last digit shown by which a number may differ.
pub const TOLERATED_SHARE: f64 = 1e-3;

/// An outcome as a file has it.
#[derive(Debug, Clone, PartialEq)]
pub enum RecordedValue {
    /// A number.
    Number(f64),
    /// A word.
    Word(String),
    /// Not reached.
    NotReached,
    /// The outcome is not there.
    Missing,
}

impl From<Value> for RecordedValue {
    fn from(value: Value) -> Self {
        match value {
            Value::Number(v) => Self::Number(v),
            Value::Word(w) => Self::Word(w.to_string()),
            Value::NotReached => Self::NotReached,
        }
    }
}

impl RecordedValue {
    /// By how much they differ; infinite where at most one is a number and they are not alike.
    fn difference(&self, other: &Self) -> f64 {
        match (self, other) {
            (Self::Number(a), Self::Number(b)) => (a - b).abs(),
            (a, b) if a == b => 0.0,
            _ => f64::INFINITY,
        }
    }
}

/// One scenario of a recorded result.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordedRun {
    /// Outcomes by key, in the order of the file.
    pub outcomes: Vec<(String, RecordedValue)>,
    /// Verdict, or what stands in its place.
    pub verdict: String,
}

/// What is asked.
#[derive(Debug)]
pub struct VerifyStudy<'a> {
    /// The result as it comes out now.
    pub survey: &'a Survey,
    /// As recorded, one for each run of the survey.
    pub recorded: Vec<RecordedRun>,
}

/// An outcome of a scenario, three times.
#[derive(Debug)]
pub struct VerifiedOutcome {
    /// Scenario.
    pub scenario: String,
    /// Key of the outcome, or `verdict`.
    pub key: String,
    /// In the file.
    pub recorded: RecordedValue,
    /// Run again.
    pub reference: RecordedValue,
    /// With the second integrator.
    pub second: RecordedValue,
}

impl VerifiedOutcome {
    /// The row of the registry; none for the verdict and for outcomes that this version does not know.
    #[must_use]
    pub fn metric(&self) -> Option<&'static Metric> {
        metric(&self.key)
    }

    /// By how much a number may differ.
    #[must_use]
    pub fn tolerance(&self) -> f64 {
        self.metric().map_or(0.0, tolerance)
    }

    /// Difference between file and re-run, and between re-run and second integrator.
    #[must_use]
    pub fn differences(&self) -> [f64; 2] {
        [&self.recorded, &self.second].map(|other| self.reference.difference(other))
    }

    /// Either difference is beyond the tolerance.
    #[must_use]
    pub fn is_beyond(&self) -> bool {
        self.differences().into_iter().any(|d| d > self.tolerance())
    }
}

/// By how much a number of an outcome may differ.
#[must_use]
pub fn tolerance(metric: &Metric) -> f64 {
    let last_digit = 10f64.powi(-i32::try_from(metric.decimals).unwrap_or(0));
    if metric.words.is_empty() { TOLERATED_SHARE * last_digit } else { 0.0 }
}

/// What was found.
#[derive(Debug)]
pub struct Verification {
    /// Every outcome and verdict, scenario after scenario.
    pub outcomes: Vec<VerifiedOutcome>,
    /// Number of scenarios.
    pub scenarios: usize,
}

impl VerifyStudy<'_> {
    /// Steps of a progress bar.
    #[must_use]
    pub fn steps(&self) -> u64 {
        self.survey.runs.len() as u64
    }

    /// Integrates every motion again.
    ///
    /// # Errors
    /// An error of the inputs; a scenario that cannot run or be computed is a value.
    pub fn run(&self, tick: Tick) -> Result<Verification, SimError> {
        let runs: Vec<_> = self.survey.runs.iter().zip(&self.recorded).collect();
        let verified = runs
            .into_par_iter()
            .map(|(run, recorded)| {
                let second = SimError::finding(self.second(run))?;
                tick();
                Ok(outcomes(run, recorded, &second))
            })
            .collect::<Result<Vec<_>, SimError>>()?;
        Ok(Verification { scenarios: verified.len(), outcomes: verified.into_iter().flatten().collect() })
    }

    fn second(&self, run: &ScenarioRun) -> Result<Assessment, SimError> {
        let mut trial = self.survey.setup.trial(&run.scenario)?;
        (trial.detail, trial.tolerances) = (Detail::default(), Tolerances::second());
        Assessment::of(&trial)
    }
}

/// Outcomes of a run, in the order of the registry, those that only the file has, and the verdict.
fn outcomes(
    run: &ScenarioRun,
    recorded: &RecordedRun,
    second: &Result<Assessment, SimError>,
) -> Vec<VerifiedOutcome> {
    let reference = run.result.as_ref().map(|r| &r.assessment);
    let second = second.as_ref();
    let of = |assessment: Option<&Assessment>, key: &str| {
        assessment.and_then(|a| a.outcomes.get(key)).map_or(RecordedValue::Missing, RecordedValue::from)
    };
    let in_file = |key: &str| recorded.outcomes.iter().find(|(k, _)| k == key).map(|(_, v)| v.clone());
    let known = METRICS.iter().map(|m| m.key);
    let unknown = recorded.outcomes.iter().map(|(k, _)| k.as_str()).filter(|k| metric(k).is_none());
    let mut all: Vec<VerifiedOutcome> = known
        .chain(unknown)
        .map(|key| VerifiedOutcome {
            scenario: run.scenario.name.clone(),
            key: key.to_owned(),
            recorded: in_file(key).unwrap_or(RecordedValue::Missing),
            reference: of(reference.ok(), key),
            second: of(second.ok(), key),
        })
        .filter(|o| [&o.recorded, &o.reference, &o.second].into_iter().any(|r| *r != RecordedValue::Missing))
        .collect();
    let verdict = |assessment: Result<&Assessment, &SimError>| {
        RecordedValue::Word(
            assessment.map_or_else(|e| e.in_place_of_verdict().into(), |a| a.verdict().as_str().into()),
        )
    };
    all.push(VerifiedOutcome {
        scenario: run.scenario.name.clone(),
        key: "verdict".into(),
        recorded: RecordedValue::Word(recorded.verdict.clone()),
        reference: verdict(reference),
        second: verdict(second),
    });
    all
}

impl Verification {
    /// Outcomes that differ by more than the tolerance.
    pub fn beyond(&self) -> impl Iterator<Item = &VerifiedOutcome> {
        self.outcomes.iter().filter(|o| o.is_beyond())
    }

    /// The outcome with the greatest difference in units of its tolerance: of the re-run (0) or the second integrator (1).
    fn greatest(&self, which: usize) -> Option<(&VerifiedOutcome, f64)> {
        let shares = self.outcomes.iter().map(|o| {
            let d = o.differences()[which];
            (o, if d > 0.0 { d / o.tolerance() } else { 0.0 })
        });
        shares.max_by(|a, b| a.1.total_cmp(&b.1))
    }
}
