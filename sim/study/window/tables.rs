//! Windows and joint maps as tables of data: one row per range of a window, keys as in JSON and CSV.

use super::case_limits::{BindingLimit, LimitRef};
use super::map::JointMap;
use super::population::mass_overlap;
use super::variations::{JUDGED, Variation};
use super::{PersonWindows, PositionRange, SettingWindow, Window, Windows, WithUncertainty};
use crate::findings::{Cell, Findings, Table};

fn pct(v: f64) -> Cell {
    Cell::Number(v, 1)
}

fn limit_cell(c: Option<&LimitRef>) -> Cell {
    c.map_or(Cell::Empty, |c| Cell::text(c.key()))
}

/// Relative margin; empty where only words are limited and all of them are allowed.
fn margin(t: &BindingLimit) -> Cell {
    Cell::number(Some(t.margin).filter(|m| m.is_finite()), 2)
}

fn truth(v: bool) -> Cell {
    Cell::text(if v { "true" } else { "false" })
}

const PERSON: [&str; 3] = ["mass_kg", "stature_m", "cadence_steps_per_min"];

fn person_cells(person: &PersonWindows) -> Vec<Cell> {
    vec![
        Cell::Number(person.person.mass_kg, 1),
        Cell::Number(person.person.stature_m(), 2),
        Cell::number(person.cadence_steps_per_min, 0),
    ]
}

const RANGE: [&str; 8] =
    ["part", "parts", "min_pct", "max_pct", "centre_pct", "empty", "min_closed_by", "max_closed_by"];

/// The columns of [`RANGE`] for every range, or one row that says that there is none.
fn range_rows(window: &Window) -> Vec<(Option<&PositionRange>, Vec<Cell>)> {
    let count = Cell::Number(window.ranges.len() as f64, 0);
    if window.is_empty() {
        let mut row = vec![Cell::Number(0.0, 0), count];
        row.extend([Cell::Empty, Cell::Empty, Cell::Empty, truth(true), Cell::Empty, Cell::Empty]);
        return vec![(None, row)];
    }
    let row = |(i, p): (usize, &PositionRange)| {
        vec![
            Cell::Number((i + 1) as f64, 0),
            count.clone(),
            pct(p.min_pct),
            pct(p.max_pct),
            pct(p.centre_pct()),
            truth(false),
            limit_cell(p.min_closed_by.as_ref()),
            limit_cell(p.max_closed_by.as_ref()),
        ]
    };
    window.ranges.iter().enumerate().map(|x| (Some(x.1), row(x))).collect()
}

const BANDS: [&str; 5] = ["min_least_pct", "min_most_pct", "max_least_pct", "max_most_pct", "empty_at"];

/// The columns of [`BANDS`]; empty where edges have no band.
fn bands(window: &WithUncertainty, range: Option<&PositionRange>) -> Vec<Cell> {
    let mut row = vec![Cell::Empty; 4];
    if let Some(range) = range.filter(|_| !window.variations.is_empty()) {
        let [min, max] = window.bands(range);
        row = [min.least_pct, min.most_pct, max.least_pct, max.most_pct].map(pct).to_vec();
    }
    let empty: Vec<String> = window.empty_at().map(Variation::label).collect();
    row.push(if empty.is_empty() { Cell::Empty } else { Cell::text(empty.join("; ")) });
    row
}

/// Rows of a window with its bands, between columns that come before and after.
fn rows(before: &[Cell], window: &WithUncertainty, after: &[Cell]) -> Vec<Vec<Cell>> {
    let row = |(range, own): (Option<&PositionRange>, Vec<Cell>)| {
        [before, &own, &bands(window, range), after].concat()
    };
    range_rows(&window.window).into_iter().map(row).collect()
}

impl Windows {
    /// All tables, without sentences; `windows` first.
    #[must_use]
    pub fn tables(&self) -> Vec<Table> {
        let mut tables = vec![self.windows(), self.rest(), self.excluding()];
        if self.population {
            let overlap = mass_overlap(self);
            tables.extend([overlap.table(), overlap.most_table()]);
        } else {
            tables.extend([self.limits(), self.under_variations()]);
        }
        tables.push(judged());
        tables
    }

    fn each(&self) -> impl Iterator<Item = (Vec<Cell>, &PersonWindows, &SettingWindow)> {
        self.people.iter().flat_map(|person| {
            person.settings.iter().map(move |s| {
                let mut before = person_cells(person);
                before.extend([Cell::text(s.setting.as_str()), pct(s.at_pct)]);
                (before, person, s)
            })
        })
    }

    fn windows(&self) -> Table {
        let best = ["best_pct", "best_margin", "best_limit", "margin_as_set", "limit_as_set"];
        let columns = [&PERSON[..], &["setting", "at_pct"], &RANGE, &BANDS, &best].concat();
        let all = self.each().flat_map(|(before, person, s)| {
            let after = [
                pct(s.best.pct),
                margin(&s.best.tightest),
                limit_cell(s.best.tightest.by.as_ref()),
                margin(&person.now),
                limit_cell(person.now.by.as_ref()),
            ];
            rows(&before, &s.all, &after)
        });
        Table::new("windows", "Windows of all limits, the other settings fixed", &columns, all.collect())
    }

    fn rest(&self) -> Table {
        let columns = [&PERSON[..], &["setting", "at_pct"], &RANGE, &BANDS, &["left_out"]].concat();
        let all = self.each().filter_map(|(before, _, s)| {
            let left_out: Vec<String> = s.nowhere.iter().map(LimitRef::key).collect();
            Some(rows(&before, s.rest.as_ref()?, &[Cell::text(left_out.join("; "))]))
        });
        Table::new(
            "rest",
            "Windows without the limits that hold nowhere along the setting",
            &columns,
            all.flatten().collect(),
        )
    }

    /// Every pair for one person; for many the widest gap of each.
    fn excluding(&self) -> Table {
        let columns = [
            &PERSON[..],
            &["setting", "at_pct", "lower_limit", "lower_holds", "upper_limit", "upper_holds", "gap_pct"],
        ]
        .concat();
        let most = if self.population { 1 } else { usize::MAX };
        let all = self.each().flat_map(|(before, _, s)| {
            s.excluding.iter().take(most).map(move |e| {
                let own = [
                    Cell::text(e.lower.key()),
                    Cell::text(e.lower_window.in_words()),
                    Cell::text(e.upper.key()),
                    Cell::text(e.upper_window.in_words()),
                    pct(e.gap_pct),
                ];
                [&before[..], &own].concat()
            })
        });
        Table::new("excluding", "Limits that exclude each other", &columns, all.collect())
    }

    fn limits(&self) -> Table {
        let columns = [&["setting", "scenario", "outcome"][..], &RANGE, &BANDS].concat();
        let all = self.each().flat_map(|(_, _, s)| {
            s.limits.iter().flat_map(|l| {
                let outcome = l.limit.outcome.unwrap_or_else(|word| word);
                let before = [
                    Cell::text(s.setting.as_str()),
                    Cell::text(l.limit.scenario.clone()),
                    Cell::text(outcome),
                ];
                rows(&before, &l.window, &[])
            })
        });
        Table::new("limits", "Where each limit holds", &columns, all.collect())
    }

    fn under_variations(&self) -> Table {
        let columns = [&["setting", "varied", "value", "of"][..], &RANGE].concat();
        let mut all = Vec::new();
        for s in self.people.iter().flat_map(|c| &c.settings) {
            let sets = [("all limits", Some(&s.all)), ("the rest", s.rest.as_ref())];
            for (of, window) in sets.into_iter().filter_map(|(of, b)| Some((of, b?))) {
                for (variation, window) in &window.variations {
                    let (name, value) = variation.name_and_value();
                    let before = [
                        Cell::text(s.setting.as_str()),
                        Cell::text(name),
                        Cell::number(value, 2),
                        Cell::text(of),
                    ];
                    all.extend(range_rows(window).into_iter().map(|(_, own)| [&before[..], &own].concat()));
                }
            }
        }
        Table::new("varied", "Windows with values of judgement varied", &columns, all)
    }
}

/// The values of judgement, their ranges and the reasons for these.
fn judged() -> Table {
    let row = |j: &crate::study::window::variations::Judged| {
        vec![Cell::text(j.key), Cell::Number(j.least, 2), Cell::Number(j.most, 2), Cell::text(j.why)]
    };
    let rows = JUDGED.iter().map(row).collect();
    Table::new(
        "judged",
        "Values of judgement and the range they are varied over",
        &["input", "least", "most", "why"],
        rows,
    )
}

impl JointMap {
    /// One row per cell.
    #[must_use]
    pub fn table(&self) -> Table {
        let columns = [
            format!("{}_pct", self.x.as_str().replace('-', "_")),
            format!("{}_pct", self.y.as_str().replace('-', "_")),
        ];
        let columns: Vec<&str> = columns
            .iter()
            .map(String::as_str)
            .chain(["verdict", "margin", "limit", "margin_least", "margin_most"])
            .collect();
        let rows = self.cells.iter().enumerate().map(|(i, c)| {
            let (x, y) = self.at(i);
            let band = |v: Option<f64>| Cell::number(v.filter(|m| m.is_finite()), 2);
            vec![
                pct(x),
                pct(y),
                Cell::text(c.tightest.verdict.as_str()),
                margin(&c.tightest),
                limit_cell(c.tightest.by.as_ref()),
                band(c.band.map(|b| b.0)),
                band(c.band.map(|b| b.1)),
            ]
        });
        Table::new("map", "Tightest limit over the positions of two settings", &columns, rows.collect())
    }

    /// The map as data.
    #[must_use]
    pub fn findings(&self) -> Findings {
        Findings { text: self.sentences(), tables: vec![self.table(), judged()], ..Findings::default() }
    }
}
