//! The line of a file on which a field is written, and how much of a file an error shows.

use crate::error::SimError;

/// What a file holds, as errors show it: huge text must not fill the screen.
pub(super) fn clipped(text: &str) -> String {
    const MOST: usize = 60;
    if text.chars().count() <= MOST {
        return text.to_owned();
    }
    text.chars().take(MOST).chain("...".chars()).collect()
}

/// An error about a field, with the file and the line on which the field is written.
#[must_use]
pub fn in_text(text: &str, origin: &str, e: SimError) -> SimError {
    let line = e.field().and_then(|f| line_of_field(text, f));
    SimError::InFile { file: origin.to_owned(), line, cause: Box::new(e) }
}

/// Line (from 1) on which a dotted field path is written, found by walking its keys down the text. A field that is not
/// there has the line of the innermost one around it that is.
#[must_use]
pub fn line_of_field(text: &str, path: &str) -> Option<u64> {
    let text = without_comments(text);
    // `cos (number of harmonics)` is about `cos`
    let path = path.split(" (").next()?;
    let (mut from, mut to, mut found) = (0, text.len(), None);
    for segment in path.split('.') {
        let (key, index) = match segment.split_once('[') {
            Some((k, i)) => (k, i.trim_end_matches(']').parse::<usize>().ok()),
            None => (segment, None),
        };
        let Some(key) = find_key(&text, from, to, key) else { break };
        (from, to, found) = (key, section_end(&text, key, to), Some(key));
        if let Some((start, end)) = index.and_then(|i| find_item(&text[from..to], i)) {
            (from, to, found) = (from + start, from + end, Some(from + start));
        }
    }
    found.map(|at| text[..at].matches('\n').count() as u64 + 1)
}

/// The text with comments and what stands in quotes blanked out: keys in them are none. Every byte keeps its place.
fn without_comments(text: &str) -> String {
    let mut quote = None;
    let (mut comment, mut escaped) = (false, false);
    // the character before, and the one before it that is no blank
    let (mut before, mut last) = ('\n', '\n');
    let mut kept = String::with_capacity(text.len());
    for c in text.chars() {
        match (c, quote) {
            ('\n', _) => comment = false,
            _ if comment => {}
            (_, Some('"')) if escaped || c == '\\' => escaped = !escaped,
            (_, Some(open)) if c == open => quote = None,
            (_, Some(_)) => {}
            // elsewhere in a text it is an apostrophe
            ('"' | '\'', None) if "[{,:-\n".contains(last) => quote = Some(c),
            ('#', None) => comment = before.is_whitespace(),
            _ => {}
        }
        let blank = c != '\n' && (comment || quote.is_some());
        if blank {
            kept.extend(std::iter::repeat_n(' ', c.len_utf8()))
        } else {
            kept.push(c)
        }
        before = c;
        last = if c == '\n' || !c.is_whitespace() { c } else { last };
    }
    kept
}

/// Offset just after the `key:` between two offsets that stands furthest to the left: the others are inside another key.
fn find_key(text: &str, from: usize, to: usize, key: &str) -> Option<usize> {
    let wanted = format!("{key}:");
    let column = |at: usize| at - text[..at].rfind('\n').map_or(0, |n| n + 1);
    let stands_alone = |at: usize| {
        text[..at].chars().next_back().is_none_or(|c| c.is_whitespace() || "{,-".contains(c))
            && text[at + wanted.len()..].chars().next().is_none_or(char::is_whitespace)
    };
    let all = text[from..to].match_indices(&wanted).map(|(i, _)| from + i).filter(|at| stands_alone(*at));
    all.min_by_key(|at| column(*at)).map(|at| at + wanted.len())
}

/// Where the section of a key ends, which itself ends at `key`: at the next line that is not further to the right. Items
/// of a list may begin under their key.
fn section_end(text: &str, key: usize, to: usize) -> usize {
    let start = text[..key].rfind('\n').map_or(0, |n| n + 1);
    // the key of an item stands behind the dash
    let indent = text[start..].find(|c: char| !c.is_whitespace() && c != '-').unwrap_or(0);
    let rest = &text[key..to];
    let mut at = key + rest.find('\n').map_or(rest.len(), |n| n + 1);
    for line in text[at..to].split_inclusive('\n') {
        let said = line.trim_start();
        let lead = line.len() - said.len();
        let ends = if said.starts_with("- ") { lead < indent } else { lead <= indent };
        if !said.is_empty() && ends {
            break;
        }
        at += line.len();
    }
    at
}

/// Offsets of the `index`-th item of a block list, from its dash to the next one.
fn find_item(text: &str, index: usize) -> Option<(usize, usize)> {
    let mut offset = 0;
    let mut indent = None;
    let mut starts = Vec::new();
    for line in text.split_inclusive('\n') {
        let lead = line.len() - line.trim_start().len();
        if line.trim_start().starts_with('-') && *indent.get_or_insert(lead) == lead {
            starts.push(offset + lead);
        }
        offset += line.len();
    }
    let start = *starts.get(index)?;
    Some((start, starts.get(index + 1).copied().unwrap_or(text.len())))
}
