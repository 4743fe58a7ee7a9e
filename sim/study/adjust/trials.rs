//! Trials as a session counts them: one run of one scenario at one position of the settings, its result, and
//! whether it was unsafe. A trial made before is taken from the cache and does not count again.

use std::collections::BTreeMap;

use crate::case::setup::Setup;
use crate::error::SimError;
use crate::joint::{SettingName, Settings};
use crate::motion::trial::{Detail, Trial};
use crate::numerics::tolerances::Tolerances;
use crate::outcome::many::measure_each;
use crate::outcome::{Assessment, LimitVerdict, MISSED, OutcomeWord, Outcomes, Value, detail_for_limits};
use crate::scenario::Scenario;
use crate::units::{Setting, percent};

/// Seat speed from which sitting down is a drop, m/s: the limit of the shipped scenario. \[J\]
const DROP_M_PER_S: f64 = 0.6;
/// Micro-percent in one percent: positions are compared exactly.
const MICRO: f64 = 1e6;

/// Position of the settings that the knee has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Position([Option<i64>; 4]);

impl Position {
    /// From settings that are resolved.
    #[must_use]
    pub fn of(settings: &Settings) -> Self {
        #[allow(clippy::cast_possible_truncation)] // at most 1e8
        Self(SettingName::ALL.map(|n| settings.get(n).map(|s| (s.pct() * MICRO).round() as i64)))
    }

    /// As settings.
    #[must_use]
    pub fn settings(self) -> Settings {
        let mut settings = Settings::default();
        for name in SettingName::ALL {
            if let Some(pct) = self.pct(name) {
                settings.set(name, Setting::clamped(pct / 100.0));
            }
        }
        settings
    }

    /// Percent of the range; none for a setting that the knee does not have.
    #[must_use]
    #[allow(clippy::cast_precision_loss)] // at most 1e8
    pub fn pct(self, name: SettingName) -> Option<f64> {
        self.0[name as usize].map(|micro| micro as f64 / MICRO)
    }

    /// One setting in micro-percent.
    pub(super) fn micro(self, name: SettingName) -> Option<i64> {
        self.0[name as usize]
    }

    /// One setting moved, at most to the end of its range; none if it stays where it is.
    #[must_use]
    pub fn moved(self, name: SettingName, by_pct: f64) -> Option<Self> {
        let to = (self.pct(name)? + by_pct).clamp(0.0, 100.0);
        let mut next = self;
        #[allow(clippy::cast_possible_truncation)] // at most 1e8
        {
            next.0[name as usize] = Some((to * MICRO).round() as i64);
        }
        (next != self).then_some(next)
    }
}

impl std::fmt::Display for Position {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let settings: Vec<String> = SettingName::ALL
            .into_iter()
            .filter_map(|n| self.pct(n).map(|p| format!("{n} {}", percent(p))))
            .collect();
        f.write_str(&settings.join(", "))
    }
}

/// Why a trial is unsafe.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Danger {
    /// The knee gives way on landing, stumble, ramp or stairs: a fall, unless somebody catches the person.
    GivesWay,
    /// A landing or stumble at whose end the knee is still bending, or was bent beyond 45°: nobody could
    /// tell whether it will hold. The shipped stumble allows it; it is counted all the same.
    Doubtful,
    /// The seat is reached faster than 0.6 m/s \[J\]: a drop.
    Drop,
    /// The stance valve never closes half-way after a landing or stumble, or is open for more than half
    /// of sitting down: nothing but the swing resistance would hold the knee.
    NoSupport,
}

impl Danger {
    /// All kinds, the gravest first.
    pub const ALL: [Self; 4] = [Self::GivesWay, Self::Doubtful, Self::Drop, Self::NoSupport];

    /// The words in reports.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::GivesWay => "gives way",
            Self::Doubtful => "landing or stumble doubtful",
            Self::Drop => "drops into the chair",
            Self::NoSupport => "the valve never supports",
        }
    }

    /// The gravest danger of a trial, if it was unsafe.
    #[must_use]
    pub fn of(outcomes: &Outcomes) -> Option<Self> {
        let word = |key: &str| outcomes.get(key).and_then(Value::as_word);
        let fate = word("landing").or_else(|| word("what_happens"));
        if fate == Some(OutcomeWord::GivesWay) {
            Some(Self::GivesWay)
        } else if fate == Some(OutcomeWord::Doubtful) {
            Some(Self::Doubtful)
        } else if outcomes.number("seat_speed_m_per_s").is_some_and(|v| v > DROP_M_PER_S) {
            Some(Self::Drop)
        } else if (fate.is_some() && outcomes.get("support_after_ms") == Some(Value::NotReached))
            || word("supported") == Some(OutcomeWord::No)
        {
            Some(Self::NoSupport)
        } else {
            None
        }
    }
}

/// Result of a trial.
#[derive(Debug, Clone)]
pub struct TrialResult {
    /// Outcomes and verdicts; or why the trial could not be followed.
    pub assessment: Result<Assessment, SimError>,
    /// Why it was unsafe, if it was.
    pub danger: Option<Danger>,
}

impl TrialResult {
    /// Every limit of the scenario.
    pub(super) fn all(&self) -> impl Iterator<Item = &LimitVerdict> {
        self.assessment.iter().flat_map(|a| &a.limits)
    }

    /// Limits that bind.
    pub fn binding(&self) -> impl Iterator<Item = &LimitVerdict> {
        self.assessment.iter().flat_map(Assessment::binding)
    }

    /// Least margin over the limits that bind; [`MISSED`] if the trial could not be followed.
    #[must_use]
    pub fn worst(&self) -> f64 {
        if self.assessment.is_err() {
            return MISSED;
        }
        self.binding().map(|l| l.relative_margin).fold(f64::INFINITY, f64::min)
    }

    /// Sum of the margins below zero.
    #[must_use]
    pub(super) fn shortfall(&self) -> f64 {
        if self.assessment.is_err() {
            MISSED
        } else {
            self.binding().map(|l| l.relative_margin.min(0.0)).sum()
        }
    }

    /// The limit with the least margin.
    #[must_use]
    pub fn closest(&self) -> Option<&LimitVerdict> {
        self.assessment.as_ref().ok()?.limiting()
    }
}

/// Runs a scenario at a position, with no more detail than the limits need.
///
/// # Errors
/// A set-up that is wrong in itself. A scenario that cannot run or be computed there is a result.
pub(super) fn run_trial(setup: &Setup, scenario: &Scenario, at: Position) -> Result<TrialResult, SimError> {
    let moved = Setup { settings: at.settings(), ..setup.paced_for(scenario) };
    assess(moved.trial(scenario)?)
}

/// Runs a trial, with no more detail than the limits of its scenario need.
///
/// # Errors
/// A set-up that is wrong in itself. A scenario that cannot run or be computed is a result.
pub fn assess(trial: Trial) -> Result<TrialResult, SimError> {
    Ok(assess_each(vec![trial])?.remove(0))
}

/// The same with several trials, side by side.
///
/// # Errors
/// As [`assess`].
pub fn assess_each(mut trials: Vec<Trial>) -> Result<Vec<TrialResult>, SimError> {
    for trial in &mut trials {
        trial.tolerances = Tolerances::scan();
        // the landing is kept even where no limit is about it: it can be unsafe
        let hip_band = detail_for_limits(&trial.scenario.limits).hip_band;
        trial.detail = Detail { hip_band, without_hip: false, ..Detail::default() };
    }
    let judged = measure_each(&trials, &[], |trial, motion| {
        let assessment = motion.and_then(|motion| Assessment::of_motion(trial, &motion));
        let assessment = SimError::finding(assessment)?;
        let danger = assessment.as_ref().ok().and_then(|a| Danger::of(&a.outcomes));
        Ok(TrialResult { assessment, danger })
    });
    judged.into_iter().collect()
}

/// Every trial made in a session, and the counts.
pub(super) struct TrialCache<'a> {
    pub setup: &'a Setup,
    pub scenarios: &'a [Scenario],
    pub trials: usize,
    pub unsafe_by: BTreeMap<Danger, usize>,
    max_trials: usize,
    results: BTreeMap<(Position, usize), TrialResult>,
    tick: &'a (dyn Fn() + Sync),
}

impl<'a> TrialCache<'a> {
    pub fn new(
        setup: &'a Setup,
        scenarios: &'a [Scenario],
        max_trials: usize,
        tick: &'a (dyn Fn() + Sync),
    ) -> Self {
        let (unsafe_by, results) = (BTreeMap::new(), BTreeMap::new());
        Self { setup, scenarios, trials: 0, unsafe_by, max_trials, results, tick }
    }

    /// The result of a scenario at a position; none if no trial is left.
    pub fn run(&mut self, at: Position, scenario: usize) -> Result<Option<&TrialResult>, SimError> {
        if !self.results.contains_key(&(at, scenario)) {
            if self.trials >= self.max_trials {
                return Ok(None);
            }
            let result = run_trial(self.setup, &self.scenarios[scenario], at)?;
            self.trials += 1;
            (self.tick)();
            if let Some(danger) = result.danger {
                *self.unsafe_by.entry(danger).or_default() += 1;
            }
            self.results.insert((at, scenario), result);
        }
        Ok(self.results.get(&(at, scenario)))
    }

    /// The result if this trial has been made already.
    pub fn known(&self, at: Position, scenario: usize) -> Option<&TrialResult> {
        self.results.get(&(at, scenario))
    }

    pub fn unsafe_trials(&self) -> usize {
        self.unsafe_by.values().sum()
    }
}
