//! What a change moved and what must be looked at again: every scenario before and after a new shoe,
//! foot, weight, oil temperature, spring or any other input.
//!
//! Order of seriousness, common practice of the trade: what can make a person fall comes first, and is
//! looked at where a fall can be caught. Standing (between bars, nothing moves yet), then whether the joint
//! takes the weight (stumble, landing), then the swing, then what is done with a hand on a rail or an arm
//! rest: chair, ramp, stairs.

mod report;

use rayon::prelude::*;

use super::Tick;
use super::margin_change::{Fate, Moved};
use crate::case::setup::Setup;
use crate::case::variant::Variant;
use crate::error::SimError;
use crate::motion::trial::Detail;
use crate::numerics::tolerances::Tolerances;
use crate::outcome::{Assessment, Metric, Value};
use crate::scenario::{ActivityKind, Scenario};

/// What was looked at again, in the order of seriousness.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Look {
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

impl Look {
    /// All of them, in order.
    pub const ALL: [Self; 6] =
        [Self::Standing, Self::Landing, Self::Walking, Self::Chair, Self::Ramp, Self::Stairs];

    /// What an outcome of an activity belongs to.
    #[must_use]
    pub fn of(kind: ActivityKind, metric: &Metric) -> Self {
        match kind {
            ActivityKind::Walk if metric.by_landing => Self::Landing,
            _ => Self::of_all(kind),
        }
    }

    /// What an activity belongs to as a whole.
    #[must_use]
    pub fn of_all(kind: ActivityKind) -> Self {
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

/// All scenarios before and after a change.
#[derive(Debug)]
pub struct Recheck {
    /// What it was before, in words.
    pub before_said: String,
    /// What was changed.
    pub variant: Variant,
    /// Share of a margin from which a move is told.
    pub share: f64,
    /// One per scenario.
    pub scenes: Vec<Scene>,
}

/// One scenario.
#[derive(Debug)]
pub struct Scene {
    /// The scenario.
    pub scenario: Scenario,
    /// Before, or why it cannot run.
    pub before: Result<Assessment, SimError>,
    /// After, or why it cannot run.
    pub after: Result<Assessment, SimError>,
    /// With each change on its own, where there are several.
    pub alone: Vec<Result<Assessment, SimError>>,
}

/// Runs every scenario before and after the change; with several changes also with each on its own.
///
/// # Errors
/// Nothing is changed; a change that is wrong in itself. A scenario that cannot run is reported in its
/// place; any other failure of a run is an error.
pub fn recheck(
    base: &Setup,
    variant: Variant,
    scenarios: Vec<Scenario>,
    share: f64,
    tick: Tick,
) -> Result<Recheck, SimError> {
    if variant.changes.is_empty() {
        return Err(SimError::Usage("nothing is changed: give KEY=VALUE".into()));
    }
    let resolved = base.resolve()?;
    let before_said = format!("Before: {}; {}.", base.said_models(&resolved), resolved.said_settings());
    let mut variants = vec![Variant::default(), variant.clone()];
    if variant.changes.len() > 1 {
        variants.extend(variant.one_by_one());
    }
    let pairs: Vec<(&Scenario, &Variant)> =
        scenarios.iter().flat_map(|s| variants.iter().map(move |v| (s, v))).collect();
    let mut runs = pairs
        .into_par_iter()
        .map(|(scenario, variant)| {
            let found = variant.case(base, scenario)?.assess(Detail::default(), Tolerances::default());
            tick();
            SimError::finding(found)
        })
        .collect::<Result<Vec<_>, SimError>>()?
        .into_iter();
    let mut next = || runs.next().unwrap_or_else(|| Err(SimError::CannotRun("it was not run".into())));
    let scenes = scenarios
        .into_iter()
        .map(|scenario| Scene {
            scenario,
            before: next(),
            after: next(),
            alone: (2..variants.len()).map(|_| next()).collect(),
        })
        .collect();
    Ok(Recheck { before_said, variant, share, scenes })
}

/// Steps that [`recheck`] ticks.
#[must_use]
pub fn steps(variant: &Variant, scenarios: usize) -> usize {
    let alone = if variant.changes.len() > 1 { variant.changes.len() } else { 0 };
    scenarios * (2 + alone)
}

/// A limit that moved, with where it belongs.
#[derive(Debug)]
pub struct Item<'a> {
    /// Scenario.
    pub scene: &'a Scene,
    /// What to look at.
    pub look: Look,
    /// How it fared.
    pub fate: Fate,
    /// Before and after.
    pub moved: Moved,
}

impl Recheck {
    /// Limits that moved, what changed its verdict first, then in order of seriousness, then by what
    /// was lost.
    #[must_use]
    pub fn items(&self) -> Vec<Item<'_>> {
        let mut items: Vec<Item> = self
            .scenes
            .iter()
            .filter_map(|scene| Some((scene, scene.before.as_ref().ok()?, scene.after.as_ref().ok()?)))
            .flat_map(|(scene, before, after)| {
                Moved::all(before, after).into_iter().map(move |moved| Item {
                    scene,
                    look: Look::of(scene.scenario.activity.kind(), moved.metric),
                    fate: moved.fate(self.share),
                    moved,
                })
            })
            .filter(|i| i.fate != Fate::Still)
            .collect();
        let rank = |i: &Item| (!i.fate.verdict_changed(), !i.fate.asks_for_a_look(), i.look);
        items.sort_by(|a, b| rank(a).cmp(&rank(b)).then(b.moved.loss().total_cmp(&a.moved.loss())));
        items
    }

    /// Scenarios that ran before and cannot be run or followed now, with why.
    pub fn stopped(&self) -> impl Iterator<Item = (&Scene, Look, &SimError)> {
        self.scenes.iter().filter_map(|s| match (&s.before, &s.after) {
            (Ok(_), Err(e)) => Some((s, Look::of_all(s.scenario.activity.kind()), e)),
            _ => None,
        })
    }

    /// Nothing could be run.
    #[must_use]
    pub fn nothing_ran(&self) -> bool {
        self.scenes.iter().all(|s| s.before.is_err() && s.after.is_err())
    }
}

impl Item<'_> {
    /// The outcome with the `k`-th change alone.
    fn alone(&self, k: usize) -> Option<Value> {
        self.scene.alone.get(k)?.as_ref().ok()?.outcomes.get(self.moved.metric.key)
    }

    /// Share of the margin in words.
    fn used(&self) -> String {
        match self.moved.share() {
            Some(s) if s.abs() < 10.0 => format!("{:.0} %", 100.0 * s),
            Some(_) => "more than ten times".into(),
            None => String::new(),
        }
    }
}
