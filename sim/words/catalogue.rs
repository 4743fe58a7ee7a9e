//! English sentences read by templates, and written in another language.
//!
//! A template is an English text with holes, `{a}`; its translation names the same holes. A sentence is translated where
//! a template covers all of it, or each of its parts between full stops or semicolons, and every hole is translated in turn, so that no word is left over. A hole whose name
//! begins with `n` takes numbers with their units, and names; with `v`, what a user wrote, as it is. The template with most text of its own comes first.
//! Numbers get the decimal comma. A sentence may begin with a capital and end with a full stop without a template for it.

use std::collections::{HashMap, HashSet};
use std::sync::Mutex;

/// Units and signs that are the same in every language.
const UNITS: [&str; 33] = [
    "%",
    "°",
    "°C",
    "°/s",
    "A",
    "B",
    "BW",
    "BW·ms",
    "C",
    "D",
    "J",
    "N",
    "kg",
    "m",
    "m/s",
    "m/s²",
    "mm",
    "ms",
    "s",
    "m/kg",
    "steps/min",
    "rad/s",
    "[J]",
    "→",
    "–",
    "±",
    "✓",
    "✗",
    "?",
    "·",
    "1/min",
    "Ns²",
    "s²/rad²",
];
/// Longer sentences are not kept.
const KEPT: usize = 4096;

/// A template: literal pieces with a hole between each two.
#[derive(Debug)]
struct Template {
    pieces: Vec<String>,
    holes: Vec<String>,
    into: String,
}

/// All templates of a language.
#[derive(Debug)]
pub(super) struct Catalogue {
    whole: HashMap<String, String>,
    templates: Vec<Template>,
    names: Vec<String>,
    /// Every word of every template, in lower case.
    vocabulary: HashSet<String>,
    /// What has been translated; the same few sentences come again and again.
    known: Mutex<HashMap<String, Option<String>>>,
}

impl Catalogue {
    pub(super) fn new(pairs: Vec<(String, String)>, names: Vec<String>) -> Self {
        let literal = |from: &str| Template::new((from.to_owned(), String::new())).pieces.join(" ");
        let vocabulary = pairs.iter().map(|(from, _)| literal(from)).collect::<Vec<_>>().join(" ");
        let vocabulary = words(&vocabulary).map(str::to_lowercase).collect();
        let (whole, holed): (Vec<_>, Vec<_>) = pairs.into_iter().partition(|(from, _)| !from.contains('{'));
        let mut templates: Vec<Template> = holed.into_iter().map(Template::new).collect();
        templates.sort_by_key(|t| std::cmp::Reverse(t.pieces.iter().map(String::len).sum::<usize>()));
        Self { whole: whole.into_iter().collect(), templates, names, vocabulary, known: Mutex::default() }
    }

    /// None where words are left that no template covers.
    pub(super) fn translated(&self, text: &str) -> Option<String> {
        let mut known = self.known.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        if known.len() > 100 * KEPT {
            known.clear();
        }
        self.sentence(text, &mut known)
    }

    fn sentence(&self, text: &str, known: &mut HashMap<String, Option<String>>) -> Option<String> {
        if let Some(before) = known.get(text) {
            return before.clone();
        }
        // a sentence that contains itself has no translation
        known.insert(text.to_owned(), None);
        let found = self.find(text, known);
        known.insert(text.to_owned(), found.clone());
        found
    }

    fn find(&self, text: &str, known: &mut HashMap<String, Option<String>>) -> Option<String> {
        if let Some(found) = self.whole.get(text) {
            return Some(found.clone());
        }
        if let Some(number) = self.neutral(text) {
            return Some(number);
        }
        // a word that stands in no template can only be what a user wrote
        let foreign = |w: &str| !self.vocabulary.contains(&w.to_lowercase()) && self.neutral(w).is_none();
        if words(text).any(foreign) {
            return self.templates.iter().filter(|t| t.quotes()).find_map(|t| self.by(t, text, known));
        }
        for (parts, between) in [(sentences(text), " "), (text.split("; ").collect(), "; ")] {
            let each = |part: &&str| self.sentence(part, known);
            if parts.len() > 1
                && let Some(parts) = parts.iter().map(each).collect::<Option<Vec<_>>>()
            {
                return Some(parts.join(between));
            }
        }
        if let Some(found) = self.templates.iter().find_map(|t| self.by(t, text, known)) {
            return Some(found);
        }
        if let Some(sentence) = text.strip_suffix('.') {
            return Some(self.sentence(sentence, known)? + ".");
        }
        let mut rest = text.chars();
        let first = rest.next().filter(|c| c.is_uppercase())?;
        let lower: String = first.to_lowercase().chain(rest).collect();
        let found = self.sentence(&lower, known)?;
        let mut rest = found.chars();
        Some(rest.next()?.to_uppercase().chain(rest).collect())
    }

    /// By one template: the pieces in order, each hole as short as it can be translated.
    fn by(&self, t: &Template, text: &str, known: &mut HashMap<String, Option<String>>) -> Option<String> {
        let rest = text.strip_prefix(t.pieces[0].as_str())?;
        let mut values = Vec::new();
        self.holes(t, 0, rest, &mut values, known).then(|| {
            let put =
                |text: String, (hole, value): (&String, &String)| text.replace(&format!("{{{hole}}}"), value);
            t.holes.iter().zip(&values).fold(t.into.clone(), put)
        })
    }

    fn holes(
        &self,
        t: &Template,
        at: usize,
        rest: &str,
        values: &mut Vec<String>,
        known: &mut HashMap<String, Option<String>>,
    ) -> bool {
        if at == t.holes.len() {
            return rest.is_empty();
        }
        let piece = t.pieces[at + 1].as_str();
        let last = at + 1 == t.holes.len();
        let ends: Vec<usize> = match (last, piece.is_empty()) {
            (true, _) => rest.strip_suffix(piece).map(str::len).into_iter().collect(),
            (false, _) => rest.match_indices(piece).map(|(i, _)| i).collect(),
        };
        for end in ends.into_iter().filter(|e| *e > 0) {
            let value = match t.holes[at].chars().next() {
                Some('n') => self.neutral(&rest[..end]),
                Some('v') => Some(rest[..end].to_owned()),
                _ => self.sentence(&rest[..end], known),
            };
            let Some(value) = value else { continue };
            values.push(value);
            if self.holes(t, at + 1, &rest[end + piece.len()..], values, known) {
                return true;
            }
            values.pop();
        }
        false
    }

    /// Numbers with units, and names; the decimal point becomes a comma.
    fn neutral(&self, text: &str) -> Option<String> {
        let one = |word: &str| {
            let bare = word.trim_matches([',', ';', '(', ')']);
            if self.names.iter().any(|n| n == bare) || UNITS.contains(&bare) {
                return Some(word.to_owned());
            }
            let digits = bare.contains(|c: char| c.is_ascii_digit());
            let number = bare.chars().all(|c| c.is_ascii_digit() || "+-−.%°:/±…".contains(c));
            // `9.8°/s` and `70°`
            let number = number || bare.strip_suffix("°/s").is_some_and(|b| b.parse::<f64>().is_ok());
            (digits && number).then(|| comma(word))
        };
        text.split(' ').map(one).collect::<Option<Vec<_>>>().map(|words| words.join(" "))
    }
}

impl Template {
    fn new((from, into): (String, String)) -> Self {
        let (mut pieces, mut holes) = (Vec::new(), Vec::new());
        let mut rest = from.as_str();
        while let Some((before, after)) = rest.split_once('{') {
            let (hole, then) = after.split_once('}').unwrap_or((after, ""));
            pieces.push(before.to_owned());
            holes.push(hole.to_owned());
            rest = then;
        }
        pieces.push(rest.to_owned());
        Self { pieces, holes, into }
    }

    /// Has a hole for what a user wrote.
    fn quotes(&self) -> bool {
        self.holes.iter().any(|h| h.starts_with('v'))
    }
}

/// Its words without the signs around them.
fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(' ').map(|w| w.trim_matches(['.', ',', ';', ':', '(', ')', '"'])).filter(|w| !w.is_empty())
}

/// Sentences: a full stop, a space and a capital part them.
fn sentences(text: &str) -> Vec<&str> {
    let mut parts = Vec::new();
    let mut from = 0;
    for (at, _) in text.match_indices(". ") {
        if text[at + 2..].starts_with(char::is_uppercase) {
            parts.push(&text[from..=at]);
            from = at + 2;
        }
    }
    parts.push(&text[from..]);
    parts
}

/// A point between digits becomes a comma.
fn comma(number: &str) -> String {
    let chars: Vec<char> = number.chars().collect();
    let digit = |i: Option<usize>| i.and_then(|i| chars.get(i)).is_some_and(char::is_ascii_digit);
    let one = |(i, c): (usize, &char)| {
        if *c == '.' && digit(i.checked_sub(1)) && digit(Some(i + 1)) { ',' } else { *c }
    };
    chars.iter().enumerate().map(one).collect()
}
