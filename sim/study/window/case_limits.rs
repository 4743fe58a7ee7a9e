//! One scenario of one person and what its limits say at a position of a setting.

use std::sync::Arc;

use super::variations::Variation;
use crate::case::inputs::Case;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::motion::stride_cache::StrideCache;
use crate::motion::trial::Detail;
use crate::numerics::tolerances::Tolerances;
use crate::outcome::{LimitVerdict, MISSED, Value, detail_for_limits, metric};
use crate::scenario::{ActivityKind, Limit, Severity};

/// A case with the limits that count.
#[derive(Debug, Clone)]
pub struct Task {
    /// Set-up and scenario.
    pub case: Case,
    /// Limits that bind and are not left out.
    pub limits: Vec<Limit>,
    detail: Detail,
}

/// The outcome of each limit of a task, in order; or why the scenario cannot run there.
pub type Row = Result<Vec<Value>, String>;

/// A limit of a scenario, or the scenario itself where it cannot run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Closer {
    /// Scenario.
    pub scenario: String,
    /// Key of the outcome; none where the scenario cannot run.
    pub outcome: Option<&'static str>,
}

impl Closer {
    /// `walk-hurried: extension_margin_ms`.
    #[must_use]
    pub fn key(&self) -> String {
        format!("{}: {}", self.scenario, self.outcome.unwrap_or("cannot run"))
    }

    /// For people: `time straight before heel contact (walk-hurried)`.
    #[must_use]
    pub fn label(&self) -> String {
        let what = self.outcome.map_or("cannot run", |key| metric(key).map_or(key, |m| m.label));
        format!("{what} ({})", self.scenario)
    }
}

/// Least relative margin over some limits, and whose it is; an infinite one is that of allowed words.
#[derive(Debug, Clone, PartialEq)]
pub struct Tightest {
    /// Least relative margin.
    pub margin: f64,
    /// Whose.
    pub by: Option<Closer>,
}

impl Tightest {
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

impl Task {
    /// The limits of a scenario that bind, but for those on the outcomes left out.
    #[must_use]
    pub fn new(case: Case, without: &[String]) -> Self {
        let counts = |l: &&Limit| l.severity == Severity::Limit && !without.contains(&l.outcome);
        let limits: Vec<Limit> = case.scenario.limits.iter().filter(counts).cloned().collect();
        Self { detail: detail_for_limits(&limits), case, limits }
    }

    /// The same scenario with those of its limits that a variation reaches, and their numbers here.
    #[must_use]
    pub fn reached_by(&self, variation: Variation) -> (Self, Vec<usize>) {
        let reached = |i: &usize| variation.reaches(self.kind(), &self.limits[*i]);
        let numbers: Vec<usize> = (0..self.limits.len()).filter(reached).collect();
        let limits: Vec<Limit> = numbers.iter().map(|i| self.limits[*i].clone()).collect();
        (Self { detail: detail_for_limits(&limits), case: self.case.clone(), limits }, numbers)
    }

    /// What is done.
    #[must_use]
    pub fn kind(&self) -> ActivityKind {
        self.case.scenario.activity.kind()
    }

    /// Runs it once and reads every limit's outcome; `moved` are settings and their positions in percent,
    /// `known` the strides that earlier runs were compared with.
    ///
    /// # Errors
    /// A setting outside its range. A scenario that cannot run is a row that says why.
    pub fn row(
        &self,
        moved: &[(SettingName, f64)],
        variation: Variation,
        known: Option<&Arc<StrideCache>>,
    ) -> Result<Row, SimError> {
        let mut case = self.case.clone();
        for (name, pct) in moved {
            case.set(name.as_str(), *pct)?;
        }
        if let Variation::Judged { key, value } = variation {
            case.set(key, value)?;
        }
        let mut trial = case.trial(self.detail, Tolerances::scan())?;
        trial.stride_cache = known.cloned();
        let measured = |motion| {
            let value = |l: &Limit| metric(&l.outcome).map_or(Value::NotReached, |m| m.read(&motion));
            self.limits.iter().map(value).collect()
        };
        Ok(SimError::finding(trial.run())?.map(measured).map_err(|e| e.to_string()))
    }

    /// The limit `i`, or the scenario if the row says that it cannot run.
    pub(super) fn closer(&self, i: usize, can_run: bool) -> Closer {
        let outcome = metric(&self.limits[i].outcome).map(|m| m.key);
        Closer { scenario: self.case.scenario.name.clone(), outcome: outcome.filter(|_| can_run) }
    }

    /// Relative margin of each limit; [`MISSED`] each where the scenario cannot run.
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
    pub fn tightest(&self, row: &Row) -> Tightest {
        self.tightest_under(row, Variation::AsSet)
    }

    /// The tightest of its limits as they are under a variation.
    pub(super) fn tightest_under(&self, row: &Row, variation: Variation) -> Tightest {
        let limits: Vec<Limit> = self.limits.iter().map(|l| variation.applied_to(l)).collect();
        self.tightest_of(row, &limits, |_| true)
    }

    /// The tightest of the limits with these numbers.
    pub(super) fn tightest_of(
        &self,
        row: &Row,
        limits: &[Limit],
        counts: impl Fn(usize) -> bool,
    ) -> Tightest {
        let mut tightest = Tightest::NONE;
        for (i, margin) in self.margins(row, limits).into_iter().enumerate() {
            if margin < tightest.margin && counts(i) {
                tightest = Tightest { margin, by: Some(self.closer(i, row.is_ok())) };
            }
        }
        tightest
    }
}
