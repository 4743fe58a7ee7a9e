//! What a change moved as findings: what to look at again in sentences, what moved in a table.

use super::{Item, Look, Recheck, Scene};
use crate::case::variant::Change;
use crate::error::SimError;
use crate::findings::{Cell, Findings, Table};
use crate::outcome::{Assessment, Metric, Value};
use crate::scenario::Severity;
use crate::study::margin_change::{Fate, said_list, unlimited};

impl Recheck {
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

    /// In a line: how many limits break, and what to look at again first.
    #[must_use]
    pub fn short(&self) -> String {
        let items = self.items();
        let [broken, mended, _] = self.counts(&items);
        let count = match (broken, mended) {
            (0, 0) => "No limit changes its verdict".to_owned(),
            (0, m) => format!("No limit newly broken, {m} mended"),
            (b, m) => format!("{b} limit{} newly broken, {m} mended", if b == 1 { "" } else { "s" }),
        };
        let first = self
            .stopped()
            .map(|(s, ..)| format!("{} can no longer be run", s.scenario.name))
            .chain(
                items
                    .iter()
                    .filter(|i| i.fate.asks_for_a_look())
                    .map(|i| format!("{}, {}", i.scene.scenario.name, i.moved.said_both())),
            )
            .next();
        let looks: Vec<&str> = Look::ALL
            .iter()
            .filter(|l| {
                items.iter().any(|i| i.look == **l && i.fate.asks_for_a_look())
                    || self.stopped().any(|(_, look, _)| look == **l)
            })
            .map(|l| l.as_str())
            .collect();
        match first {
            None if mended > 0 => format!("{count}; nothing gets worse."),
            None => format!("{count}; nothing moves much."),
            Some(first) => format!("{count}; foremost {first}. Look again at: {}.", looks.join(", ")),
        }
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
                row.insert(
                    4 + k,
                    item.alone(k).map_or(Cell::Empty, |v| Cell::text(item.moved.metric.say_short(v))),
                );
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
        let mut text = vec![self.before_said.clone(), format!("Changed: {}.", said.join("; "))];
        let [broken, mended, limits] = self.counts(items);
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
        text.extend(self.look_again(items));
        text.extend(self.scenes.iter().filter_map(beside));
        text
    }

    /// A numbered line for each thing that asks for a look, foremost first; then what hardly moved.
    fn look_again(&self, items: &[Item]) -> Vec<String> {
        let mut text = Vec::new();
        let mut asked = Vec::new();
        for look in Look::ALL {
            let stopped = self.stopped().filter(|(_, l, _)| *l == look);
            let stopped =
                stopped.map(|(s, _, e)| format!("- {}: ran before and does not now: {e}.", s.scenario.name));
            let moved = items.iter().filter(|i| i.look == look && i.fate.asks_for_a_look());
            let lines: Vec<String> = stopped.chain(moved.map(look_line)).collect();
            if !lines.is_empty() {
                asked.push(look);
                text.push(format!("{}. {}", asked.len(), look.as_str()));
                text.extend(lines);
            }
        }
        if text.is_empty() {
            return vec![
                "Nothing asks to be looked at again before the rest; the caution below holds all the same."
                    .into(),
            ];
        }
        text.insert(0, "What to look at again, in order (what can make a person fall first):".into());
        let rest: Vec<&str> = Look::ALL.iter().filter(|l| !asked.contains(l)).map(|l| l.as_str()).collect();
        if !rest.is_empty() {
            text.push(format!("After these the rest, as after any change: {}.", rest.join(", ")));
        }
        text
    }

    /// Limits that held and no longer do, that were broken and hold now, and all of them.
    fn counts(&self, items: &[Item]) -> [usize; 3] {
        let binds = |i: &Item| i.moved.before.limit.severity == Severity::Limit;
        let count = |f: Fate| items.iter().filter(|i| i.fate == f && binds(i)).count();
        // what can no longer be run holds nothing
        let lost = |s: &Scene| s.before.as_ref().map_or(0, |a| a.binding().filter(|l| l.holds()).count());
        let stopped: usize = self.stopped().map(|(s, ..)| lost(s)).sum();
        let ran = self.scenes.iter().filter_map(|s| s.before.as_ref().ok());
        [count(Fate::Broken) + stopped, count(Fate::Mended), ran.map(|a| a.binding().count()).sum()]
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

/// `- walk-fast: time straight before heel contact 76 ms → 36 ms, now beyond its limit: …`.
fn look_line(i: &Item) -> String {
    let seen = match i.fate {
        Fate::Broken | Fate::Worse => format!(": {}", i.moved.after.seen()),
        Fate::Nearer if !i.used().is_empty() => format!(", {} of the margin used up", i.used()),
        _ => String::new(),
    };
    let (name, both) = (&i.scene.scenario.name, i.moved.said_both());
    format!("- {name}: {both}, {}{}{seen}.", i.fate.as_str(), i.moved.said_severity())
}

/// A scenario that cannot run before or after.
fn failure(scene: &Scene) -> Option<String> {
    let name = &scene.scenario.name;
    match (&scene.before, &scene.after) {
        (Ok(_), Ok(_)) => None,
        // said among what to look at again
        (Ok(_), Err(_)) => None,
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
    let warning = moved.before.limit.severity == Severity::Warning;
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
        Cell::text(moved.metric.table_label()),
        Cell::text(moved.metric.say_short(moved.before.value)),
        Cell::text(moved.metric.say_short(moved.after.value)),
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
