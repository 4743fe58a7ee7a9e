//! Rows of a long table, one per line: CSV or JSON lines. Line breaks within a cell become spaces, so that each
//! line is a row. Every row begins with its number.

use std::fmt::Write;

use crate::error::SimError;
use crate::study::sweep::{Column, RowBlock};

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

    /// Rows as lines; numbers in full.
    #[must_use]
    pub fn lines(self, columns: &[String], rows: &RowBlock) -> String {
        let keys: Vec<String> = match self {
            Self::Csv => Vec::new(),
            Self::JsonLines => columns.iter().map(|name| format!("{}:", json(name))).collect(),
        };
        let mut lines = String::new();
        for i in 0..rows.len() {
            for (k, column) in rows.columns.iter().enumerate() {
                match self {
                    Self::Csv => {
                        if k > 0 {
                            lines.push(',');
                        }
                        csv_cell(&mut lines, column, i);
                    }
                    Self::JsonLines => {
                        lines.push(if k > 0 { ',' } else { '{' });
                        lines.push_str(&keys[k]);
                        json_cell(&mut lines, column, i);
                    }
                }
            }
            lines.push_str(if self == Self::Csv { "\n" } else { "}\n" });
        }
        lines
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

fn csv_cell(line: &mut String, column: &Column, row: usize) {
    // writing to a string cannot fail
    let _ = match column {
        Column::Whole(v) => write!(line, "{}", v[row]),
        Column::Numbers(v) => v[row].map_or(Ok(()), |x| write!(line, "{x}")),
        Column::Texts(v) => {
            let Some(text) = v[row].as_deref() else { return };
            if text.contains([',', '"', '\n', '\r']) {
                line.push_str(
                    super::csv::write([vec![one_line(text)]].into_iter()).unwrap_or_default().trim_end(),
                );
            } else {
                line.push_str(text);
            }
            Ok(())
        }
    };
}

fn json(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

/// Whole numbers without a point.
fn json_cell(line: &mut String, column: &Column, row: usize) {
    const EXACT: f64 = (1_u64 << 53) as f64;
    let _ = match column {
        Column::Whole(v) => write!(line, "{}", v[row]),
        Column::Numbers(v) => match v[row] {
            Some(x) if x.fract().abs() < f64::MIN_POSITIVE && x.abs() < EXACT => write!(line, "{}", x as i64),
            Some(x) => write!(line, "{}", serde_json::Value::from(x)),
            None => write!(line, "null"),
        },
        Column::Texts(v) => match v[row].as_deref() {
            Some(text) => write!(line, "{}", json(&one_line(text))),
            None => write!(line, "null"),
        },
    };
}
