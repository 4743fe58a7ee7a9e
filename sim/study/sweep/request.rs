//! What is asked for: axes, scenarios, samples and columns, checked before anything runs.

use std::ops::Range;

use super::block::Text;
use crate::case::axis::Axis;
use crate::case::inputs::Case;
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::numerics::random::hash;
use crate::outcome::{METRICS, Measure, Metric, metric};
use crate::scenario::{ActivityKind, Scenario};

/// Rows that run together in batches. Blocks begin at fixed row numbers, so that a row does not depend on where a run
/// or a shard begins.
const BATCH_ROWS: u64 = 4096;
/// Rows that run together one by one.
const SINGLE_ROWS: u64 = 16;

/// Columns besides inputs and outcomes that can be asked for.
pub const JUDGEMENTS: [&str; 3] = ["verdict", "limiting", "energy_residual"];

/// A checked request.
#[derive(Debug, Clone)]
pub struct Sweep {
    pub(super) setup: Setup,
    pub(super) scenarios: Vec<Scenario>,
    pub(super) axes: Vec<Axis>,
    pub(super) samples: Option<Samples>,
    pub(super) outcomes: Vec<&'static Metric>,
    pub(super) judgements: Vec<&'static str>,
    pub(super) rows: u64,
    pub(super) batched: bool,
    pub(super) scenario_names: Vec<Text>,
}

impl Sweep {
    /// Checks a request.
    ///
    /// # Errors
    /// A set-up, axis or outcome that makes no sense; more than [`MOST_ROWS`] rows.
    pub fn new(
        setup: Setup,
        scenarios: Vec<Scenario>,
        axes: Vec<Axis>,
        samples: Option<Samples>,
        outcomes: &[String],
    ) -> Result<Self, SimError> {
        let rows = row_count(&axes, &scenarios, samples)?;
        let (outcomes, judgements) = columns(&scenarios, outcomes)?;
        let scenario_names = scenarios.iter().map(|s| s.name.as_str().into()).collect();
        let batched = false;
        let sweep =
            Self { setup, scenarios, axes, samples, outcomes, judgements, rows, batched, scenario_names };
        sweep.check()?;
        Ok(sweep)
    }

    /// The same sweep with walking strides run in batches: many times as fast. Outcomes differ from those of single
    /// strides by less than 1e-6 rad or 1e-5 s, except for a few strides in ten thousand near forks of the motion
    /// (tests/cross_code/batch.rs).
    ///
    /// # Errors
    /// A column that a batch does not give, a scenario that is not level walking.
    pub fn batched(self) -> Result<Self, SimError> {
        let covered: Vec<&str> = in_batches().map(|m| m.key).collect();
        let asked = self.outcomes.iter().map(|m| m.key).chain(self.judgements.iter().copied());
        let left: Vec<&str> = asked.filter(|key| !covered.contains(key)).collect();
        if !left.is_empty() {
            return Err(SimError::Usage(format!(
                "--batch does not give {}; it gives --outcomes {}",
                left.join(", "),
                covered.join(",")
            )));
        }
        if let Some(s) = self.scenarios.iter().find(|s| s.activity.kind() != ActivityKind::Walk) {
            return Err(SimError::Usage(format!("--batch: scenario '{}' is no level walking", s.name)));
        }
        Ok(Self { batched: true, ..self })
    }

    /// Checks the base case, and that every axis has an effect in some scenario.
    fn check(&self) -> Result<(), SimError> {
        for (i, s) in self.scenarios.iter().enumerate() {
            if self.scenarios[..i].iter().any(|other| other.name == s.name) {
                return Err(SimError::Usage(format!("scenario '{}' is given twice", s.name)));
            }
            self.setup.trial(s)?;
        }
        for (i, axis) in self.axes.iter().enumerate() {
            let key = axis.input.key;
            if self.axes[..i].iter().any(|other| other.input.key == key) {
                return Err(SimError::Usage(format!("{key} is given twice")));
            }
            let (least, most) = axis.ends();
            let mut has_effect = axis.steps() < 2 && !axis.is_drawn();
            for scenario in &self.scenarios {
                let at = |value: f64| {
                    let mut case = Case { setup: self.setup.clone(), scenario: scenario.clone() };
                    case.set(key, value).map(|()| case)
                };
                let (low, high) = (at(least)?, at(most)?);
                // such as a setting that this knee does not have
                low.setup.resolve()?;
                has_effect |= format!("{low:?}") != format!("{high:?}");
            }
            if !has_effect {
                return Err(SimError::Usage(format!("{key} changes nothing in the scenarios asked for")));
            }
        }
        Ok(())
    }

    /// Number of rows.
    #[must_use]
    pub fn rows(&self) -> u64 {
        self.rows
    }

    /// The base set-up.
    #[must_use]
    pub fn setup(&self) -> &Setup {
        &self.setup
    }

    /// Axes.
    #[must_use]
    pub fn axes(&self) -> &[Axis] {
        &self.axes
    }

    /// Scenarios.
    #[must_use]
    pub fn scenarios(&self) -> &[Scenario] {
        &self.scenarios
    }

    /// A fingerprint of everything that decides the rows, with the version.
    #[must_use]
    pub fn fingerprint(&self) -> String {
        // of an axis the key and values only: the address of a function differs between builds
        let axes: Vec<_> = self.axes.iter().map(|a| (a.input.key, &a.values)).collect();
        let all = format!(
            "{} {} {:?} {:?} {axes:?} {:?} {:?}",
            env!("CARGO_PKG_VERSION"),
            self.batched,
            self.setup,
            self.scenarios,
            self.samples,
            self.columns()
        );
        format!("{:016x}", hash(all.as_bytes()))
    }

    /// Rows (from 0) of the `i`-th of `n` shards; shards are contiguous, and together the whole.
    #[must_use]
    pub fn shard(&self, i: u32, n: u32) -> Range<u64> {
        let edge = |k: u32| (u128::from(self.rows) * u128::from(k) / u128::from(n)) as u64;
        edge(i - 1)..edge(i)
    }

    /// Rows that run together: part of them takes as long.
    #[must_use]
    pub fn rows_at_once(&self) -> u64 {
        if self.batched { BATCH_ROWS } else { SINGLE_ROWS }
    }

    /// The values of the axes, axis by axis.
    pub(super) fn inputs(&self, rows: Range<u64>) -> Vec<Vec<f64>> {
        let mut inputs = vec![Vec::with_capacity((rows.end - rows.start) as usize); self.axes.len()];
        for row in rows {
            let mut rest = row / self.scenarios.len() as u64;
            for (axis, values) in self.axes.iter().zip(&mut inputs).rev() {
                values.push(axis.at(rest % axis.steps()));
                rest /= axis.steps();
            }
            // the rest is the number of the sample
            if let Some(samples) = self.samples {
                for (axis, values) in self.axes.iter().zip(&mut inputs).filter(|(a, _)| a.is_drawn()) {
                    values.pop();
                    values.push(axis.drawn(samples.seed, rest));
                }
            }
        }
        inputs
    }

    /// Number of the scenario of a row.
    pub(super) fn scenario_of(&self, row: u64) -> usize {
        (row % self.scenarios.len() as u64) as usize
    }

    /// Scenario and values of a row (from 0).
    #[must_use]
    pub fn combination(&self, row: u64) -> (&Scenario, Vec<f64>) {
        let values = self.inputs(row..row + 1).into_iter().map(|v| v[0]).collect();
        (&self.scenarios[self.scenario_of(row)], values)
    }

    pub(super) fn case(&self, scenario: &Scenario, values: &[f64]) -> Result<Case, SimError> {
        let mut case = Case { setup: self.setup.clone(), scenario: scenario.clone() };
        for (axis, &value) in self.axes.iter().zip(values) {
            case.set(axis.input.key, value)?;
        }
        Ok(case)
    }
}

/// A sweep of more rows than this is refused.
pub const MOST_ROWS: u64 = 1_000_000_000;

/// Number of samples and their seed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Samples {
    /// How many.
    pub count: u64,
    /// Seed.
    pub seed: u64,
}

/// Outcomes that a batch gives: those of the stride itself.
fn in_batches() -> impl Iterator<Item = &'static Metric> {
    METRICS.iter().filter(|m| matches!(m.measure, Measure::OfStride(_)))
}

/// Number of rows, or why the sweep is refused; allocates nothing.
fn row_count(axes: &[Axis], scenarios: &[Scenario], samples: Option<Samples>) -> Result<u64, SimError> {
    let drawn = axes.iter().find(|a| a.is_drawn());
    let times = match (drawn, samples) {
        (Some(axis), None) => {
            return Err(SimError::Usage(format!(
                "{} is a range to draw from: give --samples",
                axis.input.key
            )));
        }
        (None, Some(_)) => {
            return Err(SimError::Usage("--samples wants an input with a range, KEY=LOW..HIGH".into()));
        }
        (_, Some(s)) => s.count,
        (None, None) => 1,
    };
    let factors = axes.iter().map(Axis::steps).chain([scenarios.len() as u64, times]);
    let rows = factors.fold(1_u128, |n, f| n.saturating_mul(u128::from(f)));
    match u64::try_from(rows) {
        Ok(0) => Err(SimError::Usage("nothing to run: --samples must be at least 1".into())),
        Ok(rows) if rows <= MOST_ROWS => Ok(rows),
        _ => Err(SimError::Usage(format!(
            "this sweep has {rows} rows; the most that is run is {MOST_ROWS}: take fewer values or a longer step"
        ))),
    }
}

/// Outcomes and judgements.
type Columns = (Vec<&'static Metric>, Vec<&'static str>);

/// The requested outcome columns; by default all outcomes of the scenarios, and the judgements.
fn columns(scenarios: &[Scenario], asked: &[String]) -> Result<Columns, SimError> {
    let has = |m: &Metric| scenarios.iter().any(|s| m.activities.contains(&s.activity.kind()));
    let known = METRICS.iter().filter(|m| has(m));
    if asked.is_empty() {
        return Ok((known.collect(), JUDGEMENTS.to_vec()));
    }
    for (i, key) in asked.iter().enumerate() {
        if !known.clone().any(|m| m.key == key) && !JUDGEMENTS.contains(&key.as_str()) {
            return Err(SimError::Unknown {
                kind: "outcome of these scenarios",
                name: key.clone(),
                known: known.map(|m| m.key).chain(JUDGEMENTS).collect::<Vec<_>>().join(", "),
            });
        }
        if asked[..i].contains(key) {
            return Err(SimError::Usage(format!("--outcomes: {key} is given twice")));
        }
    }
    let judgements = JUDGEMENTS.into_iter().filter(|j| asked.iter().any(|k| k == j)).collect();
    Ok((asked.iter().filter_map(|k| metric(k)).collect(), judgements))
}
