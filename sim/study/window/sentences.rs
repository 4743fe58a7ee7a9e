//! Windows and maps in sentences.

use super::case_limits::LimitRef;
use super::map::JointMap;
use super::population::{SettingOverlap, in_words as ranges_in_words, mass_overlap, overlap};
use super::ranges::coarse;
use super::variations::Variation;
use super::{PositionRange, SettingWindow, Window, Windows, WithUncertainty};
use crate::outcome::{TrialVerdict, measured_margin};
use crate::study::text::{capitalised, count};
use crate::units::percent;

/// More limits than this are counted, not named.
const NAMED: usize = 4;

/// Limits in a line, by outcome.
fn named(limits: &[LimitRef]) -> String {
    let mut by_outcome: Vec<(String, Vec<&str>)> = Vec::new();
    for l in limits {
        let what = l.what();
        match by_outcome.iter_mut().find(|o| o.0 == what) {
            Some(o) => o.1.push(&l.scenario),
            None => by_outcome.push((what.to_owned(), vec![&l.scenario])),
        }
    }
    let said: Vec<String> =
        by_outcome.iter().take(NAMED).map(|(what, of)| format!("{what} ({})", of.join(", "))).collect();
    let more = by_outcome.len().saturating_sub(NAMED);
    said.join("; ") + &if more > 0 { format!(" and {more} more") } else { String::new() }
}

/// The limits that close a range, below and above.
fn closed(range: &PositionRange) -> String {
    let edge = |what: &str, by: &Option<LimitRef>| by.as_ref().map(|c| format!("{what} by {}", c.label()));
    let both: Vec<String> = [edge("below", &range.min_closed_by), edge("above", &range.max_closed_by)]
        .into_iter()
        .flatten()
        .collect();
    if both.is_empty() { "the whole range".into() } else { format!("closed {}", both.join(" and ")) }
}

/// `31.9 to 47.2 % (closed below by … and above by …)`.
fn window_in_words(window: &Window) -> String {
    let ranges: Vec<String> = window
        .ranges
        .iter()
        .map(|p| format!("{:.1} to {:.1} % ({})", p.min_pct, p.max_pct, closed(p)))
        .collect();
    ranges.join(" and from ")
}

impl SettingWindow {
    /// The window in one or a few sentences.
    #[must_use]
    pub fn answer(&self) -> String {
        self.in_words(false)
    }

    /// [`SettingWindow::answer`] with the bands of the edges.
    #[must_use]
    pub fn sentence(&self) -> String {
        self.in_words(true)
    }

    fn in_words(&self, with_bands: bool) -> String {
        let begin = format!("{}, set to {}:", self.setting, percent(self.at_pct));
        let bands = |window: &WithUncertainty| {
            if with_bands { " ".to_owned() + &bands_in_words(window) } else { String::new() }
        };
        let text = if self.limits.is_empty() {
            format!("{begin} no limit applies.")
        } else if self.all.window.is_whole() {
            format!(
                "{begin} every limit holds over the whole range, with the other settings fixed.{}",
                bands(&self.all)
            )
        } else if !self.all.window.is_empty() {
            format!(
                "{begin} every limit holds from {}, with the other settings fixed.{}",
                window_in_words(&self.all.window),
                bands(&self.all)
            )
        } else {
            let left = match &self.rest {
                Some(rest) if rest.window.is_whole() => format!("left: the whole range.{}", bands(rest)),
                Some(rest) if !rest.window.is_empty() => {
                    format!("left: {}.{}", window_in_words(&rest.window), bands(rest))
                }
                _ => format!("left: none.{}", self.exclusion()),
            };
            let ignoring = match self.nowhere.len() {
                0 => String::new(),
                n => format!(
                    "ignoring {} that no position meets ({}; the cause lies elsewhere), ",
                    count(n, "limit"),
                    named(&self.nowhere)
                ),
            };
            format!(
                "{begin} with the other settings fixed, no single position meets all limits; {ignoring}{left}"
            )
        };
        text.trim_end().to_owned()
    }

    fn exclusion(&self) -> String {
        let Some(e) = self.excluding.first() else {
            return if self.nowhere.is_empty() {
                " No two of the limits exclude each other, but all of them together do.".into()
            } else if self.rest.is_some() {
                " No two of the remaining limits exclude each other, but all of them together do.".into()
            } else {
                String::new()
            };
        };
        let more = match self.excluding.len() - 1 {
            0 => String::new(),
            1 => ", and so does one more pair".to_owned(),
            n => format!(", and so do {n} more pairs"),
        };
        format!(
            " {} holds from {}, {} from {}: they exclude each other{more}.",
            capitalised(&e.lower.label()),
            e.lower_window.in_words(),
            e.upper.label(),
            e.upper_window.in_words()
        )
    }
}

/// Bands of the edges in a sentence; empty without bands.
fn bands_in_words(window: &WithUncertainty) -> String {
    if window.variations.is_empty() {
        return String::new();
    }
    let mut bands: Vec<String> = Vec::new();
    for p in &window.window.ranges {
        for (edge, band) in ["lower edge", "upper edge"].into_iter().zip(window.bands(p)) {
            if band.most_pct > band.least_pct {
                bands.push(format!("{edge} {:.1} to {:.1} %", band.least_pct, band.most_pct));
            }
        }
    }
    let none: Vec<String> = window.empty_at().map(Variation::in_words).collect();
    if !none.is_empty() {
        bands.push(format!("no window with {}", none.join(", with ")));
    }
    if bands.is_empty() {
        return "Varying the values of judgement does not move this.".into();
    }
    format!("With the values of judgement varied: {}.", bands.join(", "))
}

impl Windows {
    /// Notes, the sentences of every setting, and the resolution of the scan.
    pub(super) fn sentences(&self, of_setting: fn(&SettingWindow) -> String) -> Vec<String> {
        let mut text = self.notes.clone();
        if self.population {
            text.extend(self.population_sentences());
        } else {
            text.extend(self.people.iter().flat_map(|p| p.settings.iter().map(of_setting)));
        }
        text.push(format!(
            "Scan in steps of {:.1} %, edges to {:.2} %; a change and its reversal within one step are missed.",
            100.0 / (coarse().count() - 1) as f64,
            Self::LOCATED_TO_PCT
        ));
        text
    }

    fn population_sentences(&self) -> Vec<String> {
        let about = |(i, s): (usize, &SettingOverlap)| {
            let windows = self.people.iter().filter(|c| !c.settings[i].all.window.is_empty()).count();
            let mut said = format!("{}: a window in {windows} of {} cases", s.setting, self.people.len());
            if let (Some(first), Some(last)) = (s.of_mass.first(), s.of_mass.last())
                && s.of_mass.len() > 1
            {
                let none: Vec<String> = [first, last]
                    .iter()
                    .filter(|m| m.1.is_empty())
                    .map(|m| format!("{:.1} kg", m.0))
                    .collect();
                said += &match none.as_slice() {
                    [] => format!(
                        "; {:.1} and {:.1} kg share {}",
                        first.0,
                        last.0,
                        ranges_in_words(&overlap(&first.1, &last.1))
                    ),
                    [one] => format!("; {one} has none of its own"),
                    both => format!("; {} have none of their own", both.join(" and ")),
                };
                if let Some(((from, to), count)) = s.most {
                    said += &format!(
                        "; {from:.1} to {to:.1} % suits the most: {count} of {} masses",
                        s.of_mass.len()
                    );
                }
            }
            said + "."
        };
        mass_overlap(self).settings.iter().enumerate().map(about).collect()
    }
}

impl JointMap {
    /// The result of the map.
    #[must_use]
    pub fn sentences(&self) -> Vec<String> {
        let fixed: Vec<String> = self.fixed.iter().map(|(n, at)| format!("{n} {}", percent(*at))).collect();
        let best = self.best();
        let (x, y) = self.at(best);
        let by = self.cells[best].tightest.by.as_ref().map_or_else(|| "none".into(), LimitRef::label);
        let always = self.always_holding().map_or_else(String::new, |v| {
            format!(
                ", in {v} also with each value of judgement at either end of its range and judged edges moved"
            )
        });
        vec![
            format!(
                "Over {} positions each of {} and {}, with {} fixed, every limit holds in {} of {} pairs{always}; \
                 {} more are doubtful.",
                self.positions_pct.len(),
                self.x,
                self.y,
                fixed.join(" and "),
                self.count(TrialVerdict::Within),
                self.cells.len(),
                self.count(TrialVerdict::Doubtful)
            ),
            match measured_margin(self.cells[best].tightest.margin) {
                Some(margin) => format!(
                    "The greatest margin of the tightest limit is {margin:.2}, at {} {x:.0} % and {} {y:.0} %; tightest \
                     there: {by}.",
                    self.x, self.y
                ),
                None => format!(
                    "The best pair is {} {x:.0} % and {} {y:.0} %; tightest there: {by}, which has no margin in numbers.",
                    self.x, self.y
                ),
            },
        ]
    }
}
