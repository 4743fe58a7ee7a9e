//! Words for keys: a sheet is read by people who type no commands.

use crate::case::inputs::INPUTS;

/// Scenarios of a sheet whose names are no words.
const CALLED: [(&str, &str); 8] = [
    ("walk-slow", "slow walking"),
    ("walk-comfortable", "comfortable walking"),
    ("walk-fast", "fast walking"),
    ("walk-hurried", "hurried walking"),
    ("sit-down", "sitting down"),
    ("ramp-down-1-in-12", "ramp of 1 in 12"),
    ("ramp-down-8-deg", "ramp of 8°"),
    ("stairs-down", "stairs"),
];

/// A sentence of a study with the names of scenarios and inputs in words, and true minus signs.
pub(super) fn in_words(sentence: &str) -> String {
    let inputs = INPUTS.iter().filter(|i| i.key.contains('_')).map(|i| (i.key, i.label));
    let mut named: Vec<(&str, &str)> = CALLED.into_iter().chain(inputs).collect();
    // a key can end another one: the longest first
    named.sort_by_key(|(key, _)| std::cmp::Reverse(key.len()));
    let text = named.into_iter().fold(sentence.to_owned(), |text, (key, words)| text.replace(key, words));
    let mut out = String::new();
    for (i, part) in text.split(" -").enumerate() {
        if i > 0 {
            out += if part.starts_with(|c: char| c.is_ascii_digit()) { " \u{2212}" } else { " -" };
        }
        out += part;
    }
    out
}
