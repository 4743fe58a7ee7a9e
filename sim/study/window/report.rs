//! Windows and maps for people: tables that fit a screen.

use super::case_limits::Closer;
use super::map::JointMap;
use super::variations::Variation;
use super::{Banded, Cell as Person, EdgeBand, Part, SettingWindow, Windows};
use crate::findings::{Cell, Findings, Table};

fn band_cells(banded: &Banded, part: Option<&Part>) -> [Cell; 2] {
    match part.filter(|_| !banded.varied.is_empty()) {
        None => [Cell::Empty, Cell::Empty],
        Some(p) => {
            let said = |b: EdgeBand| match (b.least_pct, b.most_pct) {
                (least, most) if most - least > 1e-9 => Cell::text(format!("{least:.1} to {most:.1}")),
                // an end of the range that nothing moves says nothing
                (at, _) if at <= 0.0 || at >= 100.0 => Cell::Empty,
                (at, _) => Cell::Number(at, 1),
            };
            banded.bands(p).map(said)
        }
    }
}

fn closer_cell(c: Option<&Closer>) -> Cell {
    c.map_or(Cell::text("end of range"), |c| Cell::text(c.label()))
}

impl Windows {
    /// Sentences and short tables.
    #[must_use]
    pub fn told(&self) -> Findings {
        let tables = if self.population {
            vec![self.over_population()]
        } else {
            let varied = (self.variations.len() > 1).then(|| self.recomputed());
            [Some(self.summary()), Some(self.each_limit()), varied].into_iter().flatten().collect()
        };
        Findings { text: self.sentences(), tables, ..Findings::default() }
    }

    /// Everything as data.
    #[must_use]
    pub fn findings(&self) -> Findings {
        Findings { text: self.sentences(), tables: self.tables(), ..Findings::default() }
    }

    /// Windows of every person and pace.
    fn over_population(&self) -> Table {
        let columns = [
            "kg",
            "1/min",
            "setting",
            "from %",
            "to %",
            "centre",
            "closed below by",
            "closed above by",
            "lower edge",
            "upper edge",
        ];
        let mut rows = Vec::new();
        for cell in &self.cells {
            for s in &cell.settings {
                rows.extend(population_rows(cell, s));
            }
        }
        Table::new("", "windows over mass and cadence, percent of this model's range", &columns, rows)
    }

    /// The windows in a table: of all limits, and of the rest where some hold nowhere.
    fn summary(&self) -> Table {
        let columns = ["setting", "set at", "of", "from %", "to %", "closed below by", "closed above by"];
        let mut rows = Vec::new();
        for s in self.cells.iter().flat_map(|c| &c.settings) {
            let all = "all limits".to_owned();
            let but = format!("all but {} that hold nowhere", s.nowhere.len());
            for (of, banded) in [(all, Some(&s.all)), (but, s.rest.as_ref())] {
                let Some(window) = banded.map(|b| &b.window) else { continue };
                let begin = [Cell::text(s.setting.as_str()), Cell::Number(s.at_pct, 0), Cell::text(of)];
                if window.is_empty() {
                    let none = [Cell::text("none"), Cell::Empty, Cell::Empty, Cell::Empty];
                    rows.push([begin.to_vec(), none.to_vec()].concat());
                }
                rows.extend(window.parts.iter().map(|p| {
                    let edges = [p.min_pct, p.max_pct].map(|v| Cell::Number(v, 1));
                    let by = [&p.min_closed_by, &p.max_closed_by].map(|c| closer_cell(c.as_ref()));
                    [&begin[..], &edges, &by].concat()
                }));
            }
        }
        Table::new(
            "",
            "windows, percent of this model's range (matches no mark on any joint)",
            &columns,
            rows,
        )
    }

    /// Limits that do not hold over the whole range, and nothing of those that do.
    fn each_limit(&self) -> Table {
        let columns = ["setting", "limit", "from %", "to %", "lower edge", "upper edge"];
        let mut rows = Vec::new();
        for s in self.cells.iter().flat_map(|c| &c.settings) {
            for l in s.limits.iter().filter(|l| !l.held.window.is_whole()) {
                let row = |part: Option<&Part>| {
                    let edge = |f: fn(&Part) -> f64| Cell::number(part.map(f), 1);
                    let [low, high] = band_cells(&l.held, part);
                    vec![
                        Cell::text(s.setting.as_str()),
                        Cell::text(l.limit.label()),
                        if part.is_some() { edge(|p| p.min_pct) } else { Cell::text("nowhere") },
                        edge(|p| p.max_pct),
                        low,
                        high,
                    ]
                };
                if l.held.window.is_empty() {
                    rows.push(row(None));
                }
                rows.extend(l.held.window.parts.iter().map(|p| row(Some(p))));
            }
        }
        Table::new(
            "",
            "where each limit holds, the other settings held (limits that hold everywhere left out)",
            &columns,
            rows,
        )
    }

    /// Windows under every variation.
    fn recomputed(&self) -> Table {
        let settings: Vec<&SettingWindow> = self.cells.iter().flat_map(|c| &c.settings).collect();
        let names: Vec<&str> =
            std::iter::once("varied").chain(settings.iter().map(|s| s.setting.as_str())).collect();
        let row = |(v, variation): (usize, &Variation)| {
            let window = |s: &&SettingWindow| {
                let banded = s.reachable();
                let w = if v == 0 { &banded.window } else { &banded.varied[v - 1].1 };
                Cell::text(if w.is_whole() { "all".into() } else { w.said() })
            };
            std::iter::once(Cell::text(variation.said())).chain(settings.iter().map(window)).collect()
        };
        let rows = self.variations.iter().enumerate().map(row).collect();
        let partly = settings.iter().any(|s| s.rest.is_some());
        let title = if partly {
            "windows without the limits that hold nowhere, values of judgement varied"
        } else {
            "windows with values of judgement varied"
        };
        Table::new("", title, &names, rows)
    }
}

fn population_rows(cell: &Person, s: &SettingWindow) -> Vec<Vec<Cell>> {
    let row = |part: Option<&Part>, below: Cell, above: Cell| {
        let edge = |f: fn(&Part) -> f64| Cell::number(part.map(f), 1);
        let [low, high] = band_cells(&s.all, part);
        vec![
            Cell::Number(cell.person.mass_kg, 1),
            Cell::number(cell.cadence_steps_per_min, 0),
            Cell::text(s.setting.as_str()),
            if part.is_some() { edge(|p| p.min_pct) } else { Cell::text("none") },
            edge(|p| p.max_pct),
            edge(Part::centre_pct),
            below,
            above,
            low,
            high,
        ]
    };
    if s.all.window.is_empty() {
        let why = match (s.nowhere.first(), s.excluding.first()) {
            (Some(l), _) => (Cell::text(format!("nowhere: {}", l.label())), Cell::Empty),
            (None, Some(e)) => (Cell::text(e.upper.label()), Cell::text(e.lower.label())),
            (None, None) => (Cell::Empty, Cell::Empty),
        };
        return vec![row(None, why.0, why.1)];
    }
    let part =
        |p: &Part| row(Some(p), closer_cell(p.min_closed_by.as_ref()), closer_cell(p.max_closed_by.as_ref()));
    s.all.window.parts.iter().map(part).collect()
}

impl JointMap {
    /// Limits that are the tightest somewhere, the most frequent first, each with a letter.
    #[must_use]
    pub fn letters(&self) -> Vec<(char, Closer)> {
        let by = self.cells.iter().filter_map(|c| c.tightest.by.as_ref());
        crate::study::window::letters::letters(by)
    }

    /// For people: the map in letters, capital where the limit is broken.
    #[must_use]
    pub fn told(&self) -> Findings {
        let letters = self.letters();
        let letter = |c: &crate::study::window::map::JointCell| {
            let by = c.tightest.by.as_ref();
            let l = letters.iter().find(|(_, limit)| Some(limit) == by).map_or('-', |l| l.0);
            Cell::text(if c.tightest.holds() { l.to_ascii_lowercase() } else { l })
        };
        let n = self.positions_pct.len();
        let head: Vec<String> = std::iter::once("%".to_owned())
            .chain(self.positions_pct.iter().map(|p| format!("{}", (p * 10.0).round() / 10.0)))
            .collect();
        let rows = self.cells.chunks(n).zip(&self.positions_pct).rev();
        let rows = rows
            .map(|(row, y)| {
                std::iter::once(Cell::text(format!("{}", (y * 10.0).round() / 10.0)))
                    .chain(row.iter().map(letter))
                    .collect()
            })
            .collect();
        let key = letters.iter().map(|(l, c)| vec![Cell::text(*l), Cell::text(c.label())]).collect();
        let map = Table {
            title: format!(
                "tightest limit, {} upwards, {} across: small letter where every limit holds, capital where it is broken",
                self.y, self.x
            ),
            columns: head,
            rows,
            ..Table::default()
        };
        let key = Table::new("", "letters", &["", "limit"], key);
        Findings { text: self.sentences(), tables: vec![map, key], ..Findings::default() }
    }
}
