//! Recheck: what a new shoe, foot, weight, oil temperature, spring or any other input changes, and what must
//! be checked again. Every scenario runs before and after the change.
//!
//! Order of seriousness, common practice of the trade: first what can make a person fall, checked where a
//! fall can be caught. Standing (between bars, nothing moves yet), then whether the joint takes the weight
//! (stumble, landing), then the swing, then tasks with a hand on a rail or an arm rest: chair, ramp, stairs.

mod report;

use rayon::prelude::*;

use super::Tick;
use super::margin_change::{ChangeKind, MarginChange};
use crate::case::setup::Setup;
use crate::case::variant::Variant;
use crate::error::SimError;
use crate::motion::trial::Detail;
use crate::numerics::tolerances::Tolerances;
use crate::outcome::{Assessment, Metric, Value};
use crate::scenario::{ActivityKind, Scenario};

/// What has to be checked again, in the order of seriousness.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ReviewArea {
    /// Standing.
    Standing,
    /// Landing and stumble.
    Landing,
    /// Swing.
    Walking,
    /// Chair.
    Chair,
    /// Ramp.
    Ramp,
    /// Stairs.
    Stairs,
}

impl ReviewArea {
    /// All of them, in order.
    pub const ALL: [Self; 6] =
        [Self::Standing, Self::Landing, Self::Walking, Self::Chair, Self::Ramp, Self::Stairs];

    /// The area of an outcome of an activity.
    #[must_use]
    pub fn of_outcome(kind: ActivityKind, metric: &Metric) -> Self {
        match kind {
            ActivityKind::Walk if metric.by_landing => Self::Landing,
            _ => Self::of_activity(kind),
        }
    }

    /// The area of an activity as a whole.
    #[must_use]
    pub fn of_activity(kind: ActivityKind) -> Self {
        match kind {
            ActivityKind::Stand => Self::Standing,
            ActivityKind::Stumble => Self::Landing,
            ActivityKind::Walk => Self::Walking,
            ActivityKind::Sit => Self::Chair,
            ActivityKind::Ramp => Self::Ramp,
            ActivityKind::Stairs => Self::Stairs,
        }
    }

    /// Name in reports.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Standing => "standing",
            Self::Landing => "landing and stumble",
            Self::Walking => "walking",
            Self::Chair => "chair",
            Self::Ramp => "ramp",
            Self::Stairs => "stairs",
        }
    }
}

/// A change to check.
#[derive(Debug)]
pub struct RecheckStudy {
    /// Set-up before the change.
    pub base: Setup,
    /// The change.
    pub variant: Variant,
    /// Scenarios to run.
    pub scenarios: Vec<Scenario>,
    /// Share of a margin from which a change is reported though the verdict stays.
    pub share: f64,
}

/// All scenarios before and after a change.
#[derive(Debug)]
pub struct Recheck {
    /// The set-up before the change, in words.
    pub before_in_words: String,
    /// The change.
    pub variant: Variant,
    /// Share of a margin from which a change is reported.
    pub share: f64,
    /// One per scenario.
    pub scenarios: Vec<RecheckedScenario>,
}

/// One scenario.
#[derive(Debug)]
pub struct RecheckedScenario {
    /// The scenario.
    pub scenario: Scenario,
    /// Before, or why it cannot run.
    pub before: Result<Assessment, SimError>,
    /// After, or why it cannot run.
    pub after: Result<Assessment, SimError>,
    /// With each change on its own, where there are several.
    pub alone: Vec<Result<Assessment, SimError>>,
}

impl RecheckStudy {
    /// The set-up before, the set-up after and, where there are several changes, each change on its own.
    fn variants(&self) -> Vec<Variant> {
        let mut variants = vec![Variant::default(), self.variant.clone()];
        if self.variant.changes.len() > 1 {
            variants.extend(self.variant.one_by_one());
        }
        variants
    }

    /// Steps of progress.
    #[must_use]
    pub fn steps(&self) -> u64 {
        (self.scenarios.len() * self.variants().len()) as u64
    }

    /// Runs every scenario with every variant.
    ///
    /// # Errors
    /// Nothing is changed; a change that is wrong in itself. A scenario that cannot run or be
    /// computed is reported in its place.
    pub fn run(self, tick: Tick) -> Result<Recheck, SimError> {
        if self.variant.changes.is_empty() {
            return Err(SimError::Usage("nothing is changed: give KEY=VALUE".into()));
        }
        let resolved = self.base.resolve()?;
        let before_in_words =
            format!("Before: {}; {}.", self.base.models_in_words(&resolved), resolved.settings_in_words());
        let variants = self.variants();
        let pairs: Vec<(&Scenario, &Variant)> =
            self.scenarios.iter().flat_map(|s| variants.iter().map(move |v| (s, v))).collect();
        let mut runs = pairs
            .into_par_iter()
            .map(|(scenario, variant)| {
                let case = variant.case(&self.base, scenario)?;
                let assessment = case.assess(Detail::default(), Tolerances::default());
                tick();
                SimError::finding(assessment)
            })
            .collect::<Result<Vec<_>, SimError>>()?
            .into_iter();
        let mut next = || runs.next().unwrap_or_else(|| Err(SimError::CannotRun("it was not run".into())));
        let scenarios = self
            .scenarios
            .into_iter()
            .map(|scenario| RecheckedScenario {
                scenario,
                before: next(),
                after: next(),
                alone: (2..variants.len()).map(|_| next()).collect(),
            })
            .collect();
        Ok(Recheck { before_in_words, variant: self.variant, share: self.share, scenarios })
    }
}

/// A limit whose margin changed.
#[derive(Debug)]
pub struct ReviewItem<'a> {
    /// Scenario.
    pub scenario: &'a RecheckedScenario,
    /// Where it has to be checked.
    pub area: ReviewArea,
    /// What happened to the limit.
    pub kind: ChangeKind,
    /// Before and after.
    pub change: MarginChange,
}

impl Recheck {
    /// Limits that changed: those with another verdict first, then in order of seriousness, then by the
    /// margin lost.
    #[must_use]
    pub fn items(&self) -> Vec<ReviewItem<'_>> {
        let mut items: Vec<ReviewItem> = self
            .scenarios
            .iter()
            .filter_map(|s| Some((s, s.before.as_ref().ok()?, s.after.as_ref().ok()?)))
            .flat_map(|(scenario, before, after)| {
                let activity = scenario.scenario.activity.kind();
                MarginChange::all(before, after).into_iter().map(move |change| ReviewItem {
                    scenario,
                    area: ReviewArea::of_outcome(activity, change.metric),
                    kind: change.kind(self.share),
                    change,
                })
            })
            .filter(|i| i.kind != ChangeKind::Unchanged)
            .collect();
        let rank = |i: &ReviewItem| (!i.kind.verdict_changed(), !i.kind.needs_review(), i.area);
        items.sort_by(|a, b| rank(a).cmp(&rank(b)).then(b.change.loss().total_cmp(&a.change.loss())));
        items
    }

    /// Scenarios without a result after the change, with the reason: those that ran before, and those of which the
    /// integrator gave up, since nothing is known of them.
    pub fn without_result(&self) -> impl Iterator<Item = (&RecheckedScenario, ReviewArea, &SimError)> {
        self.scenarios.iter().filter_map(|s| match (&s.before, &s.after) {
            (before, Err(e)) if before.is_ok() || !e.cannot_run() => {
                Some((s, ReviewArea::of_activity(s.scenario.activity.kind()), e))
            }
            _ => None,
        })
    }

    /// Nothing could be run.
    #[must_use]
    pub fn nothing_ran(&self) -> bool {
        self.scenarios.iter().all(|s| s.before.is_err() && s.after.is_err())
    }
}

impl ReviewItem<'_> {
    /// The outcome with the `k`-th change alone.
    fn alone(&self, k: usize) -> Option<Value> {
        self.scenario.alone.get(k)?.as_ref().ok()?.outcomes.get(self.change.metric.key)
    }

    /// Share of the margin in words.
    fn share_in_words(&self) -> String {
        match self.change.share() {
            Some(s) if s.abs() < 10.0 => format!("{:.0} %", 100.0 * s),
            Some(_) => "more than ten times".into(),
            None => String::new(),
        }
    }
}
