//! Text elements of hand-written SVG, broken into lines by an estimate of their width.

use std::fmt::Write as _;

use super::text::{escaped, lines};

/// Fonts.
pub(super) const FONT: &str = "font-family=\"Helvetica, Arial, sans-serif\"";
/// Approximate width of a character at a font size of one.
pub(super) const CHARACTER: f64 = 0.56;

/// A text at a point.
pub(super) fn text(out: &mut String, (x, y): (f64, f64), size: f64, anchor: &str, bold: bool, said: &str) {
    if said.trim().is_empty() {
        return;
    }
    let weight = if bold { " font-weight=\"bold\"" } else { "" };
    let _ = writeln!(
        out,
        "<text x=\"{x:.1}\" y=\"{y:.1}\" font-size=\"{size}\" text-anchor=\"{anchor}\"{weight}>{}</text>",
        escaped(said)
    );
}

/// Lines that fit a width.
pub(super) fn wrapped(line: &str, width: f64, size: f64) -> Vec<String> {
    let most = (width / (size * CHARACTER)) as usize;
    lines(line.split_whitespace(), |line| line.chars().count() <= most)
}
