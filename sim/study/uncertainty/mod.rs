//! Uncertainty: how uncertain inputs spread the outcomes of one scenario, and which input matters most.
//!
//! Every input is evenly likely over its range and independent of the others. N points at A and B give the
//! bands; N more for every input, and N for all judged inputs together, give the indices (`sobol.rs`).
//! An outcome is *decided by judgement* if values of judgement together take part in at least [`DECIDES`] of
//! its variance \[J\]. Their common share is never less than that of one of them.

mod plot;
pub mod ranges;
mod report;

use std::collections::BTreeMap;

use rayon::prelude::*;

pub use ranges::Uncertain;

use super::Tick;
use crate::case::inputs::Case;
use crate::error::SimError;
use crate::motion::trial::Detail;
use crate::motion::{Motion, Trial};
use crate::numerics::sobol::{Estimate, Indices, Rows, coordinate, indices};
use crate::numerics::statistics::quantile;
use crate::numerics::tolerances::Tolerances;
use crate::outcome::many::measure_each;
use crate::outcome::{
    LimitVerdict, METRICS, Metric, OutcomeWord, Reading, TrialVerdict, Value, Verdict, binding, metric,
};
use crate::scenario::Limit;
use crate::scenario::uncertainty_file::UncertaintyFile;

/// Least share of variance with which judgement decides an outcome \[J\].
pub const DECIDES: f64 = 0.5;

/// Least share of rows that reach an outcome at every point, for its indices to be given \[J\].
const LEAST_REACHED: f64 = 0.9;

/// Allowed base sizes; powers of two, as Sobol' points need.
pub const SAMPLES: std::ops::RangeInclusive<usize> = 8..=16_384;

/// What to vary, in which case, how finely.
#[derive(Debug, Clone)]
pub struct UncertaintyStudy {
    /// Set-up and scenario.
    pub case: Case,
    /// What is uncertain.
    pub file: UncertaintyFile,
    /// Base size N.
    pub samples: usize,
    /// Seed of the points.
    pub seed: u64,
    /// Index of every input; otherwise only of all judged inputs together (fewer runs).
    pub each: bool,
    /// Lists every index, however small.
    pub list_all: bool,
}

/// One outcome.
#[derive(Debug)]
pub struct OutcomeBand {
    /// Row of the registry.
    pub metric: &'static Metric,
    /// Its numbers at A and B, ascending; empty for words.
    pub numbers: Vec<f64>,
    /// How often each word came, in the order of the registry.
    pub words: Vec<(OutcomeWord, usize)>,
    /// How often it was reached at A and B.
    pub reached: usize,
    /// Rows in which it was reached at every point; the indices are of these rows.
    pub complete: usize,
    /// Indices of each input and last of all judged inputs together; none if it does not vary or is reached
    /// too seldom.
    pub indices: Option<Indices>,
}

/// A limit and how often it holds.
#[derive(Debug)]
pub struct LimitShare {
    /// Limit as the scenario has it.
    pub limit: Limit,
    /// How often it was within.
    pub holds: usize,
    /// How often it was doubtful.
    pub doubtful: usize,
}

/// The spread of the outcomes.
#[derive(Debug)]
pub struct UncertaintyResult {
    /// What was asked.
    pub study: UncertaintyStudy,
    /// Inputs that were varied.
    pub inputs: Vec<Uncertain>,
    /// Inputs of the file that have no effect in this case.
    pub without_effect: Vec<String>,
    /// Outcomes in the order of the registry.
    pub outcomes: Vec<OutcomeBand>,
    /// Limits of the scenario.
    pub limits: Vec<LimitShare>,
    /// How often all limits held together, without warnings and targets.
    pub all_hold: usize,
    /// How often none was broken and at least one was doubtful.
    pub all_doubtful: usize,
    /// Points at A and B.
    pub points: usize,
    /// Runs altogether.
    pub runs: usize,
    /// Runs that could not be followed, by reason.
    pub failed: BTreeMap<&'static str, usize>,
}

impl OutcomeBand {
    /// A quantile of its numbers.
    #[must_use]
    pub fn quantile(&self, share: f64) -> Option<f64> {
        quantile(&self.numbers, share)
    }

    /// Share of variance in which judged inputs take part.
    #[must_use]
    pub fn judged(&self) -> Option<Estimate> {
        self.indices.as_ref().and_then(|x| x.total.last().copied())
    }

    /// Whether judgement decides it.
    #[must_use]
    pub fn decided_by_judgement(&self) -> bool {
        self.judged().is_some_and(|e| e.tells() && e.value >= DECIDES)
    }

    /// Index and estimate of the input with the largest total index.
    #[must_use]
    pub fn most(&self) -> Option<(usize, Estimate)> {
        let total = &self.indices.as_ref()?.total;
        let inputs = &total[..total.len().saturating_sub(1)];
        let most = inputs.iter().copied().enumerate().max_by(|x, y| x.1.value.total_cmp(&y.1.value));
        most.filter(|m| m.1.value > 0.0)
    }
}

/// Values of all outcomes at one point, or why there are none.
type Evaluated = Result<Vec<Value>, &'static str>;

impl UncertaintyStudy {
    /// Checks the request.
    ///
    /// # Errors
    /// A base size that is no power of two, inputs that are none, a set-up that is wrong.
    pub fn check(&self) -> Result<(), SimError> {
        if !self.samples.is_power_of_two() || !SAMPLES.contains(&self.samples) {
            return Err(SimError::OutOfRange {
                field: "samples".into(),
                value: self.samples.to_string(),
                allowed: format!("powers of two from {} to {}", SAMPLES.start(), SAMPLES.end()),
            });
        }
        self.file.check()?;
        ranges::check(&self.file)?;
        self.case.setup.trial(&self.case.scenario).map(|_| ())
    }

    /// Steps of progress.
    #[must_use]
    pub fn steps(&self) -> u64 {
        self.samples as u64
    }

    /// Runs it.
    ///
    /// # Errors
    /// As [`UncertaintyStudy::check`]; a scenario that cannot run at all.
    pub fn run(&self, tick: Tick) -> Result<UncertaintyResult, SimError> {
        self.check()?;
        let (base, inputs, without_effect) = ranges::resolve(&self.case, &self.file)?;
        // a case that cannot run as set cannot be varied
        let judged: Vec<bool> = inputs.iter().map(|u| u.input.judged).collect();
        let metrics: Vec<&'static Metric> = METRICS
            .iter()
            .filter(|m| m.activities.contains(&base.scenario.activity.kind()))
            // the hip moment is an input here: its band runs only where a limit is about it
            .filter(|m| {
                !(m.by_hip_band || m.without_hip) || base.scenario.limits.iter().any(|l| l.outcome == m.key)
            })
            .collect();
        let [hip_band, without_hip] = [|m: &Metric| m.by_hip_band, |m: &Metric| m.without_hip]
            .map(|needs: fn(&Metric) -> bool| metrics.iter().any(|m| needs(m)));
        let detail = Detail { hip_band, without_hip, ..Detail::default() };
        base.assess(detail, Tolerances::scan())?;
        let d = inputs.len();
        // A, B, each input from B, all judged ones from B
        let from_b = |block: usize, i: usize| match block {
            0 => false,
            1 => true,
            k if k < self.mixed(d) + 2 => i == k - 2,
            _ => judged[i],
        };
        let blocks = 2 + self.mixed(d) + 1;
        let samples: Vec<usize> = (0..self.samples).collect();
        let rows: Vec<Vec<Evaluated>> = samples
            .par_chunks(SAMPLES_AT_ONCE)
            .map(|samples| {
                let points = samples.iter().flat_map(|&j| (0..blocks).map(move |block| (j, block)));
                let point = |(j, block): (usize, usize)| {
                    let at = |i: usize| {
                        let dimension = if from_b(block, i) { d + i } else { i };
                        coordinate(self.seed, j as u32, dimension as u32)
                    };
                    trial_at(&base, &inputs, at, detail)
                };
                let trials = points.map(point).collect::<Result<Vec<_>, _>>()?;
                let values = evaluate(&trials, &metrics)?;
                samples.iter().for_each(|_| tick());
                Ok(values.chunks(blocks).map(<[Evaluated]>::to_vec).collect::<Vec<_>>())
            })
            .collect::<Result<Vec<_>, SimError>>()?
            .concat();
        Ok(self.found(&base, inputs, without_effect, &metrics, &rows))
    }

    /// Number of blocks that take one input from B.
    fn mixed(&self, inputs: usize) -> usize {
        if self.each { inputs } else { 0 }
    }

    fn found(
        &self,
        base: &Case,
        inputs: Vec<Uncertain>,
        without_effect: Vec<String>,
        metrics: &[&'static Metric],
        rows: &[Vec<Evaluated>],
    ) -> UncertaintyResult {
        let mut failed: BTreeMap<&'static str, usize> = BTreeMap::new();
        for why in rows.iter().flatten().filter_map(|e| e.as_ref().err()) {
            *failed.entry(why).or_default() += 1;
        }
        let points: Vec<&Evaluated> = rows.iter().flat_map(|r| &r[..2]).collect();
        let outcomes = metrics.iter().enumerate().map(|(k, m)| outcome(m, k, rows, self.seed)).collect();
        let value = |e: &Evaluated, key: &str| {
            let place = metrics.iter().position(|m| m.key == key);
            place.map(|k| e.as_ref().map_or(Value::NotReached, |v| v[k]))
        };
        let limits = &base.scenario.limits;
        let verdict = |e: &Evaluated, limit: &Limit| {
            metric(&limit.outcome).map(|m| LimitVerdict::of(limit, Reading::with(m, |key| value(e, key))))
        };
        let verdicts: Vec<Vec<LimitVerdict>> =
            points.iter().map(|e| limits.iter().filter_map(|l| verdict(e, l)).collect()).collect();
        let share = |l: &Limit| {
            let how_often =
                |v: Verdict| verdicts.iter().flatten().filter(|x| x.limit == *l && x.verdict == v).count();
            LimitShare {
                limit: l.clone(),
                holds: how_often(Verdict::Within),
                doubtful: how_often(Verdict::Doubtful),
            }
        };
        let all = |v: TrialVerdict| {
            verdicts.iter().filter(|limits| TrialVerdict::worst(binding(limits)) == v).count()
        };
        UncertaintyResult {
            study: self.clone(),
            inputs,
            without_effect,
            outcomes,
            limits: limits.iter().map(share).collect(),
            all_hold: all(TrialVerdict::Within) + all(TrialVerdict::NoLimits),
            all_doubtful: all(TrialVerdict::Doubtful),
            points: points.len(),
            runs: rows.iter().map(Vec::len).sum(),
            failed,
        }
    }
}

/// Samples whose trials run side by side.
const SAMPLES_AT_ONCE: usize = 4;

/// The trial at a point.
fn trial_at(
    base: &Case,
    inputs: &[Uncertain],
    at: impl Fn(usize) -> f64,
    detail: Detail,
) -> Result<Trial, SimError> {
    let mut case = base.clone();
    for (i, u) in inputs.iter().enumerate() {
        case.set(u.input.key, u.low + (u.high - u.low) * at(i))?;
    }
    case.trial(detail, Tolerances::scan())
}

fn evaluate(trials: &[Trial], metrics: &[&'static Metric]) -> Result<Vec<Evaluated>, SimError> {
    let read = |_: &Trial, motion: Result<Motion, SimError>| match motion {
        Ok(motion) => Ok(Ok(metrics.iter().map(|m| m.read(&motion)).collect())),
        Err(e) => e.no_result_because().map(Err).ok_or(e),
    };
    measure_each(trials, &[], read).into_iter().collect()
}

/// One outcome over all rows.
fn outcome(metric: &'static Metric, k: usize, rows: &[Vec<Evaluated>], seed: u64) -> OutcomeBand {
    let at = |e: &Evaluated| e.as_ref().map_or(Value::NotReached, |v| v[k]);
    let points: Vec<Value> = rows.iter().flat_map(|r| &r[..2]).map(at).collect();
    let mut numbers: Vec<f64> = points.iter().filter_map(|v| v.as_number()).collect();
    numbers.sort_by(f64::total_cmp);
    let words = metric
        .words
        .iter()
        .map(|w| (*w, points.iter().filter(|v| v.as_word() == Some(*w)).count()))
        .filter(|(_, n)| *n > 0)
        .collect();
    let complete: Vec<&Vec<Evaluated>> =
        rows.iter().filter(|r| r.iter().all(|e| at(e) != Value::NotReached)).collect();
    let enough = complete.len() as f64 >= LEAST_REACHED * rows.len() as f64;
    let block = |b: usize| {
        let components = metric.words.len().max(1);
        let values = complete.iter().flat_map(|r| match at(&r[b]) {
            Value::Number(v) => vec![v],
            Value::Word(w) => metric.words.iter().map(|x| f64::from(u8::from(*x == w))).collect(),
            Value::NotReached => vec![0.0; components],
        });
        Rows { values: values.collect(), components }
    };
    let blocks = rows.first().map_or(0, Vec::len);
    let mixed: Vec<Rows> = (2..blocks).map(block).collect();
    OutcomeBand {
        metric,
        numbers,
        words,
        complete: complete.len(),
        reached: points.iter().filter(|v| **v != Value::NotReached).count(),
        indices: if enough { indices(&block(0), &block(1), &mixed, seed) } else { None },
    }
}
