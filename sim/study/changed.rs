//! What a change moved and what must be looked at again: every scenario before and after a new shoe,
//! foot, weight, oil temperature, spring or any other input.
//!
//! Order of seriousness, common practice of the trade: what can make a person fall comes first, and is
//! looked at where a fall can be caught. Standing (between bars, nothing moves yet), then whether the joint
//! takes the weight (stumble, landing), then the swing, then what is done with a hand on a rail or an arm
//! rest: chair, ramp, stairs.

use rayon::prelude::*;

use super::moved::{Fate, Moved, said_list, unlimited};
use super::{Change, Setup, Tick, Variant};
use crate::error::SimError;
use crate::findings::{Cell, Findings, Table};
use crate::motion::Precision;
use crate::motion::trial::Detail;
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
            ActivityKind::Stand => Self::Standing,
            ActivityKind::Stumble => Self::Landing,
            ActivityKind::Walk if metric.by_landing => Self::Landing,
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
pub struct Changed {
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
pub fn changed(
    base: &Setup,
    variant: Variant,
    scenarios: Vec<Scenario>,
    share: f64,
    tick: Tick,
) -> Result<Changed, SimError> {
    if variant.changes.is_empty() {
        return Err(SimError::Usage("nothing is changed: give KEY=VALUE".into()));
    }
    let mut variants = vec![Variant::default(), variant.clone()];
    if variant.changes.len() > 1 {
        variants.extend(variant.one_by_one());
    }
    let pairs: Vec<(&Scenario, &Variant)> =
        scenarios.iter().flat_map(|s| variants.iter().map(move |v| (s, v))).collect();
    let mut runs = pairs
        .into_par_iter()
        .map(|(scenario, variant)| {
            let found = variant.case(base, scenario)?.assess(Detail::default(), Precision::default());
            tick();
            match found {
                Err(e @ (SimError::CannotRun(_) | SimError::FootLifts { .. })) => Ok(Err(e)),
                Err(e) => Err(e),
                Ok(a) => Ok(Ok(a)),
            }
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
    Ok(Changed { variant, share, scenes })
}

/// Steps that [`changed`] ticks.
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

impl Changed {
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

    /// Nothing could be run.
    #[must_use]
    pub fn nothing_ran(&self) -> bool {
        self.scenes.iter().all(|s| s.before.is_err() && s.after.is_err())
    }

    /// For programs: keys, full numbers.
    #[must_use]
    pub fn findings(&self) -> Findings {
        let items = self.items();
        let mut table = Table {
            key: "moved".into(),
            title: "moved".into(),
            columns: [
                "scenario",
                "outcome",
                "unit",
                "look",
                "fate",
                "before",
                "after",
                "min",
                "max",
                "margin_before",
                "margin_after",
                "share_of_margin",
                "warning",
            ]
            .map(str::to_owned)
            .to_vec(),
            rows: items.iter().map(row).collect(),
        };
        for (k, change) in self.alone_keys().enumerate() {
            table.columns.push(format!("{change}_alone"));
            for (row, item) in table.rows.iter_mut().zip(&items) {
                row.push(item.alone(k).map_or(Cell::Empty, |v| plain(item.moved.metric, v)));
            }
        }
        Findings { text: self.text(&items), tables: vec![table, self.verdicts()], plots: vec![] }
    }

    /// For people: words for keys, values with their units.
    #[must_use]
    pub fn reading(&self) -> Findings {
        let items = self.items();
        let mut table = Table {
            key: "moved".into(),
            title: "what moved".into(),
            columns: ["scenario", "outcome", "before", "after", "limit", "margin used", ""]
                .map(str::to_owned)
                .to_vec(),
            rows: items.iter().map(spoken_row).collect(),
        };
        for (k, change) in self.alone_keys().enumerate() {
            table.columns.insert(4 + k, format!("{change} alone"));
            for (row, item) in table.rows.iter_mut().zip(&items) {
                row.insert(4 + k, item.alone(k).map_or(Cell::Empty, |v| Cell::text(item.moved.said(v))));
            }
        }
        let tables = if items.is_empty() { vec![self.verdicts()] } else { vec![table, self.verdicts()] };
        Findings { text: self.text(&items), tables, plots: vec![] }
    }

    fn alone_keys(&self) -> impl Iterator<Item = &'static str> {
        let several = self.variant.changes.len() > 1;
        self.variant.changes.iter().filter(move |_| several).map(Change::key)
    }

    fn text(&self, items: &[Item]) -> Vec<String> {
        let said: Vec<String> = self.variant.changes.iter().map(Change::said).collect();
        let mut text = vec![format!("Changed: {}.", said.join("; "))];
        let count = |f: Fate| items.iter().filter(|i| i.fate == f).count();
        let (broken, mended) = (count(Fate::Broken), count(Fate::Mended));
        let limits: usize =
            self.scenes.iter().filter_map(|s| s.before.as_ref().ok()).map(|a| a.limits.len()).sum();
        text.push(match (broken, mended) {
            (0, 0) => format!(
                "Nothing moves beyond its limit's margin: none of {limits} limits changes its verdict."
            ),
            _ => format!(
                "Of {limits} limits, {broken} held and {} now broken; {mended} {} broken and {} now.",
                if broken == 1 { "is" } else { "are" },
                if mended == 1 { "was" } else { "were" },
                if mended == 1 { "holds" } else { "hold" },
            ),
        });
        let others = items.iter().filter(|i| !i.fate.verdict_changed()).count();
        let share = 100.0 * self.share;
        text.push(match others {
            0 => format!("No other moves by as much as {share:.0} % of its margin."),
            1 => format!("One other moves by {share:.0} % of its margin or more."),
            n => format!("{n} others move by {share:.0} % of their margin or more."),
        });
        text.extend(self.scenes.iter().filter_map(failure));
        text.extend(look_again(items));
        text.extend(self.scenes.iter().filter_map(beside));
        text
    }

    fn verdicts(&self) -> Table {
        let word =
            |r: &Result<Assessment, SimError>| Cell::text(r.as_ref().map_or("cannot run", Assessment::word));
        Table {
            key: "verdicts".into(),
            title: "verdicts".into(),
            columns: ["scenario", "before", "after"].map(str::to_owned).to_vec(),
            rows: self
                .scenes
                .iter()
                .map(|s| vec![Cell::text(&s.scenario.name), word(&s.before), word(&s.after)])
                .collect(),
        }
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

/// A numbered line for each thing that asks for a look, foremost first; then what hardly moved.
fn look_again(items: &[Item]) -> Vec<String> {
    let mut text = Vec::new();
    let mut number = 0;
    for look in Look::ALL {
        let of: Vec<&Item> = items.iter().filter(|i| i.look == look && i.fate.asks_for_a_look()).collect();
        if of.is_empty() {
            continue;
        }
        number += 1;
        let said = |i: &&Item| {
            let seen = if matches!(i.fate, Fate::Broken | Fate::Worse) {
                format!(": {}", i.moved.after.seen())
            } else {
                String::new()
            };
            let (name, both) = (&i.scene.scenario.name, i.moved.said_both());
            format!("{name}, {both}, {}{}{seen}", i.fate.as_str(), i.moved.said_severity())
        };
        text.push(format!(
            "{number}. {}: {}.",
            look.as_str(),
            of.iter().map(said).collect::<Vec<_>>().join("; ")
        ));
    }
    if text.is_empty() {
        return vec!["Nothing asks to be looked at again before the rest.".into()];
    }
    text.insert(0, "What to look at again, in order:".into());
    let asked = |l: &Look| items.iter().any(|i| i.look == *l && i.fate.asks_for_a_look());
    let rest: Vec<&str> = Look::ALL.iter().filter(|l| !asked(l)).map(|l| l.as_str()).collect();
    if !rest.is_empty() {
        text.push(format!("After these the rest, as after any change: {}.", rest.join(", ")));
    }
    text
}

/// A scenario that cannot run before or after.
fn failure(scene: &Scene) -> Option<String> {
    let name = &scene.scenario.name;
    match (&scene.before, &scene.after) {
        (Ok(_), Ok(_)) => None,
        (Ok(_), Err(e)) => Some(format!("{name} ran before and does not now: {e}.")),
        (Err(e), Ok(_)) => Some(format!("{name} runs now; before: {e}.")),
        (Err(_), Err(e)) => Some(format!("{name}: {e}.")),
    }
}

/// Outcomes without a limit that differ.
fn beside(scene: &Scene) -> Option<String> {
    let list = unlimited(scene.before.as_ref().ok()?, scene.after.as_ref().ok()?);
    (!list.is_empty())
        .then(|| format!("Held against no limit, {}: {}.", scene.scenario.name, said_list(&list)))
}

fn row(item: &Item) -> Vec<Cell> {
    let (m, moved) = (item.moved.metric, &item.moved);
    let warning = moved.before.limit.severity == crate::scenario::Severity::Warning;
    vec![
        Cell::text(&item.scene.scenario.name),
        Cell::text(m.key),
        Cell::text(m.unit),
        Cell::text(item.look.as_str()),
        Cell::text(item.fate.as_str()),
        plain(m, moved.before.value),
        plain(m, moved.after.value),
        Cell::number(moved.before.limit.min, m.decimals),
        Cell::number(moved.before.limit.max, m.decimals),
        Cell::number(moved.before.margin, m.decimals),
        Cell::number(moved.after.margin, m.decimals),
        Cell::number(moved.share(), 2),
        Cell::text(warning.to_string()),
    ]
}

fn spoken_row(item: &Item) -> Vec<Cell> {
    let moved = &item.moved;
    vec![
        Cell::text(&item.scene.scenario.name),
        Cell::text(moved.metric.label),
        Cell::text(moved.said(moved.before.value)),
        Cell::text(moved.said(moved.after.value)),
        Cell::text(moved.before.bounds() + moved.said_severity()),
        Cell::text(item.used()),
        Cell::text(item.fate.as_str()),
    ]
}

fn plain(m: &Metric, v: Value) -> Cell {
    match v {
        Value::Number(n) => Cell::Number(n, m.decimals),
        Value::Word(w) => Cell::text(w),
        Value::NotReached => Cell::Empty,
    }
}
