//! Positions that suit several masses at once: the intersection of their windows over all cadences.

use super::Windows;
use crate::findings::{Cell, Table};
use crate::joint::SettingName;

/// For each setting, the positions that pairs of masses and all masses have in common.
#[derive(Debug)]
pub struct MassOverlap {
    /// One per setting.
    pub settings: Vec<SettingOverlap>,
}

/// One setting.
#[derive(Debug)]
pub struct SettingOverlap {
    /// Setting.
    pub setting: SettingName,
    /// Per mass the ranges, percent, that suit it at every cadence.
    pub of_mass: Vec<(f64, PctRanges)>,
    /// The range that suits the most masses, and how many; the lowest of equals. None if no mass has a window.
    pub most: Option<((f64, f64), usize)>,
}

/// Disjoint ranges, percent.
pub type PctRanges = Vec<(f64, f64)>;

/// Where two sets of ranges overlap.
#[must_use]
pub fn overlap(a: &PctRanges, b: &PctRanges) -> PctRanges {
    let pairs = a.iter().flat_map(|x| b.iter().map(move |y| (x.0.max(y.0), x.1.min(y.1))));
    pairs.filter(|(from, to)| from <= to).collect()
}

/// `31.9 to 47.2 %` or `none`.
#[must_use]
pub fn in_words(spans: &PctRanges) -> String {
    if spans.is_empty() {
        return "none".into();
    }
    let parts: Vec<String> = spans.iter().map(|(a, b)| format!("{a:.1} to {b:.1}")).collect();
    parts.join(" and ") + " %"
}

/// The positions that the masses of a population have in common.
#[must_use]
pub fn mass_overlap(windows: &Windows) -> MassOverlap {
    let names = windows.people.first().map_or(vec![], |c| c.settings.iter().map(|s| s.setting).collect());
    let setting = |(i, &name): (usize, &SettingName)| {
        let mut of_mass: Vec<(f64, PctRanges)> = Vec::new();
        for person in &windows.people {
            let spans: PctRanges =
                person.settings[i].all.window.ranges.iter().map(|p| (p.min_pct, p.max_pct)).collect();
            // people of one mass follow each other
            match of_mass.last_mut().filter(|m| m.0.total_cmp(&person.person.mass_kg).is_eq()) {
                Some((_, so_far)) => *so_far = overlap(so_far, &spans),
                None => of_mass.push((person.person.mass_kg, spans)),
            }
        }
        SettingOverlap { setting: name, most: most(&of_mass), of_mass }
    };
    MassOverlap { settings: names.iter().enumerate().map(setting).collect() }
}

/// The range that suits the most masses: it begins where some range begins.
fn most(of_mass: &[(f64, PctRanges)]) -> Option<((f64, f64), usize)> {
    let mut best: Option<((f64, f64), usize)> = None;
    let mut begins: Vec<f64> = of_mass.iter().flat_map(|m| m.1.iter().map(|s| s.0)).collect();
    begins.sort_by(f64::total_cmp);
    for from in begins {
        let around = |spans: &PctRanges| spans.iter().find(|s| s.0 <= from && from <= s.1).copied();
        let found: Vec<(f64, f64)> = of_mass.iter().filter_map(|m| around(&m.1)).collect();
        let to = found.iter().map(|s| s.1).fold(f64::INFINITY, f64::min);
        if best.is_none_or(|b| found.len() > b.1) {
            best = Some(((from, to), found.len()));
        }
    }
    best
}

impl MassOverlap {
    /// Per setting the range that suits the most masses.
    #[must_use]
    pub fn most_table(&self) -> Table {
        let row = |s: &SettingOverlap| {
            let number = |v: Option<f64>| Cell::number(v, 1);
            vec![
                Cell::text(s.setting.as_str()),
                number(s.most.map(|m| m.0.0)),
                number(s.most.map(|m| m.0.1)),
                Cell::Number(s.most.map_or(0.0, |m| m.1 as f64), 0),
                Cell::Number(s.of_mass.len() as f64, 0),
            ]
        };
        let columns = ["setting", "min_pct", "max_pct", "masses", "of_masses"];
        Table {
            key: "suits_most".into(),
            title: "Positions that suit the most masses".into(),
            columns: columns.map(str::to_owned).to_vec(),
            rows: self.settings.iter().map(row).collect(),
        }
    }

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
