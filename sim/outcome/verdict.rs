//! Outcomes against limits: verdict and margin for each limit, and the limit with the least margin.

use super::{Outcomes, Value, metric};
use crate::error::SimError;
use crate::motion::Trial;
use crate::scenario::{Limit, OutcomeWord, Severity};

/// How an outcome compares with its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Within.
    Within,
    /// Outside.
    Outside,
    /// The outcome did not happen; counts as outside.
    NotReached,
}

impl Verdict {
    /// The word in reports.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Within => "within",
            Self::Outside => "outside",
            Self::NotReached => "not reached",
        }
    }
}

/// Relative margin of an outcome that is not reached, of a word that is not allowed, of a scenario that
/// cannot run: worse than any number, so that "never straight" is not better than "straight too late". \[J\]
pub const MISSED: f64 = -10.0;
/// Numbers further out than this are not told apart: the latest that a walking trial can time (15 % of a
/// stride after heel contact) is about −9 for a limit of 20 ms. \[J\]
const FARTHEST: f64 = -9.5;
/// A landing or stumble that is doubtful where that is not allowed: half-way to giving way. \[J\]
const DOUBTFUL: f64 = -5.0;

/// One limit and how the outcome compares with it.
#[derive(Debug, Clone)]
pub struct LimitVerdict {
    /// The limit.
    pub limit: Limit,
    /// The outcome.
    pub value: Value,
    /// Its verdict.
    pub verdict: Verdict,
    /// Distance to the nearest bound in the outcome's unit, positive inside; none for words.
    pub margin: Option<f64>,
    /// Margin in units of the limit's own scale, for comparing limits: 0 at the edge, at least −9.5. An
    /// outcome that is not reached and a word that is not allowed count [`MISSED`], a doubtful landing
    /// half of it; an allowed word does not limit (infinite).
    pub relative_margin: f64,
    /// The value lies within the uncertainty band of a judged edge.
    pub in_band: bool,
}

impl LimitVerdict {
    /// Compares `value` with `limit`.
    #[must_use]
    pub fn of(limit: &Limit, value: Value) -> Self {
        let (verdict, margin, relative_margin) = match value {
            Value::NotReached => (Verdict::NotReached, None, MISSED),
            Value::Word(w) if limit.allowed.contains(&w) => (Verdict::Within, None, f64::INFINITY),
            Value::Word(OutcomeWord::Doubtful) => (Verdict::Outside, None, DOUBTFUL),
            Value::Word(_) => (Verdict::Outside, None, MISSED),
            Value::Number(v) => {
                let margin = limit.margin(v);
                let verdict = if margin >= 0.0 { Verdict::Within } else { Verdict::Outside };
                (verdict, Some(margin), (margin / limit.unit_margin()).max(FARTHEST))
            }
        };
        let in_band = match (value, limit.band_pct) {
            (Value::Number(v), Some(band)) => [limit.min, limit.max]
                .into_iter()
                .flatten()
                .any(|edge| (v - edge).abs() <= edge.abs() * band / 100.0),
            _ => false,
        };
        Self { limit: limit.clone(), value, verdict, margin, relative_margin, in_band }
    }

    /// Within its limit.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.verdict == Verdict::Within
    }

    /// What a watcher sees if it does not hold.
    #[must_use]
    pub fn seen(&self) -> &'static str {
        let Some(m) = metric(&self.limit.outcome) else { return "" };
        match self.value {
            Value::NotReached => m.seen_missing,
            Value::Number(v) if self.limit.min.is_some_and(|min| v < min) => m.seen_below,
            _ => m.seen_above,
        }
    }
}

/// How a trial compares with all its limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TrialVerdict {
    /// Within all of them.
    Within,
    /// Outside at least one.
    Outside,
    /// The scenario has none.
    NoLimits,
}

impl TrialVerdict {
    /// The word in reports.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Within => Verdict::Within.as_str(),
            Self::Outside => Verdict::Outside.as_str(),
            Self::NoLimits => "no limits",
        }
    }
}

/// A trial with its outcomes and verdicts.
#[derive(Debug, Clone)]
pub struct Assessment {
    /// Outcomes.
    pub outcomes: Outcomes,
    /// One per limit of the scenario.
    pub limits: Vec<LimitVerdict>,
    /// Energy balance of the worst integration.
    pub energy_residual: f64,
}

impl Assessment {
    /// Runs a trial and compares its outcomes with the scenario's limits.
    ///
    /// # Errors
    /// As [`Trial::run`]; a limit on an outcome that this activity does not have.
    pub fn of(trial: &Trial) -> Result<Self, SimError> {
        let motion = trial.run()?;
        Self::of_motion(trial, &motion)
    }

    /// The same for a motion that has already run.
    ///
    /// # Errors
    /// A limit on an outcome that this activity does not have.
    pub fn of_motion(trial: &Trial, motion: &crate::motion::Motion) -> Result<Self, SimError> {
        Self::of_outcomes(trial, Outcomes::of(motion), motion.energy_residual())
    }

    /// The same from outcomes that have been measured; those of the scenario's limits must be among them.
    ///
    /// # Errors
    /// A limit on an outcome that is not among them.
    pub fn of_outcomes(trial: &Trial, outcomes: Outcomes, energy_residual: f64) -> Result<Self, SimError> {
        let limits = trial
            .scenario
            .limits
            .iter()
            .map(|limit| match outcomes.get(&limit.outcome) {
                Some(value) => Ok(LimitVerdict::of(limit, value)),
                None => Err(SimError::Inconsistent {
                    field: format!("limits: {}", limit.outcome),
                    why: format!("scenario '{}' has no such outcome", trial.scenario.name),
                }),
            })
            .collect::<Result<_, _>>()?;
        Ok(Self { outcomes, limits, energy_residual })
    }

    /// The same without the outcomes that no limit is about: for scans.
    ///
    /// # Errors
    /// As [`Assessment::of`].
    pub fn of_limits(trial: &Trial) -> Result<Self, SimError> {
        let motion = trial.run()?;
        let outcomes = Outcomes::limited(&motion, &trial.scenario.limits);
        Self::of_outcomes(trial, outcomes, motion.energy_residual())
    }

    /// Every limit that is not a warning holds.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.binding().all(LimitVerdict::holds)
    }

    /// Whether all limits hold.
    #[must_use]
    pub fn verdict(&self) -> TrialVerdict {
        match (self.binding().next(), self.holds()) {
            (None, _) => TrialVerdict::NoLimits,
            (Some(_), true) => TrialVerdict::Within,
            (Some(_), false) => TrialVerdict::Outside,
        }
    }

    /// The limit with the least relative margin.
    #[must_use]
    pub fn limiting(&self) -> Option<&LimitVerdict> {
        self.binding().min_by(|a, b| a.relative_margin.total_cmp(&b.relative_margin))
    }

    /// Least relative margin over the limits that bind.
    #[must_use]
    pub fn worst_margin(&self) -> f64 {
        self.limiting().map_or(f64::INFINITY, |l| l.relative_margin)
    }

    /// Limits that are not warnings.
    pub fn binding(&self) -> impl Iterator<Item = &LimitVerdict> {
        self.limits.iter().filter(|l| l.limit.severity == Severity::Limit)
    }
}
