//! One scenario of one person, and how its outcomes compare with its limits at a position of a setting.

use std::sync::Arc;

use super::variations::Variation;
use crate::case::inputs::Case;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::motion::stride_cache::StrideCache;
use crate::motion::trial::Detail;
use crate::motion::{Motion, Trial};
use crate::numerics::tolerances::Tolerances;
use crate::outcome::many::measure_each;
use crate::outcome::{
    LimitVerdict, MISSED, Reading, TrialVerdict, Value, binding, detail_for_limits, metric,
};
use crate::scenario::{ActivityKind, Limit, Severity};

/// A case with its binding limits.
#[derive(Debug, Clone)]
pub struct CaseLimits {
    /// Set-up and scenario.
    pub inputs: Case,
    /// Limits that are not warnings and are not left out.
    pub limits: Vec<Limit>,
    detail: Detail,
}

/// The outcome of each limit of a case, in order; or why the scenario cannot run.
pub type Row = Result<Vec<Reading>, SimError>;

/// A limit of a scenario, or the scenario itself where it cannot run or be computed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LimitRef {
    /// Scenario.
    pub scenario: String,
    /// Key of the outcome, or the words in its place ([`SimError::in_place_of_verdict`]).
    pub outcome: Result<&'static str, &'static str>,
}

impl LimitRef {
    /// `walk-hurried: extension_margin_ms`.
    #[must_use]
    pub fn key(&self) -> String {
        format!("{}: {}", self.scenario, self.outcome.unwrap_or_else(|word| word))
    }

    /// For people: `full extension (walk-hurried)`.
    #[must_use]
    pub fn label(&self) -> String {
        format!("{} ({})", self.what(), self.scenario)
    }

    /// The outcome for people, or the words in its place.
    pub(super) fn what(&self) -> &'static str {
        self.outcome.map_or_else(|word| word, |key| metric(key).map_or(key, |m| m.label))
    }
}

/// The limit with the least relative margin of several, and the worst of their verdicts: a doubtful landing can have
/// less margin than a limit that is broken. The margin is infinite where only words are limited and all of them are
/// allowed.
#[derive(Debug, Clone, PartialEq)]
pub struct BindingLimit {
    /// Its relative margin.
    pub margin: f64,
    /// Which limit; none where nothing limits.
    pub by: Option<LimitRef>,
    /// Worst verdict of all of them; that of no limits where nothing limits.
    pub verdict: TrialVerdict,
}

impl BindingLimit {
    /// Nothing limits.
    pub(super) const NONE: Self = Self { margin: f64::INFINITY, by: None, verdict: TrialVerdict::NoLimits };

    /// The tighter of two, the first if they are equal, with the worse verdict.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        let verdict = self.verdict.max(other.verdict);
        Self { verdict, ..if other.margin < self.margin { other } else { self } }
    }
}

impl CaseLimits {
    /// The limits of a scenario that are not warnings, without those on the outcomes in `without`.
    #[must_use]
    pub fn new(case: Case, without: &[String]) -> Self {
        let counts = |l: &&Limit| l.severity == Severity::Limit && !without.contains(&l.outcome);
        let limits: Vec<Limit> = case.scenario.limits.iter().filter(counts).cloned().collect();
        Self { detail: detail_for_limits(&limits), inputs: case, limits }
    }

    /// The same case with only the limits that a variation can affect, and their indices here.
    #[must_use]
    pub fn reached_by(&self, variation: Variation) -> (Self, Vec<usize>) {
        let reached = |i: &usize| variation.reaches(self.kind(), &self.limits[*i]);
        let numbers: Vec<usize> = (0..self.limits.len()).filter(reached).collect();
        let limits: Vec<Limit> = numbers.iter().map(|i| self.limits[*i].clone()).collect();
        (Self { detail: detail_for_limits(&limits), inputs: self.inputs.clone(), limits }, numbers)
    }

    /// Kind of activity.
    #[must_use]
    pub fn kind(&self) -> ActivityKind {
        self.inputs.scenario.activity.kind()
    }

    /// Runs the trial once and reads the outcome of every limit. `moved` are settings with their positions in
    /// percent.
    ///
    /// # Errors
    /// A setting outside its range. A scenario that cannot run or be computed is no error: the row says why.
    pub fn row(&self, moved: &[(SettingName, f64)], variation: Variation) -> Result<Row, SimError> {
        let mut rows = self.rows(&[self.trial(moved, variation, None)?], &[])?;
        Ok(rows.remove(0))
    }

    /// The trial of a row; `known` are the comparison strides of earlier runs.
    ///
    /// # Errors
    /// A setting outside its range.
    pub fn trial(
        &self,
        moved: &[(SettingName, f64)],
        variation: Variation,
        known: Option<&Arc<StrideCache>>,
    ) -> Result<Trial, SimError> {
        let mut case = self.inputs.clone();
        for (name, pct) in moved {
            case.set(name.as_str(), *pct)?;
        }
        if let Variation::Judged { key, value } = variation {
            case.set(key, value)?;
        }
        let mut trial = case.trial(self.detail, Tolerances::scan())?;
        trial.stride_cache = known.cloned();
        Ok(trial)
    }

    /// Runs trials of this case side by side. The verdicts on its limits and on `limits` are those of single runs.
    ///
    /// # Errors
    /// A set-up that is wrong in itself.
    pub fn rows(&self, trials: &[Trial], limits: &[Limit]) -> Result<Vec<Row>, SimError> {
        let outcomes = |motion: Motion| {
            let read =
                |l: &Limit| metric(&l.outcome).map_or(Value::NotReached.into(), |m| Reading::of(m, &motion));
            self.limits.iter().map(read).collect()
        };
        let row = |_: &Trial, motion| Ok(SimError::finding(motion)?.map(outcomes));
        measure_each(trials, limits, row).into_iter().collect()
    }

    /// Limit `i`, or the scenario itself where there is no result: `failed` says so in its place.
    pub(super) fn limit_ref(&self, i: usize, failed: Option<&'static str>) -> LimitRef {
        let known = metric(&self.limits[i].outcome).map_or("unknown", |m| m.key);
        LimitRef { scenario: self.inputs.scenario.name.clone(), outcome: failed.map_or(Ok(known), Err) }
    }

    /// Relative margin of each limit, below 0 where it is not within; [`MISSED`] for all of them where the scenario
    /// cannot run.
    pub(super) fn margins(&self, row: &Row, limits: &[Limit]) -> Vec<f64> {
        match row {
            Err(_) => vec![MISSED; limits.len()],
            Ok(values) => verdicts(limits, values).iter().map(|l| l.relative_margin).collect(),
        }
    }

    /// The tightest of its limits.
    #[must_use]
    pub fn tightest(&self, row: &Row) -> BindingLimit {
        self.tightest_under(row, Variation::AsSet)
    }

    /// The tightest of its limits under a variation.
    pub(super) fn tightest_under(&self, row: &Row, variation: Variation) -> BindingLimit {
        let limits: Vec<Limit> = self.limits.iter().map(|l| variation.applied_to(l)).collect();
        self.tightest_of(row, &limits, |_| true)
    }

    /// The tightest of the limits whose index `counts`.
    pub(super) fn tightest_of(
        &self,
        row: &Row,
        limits: &[Limit],
        counts: impl Fn(usize) -> bool,
    ) -> BindingLimit {
        let one = |i: usize, margin: f64, verdict: TrialVerdict| BindingLimit {
            margin,
            by: margin
                .is_finite()
                .then(|| self.limit_ref(i, row.as_ref().err().map(SimError::in_place_of_verdict))),
            verdict,
        };
        let counted = (0..limits.len()).filter(|i| counts(*i));
        let all: Vec<BindingLimit> = match row {
            Err(_) => counted.map(|i| one(i, MISSED, TrialVerdict::Outside)).collect(),
            Ok(values) => {
                let verdicts = verdicts(limits, values);
                let binding: Vec<&LimitVerdict> = binding(&verdicts).collect();
                let binds = |l: &LimitVerdict| binding.iter().any(|b| std::ptr::eq(*b, l));
                counted
                    .filter(|i| binds(&verdicts[*i]))
                    .map(|i| one(i, verdicts[i].relative_margin, TrialVerdict::worst(verdicts[i..=i].iter())))
                    .collect()
            }
        };
        all.into_iter().fold(BindingLimit::NONE, BindingLimit::or)
    }
}

fn verdicts(limits: &[Limit], values: &[Reading]) -> Vec<LimitVerdict> {
    limits.iter().zip(values).map(|(l, v)| LimitVerdict::of(l, *v)).collect()
}
