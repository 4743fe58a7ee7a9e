//! Windows and joint maps for people: a summary that fits a screen, and the full report.

use super::case_limits::LimitRef;
use super::letters::{letter_of, letters};
use super::map::{JointMap, MapPosition};
use super::variations::Variation;
use super::{EdgeBand, PersonWindows, PositionRange, SettingWindow, Windows, WithUncertainty};
use crate::findings::{Cell, Findings, Table};
use crate::study::text::count;

const TITLE: &str = "windows, percent of this model's range (matches no mark on any joint)";

/// Bands of the two edges; empty where edges have none.
fn band_cells(window: &WithUncertainty, range: Option<&PositionRange>) -> [Cell; 2] {
    match range.filter(|_| !window.variations.is_empty()) {
        None => [Cell::Empty, Cell::Empty],
        Some(range) => {
            let in_words = |b: EdgeBand| match (b.least_pct, b.most_pct) {
                (least, most) if most - least > 1e-9 => Cell::text(format!("{least:.1} to {most:.1}")),
                // an end of the setting's range that no variation moves
                (at, _) if at <= 0.0 || at >= 100.0 => Cell::Empty,
                (at, _) => Cell::Number(at, 1),
            };
            window.bands(range).map(in_words)
        }
    }
}

fn limit_cell(limit: Option<&LimitRef>) -> Cell {
    limit.map_or(Cell::text("end of range"), |l| Cell::text(l.label()))
}

impl Windows {
    /// The answer on one screen: a sentence and a row for each setting. Several people or paces have a
    /// row each.
    #[must_use]
    pub fn summary(&self) -> Findings {
        if self.population {
            return self.report();
        }
        let mut text = self.sentences(SettingWindow::answer);
        text.push(self.how_to_read());
        Findings { text, tables: vec![self.answers()], ..Findings::default() }
    }

    /// The full report: sentences with the bands of the edges, the windows, every limit, every variation.
    #[must_use]
    pub fn report(&self) -> Findings {
        let tables = if self.population {
            vec![self.over_population()]
        } else {
            let varied = (self.variations.len() > 1).then(|| self.recomputed());
            [Some(self.closing_limits()), Some(self.each_limit()), varied].into_iter().flatten().collect()
        };
        Findings { text: self.sentences(SettingWindow::sentence), tables, ..Findings::default() }
    }

    /// Everything as data.
    #[must_use]
    pub fn findings(&self) -> Findings {
        let text = self.sentences(SettingWindow::sentence);
        Findings { text, tables: self.tables(), ..Findings::default() }
    }

    /// A row per setting, or per range where a window has several.
    fn answers(&self) -> Table {
        let varied = self.variations.len() > 1;
        let mut columns = vec!["setting", "set at", "all limits", "remaining limits"];
        columns.extend(if varied { &["lower edge", "upper edge", "no window in"][..] } else { &[] });
        let mut rows = Vec::new();
        for s in self.people.iter().flat_map(|p| &p.settings) {
            let window = s.reachable();
            let in_words = |w: Option<&WithUncertainty>| match w {
                None => Cell::Empty,
                Some(_) if s.limits.is_empty() => Cell::text("no limit applies"),
                Some(w) if w.window.is_whole() => Cell::text("whole range"),
                Some(w) => Cell::text(w.window.in_words()),
            };
            let row = |range: Option<&PositionRange>| {
                let mut row = vec![
                    Cell::text(s.setting.as_str()),
                    Cell::Number(s.at_pct, 1),
                    in_words(Some(&s.all)),
                    in_words(s.rest.as_ref()),
                ];
                if varied {
                    row.extend(band_cells(window, range));
                    let empty = window.empty_at().count() + usize::from(window.window.is_empty());
                    row.push(Cell::text(format!("{empty} of {}", self.variations.len())));
                }
                row
            };
            match window.window.ranges.as_slice() {
                [] => rows.push(row(None)),
                ranges => rows.extend(ranges.iter().map(|r| row(Some(r)))),
            }
        }
        Table::new("", TITLE, &columns, rows)
    }

    /// How to read the table of [`Windows::answers`].
    fn how_to_read(&self) -> String {
        let mut text = "Remaining limits: ignoring those that no position of the setting meets.".to_owned();
        if self.variations.len() > 1 {
            text += &format!(
                " The ranges of the edges cover {} cases: the inputs as set, then values of judgement and judged edges \
                 varied one at a time; some of these cases may have no window.",
                self.variations.len(),
            );
        }
        text + " Each limit and each case: --full."
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
        for person in &self.people {
            for s in &person.settings {
                rows.extend(population_rows(person, s));
            }
        }
        Table::new("", "windows over mass and cadence, percent of this model's range", &columns, rows)
    }

    /// The windows with the limit at each edge: of all limits, and of the remaining ones where some hold nowhere.
    fn closing_limits(&self) -> Table {
        let columns = ["setting", "set at", "of", "from %", "to %", "closed below by", "closed above by"];
        let mut rows = Vec::new();
        for s in self.people.iter().flat_map(|c| &c.settings) {
            let all = "all limits".to_owned();
            let but = format!("ignoring {} that no position meets", count(s.nowhere.len(), "limit"));
            for (of, window) in [(all, Some(&s.all)), (but, s.rest.as_ref())] {
                let Some(window) = window.map(|w| &w.window) else { continue };
                let begin = [Cell::text(s.setting.as_str()), Cell::Number(s.at_pct, 1), Cell::text(of)];
                if window.is_empty() {
                    let none = [Cell::text("none"), Cell::Empty, Cell::Empty, Cell::Empty];
                    rows.push([begin.to_vec(), none.to_vec()].concat());
                }
                rows.extend(window.ranges.iter().map(|p| {
                    let edges = [p.min_pct, p.max_pct].map(|v| Cell::Number(v, 1));
                    let by = [&p.min_closed_by, &p.max_closed_by].map(|c| limit_cell(c.as_ref()));
                    [&begin[..], &edges, &by].concat()
                }));
            }
        }
        Table::new("", TITLE, &columns, rows)
    }

    /// Where each limit holds; limits that hold over the whole range are left out.
    fn each_limit(&self) -> Table {
        let columns = ["setting", "limit", "from %", "to %", "lower edge", "upper edge"];
        let mut rows = Vec::new();
        for s in self.people.iter().flat_map(|c| &c.settings) {
            for l in s.limits.iter().filter(|l| !l.window.window.is_whole()) {
                let row = |range: Option<&PositionRange>| {
                    let edge = |f: fn(&PositionRange) -> f64| Cell::number(range.map(f), 1);
                    let [low, high] = band_cells(&l.window, range);
                    vec![
                        Cell::text(s.setting.as_str()),
                        Cell::text(l.limit.label()),
                        if range.is_some() { edge(|p| p.min_pct) } else { Cell::text("nowhere") },
                        edge(|p| p.max_pct),
                        low,
                        high,
                    ]
                };
                if l.window.window.is_empty() {
                    rows.push(row(None));
                }
                rows.extend(l.window.window.ranges.iter().map(|p| row(Some(p))));
            }
        }
        Table::new(
            "",
            "where each limit holds, the other settings fixed (limits that hold everywhere left out)",
            &columns,
            rows,
        )
    }

    /// The windows under each variation.
    fn recomputed(&self) -> Table {
        let settings: Vec<&SettingWindow> = self.people.iter().flat_map(|c| &c.settings).collect();
        let names: Vec<&str> =
            std::iter::once("varied").chain(settings.iter().map(|s| s.setting.as_str())).collect();
        let row = |(v, variation): (usize, &Variation)| {
            let window = |s: &&SettingWindow| {
                let window = s.reachable();
                let w = if v == 0 { &window.window } else { &window.variations[v - 1].1 };
                Cell::text(if w.is_whole() { "all".into() } else { w.in_words() })
            };
            std::iter::once(Cell::text(variation.in_words())).chain(settings.iter().map(window)).collect()
        };
        let rows = self.variations.iter().enumerate().map(row).collect();
        let partly = settings.iter().any(|s| s.rest.is_some());
        let title = if partly {
            "windows, ignoring the limits that no position meets, values of judgement varied"
        } else {
            "windows with values of judgement varied"
        };
        Table::new("", title, &names, rows)
    }
}

fn population_rows(person: &PersonWindows, s: &SettingWindow) -> Vec<Vec<Cell>> {
    let row = |range: Option<&PositionRange>, below: Cell, above: Cell| {
        let edge = |f: fn(&PositionRange) -> f64| Cell::number(range.map(f), 1);
        let [low, high] = band_cells(&s.all, range);
        vec![
            Cell::Number(person.person.mass_kg, 1),
            Cell::number(person.cadence_steps_per_min, 0),
            Cell::text(s.setting.as_str()),
            if range.is_some() { edge(|p| p.min_pct) } else { Cell::text("none") },
            edge(|p| p.max_pct),
            edge(PositionRange::centre_pct),
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
    let range = |p: &PositionRange| {
        row(Some(p), limit_cell(p.min_closed_by.as_ref()), limit_cell(p.max_closed_by.as_ref()))
    };
    s.all.window.ranges.iter().map(range).collect()
}

impl JointMap {
    /// Limits that are the tightest somewhere, the most frequent first, each with a letter.
    #[must_use]
    pub fn letters(&self) -> Vec<(char, LimitRef)> {
        letters(self.cells.iter().filter_map(|c| c.tightest.by.as_ref()))
    }

    /// For people: the map in letters, as [`letter_of`].
    #[must_use]
    pub fn report(&self) -> Findings {
        let letters = self.letters();
        let letter = |c: &MapPosition| {
            let by = c.tightest.by.as_ref();
            let l = letters.iter().find(|(_, limit)| Some(limit) == by).map_or('-', |l| l.0);
            Cell::text(letter_of(l, c.tightest.verdict))
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
                "tightest limit, {} upwards, {} across: a small letter where every limit holds, a question mark \
                 behind it where it is doubtful, a capital where a limit is broken",
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
