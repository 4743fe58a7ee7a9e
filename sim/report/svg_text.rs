//! Texts of hand-written SVG: they stay texts, wrapped to an estimate of their width.

use std::fmt::Write as _;

/// Fonts asked for.
pub(super) const FONT: &str = "font-family=\"Helvetica, Arial, sans-serif\"";
/// About the width of a character at a font size of one.
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
    let mut lines: Vec<String> = vec![String::new()];
    for word in line.split_whitespace() {
        let last = lines.last_mut().expect("never empty");
        if !last.is_empty() && last.chars().count() + 1 + word.chars().count() > most {
            lines.push(word.to_owned());
        } else {
            if !last.is_empty() {
                last.push(' ');
            }
            last.push_str(word);
        }
    }
    lines
}

/// A text for XML; control characters are left out.
pub(super) fn escaped(text: &str) -> String {
    text.chars()
        .filter(|c| !c.is_control())
        .map(|c| match c {
            '&' => "&amp;".to_owned(),
            '<' => "&lt;".to_owned(),
            '>' => "&gt;".to_owned(),
            '"' => "&quot;".to_owned(),
            c => c.to_string(),
        })
        .collect()
}
