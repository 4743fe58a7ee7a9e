//! A verification in words and tables.

use super::{RecordedValue, Verification, VerifiedOutcome};
use crate::findings::{Cell, Findings, Table};
use crate::outcome::METRICS;
use crate::study::text::count;

/// The greatest differences of one outcome over all scenarios.
struct OutcomeRow<'a> {
    key: &'a str,
    scenarios: usize,
    /// The outcome with the greatest difference, in each comparison.
    greatest: [&'a VerifiedOutcome; 2],
}

impl Verification {
    /// As data; `beyond` has a row for every outcome that differs by more than its tolerance.
    #[must_use]
    pub fn findings(&self) -> Findings {
        let rows = self.rows().into_iter().map(data_row).collect();
        let columns = [
            "outcome",
            "unit",
            "scenarios",
            "tolerance",
            "rerun_difference",
            "rerun_scenario",
            "second_difference",
            "second_scenario",
            "within",
        ];
        let differences = Table::new("differences", "greatest difference per outcome", &columns, rows);
        Findings { text: self.text(), tables: vec![differences, self.beyond_table()], plots: vec![] }
    }

    /// For people: no table of what is beyond where nothing is.
    #[must_use]
    pub fn findings_for_people(&self) -> Findings {
        let rows = self.rows().into_iter().map(row_for_people).collect();
        let columns = ["outcome", "tolerance", "run again", "second integrator", ""];
        let mut tables = vec![Table::new("differences", "greatest difference per outcome", &columns, rows)];
        if self.beyond().next().is_some() {
            tables.insert(0, self.beyond_table());
        }
        Findings { text: self.text(), tables, plots: vec![] }
    }

    /// One row for every outcome that was met, in the order of the registry; the verdict last.
    fn rows(&self) -> Vec<OutcomeRow<'_>> {
        let known = METRICS.iter().map(|m| m.key).chain(["verdict"]);
        let unknown = self.outcomes.iter().filter(|o| o.metric().is_none() && o.key != "verdict");
        let mut keys: Vec<&str> = known.chain(unknown.map(|o| o.key.as_str())).collect();
        let mut seen = std::collections::BTreeSet::new();
        keys.retain(|key| seen.insert(*key));
        let row = |key| {
            let all: Vec<&VerifiedOutcome> = self.outcomes.iter().filter(|o| o.key == key).collect();
            let greatest = |which: usize| {
                let difference = |o: &VerifiedOutcome| o.differences()[which];
                all.iter().copied().reduce(|a, b| if difference(b) > difference(a) { b } else { a })
            };
            Some(OutcomeRow { key, scenarios: all.len(), greatest: [greatest(0)?, greatest(1)?] })
        };
        keys.into_iter().filter_map(row).collect()
    }

    fn text(&self) -> Vec<String> {
        let outcomes = self.outcomes.len() - self.scenarios;
        let mut text = vec![format!(
            "{}, {} and their verdicts. A number may differ by a thousandth of the last digit that reports show; words, \
             verdicts and what is not reached may not differ.",
            count(self.scenarios, "scenario"),
            count(outcomes, "outcome"),
        )];
        text.push(self.sentence(0, "Run again from its own inputs"));
        text.push(self.sentence(
            1,
            "Integrated again by a second integrator (Dopri5 of ode_solvers at 1e-12, with its own event search)",
        ));
        text.push(
            "This shows that file, inputs and program belong together and that the equations are solved right, not \
             that they are right for a leg: docs/accuracy.md compares them with measurements."
                .into(),
        );
        text
    }

    /// What one comparison found.
    fn sentence(&self, which: usize, begin: &str) -> String {
        let beyond: Vec<&VerifiedOutcome> =
            self.outcomes.iter().filter(|o| o.differences()[which] > o.tolerance()).collect();
        match (self.greatest(which), beyond.as_slice()) {
            (None, _) | (Some((_, 0.0)), _) => {
                format!("{begin}: every outcome is the same to the last digit.")
            }
            (Some((o, share)), []) => format!(
                "{begin}: within the tolerance; the greatest difference is {} of it ({}, {}).",
                share_in_words(share),
                label(&o.key),
                o.scenario
            ),
            (Some((o, _)), beyond) => {
                let [before, after] = match which {
                    0 => [format!("{} in the file", in_words(&o.recorded)), in_words(&o.reference)],
                    _ => [in_words(&o.reference), in_words(&o.second)],
                };
                format!(
                    "{begin}: {} beyond the tolerance; foremost {} of {}: {before}, {after} again.",
                    count(beyond.len(), "outcome"),
                    label(&o.key),
                    o.scenario,
                )
            }
        }
    }

    fn beyond_table(&self) -> Table {
        let rows = self.beyond().map(|o| {
            let values = [&o.recorded, &o.reference, &o.second].map(|v| Cell::text(in_words(v)));
            [Cell::text(&o.scenario), Cell::text(&o.key)].into_iter().chain(values).collect()
        });
        let columns = ["scenario", "outcome", "recorded", "run again", "second integrator"];
        Table::new("beyond", "beyond the tolerance", &columns, rows.collect())
    }
}

fn data_row(row: OutcomeRow<'_>) -> Vec<Cell> {
    let unit = row.greatest[0].metric().map_or("", |m| m.unit);
    let mut cells = vec![
        Cell::text(row.key),
        Cell::text(unit),
        Cell::Number(row.scenarios as f64, 0),
        Cell::Number(row.greatest[0].tolerance(), 6),
    ];
    for (which, o) in row.greatest.into_iter().enumerate() {
        let d = o.differences()[which];
        // another word has no number
        cells.extend([Cell::number(Some(d).filter(|d| d.is_finite()), 9), Cell::text(&o.scenario)]);
    }
    cells.push(Cell::text(within(&row).to_string()));
    cells
}

fn row_for_people(row: OutcomeRow<'_>) -> Vec<Cell> {
    let o = row.greatest[0];
    let unit = o.metric().map_or("", |m| m.unit);
    let tolerance = if o.tolerance() > 0.0 { format!("{:.0e} {unit}", o.tolerance()) } else { "same".into() };
    let mut cells = vec![Cell::text(label(row.key)), Cell::text(tolerance.trim_end())];
    for (which, o) in row.greatest.iter().enumerate() {
        cells.push(Cell::text(match o.differences()[which] {
            0.0 => "0".into(),
            d if d.is_finite() => format!("{d:.0e}"),
            _ => "another".into(),
        }));
    }
    cells.push(Cell::text(if within(&row) { "✓" } else { "✗" }));
    cells
}

fn within(row: &OutcomeRow<'_>) -> bool {
    row.greatest.iter().enumerate().all(|(which, o)| o.differences()[which] <= o.tolerance())
}

fn label(key: &str) -> String {
    crate::outcome::metric(key).map_or_else(|| key.to_owned(), |m| m.label.to_owned())
}

/// A number in full: what differs may be the last digits.
fn in_words(value: &RecordedValue) -> String {
    match value {
        RecordedValue::Number(v) => v.to_string(),
        RecordedValue::Word(word) => word.clone(),
        RecordedValue::NotReached => "not reached".into(),
        RecordedValue::Missing => "not there".into(),
    }
}

/// `0.2 %`, or `less than 0.1 %`.
fn share_in_words(share: f64) -> String {
    if share < 1e-3 { "less than 0.1 %".into() } else { format!("{:.1} %", 100.0 * share) }
}
