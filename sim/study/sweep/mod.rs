//! Sweep: inputs over grids or samples, one row per combination and scenario.
//!
//! Rows are numbered from 1. Within a sample the first axis varies slowest and the scenario fastest.
//! Combinations are not stored: row *n* follows from *n*, so a shard can start anywhere. With samples, every
//! sample runs through the whole grid. Trials use the tolerances for scans (`Tolerances::scan`) and compute
//! only what the requested outcomes need. Checked in tests/studies/sweep.rs.

mod batched;
mod report;
mod request;

use std::ops::Range;

use rayon::prelude::*;

use super::Tick;
use super::text::value_cell;
use crate::case::axis::Axis;
use crate::case::inputs::Case;
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::findings::Cell;
use crate::joint::SettingName;
use crate::motion::trial::Detail;
use crate::motion::{Motion, Trial};
use crate::numerics::random::hash;
use crate::numerics::tolerances::Tolerances;
use crate::outcome::many::measure_each;
use crate::outcome::{Assessment, METRICS, Metric, Outcomes, Value, detail_for};
use crate::scenario::{ActivityKind, Scenario};
use batched::BLOCK_ROWS;
use report::columns;
use request::row_count;

pub use report::JUDGEMENTS;
pub use request::{MOST_ROWS, Samples};

/// Rows that run side by side.
const ROWS_AT_ONCE: usize = 16;

/// A checked request.
#[derive(Debug, Clone)]
pub struct Sweep {
    setup: Setup,
    scenarios: Vec<Scenario>,
    axes: Vec<Axis>,
    samples: Option<Samples>,
    outcomes: Vec<&'static Metric>,
    judgements: Vec<&'static str>,
    rows: u64,
    batched: bool,
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
        let sweep = Self { setup, scenarios, axes, samples, outcomes, judgements, rows, batched: false };
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
        let covered: Vec<&str> = batched::covered().map(|m| m.key).collect();
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

    /// Names of the columns, with units: settings are percent.
    #[must_use]
    pub fn columns(&self) -> Vec<String> {
        let inputs = self.axes.iter().map(|a| match SettingName::parse(a.input.key) {
            Some(name) => format!("{name}_pct"),
            None => a.input.key.to_owned(),
        });
        let outcomes = self.outcomes.iter().map(|m| m.key);
        let text = |s: &str| s.to_owned();
        let first = ["row", "scenario"].map(text).into_iter();
        let judged = self.judgements.iter().copied().chain(["not_reached", "error"]);
        first.chain(inputs).chain(outcomes.chain(judged).map(text)).collect()
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
        if self.batched { BLOCK_ROWS } else { 1 }
    }

    /// Runs rows (from 0) on all cores; the result is in order.
    #[must_use]
    pub fn run(&self, rows: Range<u64>, tick: Tick) -> Vec<Vec<Cell>> {
        if self.batched {
            let blocks = rows.start / BLOCK_ROWS..rows.end.div_ceil(BLOCK_ROWS);
            return blocks.flat_map(|b| self.block(b, &rows, tick)).collect();
        }
        let rows: Vec<u64> = rows.collect();
        let part = |part: &[u64]| {
            let done = self.rows_in_lanes(part);
            part.iter().for_each(|_| tick());
            done
        };
        rows.par_chunks(ROWS_AT_ONCE).flat_map_iter(part).collect()
    }

    /// Rows of any numbers; what a row is does not depend on those beside it.
    fn rows_in_lanes(&self, numbers: &[u64]) -> Vec<Vec<Cell>> {
        let prepared: Vec<_> = numbers
            .iter()
            .map(|&i| {
                let (scenario, values) = self.combination(i);
                let case = self.case(scenario, &values)?;
                let trial = case.trial(detail_for(self.measured(scenario)), Tolerances::scan())?;
                Ok::<_, SimError>((scenario, trial))
            })
            .collect();
        let trials: Vec<Trial> = prepared.iter().flatten().map(|(_, trial)| trial.clone()).collect();
        let mut found = measure_each(&trials, &[], |trial, motion| self.cells(trial, &motion?)).into_iter();
        let row = |(&i, prepared): (&u64, Result<(&Scenario, Trial), SimError>)| {
            let cells = prepared.and_then(|_| found.next().unwrap_or_else(|| unreachable!("one per trial")));
            self.row_with(i, cells)
        };
        numbers.iter().zip(prepared).map(row).collect()
    }

    /// The rows of a block that lie within `rows`. The whole block runs.
    fn block(&self, number: u64, rows: &Range<u64>, tick: Tick) -> Vec<Vec<Cell>> {
        let whole = number * BLOCK_ROWS..((number + 1) * BLOCK_ROWS).min(self.rows);
        let trial = |i: u64| {
            let (scenario, values) = self.combination(i);
            self.case(scenario, &values).and_then(|c| c.trial(Detail::NONE, Tolerances::scan())).ok()
        };
        let trials: Vec<Option<Trial>> = whole.clone().into_par_iter().map(trial).collect();
        let found = batched::outcomes(&trials, &self.outcomes);
        let requested = |(i, _): &(u64, _)| rows.contains(i);
        let block: Vec<_> = whole.zip(found).filter(requested).collect();
        let left: Vec<u64> = block.iter().filter(|(_, values)| values.is_none()).map(|(i, _)| *i).collect();
        let singly = left.par_chunks(ROWS_AT_ONCE).flat_map_iter(|part| self.rows_in_lanes(part));
        let mut singly = singly.collect::<Vec<_>>().into_iter();
        let row = |(i, values): (u64, Option<Vec<Value>>)| {
            tick();
            match values {
                Some(values) => self.row_of(i, &values),
                None => singly.next().unwrap_or_else(|| unreachable!("every row that is left has run")),
            }
        };
        block.into_iter().map(row).collect()
    }

    /// A row from its outcomes.
    fn row_of(&self, i: u64, values: &[Value]) -> Vec<Cell> {
        let found = || self.outcomes.iter().copied().zip(values.iter().copied());
        let outcomes = found().map(|(m, v)| value_cell(m, v));
        self.first_cells(i).into_iter().chain(outcomes).chain([not_reached(found()), Cell::Empty]).collect()
    }

    /// The cells before the outcomes.
    fn first_cells(&self, i: u64) -> Vec<Cell> {
        let (scenario, values) = self.combination(i);
        let first = [Cell::Number((i + 1) as f64, 0), Cell::text(scenario.name.clone())];
        first.into_iter().chain(values.iter().map(|&v| Cell::Number(v, 3))).collect()
    }

    /// Scenario and values of a row (from 0).
    #[must_use]
    pub fn combination(&self, row: u64) -> (&Scenario, Vec<f64>) {
        let scenarios = self.scenarios.len() as u64;
        let mut rest = row / scenarios;
        let mut values = vec![0.0; self.axes.len()];
        for (axis, value) in self.axes.iter().zip(&mut values).rev() {
            *value = axis.at(rest % axis.steps());
            rest /= axis.steps();
        }
        // the rest is the number of the sample
        if let Some(samples) = self.samples {
            for (axis, value) in self.axes.iter().zip(&mut values).filter(|(a, _)| a.is_drawn()) {
                *value = axis.drawn(samples.seed, rest);
            }
        }
        (&self.scenarios[(row % scenarios) as usize], values)
    }

    fn row_with(&self, i: u64, found: Result<Vec<Cell>, SimError>) -> Vec<Cell> {
        let mut cells = self.first_cells(i);
        match found {
            Ok(found) => cells.extend(found.into_iter().chain([Cell::Empty])),
            Err(e) => {
                cells.extend(self.outcomes.iter().map(|_| Cell::Empty));
                cells.extend(self.judgements.iter().map(|&j| match j {
                    "verdict" => Cell::text(e.in_place_of_verdict()),
                    _ => Cell::Empty,
                }));
                cells.extend([Cell::Empty, Cell::text(e.to_string())]);
            }
        }
        cells
    }

    fn case(&self, scenario: &Scenario, values: &[f64]) -> Result<Case, SimError> {
        let mut case = Case { setup: self.setup.clone(), scenario: scenario.clone() };
        for (axis, &value) in self.axes.iter().zip(values) {
            case.set(axis.input.key, value)?;
        }
        Ok(case)
    }

    fn is_judged(&self) -> bool {
        self.judgements.iter().any(|&j| j != "energy_residual")
    }

    /// Outcomes that a row of a scenario needs.
    fn measured<'a>(&'a self, scenario: &'a Scenario) -> impl Iterator<Item = &'static Metric> + Clone + 'a {
        let kind = scenario.activity.kind();
        METRICS.iter().filter(move |m| m.activities.contains(&kind)).filter(move |m| {
            self.outcomes.iter().any(|o| o.key == m.key)
                || self.is_judged() && scenario.limits.iter().any(|l| l.outcome == m.key)
        })
    }

    /// The cells of a motion, without the last.
    fn cells(&self, trial: &Trial, motion: &Motion) -> Result<Vec<Cell>, SimError> {
        let judged = self.is_judged();
        let found =
            Outcomes::those(motion, |m| self.measured(&trial.scenario).any(|wanted| wanted.key == m.key));
        let residual = motion.energy_residual();
        let mut cells: Vec<Cell> = self
            .outcomes
            .iter()
            .map(|m| found.get(m.key).map_or(Cell::Empty, |v| value_cell(m, v)))
            .collect();
        let verdict = judged.then(|| Assessment::of_outcomes(trial, found.clone(), residual)).transpose()?;
        cells.extend(self.judgements.iter().map(|&j| match (j, &verdict) {
            ("verdict", Some(a)) => Cell::text(a.verdict().as_str()),
            ("limiting", Some(a)) => {
                a.limiting().map_or(Cell::Empty, |l| Cell::text(l.limit.outcome.clone()))
            }
            _ => Cell::Number(residual, 12),
        }));
        cells.push(not_reached(self.outcomes.iter().filter_map(|m| Some((*m, found.get(m.key)?)))));
        Ok(cells)
    }
}

/// The keys of the outcomes that were not reached, such as the time of a knee that is never straight. The cells of
/// outcomes that a scenario does not have are as empty as theirs.
fn not_reached(found: impl Iterator<Item = (&'static Metric, Value)>) -> Cell {
    let keys: Vec<&str> = found.filter(|(_, v)| *v == Value::NotReached).map(|(m, _)| m.key).collect();
    if keys.is_empty() { Cell::Empty } else { Cell::Text(keys.join(" ")) }
}
