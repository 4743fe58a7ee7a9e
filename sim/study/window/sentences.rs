//! Windows and maps in sentences.

use super::case_limits::Closer;
use super::map::JointMap;
use super::population::{SharedSetting, overlap, said as spans_said, shared};
use super::ranges::coarse;
use super::variations::Variation;
use super::{Banded, Part, SettingWindow, Window, Windows};
use crate::outcome::metric;

/// More limits than this are counted, not named.
const NAMED: usize = 4;

/// Limits in a line: outcomes with the scenarios they are of.
fn named(limits: &[Closer]) -> String {
    let mut by_outcome: Vec<(String, Vec<&str>)> = Vec::new();
    for l in limits {
        let what = l.outcome.map_or("cannot run", |key| metric(key).map_or(key, |m| m.label));
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

/// What closes a part, below and above.
fn closed(part: &Part) -> String {
    let edge = |what: &str, by: &Option<Closer>| by.as_ref().map(|c| format!("{what} by {}", c.label()));
    let both: Vec<String> = [edge("below", &part.min_closed_by), edge("above", &part.max_closed_by)]
        .into_iter()
        .flatten()
        .collect();
    if both.is_empty() { "the whole range".into() } else { format!("closed {}", both.join(" and ")) }
}

/// `31.9 to 47.2 % (closed below by … and above by …)`.
fn window_said(window: &Window) -> String {
    let parts: Vec<String> = window
        .parts
        .iter()
        .map(|p| format!("{:.1} to {:.1} % ({})", p.min_pct, p.max_pct, closed(p)))
        .collect();
    parts.join(" and from ")
}

impl SettingWindow {
    /// One or a few sentences.
    #[must_use]
    pub fn sentence(&self) -> String {
        let begin = format!("{}, set to {:.0} %:", self.setting, self.at_pct);
        if self.all.window.is_whole() {
            let said = format!("{begin} every limit holds over the whole range, the others held.");
            return format!("{said} {}", band_said(&self.all)).trim_end().to_owned();
        }
        if !self.all.window.is_empty() {
            return format!(
                "{begin} every limit holds from {}, the others held. {}",
                window_said(&self.all.window),
                band_said(&self.all)
            );
        }
        let mut said = format!("{begin} with the others held, no position holds every limit.");
        if !self.nowhere.is_empty() {
            said += &format!(
                " Whatever its position, broken: {}; the cause lies elsewhere.",
                named(&self.nowhere)
            );
        }
        match &self.rest {
            Some(rest) if rest.window.is_whole() => {
                said += &format!(" The other limits hold over the whole range. {}", band_said(rest));
            }
            Some(rest) if !rest.window.is_empty() => {
                said += &format!(
                    " The other limits hold from {}. {}",
                    window_said(&rest.window),
                    band_said(rest)
                );
            }
            _ => said += &self.exclusion(),
        }
        said.trim_end().to_owned()
    }

    fn exclusion(&self) -> String {
        let Some(e) = self.excluding.first() else {
            return if self.nowhere.is_empty() {
                " No two of the limits exclude each other, but all together do.".into()
            } else if self.rest.is_some() {
                " No two of the other limits exclude each other, but all together do.".into()
            } else {
                String::new()
            };
        };
        let more = match self.excluding.len() - 1 {
            0 => String::new(),
            1 => " One more pair does.".to_owned(),
            n => format!(" {n} more pairs do."),
        };
        format!(
            " Of the limits, {} holds at {}, {} at {}: they exclude each other.{more}",
            e.lower.label(),
            e.lower_held.said(),
            e.upper.label(),
            e.upper_held.said()
        )
    }
}

/// Band of the edges in a sentence; nothing without bands.
fn band_said(banded: &Banded) -> String {
    if banded.varied.is_empty() {
        return String::new();
    }
    let mut said: Vec<String> = Vec::new();
    for p in &banded.window.parts {
        for (edge, band) in ["lower edge", "upper edge"].into_iter().zip(banded.bands(p)) {
            if band.most_pct > band.least_pct {
                said.push(format!("{edge} {:.1} to {:.1} %", band.least_pct, band.most_pct));
            }
        }
    }
    let none: Vec<String> = banded.empty_at().map(Variation::said).collect();
    if !none.is_empty() {
        said.push(format!("no window with {}", none.join(", with ")));
    }
    if said.is_empty() {
        return "Varying the values of judgement does not move this.".into();
    }
    format!("With the values of judgement varied: {}.", said.join(", "))
}

impl Windows {
    /// What a reader has to know, and a sentence or a few per setting.
    #[must_use]
    pub fn sentences(&self) -> Vec<String> {
        let mut text = self.notes.clone();
        if self.population {
            text.extend(self.population_sentences());
        } else {
            text.extend(self.cells.iter().flat_map(|c| c.settings.iter().map(SettingWindow::sentence)));
        }
        text.push(format!(
            "Looked at every {:.1} %, edges found to {:.2} %: what comes and goes in between is missed.",
            100.0 / (coarse().count() - 1) as f64,
            Self::LOCATED_TO_PCT
        ));
        text
    }

    fn population_sentences(&self) -> Vec<String> {
        let about = |(i, s): (usize, &SharedSetting)| {
            let windows = self.cells.iter().filter(|c| !c.settings[i].all.window.is_empty()).count();
            let mut said = format!("{}: a window in {windows} of {} cases", s.setting, self.cells.len());
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
                        spans_said(&overlap(&first.1, &last.1))
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
        shared(self).settings.iter().enumerate().map(about).collect()
    }
}

impl JointMap {
    /// What the map comes to.
    #[must_use]
    pub fn sentences(&self) -> Vec<String> {
        let held: Vec<String> = self.held.iter().map(|(n, at)| format!("{n} {at:.0} %")).collect();
        let best = self.best();
        let (x, y) = self.at(best);
        let by = self.cells[best].tightest.by.as_ref().map_or_else(|| "none".into(), Closer::label);
        let always = self.always_holding().map_or_else(String::new, |v| {
            format!(
                ", in {v} also with each value of judgement at either end of its range and judged edges moved"
            )
        });
        vec![
            format!(
                "Over {} positions each of {} and {}, with {} held, every limit holds in {} of {} pairs{always}.",
                self.positions_pct.len(),
                self.x,
                self.y,
                held.join(" and "),
                self.holding(),
                self.cells.len()
            ),
            format!(
                "The greatest margin of the tightest limit is {:.2}, at {} {x:.0} % and {} {y:.0} %; tightest there: {by}.",
                self.cells[best].tightest.margin, self.x, self.y
            ),
        ]
    }
}
