//! Plain-text motion tables (`.sto`, `.mot`) as the tables that all readers take.
//!
//! A header of `key=value` lines ends with `endheader`; then come the names of the columns and the numbers,
//! separated by blanks or tabs. `inDegrees=no` means radians. The form is that of OpenSim's storage files
//! (documentation of OpenSim, from memory).

/// A motion table in our form.
#[derive(Debug, Clone, PartialEq)]
pub struct MotionTable {
    /// Text with tabs between columns; lines keep their numbers.
    pub text: String,
    /// Angles are in radians.
    pub in_radians: bool,
}

/// The table in our form; none if the text has no such header.
#[must_use]
pub fn read(text: &str) -> Option<MotionTable> {
    let end = text.lines().position(|l| l.trim().eq_ignore_ascii_case("endheader"))?;
    let mut in_radians = false;
    let lines = text.lines().enumerate().map(|(i, line)| {
        if i <= end {
            let said = line.to_ascii_lowercase().replace(' ', "");
            in_radians |= said == "indegrees=no";
            return "#".to_owned();
        }
        line.split_whitespace().collect::<Vec<_>>().join("\t")
    });
    let text = lines.collect::<Vec<_>>().join("\n");
    Some(MotionTable { text, in_radians })
}
