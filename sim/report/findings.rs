//! Findings of a study as text, JSON and CSV.

use std::fmt::Write as _;

use serde_json::{Map, Value as Json, json};

use super::terminal::plain_table;
use super::text::wrap;
use crate::error::SimError;
use crate::findings::{Cell, Findings, Table};

/// For people: sentences, tables, caution.
#[must_use]
pub fn terminal(found: &Findings) -> String {
    let mut out = sentences_and_tables(found);
    let _ = writeln!(out, "\n{}", wrap(&format!("Caution. {}", crate::CAUTION), ""));
    out
}

/// For people: sentences and tables, for a report that has the caution already.
#[must_use]
pub fn sentences_and_tables(found: &Findings) -> String {
    let mut out = String::new();
    for text in &found.text {
        let _ = writeln!(out, "{}", wrap(text, ""));
    }
    for table in &found.tables {
        let head: Vec<&str> = table.columns.iter().map(String::as_str).collect();
        let mut shown = plain_table(&head);
        for row in &table.rows {
            shown.add_row(row.iter().map(shown_cell).collect::<Vec<_>>());
        }
        let _ = writeln!(out, "\n{}\n{shown}", table.title.to_uppercase());
    }
    out
}

fn shown_cell(cell: &Cell) -> String {
    match cell {
        Cell::Text(t) => t.clone(),
        Cell::Number(v, decimals) => {
            // no minus before a rounded zero
            let shown = format!("{v:.decimals$}");
            let zero = shown.trim_matches(['-', '0', '.']).is_empty();
            if zero { shown.trim_start_matches('-').to_owned() } else { shown }
        }
        Cell::Empty => "-".to_owned(),
    }
}

/// One JSON document: `version`, `command`, `inputs`, `text`, one array per table under its key,
/// `caution`.
#[must_use]
pub fn json(command: &str, inputs: Json, found: &Findings) -> String {
    let mut document = Map::new();
    document.insert("version".into(), json!(env!("CARGO_PKG_VERSION")));
    document.insert("command".into(), json!(command));
    document.insert("inputs".into(), inputs);
    insert(&mut document, found);
    document.insert("caution".into(), json!(crate::CAUTION));
    let mut text = serde_json::to_string_pretty(&Json::Object(document)).unwrap_or_default();
    text.push('\n');
    text
}

/// Sentences, and one array per table under its key.
pub fn insert(document: &mut Map<String, Json>, found: &Findings) {
    document.insert("text".into(), json!(found.text));
    for table in &found.tables {
        debug_assert!(!document.contains_key(&table.key), "the key '{}' is taken", table.key);
        document.insert(table.key.clone(), rows(table));
    }
}

fn rows(table: &Table) -> Json {
    let row = |cells: &Vec<Cell>| -> Json {
        table
            .columns
            .iter()
            .zip(cells)
            .map(|(name, cell)| {
                let value = match cell {
                    Cell::Text(t) if t == "true" || t == "false" => json!(t == "true"),
                    Cell::Text(t) => json!(t),
                    Cell::Number(v, _) => json!(v),
                    Cell::Empty => Json::Null,
                };
                (name.clone(), value)
            })
            .collect::<Map<_, _>>()
            .into()
    };
    table.rows.iter().map(row).collect()
}

/// The first table as CSV; numbers in full.
///
/// # Errors
/// The writer's; none in practice.
pub fn csv(found: &Findings) -> Result<String, SimError> {
    let Some(table) = found.tables.first() else { return Ok(String::new()) };
    let full = |cell: &Cell| match cell {
        Cell::Text(t) => t.clone(),
        Cell::Number(v, _) => v.to_string(),
        Cell::Empty => String::new(),
    };
    let rows = table.rows.iter().map(|r| r.iter().map(full).collect::<Vec<_>>());
    super::csv::write(std::iter::once(table.columns.clone()).chain(rows))
}
