//! Windows and maps for people: sentences and tables that fit a screen.

use super::map::JointMap;
use super::shared::{overlap, said, shared};
use super::task::Closer;
use super::{Banded, Cell as Person, Part, SettingWindow, Window, Windows};
use crate::findings::{Cell, Findings, Table};
use crate::outcome::metric;

/// More limits than this are counted, not named.
const NAMED: usize = 4;

fn table(title: &str, columns: &[&str], rows: Vec<Vec<Cell>>) -> Table {
    let columns = columns.iter().map(|c| (*c).to_owned()).collect();
    Table { key: String::new(), title: title.into(), columns, rows }
}

/// Limits in a line: outcomes with the scenarios they are of.
fn named(limits: &[Closer]) -> String {
    let mut by_outcome: Vec<(String, Vec<&str>)> = Vec::new();
    for l in limits {
        let what = l.outcome.map_or("cannot run", |key| metric(key).map_or(key, |m| m.label));
        match by_outcome.iter_mut().find(|o| o.0 == what) {
            Some(o) => o.1.push(&l.scenario),
            None => by_outcome.push((what.to_owned(), vec![&l.scenario])),
        }
    }
    let said: Vec<String> =
        by_outcome.iter().take(NAMED).map(|(what, of)| format!("{what} ({})", of.join(", "))).collect();
    let more = by_outcome.len().saturating_sub(NAMED);
    said.join("; ") + &if more > 0 { format!(" and {more} more") } else { String::new() }
}

/// What closes a part, below and above.
fn closed(part: &Part) -> String {
    let edge = |what: &str, by: &Option<Closer>| by.as_ref().map(|c| format!("{what} by {}", c.label()));
    let both: Vec<String> = [edge("below", &part.min_closed_by), edge("above", &part.max_closed_by)]
        .into_iter()
        .flatten()
        .collect();
    if both.is_empty() { "the whole range".into() } else { format!("closed {}", both.join(" and ")) }
}

/// `31.9 to 47.2 % (closed below by … and above by …)`.
fn window_said(window: &Window) -> String {
    let parts: Vec<String> = window
        .parts
        .iter()
        .map(|p| format!("{:.1} to {:.1} % ({})", p.min_pct, p.max_pct, closed(p)))
        .collect();
    parts.join(" and from ")
}

impl SettingWindow {
    /// One or a few sentences.
    #[must_use]
    pub fn sentence(&self) -> String {
        let begin = format!("{}, set to {:.0} %:", self.setting, self.at_pct);
        if self.all.window.is_whole() {
            return format!("{begin} every limit holds over the whole range, the others held.");
        }
        if !self.all.window.is_empty() {
            return format!(
                "{begin} every limit holds from {}, the others held. {}",
                window_said(&self.all.window),
                band_said(&self.all)
            );
        }
        let mut said = format!("{begin} with the others held, no position holds every limit.");
        if !self.nowhere.is_empty() {
            said += &format!(
                " Whatever its position, broken: {}; the cause lies elsewhere.",
                named(&self.nowhere)
            );
        }
        match &self.rest {
            Some(rest) if rest.window.is_whole() => said += " The other limits hold over the whole range.",
            Some(rest) if !rest.window.is_empty() => {
                said += &format!(
                    " The other limits hold from {}. {}",
                    window_said(&rest.window),
                    band_said(rest)
                );
            }
            _ => said += &self.exclusion(),
        }
        said.trim_end().to_owned()
    }

    fn exclusion(&self) -> String {
        let Some(e) = self.excluding.first() else {
            return if self.limits.len() > self.nowhere.len() {
                " No two of the other limits exclude each other, but all together do.".into()
            } else {
                String::new()
            };
        };
        let more = match self.excluding.len() - 1 {
            0 => String::new(),
            1 => " One more pair does.".to_owned(),
            n => format!(" {n} more pairs do."),
        };
        format!(
            " {} holds at {}, {} at {}: they exclude each other.{more}",
            e.lower.label(),
            e.lower_held.said(),
            e.upper.label(),
            e.upper_held.said()
        )
    }
}

/// Band of the edges in a sentence; nothing without bands.
fn band_said(banded: &Banded) -> String {
    if banded.varied.is_empty() {
        return String::new();
    }
    let mut said: Vec<String> = Vec::new();
    for p in &banded.window.parts {
        let [min, max] = banded.bands(p);
        said.push(format!(
            "lower edge {:.1} to {:.1} %, upper edge {:.1} to {:.1} %",
            min.least_pct, min.most_pct, max.least_pct, max.most_pct
        ));
    }
    let none: Vec<String> = banded.empty_at().map(super::Variation::label).collect();
    let none = if none.is_empty() { String::new() } else { format!("; none at {}", none.join(", at ")) };
    format!("With the values of judgement varied: {}{none}.", said.join("; "))
}

fn band_cells(banded: &Banded, part: Option<&Part>) -> [Cell; 2] {
    match part.filter(|_| !banded.varied.is_empty()) {
        None => [Cell::Empty, Cell::Empty],
        Some(p) => {
            let said = |b: super::EdgeBand| match (b.least_pct, b.most_pct) {
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

    fn sentences(&self) -> Vec<String> {
        let mut text = self.notes.clone();
        if self.population {
            text.extend(self.population_sentences());
        } else {
            text.extend(self.cells.iter().flat_map(|c| c.settings.iter().map(SettingWindow::sentence)));
        }
        text
    }

    fn population_sentences(&self) -> Vec<String> {
        let about = |(i, s): (usize, &super::shared::SharedSetting)| {
            let windows = self.cells.iter().filter(|c| !c.settings[i].all.window.is_empty()).count();
            let mut said = format!("{}: a window in {windows} of {} cases", s.setting, self.cells.len());
            if let (Some(first), Some(last)) = (s.of_mass.first(), s.of_mass.last())
                && s.of_mass.len() > 1
            {
                said += &format!(
                    "; {:.1} and {:.1} kg share {}, all masses {}",
                    first.0,
                    last.0,
                    self::said(&overlap(&first.1, &last.1)),
                    self::said(&s.all)
                );
            }
            said + "."
        };
        shared(self).settings.iter().enumerate().map(about).collect()
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
        table("windows over mass and cadence, percent of this model's range", &columns, rows)
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
        table("windows, percent of this model's range (matches no mark on any joint)", &columns, rows)
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
        table(
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
        let row = |(v, variation): (usize, &super::Variation)| {
            let window = |s: &&SettingWindow| {
                let banded = s.reachable();
                let w = if v == 0 { &banded.window } else { &banded.varied[v - 1].1 };
                Cell::text(if w.is_whole() { "all".into() } else { w.said() })
            };
            std::iter::once(Cell::text(variation.label())).chain(settings.iter().map(window)).collect()
        };
        let rows = self.variations.iter().enumerate().map(row).collect();
        let partly = settings.iter().any(|s| s.rest.is_some());
        let title = if partly {
            "windows without the limits that hold nowhere, values of judgement varied"
        } else {
            "windows with values of judgement varied"
        };
        table(title, &names, rows)
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
    /// What the map comes to.
    pub(super) fn sentences(&self) -> Vec<String> {
        let held: Vec<String> = self.held.iter().map(|(n, at)| format!("{n} {at:.0} %")).collect();
        let best = self.best();
        let (x, y) = self.at(best);
        let by = self.cells[best].tightest.by.as_ref().map_or_else(|| "none".into(), Closer::label);
        let always = self.always_holding().map_or_else(String::new, |v| {
            format!(
                ", in {v} also with each value of judgement at either end of its range and judged edges moved"
            )
        });
        vec![
            format!(
                "Over {} positions each of {} and {}, with {} held, every limit holds in {} of {} pairs{always}.",
                self.positions_pct.len(),
                self.x,
                self.y,
                held.join(" and "),
                self.holding(),
                self.cells.len()
            ),
            format!(
                "The greatest margin of the tightest limit is {:.2}, at {} {x:.0} % and {} {y:.0} %; tightest there: {by}.",
                self.cells[best].tightest.margin, self.x, self.y
            ),
        ]
    }

    /// Limits that are the tightest somewhere, the most frequent first, each with a letter.
    #[must_use]
    pub fn letters(&self) -> Vec<(char, Closer)> {
        let by = self.cells.iter().filter_map(|c| c.tightest.by.as_ref());
        super::letters::letters(by)
    }

    /// For people: the map in letters, capital where the limit is broken.
    #[must_use]
    pub fn told(&self) -> Findings {
        let letters = self.letters();
        let letter = |c: &super::map::JointCell| {
            let by = c.tightest.by.as_ref();
            let l = letters.iter().find(|(_, limit)| Some(limit) == by).map_or('-', |l| l.0);
            Cell::text(if c.tightest.holds() { l.to_ascii_lowercase() } else { l })
        };
        let n = self.positions_pct.len();
        let head: Vec<String> = std::iter::once("%".to_owned())
            .chain(self.positions_pct.iter().map(|p| format!("{p:.0}")))
            .collect();
        let rows = self.cells.chunks(n).zip(&self.positions_pct).rev();
        let rows = rows
            .map(|(row, y)| std::iter::once(Cell::Number(*y, 0)).chain(row.iter().map(letter)).collect())
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
        let key = table("letters", &["", "limit"], key);
        Findings { text: self.sentences(), tables: vec![map, key], ..Findings::default() }
    }
}
