//! The table of people: subject, mass, stature, speed of the belt.

use std::collections::BTreeMap;

use crate::error::SimError;
use crate::library::table::{Named, Table, at_line};
use crate::units::within;

/// A person of the table.
#[derive(Debug, Clone)]
pub struct Person {
    /// Level of mobility; empty if not known.
    pub level: String,
    /// Mass, kg.
    pub mass_kg: f64,
    /// Stature, m.
    pub stature_m: f64,
    /// Speed of the belt, m/s.
    pub speed_m_per_s: f64,
}

/// People by subject.
///
/// # Errors
/// A column that is missing, a number out of range, a subject that stands twice.
pub fn read_people(file: Named) -> Result<BTreeMap<String, Person>, SimError> {
    let table = Table::parse(file, &["subject", "mass_kg", "stature_m", "speed_m_per_s"])?;
    let mut people = BTreeMap::new();
    for row in &table.rows {
        let subject = table.text(row, "subject")?;
        let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
        if subject.is_empty() || subject.len() > 40 || !subject.chars().all(plain) {
            let why = format!("'{subject}'; a name of letters, digits, - and _ is needed");
            return Err(at_line(file.name, Some(row.line), "subject", why));
        }
        let number = |column: &str, range: std::ops::RangeInclusive<f64>| {
            let found = table.number(row, column)?;
            within(&format!("{subject}, {column}"), found, range).map_err(|e| SimError::InFile {
                file: file.name.to_owned(),
                line: Some(row.line),
                cause: Box::new(e),
            })
        };
        let person = Person {
            level: table.text(row, "level").unwrap_or_default().to_owned(),
            mass_kg: number("mass_kg", 30.0..=200.0)?,
            stature_m: number("stature_m", 1.2..=2.2)?,
            speed_m_per_s: number("speed_m_per_s", 0.2..=2.5)?,
        };
        if people.insert(subject.to_owned(), person).is_some() {
            let why = format!("'{subject}' stands in the table twice");
            return Err(at_line(file.name, Some(row.line), "subject", why));
        }
    }
    Ok(people)
}
