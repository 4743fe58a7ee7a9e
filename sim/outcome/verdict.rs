//! Outcomes against limits: verdict and margin for each limit, and the limit with the least margin.

use super::{Metric, Outcomes, Value, metric};
use crate::error::SimError;
use crate::motion::{Motion, Trial};
use crate::scenario::{Limit, OutcomeWord, Severity};

/// How an outcome compares with its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Within.
    Within,
    /// Neither: a word that is doubtful, a knee that gives way somewhere in the band over the hip moment, a late full
    /// extension of a knee that is nearly straight.
    Doubtful,
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
            Self::Doubtful => "doubtful",
            Self::Outside => "outside",
            Self::NotReached => "not reached",
        }
    }

    /// The mark beside the word.
    #[must_use]
    pub fn mark(self) -> char {
        match self {
            Self::Within => '✓',
            Self::Doubtful => '?',
            Self::Outside | Self::NotReached => '✗',
        }
    }
}

/// Relative margin of an outcome that is not reached, of a word that is not allowed, of a scenario that
/// cannot run: worse than any number, so that "never straight" is not better than "straight too late". \[J\]
pub const MISSED: f64 = -10.0;
/// Numbers further out than this are not told apart: the latest that a walking trial can time (15 % of a
/// stride after heel contact) is about −9 for a limit of 20 ms. \[J\]
const FARTHEST: f64 = -9.5;
/// A landing or stumble that is doubtful: half-way to giving way. \[J\]
const DOUBTFUL: f64 = -5.0;
/// One that holds at the hip moment used but gives way at an end of its band: half of that. \[J\]
const DOUBTFUL_IN_BAND: f64 = -2.5;

/// A relative margin that measures a distance; none where it stands for a word that is not allowed or doubtful, for what
/// is not reached, or for all that lies further out than is told apart.
#[must_use]
pub fn measured_margin(relative: f64) -> Option<f64> {
    let code = relative <= FARTHEST || relative == DOUBTFUL || relative == DOUBTFUL_IN_BAND;
    Some(relative).filter(|m| m.is_finite() && !code)
}

/// A limit that is missed is never at its edge: a margin of 0 is within.
const LEAST_MISS: f64 = 1e-9;
/// Friction that is asked of floors (from memory) \[J\]; where more is needed, the foot may slip.
pub(super) const MOST_FRICTION: f64 = 0.5;
/// A landing bent by more than this is worth a note if the knee was straight before: the shipped limit of flexion at heel
/// contact. \[J\]
const NOTED_LANDING_DEG: f64 = 5.0;

/// An outcome with those that are judged beside it ([`Metric::beside`](super::Metric)).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// The outcome.
    pub value: Value,
    /// Those beside it; none where it has none.
    pub beside: [Option<Value>; 3],
}

impl From<Value> for Reading {
    fn from(value: Value) -> Self {
        Self { value, beside: [None; 3] }
    }
}

impl Reading {
    /// Reads an outcome and those beside it.
    #[must_use]
    pub fn with(metric: &Metric, read: impl Fn(&'static str) -> Option<Value>) -> Self {
        let mut reading = Self::from(read(metric.key).unwrap_or(Value::NotReached));
        for (value, key) in reading.beside.iter_mut().zip(metric.beside) {
            *value = read(key);
        }
        reading
    }

    /// Reads them from a motion.
    #[must_use]
    pub fn of(metric: &Metric, motion: &Motion) -> Self {
        Self::with(metric, |key| super::metric(key).map(|m| m.read(motion)))
    }

    /// The knee gives way at an end of the band over the hip moment, or the foot would slip.
    fn is_doubted(&self) -> bool {
        self.beside.iter().flatten().any(|v| match v {
            Value::Word(w) => *w == OutcomeWord::GivesWay,
            Value::Number(friction) => *friction > MOST_FRICTION,
            Value::NotReached => false,
        })
    }
}

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
    /// Margin in units of the limit's own scale, for comparing limits, below 0 exactly if the limit is not within: 0 at
    /// the edge, at least −9.5, and at least
    /// −1 per `beside_max` of the outcome beside it. An outcome that is not reached and a word that is not allowed
    /// count [`MISSED`], a doubtful landing half of it, one that is doubtful in its band a quarter; another allowed word
    /// does not limit (infinite).
    pub relative_margin: f64,
    /// The value lies within the uncertainty band of a judged edge.
    pub in_band: bool,
}

impl LimitVerdict {
    /// Compares `value` with `limit`.
    #[must_use]
    pub fn of(limit: &Limit, reading: impl Into<Reading>) -> Self {
        let reading = reading.into();
        let value = reading.value;
        // how far the outcome beside it is up its own limit
        let [beside, ..] = reading.beside;
        let share = beside.and_then(Value::as_number).zip(limit.beside_max).map(|(v, most)| v / most);
        let missed = |verdict, relative: f64| match share {
            Some(share) if share <= 1.0 => (Verdict::Doubtful, relative.max(-share.max(LEAST_MISS))),
            Some(share) => (verdict, relative.max(-share)),
            None => (verdict, relative),
        };
        let (verdict, relative_margin) = match value {
            Value::NotReached => missed(Verdict::NotReached, MISSED),
            Value::Word(OutcomeWord::Doubtful) => (Verdict::Doubtful, DOUBTFUL),
            Value::Word(w) if !limit.allowed.contains(&w) => (Verdict::Outside, MISSED),
            Value::Word(_) if reading.is_doubted() => (Verdict::Doubtful, DOUBTFUL_IN_BAND),
            Value::Word(_) => (Verdict::Within, f64::INFINITY),
            Value::Number(v) => {
                let relative = (limit.margin(v) / limit.unit_margin()).max(FARTHEST);
                if relative >= 0.0 { (Verdict::Within, relative) } else { missed(Verdict::Outside, relative) }
            }
        };
        let margin = value.as_number().map(|v| limit.margin(v));
        let in_band = match (value, limit.band_pct) {
            (Value::Number(v), Some(band)) => [limit.min, limit.max]
                .into_iter()
                .flatten()
                .any(|edge| (v - edge).abs() <= edge.abs() * band / 100.0),
            _ => false,
        };
        Self { limit: limit.clone(), value, verdict, margin, relative_margin, in_band }
    }

    fn is_binding(&self) -> bool {
        self.limit.severity == Severity::Limit
    }

    /// Within its limit.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.verdict == Verdict::Within
    }

    /// The knee does as it should at the hip moment used, and gives way at an end of its band.
    #[must_use]
    pub fn depends_on_hip(&self) -> bool {
        let said = |w| w == OutcomeWord::Doubtful || !self.limit.allowed.contains(&w);
        self.verdict == Verdict::Doubtful && self.value.as_word().is_some_and(|w| !said(w))
    }

    /// The verdict in words: a target is met or not met, and a warning breaks nothing.
    #[must_use]
    pub fn in_words(&self) -> &'static str {
        match (self.verdict, self.limit.severity) {
            (Verdict::Within, Severity::Target) => "target met",
            (_, Severity::Target) => "target not met",
            (Verdict::Within, Severity::Warning) => Verdict::Within.as_str(),
            (_, Severity::Warning) => "warning",
            (verdict, Severity::Limit) => verdict.as_str(),
        }
    }

    /// The mark beside the words; none for targets and warnings, which no verdict counts.
    #[must_use]
    pub fn mark(&self) -> Option<char> {
        self.is_binding().then(|| self.verdict.mark())
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

/// How a trial compares with all its limits; the worse is the greater.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum TrialVerdict {
    /// The scenario has none.
    NoLimits,
    /// Within all of them.
    Within,
    /// Outside none, and doubtful in at least one.
    Doubtful,
    /// Outside at least one.
    Outside,
}

impl TrialVerdict {
    /// The worst of the verdicts on single limits.
    #[must_use]
    pub fn worst<'a>(limits: impl Iterator<Item = &'a LimitVerdict>) -> Self {
        let one = |l: &LimitVerdict| match l.verdict {
            Verdict::Within => Self::Within,
            Verdict::Doubtful => Self::Doubtful,
            Verdict::Outside | Verdict::NotReached => Self::Outside,
        };
        limits.map(one).max().unwrap_or(Self::NoLimits)
    }

    /// The word in reports.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Within => Verdict::Within.as_str(),
            Self::Doubtful => Verdict::Doubtful.as_str(),
            Self::Outside => Verdict::Outside.as_str(),
            Self::NoLimits => "no limits",
        }
    }

    /// The mark beside the word; a space without limits.
    #[must_use]
    pub fn mark(self) -> char {
        match self {
            Self::Within => Verdict::Within.mark(),
            Self::Doubtful => Verdict::Doubtful.mark(),
            Self::Outside => Verdict::Outside.mark(),
            Self::NoLimits => ' ',
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
            .map(|limit| match (metric(&limit.outcome), outcomes.get(&limit.outcome)) {
                (Some(m), Some(_)) => Ok(LimitVerdict::of(limit, Reading::with(m, |key| outcomes.get(key)))),
                _ => Err(SimError::Inconsistent {
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

    /// Remarks for the reader: those of the motion, and why a knee that was straight in time may land bent.
    #[must_use]
    pub fn notes(&self, motion: &Motion) -> Vec<String> {
        let number = |key: &str| self.outcomes.number(key);
        let early = number("extension_margin_ms").is_some_and(|ms| ms > 0.0);
        let bent = number("landing_max_flexion_deg").is_some_and(|deg| deg > NOTED_LANDING_DEG);
        let why = "landing: the hip is prescribed, as a motion up to heel contact and as a moment from there, and cannot \
                   hold the knee straight as a person would: a knee that is straight early can land worse than one that \
                   is straight late";
        let slips = number("friction_needed").filter(|f| *f > MOST_FRICTION).map(|f| {
            format!(
                "the foot may slip: it needs a friction of {f:.2} on the ground, and a floor is asked to give \
                 {MOST_FRICTION} [J]; what is seen after contact is doubtful"
            )
        });
        motion.notes().into_iter().chain((bent && early).then(|| why.to_owned())).chain(slips).collect()
    }

    /// Whether a limit is about an outcome that is not reached, which another limit already says.
    #[must_use]
    pub fn said_elsewhere(&self, limit: &LimitVerdict) -> bool {
        limit.is_binding() && !self.binding().any(|l| std::ptr::eq(l, limit))
    }

    /// Every limit that is not a warning holds.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.binding().all(LimitVerdict::holds)
    }

    /// The worst of the verdicts.
    #[must_use]
    pub fn verdict(&self) -> TrialVerdict {
        TrialVerdict::worst(self.binding())
    }

    /// How many of the limits that bind are doubtful, and how many are broken.
    #[must_use]
    pub fn not_within(&self) -> [usize; 2] {
        let not = || self.binding().filter(|l| !l.holds());
        let doubtful = not().filter(|l| l.verdict == Verdict::Doubtful).count();
        [doubtful, not().count() - doubtful]
    }

    /// Limits that bind and held, and do not any more after a change: their verdicts after it.
    pub fn no_longer_within<'a>(&'a self, after: &'a Self) -> impl Iterator<Item = &'a LimitVerdict> {
        let now = |l: &LimitVerdict| after.binding().find(|a| a.limit == l.limit && !a.holds());
        self.binding().filter(|l| l.holds()).filter_map(now)
    }

    /// The limit with the least relative margin.
    #[must_use]
    pub fn limiting(&self) -> Option<&LimitVerdict> {
        self.by_severity().into_iter().next()
    }

    /// Limits that bind, the worst first: by margin, but a broken limit comes before one that is only doubtful, whatever
    /// that one's margin counts.
    #[must_use]
    pub fn by_severity(&self) -> Vec<&LimitVerdict> {
        let broken = self.verdict() == TrialVerdict::Outside;
        let doubtful = |l: &LimitVerdict| broken && l.verdict == Verdict::Doubtful;
        let mut limits: Vec<&LimitVerdict> = self.binding().collect();
        limits.sort_by(|a, b| {
            doubtful(a).cmp(&doubtful(b)).then(a.relative_margin.total_cmp(&b.relative_margin))
        });
        limits
    }

    /// Least relative margin over the limits that bind.
    #[must_use]
    pub fn worst_margin(&self) -> f64 {
        self.binding().map(|l| l.relative_margin).fold(f64::INFINITY, f64::min)
    }

    /// Limits that count, as [`binding`].
    pub fn binding(&self) -> impl Iterator<Item = &LimitVerdict> {
        binding(&self.limits)
    }

    /// Targets, which no verdict counts.
    pub fn targets(&self) -> impl Iterator<Item = &LimitVerdict> {
        self.limits.iter().filter(|l| l.limit.severity == Severity::Target)
    }
}

/// The limits of a trial that count: neither warnings nor targets. An outcome that is measured at full extension and
/// not reached does not count where full extension itself has a limit: that one says it. Nor does the flexion shortly
/// before heel contact where full extension is missed: that is one fault.
pub fn binding(limits: &[LimitVerdict]) -> impl Iterator<Item = &LimitVerdict> {
    let limited = |key: &str| limits.iter().any(|l| l.limit.outcome == key && l.is_binding());
    let broken = |key: &str| limits.iter().any(|l| l.limit.outcome == key && l.is_binding() && !l.holds());
    limits.iter().filter(move |l| {
        let Some(m) = metric(&l.limit.outcome) else { return l.is_binding() };
        let missed = l.verdict == Verdict::NotReached && m.missed_with.is_some_and(limited);
        let same = !l.holds() && m.same_fault_as.is_some_and(broken);
        l.is_binding() && !missed && !same
    })
}
