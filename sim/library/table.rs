//! A table as text with a header row, whose errors name file, line and column.
//!
//! Columns are separated by `,`, tab or `;`. A decimal comma is read where the comma does not separate.

use super::error_lines::clipped;
use crate::error::SimError;

/// A table's text and the name to call it by in errors.
#[derive(Debug, Clone, Copy)]
pub struct Named<'a> {
    /// Path.
    pub name: &'a str,
    /// Content.
    pub text: &'a str,
}

/// An error about a place in a file.
#[must_use]
pub fn at_line(file: &str, line: Option<u64>, field: &str, why: String) -> SimError {
    let cause = Box::new(SimError::Inconsistent { field: field.to_owned(), why });
    SimError::InFile { file: file.to_owned(), line, cause }
}

/// A row and its line.
#[derive(Debug)]
pub struct Row {
    /// Line in the file, from 1.
    pub line: u64,
    cells: Vec<String>,
}

/// A table.
#[derive(Debug)]
pub struct Table {
    file: String,
    columns: Vec<String>,
    separator: u8,
    /// Line of the header.
    pub header_line: u64,
    /// Rows below the header.
    pub rows: Vec<Row>,
    /// What stands behind `# source:`.
    pub source: Option<String>,
    /// What stands behind `# licence:`.
    pub licence: Option<String>,
}

impl Table {
    /// Reads a table that must have some columns.
    ///
    /// # Errors
    /// No header, a column that is missing or named twice, a row that is longer or shorter than the header.
    pub fn parse(file: Named, needed: &[&str]) -> Result<Self, SimError> {
        let text = file.text.strip_prefix('\u{feff}').unwrap_or(file.text);
        let said = |key: &str| {
            let words = text.lines().find_map(|l| l.strip_prefix('#')?.trim().strip_prefix(key));
            words.map(|w| w.trim().to_owned()).filter(|w| !w.is_empty())
        };
        let separator = separator(text);
        let mut rows = Vec::new();
        for record in csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(separator)
            .comment(Some(b'#'))
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes())
            .records()
        {
            let record = record.map_err(|e| SimError::Syntax(e.to_string()))?;
            let line = record.position().map_or(0, csv::Position::line);
            // the reader takes a comment without a line end for an empty row
            if !record.iter().all(str::is_empty) {
                rows.push(Row { line, cells: record.iter().map(str::to_owned).collect() });
            }
        }
        if rows.is_empty() {
            let needed = if needed.is_empty() {
                String::new()
            } else {
                format!("; needed columns: {}", needed.join(", "))
            };
            let why = format!("no header{needed}");
            return Err(at_line(file.name, None, "table", why));
        }
        let header = rows.remove(0);
        let wrong = |line: u64, field: &str, why: String| Err(at_line(file.name, Some(line), field, why));
        for column in needed {
            if !header.cells.iter().any(|c| c == column) {
                let why = format!("no such column; needed: {}", needed.join(", "));
                return wrong(header.line, column, why);
            }
        }
        if let Some((_, twice)) =
            header.cells.iter().enumerate().find(|(i, c)| header.cells[..*i].contains(c))
        {
            return wrong(header.line, &clipped(twice), "this column stands in the header twice".into());
        }
        for row in &rows {
            if row.cells.len() != header.cells.len() {
                let (values, columns) = (row.cells.len(), header.cells.len());
                let hint = if separator == b',' && values > columns {
                    "; a decimal comma is read only where ; or a tab separates the columns"
                } else {
                    ""
                };
                let why = format!("{values} values; the header has {columns}{hint}");
                return wrong(row.line, "row", why);
            }
        }
        Ok(Self {
            file: file.name.to_owned(),
            columns: header.cells,
            separator,
            header_line: header.line,
            rows,
            source: said("source:"),
            licence: said("licence:"),
        })
    }

    /// Number of the columns `p0`, `p1`, ..., which must be the last and in order.
    ///
    /// # Errors
    /// A column out of order.
    pub fn points(&self) -> Result<usize, SimError> {
        let Some(first) = self.columns.iter().position(|c| c == "p0") else {
            let why = "no such column; needed: p0, p1, ... evenly from 0 to 100 % of the stride".into();
            return Err(at_line(&self.file, Some(self.header_line), "p0", why));
        };
        for (i, column) in self.columns[first..].iter().enumerate() {
            if *column != format!("p{i}") {
                let why = format!(
                    "found '{}'; needed: p{i} in this place, and nothing after the points",
                    clipped(column)
                );
                return Err(at_line(&self.file, Some(self.header_line), "points of the stride", why));
            }
        }
        Ok(self.columns.len() - first)
    }

    /// Text in a column.
    ///
    /// # Errors
    /// No such column.
    pub fn text<'a>(&self, row: &'a Row, column: &str) -> Result<&'a str, SimError> {
        let place = self.columns.iter().position(|c| c == column);
        let missing = || at_line(&self.file, Some(self.header_line), column, "no such column".into());
        place.map(|i| row.cells[i].as_str()).ok_or_else(missing)
    }

    /// Whether there is such a column.
    #[must_use]
    pub fn has(&self, column: &str) -> bool {
        self.columns.iter().any(|c| c == column)
    }

    /// Number in a column that may have gaps: none where the cell is empty, `NaN` or `NA`.
    ///
    /// # Errors
    /// No such column, not a number.
    pub fn optional(&self, row: &Row, column: &str) -> Result<Option<f64>, SimError> {
        let cell = self.text(row, column)?;
        let gap = ["", "nan", "na"].contains(&cell.to_ascii_lowercase().as_str());
        if gap { Ok(None) } else { self.finite(row, column, cell).map(Some) }
    }

    /// Number in a column.
    ///
    /// # Errors
    /// Not a finite number.
    pub fn number(&self, row: &Row, column: &str) -> Result<f64, SimError> {
        self.finite(row, column, self.text(row, column)?)
    }

    /// The points of a row, called `field`.
    ///
    /// # Errors
    /// The first that is not a finite number.
    pub fn numbers(&self, row: &Row, field: &str) -> Result<Vec<f64>, SimError> {
        let first = self.columns.iter().position(|c| c == "p0").unwrap_or(self.columns.len());
        let points = row.cells[first..].iter().enumerate();
        points.map(|(i, cell)| self.finite(row, &format!("{field}, p{i}"), cell)).collect()
    }

    fn finite(&self, row: &Row, field: &str, cell: &str) -> Result<f64, SimError> {
        // a decimal comma is clear only where the comma does not separate
        let point = if self.separator == b',' { cell.to_owned() } else { cell.replacen(',', ".", 1) };
        point.parse().ok().filter(|x: &f64| x.is_finite()).ok_or_else(|| {
            let seen = clipped(cell);
            at_line(&self.file, Some(row.line), field, format!("'{seen}'; a finite number is needed"))
        })
    }
}

/// What separates the columns: a comma where the header has one, else a tab or `;`.
fn separator(text: &str) -> u8 {
    let header = text.lines().find(|l| !l.starts_with('#') && !l.trim().is_empty()).unwrap_or("");
    // a comma first: text of a comma table may hold the others
    [b',', b'\t', b';'].into_iter().find(|s| header.as_bytes().contains(s)).unwrap_or(b',')
}
