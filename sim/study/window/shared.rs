//! Positions that suit several masses at once: the windows of all limits over all cadences, cut.

use super::Windows;
use crate::findings::{Cell, Table};
use crate::joint::SettingName;

/// Per setting, what pairs of masses and all of them share.
#[derive(Debug)]
pub struct Shared {
    /// One per setting.
    pub settings: Vec<SharedSetting>,
}

/// One setting.
#[derive(Debug)]
pub struct SharedSetting {
    /// Setting.
    pub setting: SettingName,
    /// Per mass the ranges, percent, that suit it at every cadence.
    pub of_mass: Vec<(f64, Spans)>,
    /// Ranges that suit every mass.
    pub all: Spans,
}

/// Disjoint ranges, percent.
pub type Spans = Vec<(f64, f64)>;

/// Where two sets of ranges overlap.
#[must_use]
pub fn overlap(a: &Spans, b: &Spans) -> Spans {
    let pairs = a.iter().flat_map(|x| b.iter().map(move |y| (x.0.max(y.0), x.1.min(y.1))));
    pairs.filter(|(from, to)| from <= to).collect()
}

/// `31.9 to 47.2 %` or `none`.
#[must_use]
pub fn said(spans: &Spans) -> String {
    if spans.is_empty() {
        return "none".into();
    }
    let parts: Vec<String> = spans.iter().map(|(a, b)| format!("{a:.1} to {b:.1}")).collect();
    parts.join(" and ") + " %"
}

/// What the masses of a population share.
#[must_use]
pub fn shared(windows: &Windows) -> Shared {
    let names = windows.cells.first().map_or(vec![], |c| c.settings.iter().map(|s| s.setting).collect());
    let setting = |(i, &name): (usize, &SettingName)| {
        let mut of_mass: Vec<(f64, Spans)> = Vec::new();
        for cell in &windows.cells {
            let spans: Spans =
                cell.settings[i].all.window.parts.iter().map(|p| (p.min_pct, p.max_pct)).collect();
            // cells of one mass follow each other
            match of_mass.last_mut().filter(|m| m.0.total_cmp(&cell.person.mass_kg).is_eq()) {
                Some((_, so_far)) => *so_far = overlap(so_far, &spans),
                None => of_mass.push((cell.person.mass_kg, spans)),
            }
        }
        let all = of_mass.iter().fold(vec![(0.0, 100.0)], |a, (_, b)| overlap(&a, b));
        SharedSetting { setting: name, of_mass, all }
    };
    Shared { settings: names.iter().enumerate().map(setting).collect() }
}

impl Shared {
    /// One row per pair of masses.
    #[must_use]
    pub fn table(&self) -> Table {
        let columns = ["setting", "mass_kg", "other_mass_kg", "min_pct", "max_pct", "width_pct", "empty"];
        let mut rows = Vec::new();
        for s in &self.settings {
            for (i, (mass, a)) in s.of_mass.iter().enumerate() {
                for (other, b) in &s.of_mass[i + 1..] {
                    let who =
                        [Cell::text(s.setting.as_str()), Cell::Number(*mass, 1), Cell::Number(*other, 1)];
                    let both = overlap(a, b);
                    if both.is_empty() {
                        let none = [Cell::Empty, Cell::Empty, Cell::Number(0.0, 1), Cell::text("true")];
                        rows.push([who.to_vec(), none.to_vec()].concat());
                    }
                    rows.extend(both.iter().map(|(from, to)| {
                        let span = [*from, *to, to - from].map(|v| Cell::Number(v, 1));
                        [who.to_vec(), span.to_vec(), vec![Cell::text("false")]].concat()
                    }));
                }
            }
        }
        Table {
            key: "shared".into(),
            title: "Positions that suit two masses".into(),
            columns: columns.map(str::to_owned).to_vec(),
            rows,
        }
    }
}
