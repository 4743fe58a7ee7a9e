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

/// Line (from 1) on which a dotted field path is written, found by walking its keys down the text.
#[must_use]
pub fn line_of_field(text: &str, path: &str) -> Option<u64> {
    let mut at = 0usize;
    for segment in path.split('.') {
        let (key, index) = match segment.split_once('[') {
            Some((k, i)) => (k, i.trim_end_matches(']').parse::<usize>().ok()),
            None => (segment, None),
        };
        at += find_key(&text[at..], key)?;
        if let Some(i) = index {
            at += find_item(&text[at..], i).unwrap_or(0);
        }
    }
    Some(text[..at].matches('\n').count() as u64 + 1)
}

/// Offset just after `key:` where the key stands on its own.
fn find_key(text: &str, key: &str) -> Option<usize> {
    let wanted = format!("{key}:");
    text.match_indices(&wanted)
        .find(|(i, _)| text[..*i].chars().next_back().is_none_or(|c| c.is_whitespace() || "{,-".contains(c)))
        .map(|(i, _)| i + wanted.len())
}

/// Offset of the `index`-th item of the block list that follows.
fn find_item(text: &str, index: usize) -> Option<usize> {
    let mut offset = 0;
    let mut indent = None;
    let mut seen = 0;
    for line in text.split_inclusive('\n') {
        let lead = line.len() - line.trim_start().len();
        if line.trim_start().starts_with('-') && *indent.get_or_insert(lead) == lead {
            if seen == index {
                return Some(offset + lead);
            }
            seen += 1;
        }
        offset += line.len();
    }
    None
}
