//! One scenario of one person, and how its outcomes compare with its limits at a position of a setting.

use std::sync::Arc;

use super::variations::Variation;
use crate::case::inputs::Case;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::motion::stride_cache::StrideCache;
use crate::motion::trial::Detail;
use crate::numerics::tolerances::Tolerances;
use crate::outcome::{LimitVerdict, MISSED, Reading, Value, detail_for_limits, metric};
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
pub type Row = Result<Vec<Reading>, String>;

/// A limit of a scenario, or the scenario itself where it cannot run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LimitRef {
    /// Scenario.
    pub scenario: String,
    /// Key of the outcome; none where the scenario cannot run.
    pub outcome: Option<&'static str>,
}

impl LimitRef {
    /// `walk-hurried: extension_margin_ms`.
    #[must_use]
    pub fn key(&self) -> String {
        format!("{}: {}", self.scenario, self.outcome.unwrap_or("cannot run"))
    }

    /// For people: `full extension (walk-hurried)`.
    #[must_use]
    pub fn label(&self) -> String {
        let what = self.outcome.map_or("cannot run", |key| metric(key).map_or(key, |m| m.label));
        format!("{what} ({})", self.scenario)
    }
}

/// The limit with the least relative margin of several. The margin is infinite where only words are limited
/// and all of them are allowed.
#[derive(Debug, Clone, PartialEq)]
pub struct BindingLimit {
    /// Its relative margin.
    pub margin: f64,
    /// Which limit; none where nothing limits.
    pub by: Option<LimitRef>,
}

impl BindingLimit {
    /// Nothing limits.
    pub(super) const NONE: Self = Self { margin: f64::INFINITY, by: None };

    /// The tighter of two; the first if they are equal.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        if other.margin < self.margin { other } else { self }
    }

    /// Every limit holds.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.margin >= 0.0
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
    /// percent, `known` the comparison strides of earlier runs.
    ///
    /// # Errors
    /// A setting outside its range. A scenario that cannot run is no error: the row says why.
    pub fn row(
        &self,
        moved: &[(SettingName, f64)],
        variation: Variation,
        known: Option<&Arc<StrideCache>>,
    ) -> Result<Row, SimError> {
        let mut case = self.inputs.clone();
        for (name, pct) in moved {
            case.set(name.as_str(), *pct)?;
        }
        if let Variation::Judged { key, value } = variation {
            case.set(key, value)?;
        }
        let mut trial = case.trial(self.detail, Tolerances::scan())?;
        trial.stride_cache = known.cloned();
        let outcomes = |motion| {
            let read =
                |l: &Limit| metric(&l.outcome).map_or(Value::NotReached.into(), |m| Reading::of(m, &motion));
            self.limits.iter().map(read).collect()
        };
        Ok(SimError::finding(trial.run())?.map(outcomes).map_err(|e| e.to_string()))
    }

    /// Limit `i`, or the scenario itself where it cannot run.
    pub(super) fn limit_ref(&self, i: usize, can_run: bool) -> LimitRef {
        let outcome = metric(&self.limits[i].outcome).map(|m| m.key);
        LimitRef { scenario: self.inputs.scenario.name.clone(), outcome: outcome.filter(|_| can_run) }
    }

    /// Relative margin of each limit; [`MISSED`] for all of them where the scenario cannot run.
    pub(super) fn margins(&self, row: &Row, limits: &[Limit]) -> Vec<f64> {
        match row {
            Err(_) => vec![MISSED; limits.len()],
            Ok(values) => {
                limits.iter().zip(values).map(|(l, v)| LimitVerdict::of(l, *v).relative_margin).collect()
            }
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
        let mut tightest = BindingLimit::NONE;
        for (i, margin) in self.margins(row, limits).into_iter().enumerate() {
            if margin < tightest.margin && counts(i) {
                tightest = BindingLimit { margin, by: Some(self.limit_ref(i, row.is_ok())) };
            }
        }
        tightest
    }
}
