//! Units at the interfaces: degrees and percent in files and tables, radians and fractions inside; range checks
//! that refuse NaN.
//!
//! Suffixes allowed on fields, keys and headings: `_m _kg _s _ms _n _n_m _j _rad _deg _pct _bw`
//! and their quotients, for instance `_kg_m2`, `_rad_per_s`, `_n_m_s2_per_rad2`. `_bw` is a share
//! of body weight. Degrees, milliseconds and percent appear at the interfaces only.

use std::ops::RangeInclusive;

use crate::error::SimError;

/// Standard gravity as used throughout, m/s².
pub const GRAVITY_M_PER_S2: f64 = 9.81;

/// Radians in one degree.
pub const DEG: f64 = std::f64::consts::PI / 180.0;

/// A valve position: 0 open (least resistance) to 1 closed (most). No unit; shown as percent
/// "of this model's range; matches no mark on any joint".
///
/// ```
/// use kneedamp::units::Setting;
/// assert_eq!(Setting::from_pct("swing-flexion", 70.0).unwrap().fraction(), 0.7);
/// assert!(Setting::from_pct("swing-flexion", 101.0).is_err());
/// assert!(Setting::from_pct("swing-flexion", f64::NAN).is_err());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Setting(f64);

impl Setting {
    /// From percent.
    ///
    /// # Errors
    /// Outside 0..=100, or not a number.
    pub fn from_pct(field: &str, pct: f64) -> Result<Self, SimError> {
        within(field, pct, 0.0..=100.0).map(|p| Self(p / 100.0))
    }

    /// Position as a fraction, 0..=1.
    #[must_use]
    pub fn fraction(self) -> f64 {
        self.0
    }

    /// Position in percent, without the last digits that the conversion leaves: typed in, it is this position again.
    #[must_use]
    pub fn pct(self) -> f64 {
        (self.0 * 1e11).round() / 1e9
    }

    /// The position, from a computed fraction, that is shown with one decimal of a percent.
    #[must_use]
    pub fn shown(fraction: f64) -> Self {
        Self((Self::clamped(fraction).0 * 1e3).round() / 10.0 / 100.0)
    }

    /// This position moved by `pct` percentage points, limited to the range.
    #[must_use]
    pub fn moved_by_pct(self, pct: f64) -> Self {
        Self((self.0 + pct / 100.0).clamp(0.0, 1.0))
    }

    /// From a computed fraction, limited to the range.
    #[must_use]
    pub fn clamped(fraction: f64) -> Self {
        Self(if fraction.is_nan() { 0.0 } else { fraction.clamp(0.0, 1.0) })
    }
}

/// Percent with the digits that it has, none that stem from computing: `70 %`, `52.9 %`.
#[must_use]
pub fn percent(pct: f64) -> String {
    format!("{} %", (pct * 1e6).round() / 1e6)
}

/// `value` if it lies in `range`; NaN never does.
///
/// # Errors
/// [`SimError::OutOfRange`] naming the field, the value and the range.
pub fn within(field: &str, value: f64, range: RangeInclusive<f64>) -> Result<f64, SimError> {
    if range.contains(&value) {
        Ok(value)
    } else {
        Err(SimError::OutOfRange {
            field: field.into(),
            value: format!("{value}"),
            allowed: format!("{} to {}", range.start(), range.end()),
        })
    }
}

/// A number of a person's text in `range`; behind percent the sign may stand.
///
/// # Errors
/// [`SimError`] naming the field, the text and the range, and how to write what looks like a number.
///
/// ```
/// use kneedamp::units::number;
/// assert_eq!(number("x", " 12.5 %", 0.0..=100.0, "%").unwrap(), 12.5);
/// let said = number("mass_kg", "70,5 kg", 30.0..=200.0, "kg").unwrap_err().to_string();
/// assert_eq!(said, "mass_kg: '70,5 kg' is not a number: write 70.5; allowed: 30 to 200");
/// ```
pub fn number(field: &str, text: &str, range: RangeInclusive<f64>, unit: &str) -> Result<f64, SimError> {
    let text = text.trim();
    let bare = if unit == "%" { text.trim_end_matches('%').trim_end() } else { text };
    if let Ok(value) = bare.parse() {
        return within(field, value, range);
    }
    let hint = number_hint(bare, unit).map_or_else(String::new, |h| format!(": {h}"));
    let (from, to) = (range.start(), range.end());
    let text: String = text.chars().take(60).collect();
    Err(SimError::Inconsistent {
        field: field.into(),
        why: format!("'{text}' is not a number{hint}; allowed: {from} to {to}"),
    })
}

/// How to write a number that has a decimal comma or a unit behind it; none for other texts. `unit` is the one that is
/// wanted, empty if it is not known.
#[must_use]
pub fn number_hint(text: &str, unit: &str) -> Option<String> {
    let end = text.find(|c: char| !(c.is_ascii_digit() || "+-\u{2212}.,".contains(c))).unwrap_or(text.len());
    let (digits, rest) = (&text[..end], text[end..].trim());
    let written = digits.replace('\u{2212}', "-");
    let value: f64 = written.replace(',', ".").parse().ok()?;
    if !rest.chars().all(|c| c.is_alphabetic() || "%°/²·".contains(c)) {
        return None;
    }
    if !rest.is_empty() && rest != unit {
        let wanted = if unit.is_empty() { String::new() } else { format!(", in {unit}") };
        return Some(format!("write the number alone, without '{rest}'{wanted}"));
    }
    let thousands = digits.rsplit_once(',').is_some_and(|(_, behind)| behind.len() == 3);
    let or = written.replace(',', "").parse::<f64>().ok().filter(|_| thousands);
    Some(
        or.map_or_else(|| format!("write {value}"), |or| format!("write {value} or {or}, without the comma")),
    )
}

/// How to write `swing-flexion=12,5`, which the comma has parted; empty if `part` is no such end of `before`.
#[must_use]
pub fn comma_hint(before: Option<&str>, part: &str) -> String {
    let is_number = |t: &str| !t.is_empty() && t.chars().all(|c| c.is_ascii_digit());
    match before.filter(|b| b.ends_with(|c: char| c.is_ascii_digit()) && is_number(part)) {
        Some(before) => format!(" (a decimal point, not a comma: {}.{part})", before.trim()),
        None => String::new(),
    }
}
