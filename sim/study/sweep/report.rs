//! Columns of a sweep: a sweep reports rows of data, no sentences.

use super::request::Sweep;
use crate::case::inputs::Input;
use crate::joint::SettingName;

/// What a column is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ColumnNote {
    /// Name, with its unit.
    pub name: String,
    /// Unit as printed; empty for words and numbers without one.
    pub unit: &'static str,
    /// What it is, for people.
    pub meaning: &'static str,
    /// Words, or texts; a number otherwise.
    pub text: bool,
    /// Few different values stand in many rows.
    pub repeats: bool,
}

impl Sweep {
    /// Names of the columns, with units: settings are percent.
    #[must_use]
    pub fn columns(&self) -> Vec<String> {
        self.column_notes().into_iter().map(|c| c.name).collect()
    }

    /// The columns, in their order.
    #[must_use]
    pub fn column_notes(&self) -> Vec<ColumnNote> {
        let note = |name: &str, unit, meaning, text, repeats| {
            let name = name.to_owned();
            ColumnNote { name, unit, meaning, text, repeats }
        };
        let words = |name, meaning| note(name, "", meaning, true, true);
        let first =
            [note("row", "", "number of the row, from 1", false, false), words("scenario", "scenario")];
        let inputs = self.axes.iter().map(|a| {
            let Input { key, label, unit, .. } = a.input;
            let name =
                SettingName::parse(key).map_or_else(|| (*key).to_owned(), |name| format!("{name}_pct"));
            note(&name, unit, label, false, !a.is_drawn())
        });
        let outcomes = self.outcomes.iter().map(|m| {
            let text = !m.words.is_empty();
            note(m.key, m.unit, m.label, text, text)
        });
        let judged = self.judgements.iter().map(|&j| match j {
            "energy_residual" => note(j, "", judgement(j), false, false),
            _ => words(j, judgement(j)),
        });
        let last = [
            words("not_reached", "outcomes of this row that never came about"),
            words("error", "why the row could not run"),
        ];
        first.into_iter().chain(inputs).chain(outcomes).chain(judged).chain(last).collect()
    }
}

/// What a judgement is.
fn judgement(name: &str) -> &'static str {
    match name {
        "verdict" => "whether every limit of the scenario is kept",
        "limiting" => "outcome whose limit is closest, or missed most",
        _ => "what the balance of energy leaves over, as a share of the energy taken out",
    }
}
