//! A letter for each limit, for maps that must read without colour.

use super::case_limits::LimitRef;
use crate::outcome::TrialVerdict;

/// Limits in falling order of how often they occur, with letters from A; beyond Z all share `?`.
#[must_use]
pub fn letters<'a>(limits: impl Iterator<Item = &'a LimitRef>) -> Vec<(char, LimitRef)> {
    let mut counted: Vec<(usize, &LimitRef)> = Vec::new();
    for limit in limits {
        match counted.iter_mut().find(|c| c.1 == limit) {
            Some(c) => c.0 += 1,
            None => counted.push((1, limit)),
        }
    }
    // stable: equal counts keep the order in which they were met
    counted.sort_by_key(|c| std::cmp::Reverse(c.0));
    let letter = |i: usize| u8::try_from(i).ok().filter(|i| *i < 26).map_or('?', |i| char::from(b'A' + i));
    counted.into_iter().enumerate().map(|(i, (_, c))| (letter(i), c.clone())).collect()
}

/// The letter of a cell: small where every limit holds, small with a question mark where it is doubtful, a capital where
/// a limit is broken.
#[must_use]
pub fn letter_of(letter: char, verdict: TrialVerdict) -> String {
    match verdict {
        TrialVerdict::Outside => letter.to_string(),
        TrialVerdict::Doubtful => format!("{}?", letter.to_ascii_lowercase()),
        TrialVerdict::Within | TrialVerdict::NoLimits => letter.to_ascii_lowercase().to_string(),
    }
}
