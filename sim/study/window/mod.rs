//! Windows: for each setting, with the other settings fixed, the positions at which every binding limit of
//! every chosen scenario holds, and which limit of which scenario closes each edge. The same over mass and
//! cadence, the joint map of two settings (`map`), and a region of all settings together (`region`).
//!
//! Each limit has its own range, found by a scan and bisection (`scan`, `ranges`); the window is where all
//! ranges overlap (`assemble`). If they do not overlap, the study names the limits that exclude each other
//! and those that no position of this setting meets; it then also gives the window of the remaining limits.
//! Every edge is computed again at the least and greatest value of each value of judgement and with judged
//! edges moved by their band (`variations`); the range of the results is the band of the edge.
//!
//! Margins are relative, as in `outcome::verdict`: 0 at the edge of a limit, −10 for a word that is not
//! allowed, an outcome that is not reached, or a scenario that cannot run.

mod assemble;
pub mod case_limits;
pub mod letters;
pub mod map;
pub mod plan;
mod plot;
pub mod population;
mod question;
pub mod ranges;
pub mod region;
mod report;
mod scan;
mod sentences;
mod tables;
pub mod variations;

pub use crate::study::window::case_limits::{BindingLimit, CaseLimits, LimitRef};
pub use crate::study::window::variations::{JUDGED, Variation};
pub use map::{JointMap, joint_map};
pub use plan::Plan;
pub use question::Question;
pub use region::{Region, region};

use ranges::{LAST, Ranges, UNIT_PCT, pct};

use crate::body::Person;
use crate::joint::SettingName;

/// Result of the study, for one or several people and paces.
#[derive(Debug)]
pub struct Windows {
    /// One per mass and cadence, cadence running faster.
    pub people: Vec<PersonWindows>,
    /// Several masses or cadences were asked for.
    pub population: bool,
    /// The variations, as set first; only that one if edges have no band.
    pub variations: Vec<Variation>,
    /// Remarks for the reader.
    pub notes: Vec<String>,
}

/// Windows of one person at one pace.
#[derive(Debug)]
pub struct PersonWindows {
    /// Person.
    pub person: Person,
    /// Cadence asked for, steps per minute.
    pub cadence_steps_per_min: Option<f64>,
    /// The tightest limit with every setting as it is.
    pub now: BindingLimit,
    /// One for each setting of the joint.
    pub settings: Vec<SettingWindow>,
}

/// Window of one setting, the others fixed.
#[derive(Debug)]
pub struct SettingWindow {
    /// Setting.
    pub setting: SettingName,
    /// Where it is, percent.
    pub at_pct: f64,
    /// Range of every limit.
    pub limits: Vec<LimitRange>,
    /// Where all limits hold.
    pub all: WithUncertainty,
    /// Limits that hold nowhere along this setting.
    pub nowhere: Vec<LimitRef>,
    /// Where the remaining limits hold, if some hold nowhere.
    pub rest: Option<WithUncertainty>,
    /// Pairs of the remaining limits that share no position, the widest gap first.
    pub excluding: Vec<ExcludingPair>,
    /// The coarse position with the greatest least margin.
    pub best: BestPosition,
}

/// Range of one limit.
#[derive(Debug)]
pub struct LimitRange {
    /// Which limit.
    pub limit: LimitRef,
    /// Where it holds.
    pub window: WithUncertainty,
}

/// A window, and the same window under every variation.
#[derive(Debug)]
pub struct WithUncertainty {
    /// As set.
    pub window: Window,
    /// Under every other variation.
    pub variations: Vec<(Variation, Window)>,
}

/// Ranges of positions, and the limits that close their edges.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Window {
    /// Disjoint ranges in rising order; none if it is empty.
    pub ranges: Vec<PositionRange>,
}

/// One range.
#[derive(Debug, Clone, PartialEq)]
pub struct PositionRange {
    /// Lower edge, percent.
    pub min_pct: f64,
    /// Upper edge, percent.
    pub max_pct: f64,
    /// What closes the lower edge; none at the end of the setting's range.
    pub min_closed_by: Option<LimitRef>,
    /// What closes the upper edge.
    pub max_closed_by: Option<LimitRef>,
}

/// For the position just outside an edge: the limit that closes it, and its relative margin there.
type Closing<'a> = dyn Fn(u32) -> (LimitRef, f64) + 'a;

/// Two limits that share no position.
#[derive(Debug, Clone)]
pub struct ExcludingPair {
    /// The one that holds at lower positions.
    pub lower: LimitRef,
    /// Where it holds.
    pub lower_window: Window,
    /// The one that holds at higher positions.
    pub upper: LimitRef,
    /// Where it holds.
    pub upper_window: Window,
    /// Distance between the two, percentage points.
    pub gap_pct: f64,
}

/// The best position on the coarse grid.
#[derive(Debug, Clone)]
pub struct BestPosition {
    /// Position, percent; the middle one of several that are equally good.
    pub pct: f64,
    /// Its tightest limit.
    pub tightest: BindingLimit,
}

/// Band of an edge: its least and greatest position over all variations under which the window is not empty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgeBand {
    /// Least, percent.
    pub least_pct: f64,
    /// Most, percent.
    pub most_pct: f64,
}

impl PositionRange {
    /// Half-way between the edges, percent.
    #[must_use]
    pub fn centre_pct(&self) -> f64 {
        0.5 * (self.min_pct + self.max_pct)
    }

    /// Overlap with another; if negative, the distance.
    fn overlap(&self, other: &Self) -> f64 {
        self.max_pct.min(other.max_pct) - self.min_pct.max(other.min_pct)
    }
}

impl Window {
    /// No position at all.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.ranges.is_empty()
    }

    /// The whole range of the setting.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        matches!(self.ranges.as_slice(), [p] if p.min_closed_by.is_none() && p.max_closed_by.is_none())
    }

    /// The range that corresponds to one of another window: the greatest overlap, else the nearest.
    #[must_use]
    pub fn counterpart(&self, of: &PositionRange) -> Option<&PositionRange> {
        self.ranges.iter().max_by(|a, b| of.overlap(a).total_cmp(&of.overlap(b)))
    }

    /// `31.9 to 47.2 %`, with `and` between ranges; `none`.
    #[must_use]
    pub fn in_words(&self) -> String {
        if self.is_empty() {
            return "none".into();
        }
        let ranges: Vec<String> =
            self.ranges.iter().map(|p| format!("{:.1} to {:.1}", p.min_pct, p.max_pct)).collect();
        ranges.join(" and ") + " %"
    }

    /// Intersects the ranges of limits. Of several limits with the same edge, the one with the least margin
    /// just outside closes it.
    fn of(limits: &[(&Ranges, &Closing<'_>)]) -> Self {
        let all = limits.iter().fold(Ranges::whole(), |a, (r, _)| a.intersection(r));
        let closed = |has: &dyn Fn(&Ranges) -> bool, outside: Option<u32>| {
            let outside = outside?;
            let limit_refs = limits.iter().filter(|(r, _)| has(r)).map(|(_, limit_ref)| limit_ref(outside));
            limit_refs.min_by(|a, b| a.1.total_cmp(&b.1)).map(|c| c.0)
        };
        let range = |&(from, to): &(u32, u32)| PositionRange {
            min_pct: pct(from),
            max_pct: pct(to),
            min_closed_by: closed(&|r| r.begins_at(from), from.checked_sub(1)),
            max_closed_by: closed(&|r| r.ends_at(to), Some(to + 1).filter(|o| *o <= LAST)),
        };
        Self { ranges: all.parts().iter().map(range).collect() }
    }
}

impl WithUncertainty {
    /// Bands of the two edges of a range of the window.
    #[must_use]
    pub fn bands(&self, range: &PositionRange) -> [EdgeBand; 2] {
        let others: Vec<&PositionRange> =
            self.variations.iter().filter_map(|(_, w)| w.counterpart(range)).chain([range]).collect();
        let band = |edge: &dyn Fn(&PositionRange) -> f64| EdgeBand {
            least_pct: others.iter().map(|p| edge(p)).fold(f64::INFINITY, f64::min),
            most_pct: others.iter().map(|p| edge(p)).fold(f64::NEG_INFINITY, f64::max),
        };
        [band(&|p| p.min_pct), band(&|p| p.max_pct)]
    }

    /// Variations under which it is empty.
    pub fn empty_at(&self) -> impl Iterator<Item = Variation> + '_ {
        self.variations.iter().filter(|(_, w)| w.is_empty()).map(|(v, _)| *v)
    }
}

impl SettingWindow {
    /// The window of all limits, or that of the remaining ones where some hold nowhere along this setting.
    #[must_use]
    pub fn reachable(&self) -> &WithUncertainty {
        self.rest.as_ref().unwrap_or(&self.all)
    }
}

impl Windows {
    /// Resolution of the edges, percentage points.
    pub const LOCATED_TO_PCT: f64 = UNIT_PCT;
}
