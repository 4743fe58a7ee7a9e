//! A recheck in words and tables: what to check again in sentences, what changed in a table.

use super::{Recheck, RecheckedScenario, ReviewArea, ReviewItem};
use crate::case::variant::Change;
use crate::error::SimError;
use crate::findings::{Cell, Findings, Table};
use crate::outcome::Assessment;
use crate::scenario::Severity;
use crate::study::margin_change::{ChangeKind, changes_in_words, changes_without_limit};
use crate::study::text::{count, value_cell};

impl Recheck {
    /// For programs: keys, full numbers.
    #[must_use]
    pub fn findings(&self) -> Findings {
        let items = self.items();
        let columns = [
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
            "severity",
        ];
        let mut table = Table::new("moved", "moved", &columns, items.iter().map(row).collect());
        for (k, change) in self.alone_keys().enumerate() {
            table.columns.push(format!("{change}_alone"));
            for (row, item) in table.rows.iter_mut().zip(&items) {
                row.push(item.alone(k).map_or(Cell::Empty, |v| value_cell(item.change.metric, v)));
            }
        }
        Findings { text: self.text(&items), tables: vec![table, self.verdicts()], plots: vec![] }
    }

    /// One line: how many limits break, and what to check again first.
    #[must_use]
    pub fn summary(&self) -> String {
        let items = self.items();
        let [broken, doubtful, restored, _] = self.counts(&items);
        let also = if doubtful == 0 { String::new() } else { format!(", {doubtful} newly doubtful") };
        let verdicts = match (broken, doubtful, restored) {
            (0, 0, 0) => "No limit changes its verdict".to_owned(),
            (0, _, m) => format!("No limit newly broken{also}, {m} now within"),
            (b, _, m) => format!("{} newly broken{also}, {m} now within", count(b, "limit")),
        };
        let first = self
            .without_result()
            .map(|(s, _, e)| format!("{}, {}", s.scenario.name, e.in_place_of_verdict()))
            .chain(
                items
                    .iter()
                    .filter(|i| i.kind.needs_review())
                    .map(|i| format!("{}, {}", i.scenario.scenario.name, i.change.before_after())),
            )
            .next();
        let areas: Vec<&str> = ReviewArea::ALL
            .iter()
            .filter(|l| {
                items.iter().any(|i| i.area == **l && i.kind.needs_review())
                    || self.without_result().any(|(_, area, _)| area == **l)
            })
            .map(|l| l.as_str())
            .collect();
        match first {
            None if restored > 0 => format!("{verdicts}; nothing else got worse."),
            None => format!("{verdicts}; nothing moves much."),
            Some(first) => format!("{verdicts}; foremost {first}. Look again at: {}.", areas.join(", ")),
        }
    }

    /// For people: words for keys, values with their units.
    #[must_use]
    pub fn findings_for_people(&self) -> Findings {
        let items = self.items();
        let columns = ["scenario", "outcome", "before", "after", "limit", "margin used", ""];
        let items: Vec<ReviewItem> = items.into_iter().filter(|i| !i.change.is_internal()).collect();
        let rows = items.iter().map(row_for_people).collect();
        let mut table = Table::new("moved", "what moved", &columns, rows);
        for (k, change) in self.alone_keys().enumerate() {
            table.columns.insert(4 + k, format!("{change} alone"));
            for (row, item) in table.rows.iter_mut().zip(&items) {
                row.insert(
                    4 + k,
                    item.alone(k).map_or(Cell::Empty, |v| Cell::text(item.change.metric.say_short(v))),
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

    fn text(&self, items: &[ReviewItem]) -> Vec<String> {
        let changes: Vec<String> = self.variant.changes.iter().map(Change::in_words).collect();
        let mut text = vec![self.before_in_words.clone(), format!("Changed: {}.", changes.join("; "))];
        let [broken, doubtful, restored, limits] = self.counts(items);
        text.push(match (broken, doubtful, restored) {
            (0, 0, 0) => format!("None of {limits} limits changes its verdict."),
            _ => format!(
                "Of {limits} limits, newly broken: {broken}; newly doubtful: {doubtful}; now within: \
                 {restored}."
            ),
        });
        let others = items.iter().filter(|i| !i.kind.verdict_changed()).count();
        let share = 100.0 * self.share;
        let same = broken + doubtful + restored == 0;
        let [none, one] = if same { ["None", "limit"] } else { ["No other", "other"] };
        text.push(match others {
            0 => format!("{none} moves by as much as {share:.0} % of its margin."),
            1 => format!("1 {one} moves by {share:.0} % of its margin or more."),
            n => format!("{} move by {share:.0} % of their margin or more.", count(n, one)),
        });
        text.extend(self.scenarios.iter().filter_map(failure));
        text.extend(self.check_again(items));
        text.extend(self.scenarios.iter().filter_map(without_limit));
        text
    }

    /// A numbered line for each area with something to check, the most serious first; then the others.
    fn check_again(&self, items: &[ReviewItem]) -> Vec<String> {
        let mut text = Vec::new();
        let mut asked = Vec::new();
        for area in ReviewArea::ALL {
            let stopped = self.without_result().filter(|(_, l, _)| *l == area);
            let stopped = stopped.map(|(s, _, e)| {
                let ran = if s.before.is_ok() { "ran before and does not now: " } else { "" };
                format!("- {}: {ran}{e}.", s.scenario.name)
            });
            let moved = items.iter().filter(|i| i.area == area && i.kind.needs_review());
            let lines: Vec<String> = stopped.chain(moved.map(review_line)).collect();
            if !lines.is_empty() {
                asked.push(area);
                text.push(format!("{}. {}", asked.len(), area.as_str()));
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
        let rest: Vec<&str> =
            ReviewArea::ALL.iter().filter(|l| !asked.contains(l)).map(|l| l.as_str()).collect();
        if !rest.is_empty() {
            text.push(format!("After these the rest, as after any change: {}.", rest.join(", ")));
        }
        text
    }

    /// Number of limits newly broken, newly doubtful, within again, and of all limits.
    fn counts(&self, items: &[ReviewItem]) -> [usize; 4] {
        let binds = |i: &ReviewItem| i.change.before.limit.severity == Severity::Limit;
        let count = |f: ChangeKind| items.iter().filter(|i| i.kind == f && binds(i)).count();
        // in a scenario that no longer runs no limit holds
        let lost = |s: &RecheckedScenario| {
            s.before.as_ref().map_or(0, |a| a.binding().filter(|l| l.holds()).count())
        };
        let stopped: usize = self.without_result().map(|(s, ..)| lost(s)).sum();
        let ran = self.scenarios.iter().filter_map(|s| s.before.as_ref().ok());
        [
            count(ChangeKind::NewlyBroken) + stopped,
            count(ChangeKind::NewlyDoubtful) + count(ChangeKind::NoLongerBroken),
            count(ChangeKind::Restored),
            ran.map(|a| a.binding().count()).sum(),
        ]
    }

    fn verdicts(&self) -> Table {
        let word = |r: &Result<Assessment, SimError>| {
            Cell::text(r.as_ref().map_or_else(SimError::in_place_of_verdict, |a| a.verdict().as_str()))
        };
        let row = |s: &RecheckedScenario| vec![Cell::text(&s.scenario.name), word(&s.before), word(&s.after)];
        let rows = self.scenarios.iter().map(row).collect();
        Table::new("verdicts", "verdicts", &["scenario", "before", "after"], rows)
    }
}

/// `- walk-fast: full extension 76 ms before → 36 ms before heel contact, now beyond its limit: …`.
fn review_line(i: &ReviewItem) -> String {
    let seen = match i.kind {
        ChangeKind::NewlyBroken | ChangeKind::NewlyDoubtful | ChangeKind::FurtherBeyond => {
            format!(": {}", i.change.after.seen())
        }
        ChangeKind::LessMargin if !i.share_in_words().is_empty() => {
            format!(", {} of the margin used up", i.share_in_words())
        }
        _ => String::new(),
    };
    let (name, both) = (&i.scenario.scenario.name, i.change.before_after());
    format!("- {name}: {both}, {}{}{seen}.", i.kind.as_str(), i.change.severity_note())
}

/// A scenario that cannot run before or after.
fn failure(s: &RecheckedScenario) -> Option<String> {
    let name = &s.scenario.name;
    match (&s.before, &s.after) {
        (Err(e), Ok(_)) => Some(format!("{name} runs now; before: {e}.")),
        (Err(_), Err(e)) if e.cannot_run() => Some(format!("{name}: {e}.")),
        // the others without a result are among what to check again
        _ => None,
    }
}

/// Outcomes without a limit that differ.
fn without_limit(s: &RecheckedScenario) -> Option<String> {
    let list = changes_without_limit(s.before.as_ref().ok()?, s.after.as_ref().ok()?);
    (!list.is_empty()).then(|| {
        format!("Also changed in {}, without a limit: {}.", s.scenario.name, changes_in_words(&list))
    })
}

fn row(item: &ReviewItem) -> Vec<Cell> {
    let (m, change) = (item.change.metric, &item.change);
    vec![
        Cell::text(&item.scenario.scenario.name),
        Cell::text(m.key),
        Cell::text(m.unit),
        Cell::text(item.area.as_str()),
        Cell::text(item.kind.as_str()),
        value_cell(m, change.before.value),
        value_cell(m, change.after.value),
        Cell::number(change.before.limit.min, m.decimals),
        Cell::number(change.before.limit.max, m.decimals),
        Cell::number(change.before.margin, m.decimals),
        Cell::number(change.after.margin, m.decimals),
        Cell::number(change.share(), 2),
        Cell::text(change.before.limit.severity.as_str()),
    ]
}

fn row_for_people(item: &ReviewItem) -> Vec<Cell> {
    let change = &item.change;
    vec![
        Cell::text(&item.scenario.scenario.name),
        Cell::text(change.metric.table_label()),
        Cell::text(change.metric.say_short(change.before.value)),
        Cell::text(change.metric.say_short(change.after.value)),
        Cell::text(change.before.bounds() + change.severity_note()),
        Cell::text(item.share_in_words()),
        Cell::text(item.kind.as_str()),
    ]
}
