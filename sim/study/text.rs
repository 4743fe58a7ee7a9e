//! Words and table cells that several studies share.

use crate::findings::Cell;
use crate::outcome::{Metric, Value};

/// `1 trial`, `2 trials`.
#[must_use]
pub fn count(n: usize, what: &str) -> String {
    if n == 1 { format!("{n} {what}") } else { format!("{n} {what}s") }
}

/// `a, b and c`.
#[must_use]
pub fn list(parts: &[impl AsRef<str>]) -> String {
    let parts: Vec<&str> = parts.iter().map(AsRef::as_ref).collect();
    match parts.as_slice() {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// Each part as a sentence, with a capital and a full stop.
#[must_use]
pub fn sentences(parts: &[String]) -> String {
    let sentence = |p: &String| capitalised(p) + ".";
    parts.iter().map(sentence).collect::<Vec<_>>().join(" ")
}

/// The text with its first letter as a capital.
#[must_use]
pub fn capitalised(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

/// The value of an outcome as data; empty where it is not reached.
#[must_use]
pub fn value_cell(m: &Metric, value: Value) -> Cell {
    match value {
        Value::Number(v) => Cell::Number(v, m.decimals),
        Value::Word(w) => Cell::text(w),
        Value::NotReached => Cell::Empty,
    }
}
