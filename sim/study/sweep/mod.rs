//! Sweep: inputs over grids or samples, one row per combination and scenario.
//!
//! Rows are numbered from 1. Within a sample the first axis varies slowest and the scenario fastest.
//! Combinations are not stored: row *n* follows from *n*, so a shard can start anywhere. With samples, every
//! sample runs through the whole grid. Trials use the tolerances for scans (`Tolerances::scan`) and compute
//! only what the requested outcomes need. Checked in tests/studies/sweep.rs.

mod batched;
mod block;
mod frame;
mod report;
mod request;
mod stream;

use std::ops::Range;

use rayon::prelude::*;

use super::Tick;
use crate::error::SimError;
use crate::numerics::tolerances::Tolerances;
use crate::outcome::{Assessment, METRICS, Metric, Outcomes, detail_for};
use block::{Found, Judged, Results};

pub use batched::Tables;
pub use block::{Column, RowBlock, Text};
pub use report::ColumnNote;
pub use request::{JUDGEMENTS, MOST_ROWS, Samples, Sweep};

impl Sweep {
    /// Runs rows (from 0) on all cores, block after block. `make` turns each block into what is needed of it, on the
    /// core that ran it; the results are in order.
    pub fn blocks<T: Send>(
        &self,
        rows: Range<u64>,
        tables: &Tables,
        tick: Tick,
        make: impl Fn(RowBlock) -> T + Sync,
    ) -> Vec<T> {
        let size = self.rows_at_once();
        let run = |number: u64| {
            let whole = number * size..((number + 1) * size).min(self.rows);
            let wanted = whole.start.max(rows.start)..whole.end.min(rows.end);
            let block = if self.batched {
                let within = wanted.start - whole.start..wanted.end - whole.start;
                self.batch(whole, tables).part(&(within.start as usize..within.end as usize))
            } else {
                self.one_by_one(wanted.clone())
            };
            (wanted.start..wanted.end).for_each(|_| tick());
            make(block)
        };
        (rows.start / size..rows.end.div_ceil(size)).into_par_iter().map(run).collect()
    }

    /// Runs rows (from 0) on all cores; the result is in order.
    #[must_use]
    pub fn run(&self, rows: Range<u64>, tick: Tick) -> RowBlock {
        let blocks = self.blocks(rows, &Tables::default(), tick, |block| block);
        RowBlock::joined(blocks).unwrap_or_else(|| self.assemble(0..0, self.inputs(0..0), self.no_results(0)))
    }

    fn one_by_one(&self, rows: Range<u64>) -> RowBlock {
        let found: Vec<_> = rows.clone().into_par_iter().map(|i| self.run_row(i)).collect();
        let mut results = self.no_results(found.len());
        found.into_iter().enumerate().for_each(|(i, row)| results.put(i, row));
        self.assemble(rows.clone(), self.inputs(rows), results)
    }

    fn no_results(&self, rows: usize) -> Results {
        Results::empty(&self.outcomes, &self.judgements, rows)
    }

    /// A block from its inputs and results.
    fn assemble(&self, rows: Range<u64>, inputs: Vec<Vec<f64>>, results: Results) -> RowBlock {
        let names = rows.clone().map(|i| Some(self.scenario_names[self.scenario_of(i)].clone())).collect();
        let first = [Column::Whole(rows.map(|i| i + 1).collect()), Column::Texts(names)];
        let inputs = inputs.into_iter().map(|v| Column::Numbers(v.into_iter().map(Some).collect()));
        RowBlock { columns: first.into_iter().chain(inputs).chain(results.columns()).collect() }
    }

    fn run_row(&self, row: u64) -> Result<Found, SimError> {
        let (scenario, values) = self.combination(row);
        let case = self.case(scenario, &values)?;
        let judged = self.judgements.iter().any(|&j| j != "energy_residual");
        let wanted = |m: &&'static Metric| {
            self.outcomes.iter().any(|o| o.key == m.key)
                || judged && scenario.limits.iter().any(|l| l.outcome == m.key)
        };
        let kind = scenario.activity.kind();
        let measured = METRICS.iter().filter(|m| m.activities.contains(&kind)).filter(wanted);
        let trial = case.trial(detail_for(measured), Tolerances::scan())?;
        let motion = trial.run()?;
        let found = Outcomes::those(&motion, |m| wanted(&m));
        let residual = motion.energy_residual();
        let verdict = judged.then(|| Assessment::of_outcomes(&trial, found.clone(), residual)).transpose()?;
        let judgement = |j: &&str| match (*j, &verdict) {
            ("verdict", Some(a)) => Judged::Word(Some(a.verdict().as_str().into())),
            ("limiting", Some(a)) => Judged::Word(a.limiting().map(|l| l.limit.outcome.as_str().into())),
            _ => Judged::Number(residual),
        };
        Ok(Found {
            values: self.outcomes.iter().map(|m| found.get(m.key)).collect(),
            judged: self.judgements.iter().map(judgement).collect(),
        })
    }
}
