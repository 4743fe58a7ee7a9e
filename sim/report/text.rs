//! Texts: broken into lines, escaped for HTML and SVG.

/// Line width of a terminal.
const COLUMNS: usize = 100;

/// Lines for a terminal, each beginning with `indent`.
pub(crate) fn wrap(text: &str, indent: &str) -> String {
    let width = |line: &str| indent.chars().count() + line.chars().count();
    let lines = lines(text.split_whitespace(), |line| width(line) <= COLUMNS);
    lines.iter().map(|line| format!("{indent}{line}")).collect::<Vec<_>>().join("\n")
}

/// Joins words with spaces into lines that `fits` accepts; a word that does not fit stands alone.
pub(super) fn lines<'a>(words: impl Iterator<Item = &'a str>, fits: impl Fn(&str) -> bool) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words {
        let longer = lines.last().map(|line| format!("{line} {word}")).filter(|line| fits(line));
        match (lines.last_mut(), longer) {
            (Some(line), Some(longer)) => *line = longer,
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// A text for HTML and SVG; control characters are left out.
pub(crate) fn escaped(text: &str) -> String {
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
