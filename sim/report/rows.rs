//! Rows of a long table, one per line: CSV or JSON lines. Line breaks within a cell become spaces, so that each
//! line is a row. Every row begins with its number.

use serde_json::{Map, Value as Json, json};

use crate::error::SimError;
use crate::findings::Cell;

/// Format of a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RowFormat {
    /// Comma-separated, with a line of column names.
    Csv,
    /// One JSON object per line.
    JsonLines,
}

impl RowFormat {
    /// The line of column names; empty for JSON lines, whose rows carry them.
    ///
    /// # Errors
    /// The writer's; none in practice.
    pub fn header(self, columns: &[String]) -> Result<String, SimError> {
        match self {
            Self::Csv => super::csv::write(std::iter::once(columns.to_vec())),
            Self::JsonLines => Ok(String::new()),
        }
    }

    /// Rows as lines.
    ///
    /// # Errors
    /// The writer's; none in practice.
    pub fn lines(self, columns: &[String], rows: &[Vec<Cell>]) -> Result<String, SimError> {
        match self {
            Self::Csv => super::csv::write(rows.iter().map(|r| r.iter().map(plain).collect())),
            Self::JsonLines => Ok(rows
                .iter()
                .map(|r| {
                    let object: Map<String, Json> = columns.iter().cloned().zip(r.iter().map(json)).collect();
                    Json::Object(object).to_string() + "\n"
                })
                .collect()),
        }
    }

    /// How the line of row `number` begins.
    #[must_use]
    pub fn begins(self, number: u64) -> String {
        match self {
            Self::Csv => format!("{number},"),
            Self::JsonLines => format!("{{\"row\":{number},"),
        }
    }
}

fn one_line(text: &str) -> String {
    text.replace(['\n', '\r'], " ")
}

/// Numbers in full.
fn plain(cell: &Cell) -> String {
    match cell {
        Cell::Text(t) => one_line(t),
        Cell::Number(v, _) => v.to_string(),
        Cell::Empty => String::new(),
    }
}

/// Whole numbers without a point.
fn json(cell: &Cell) -> Json {
    const EXACT: f64 = (1_u64 << 53) as f64;
    match cell {
        Cell::Text(t) => json!(one_line(t)),
        Cell::Number(v, _) if v.fract().abs() < f64::MIN_POSITIVE && v.abs() < EXACT => json!(*v as i64),
        Cell::Number(v, _) => json!(v),
        Cell::Empty => Json::Null,
    }
}
