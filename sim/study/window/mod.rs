//! Windows: for each setting the positions at which every binding limit of every chosen scenario holds,
//! the others held; which limit of which scenario closes each edge; the same over mass and cadence; and
//! the joint map of two settings (`map`).
//!
//! Each limit has its own range, found by a scan and bisection (`ranges`); the window is where they all
//! overlap. So the tool can also say which limits exclude each other when there is no window, and which
//! no position of this setting can meet: the window of the rest is then given too, since the cause lies
//! elsewhere. Every edge is computed again at the least and the most of each value of judgement and with
//! judged edges moved by their band (`varied`): the spread of these is its band.
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
mod report;
mod scan;
mod sentences;
mod tables;
pub mod variations;

pub use crate::study::window::case_limits::{Closer, Task, Tightest};
pub use crate::study::window::variations::{JUDGED, Variation};
pub use map::{JointMap, joint_map};
pub use plan::Plan;
pub use question::Question;

use ranges::{LAST, Ranges, UNIT_PCT, pct};

use crate::body::Person;
use crate::joint::SettingName;

/// What was found, for one or for many people and paces.
#[derive(Debug)]
pub struct Windows {
    /// One per mass and cadence, cadence running faster.
    pub cells: Vec<Cell>,
    /// Masses and cadences were asked for.
    pub population: bool,
    /// The variations, as set first; only that one if edges have no band.
    pub variations: Vec<Variation>,
    /// What a reader has to know besides.
    pub notes: Vec<String>,
}

/// One person at one pace.
#[derive(Debug)]
pub struct Cell {
    /// Person.
    pub person: Person,
    /// Cadence asked for, steps per minute.
    pub cadence_steps_per_min: Option<f64>,
    /// The tightest limit with every setting as it is.
    pub now: Tightest,
    /// One per setting that the joint has.
    pub settings: Vec<SettingWindow>,
}

/// One setting, the others held.
#[derive(Debug)]
pub struct SettingWindow {
    /// Setting.
    pub setting: SettingName,
    /// Where it is, percent.
    pub at_pct: f64,
    /// Range of every limit.
    pub limits: Vec<LimitRange>,
    /// Where all limits hold.
    pub all: Banded,
    /// Limits that hold nowhere along this setting.
    pub nowhere: Vec<Closer>,
    /// Where the others hold, if some hold nowhere.
    pub rest: Option<Banded>,
    /// Pairs of the others that share no position, the widest gap first.
    pub excluding: Vec<Excluding>,
    /// The coarse position with the greatest least margin.
    pub best: Best,
}

/// Range of one limit.
#[derive(Debug)]
pub struct LimitRange {
    /// Whose.
    pub limit: Closer,
    /// Where it holds.
    pub held: Banded,
}

/// A window and what becomes of it when values of judgement vary.
#[derive(Debug)]
pub struct Banded {
    /// As set.
    pub window: Window,
    /// Under every other variation.
    pub varied: Vec<(Variation, Window)>,
}

/// Ranges of positions, each edge with what closes it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Window {
    /// Disjoint parts in rising order; none if it is empty.
    pub parts: Vec<Part>,
}

/// One range.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Lower edge, percent.
    pub min_pct: f64,
    /// Upper edge, percent.
    pub max_pct: f64,
    /// What closes the lower edge; none at the end of the setting's range.
    pub min_closed_by: Option<Closer>,
    /// What closes the upper edge.
    pub max_closed_by: Option<Closer>,
}

/// What closes a limit's edge at the position just outside, and how far it is broken there.
type Closing<'a> = dyn Fn(u32) -> (Closer, f64) + 'a;

/// Two limits that share no position.
#[derive(Debug, Clone)]
pub struct Excluding {
    /// The one that wants less.
    pub lower: Closer,
    /// Where it holds.
    pub lower_held: Window,
    /// The one that wants more.
    pub upper: Closer,
    /// Where it holds.
    pub upper_held: Window,
    /// Distance between the two, percentage points.
    pub gap_pct: f64,
}

/// The best position on the coarse grid.
#[derive(Debug, Clone)]
pub struct Best {
    /// Position, percent; the middle one of several that are equally good.
    pub pct: f64,
    /// Its tightest limit.
    pub tightest: Tightest,
}

/// Band of an edge: least and most over all variations under which the window is not empty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgeBand {
    /// Least, percent.
    pub least_pct: f64,
    /// Most, percent.
    pub most_pct: f64,
}

impl Part {
    /// Half-way between the edges, percent.
    #[must_use]
    pub fn centre_pct(&self) -> f64 {
        0.5 * (self.min_pct + self.max_pct)
    }

    /// How much of it another covers; negative is the distance.
    fn overlap(&self, other: &Self) -> f64 {
        self.max_pct.min(other.max_pct) - self.min_pct.max(other.min_pct)
    }
}

impl Window {
    /// No position at all.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.parts.is_empty()
    }

    /// The whole range of the setting.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        matches!(self.parts.as_slice(), [p] if p.min_closed_by.is_none() && p.max_closed_by.is_none())
    }

    /// The part that another one corresponds to: most overlap, else the nearest.
    #[must_use]
    pub fn counterpart(&self, of: &Part) -> Option<&Part> {
        self.parts.iter().max_by(|a, b| of.overlap(a).total_cmp(&of.overlap(b)))
    }

    /// `31.9 to 47.2 %`, with `and` between parts; `none`.
    #[must_use]
    pub fn said(&self) -> String {
        if self.is_empty() {
            return "none".into();
        }
        let parts: Vec<String> =
            self.parts.iter().map(|p| format!("{:.1} to {:.1}", p.min_pct, p.max_pct)).collect();
        parts.join(" and ") + " %"
    }

    /// Cuts ranges of limits; an edge that several share is closed by the one that is broken most just
    /// outside.
    fn of(limits: &[(&Ranges, &Closing<'_>)]) -> Self {
        let all = limits.iter().fold(Ranges::whole(), |a, (r, _)| a.cut(r));
        let closed = |has: &dyn Fn(&Ranges) -> bool, outside: Option<u32>| {
            let outside = outside?;
            let closers = limits.iter().filter(|(r, _)| has(r)).map(|(_, closer)| closer(outside));
            closers.min_by(|a, b| a.1.total_cmp(&b.1)).map(|c| c.0)
        };
        let part = |&(from, to): &(u32, u32)| Part {
            min_pct: pct(from),
            max_pct: pct(to),
            min_closed_by: closed(&|r| r.begins_at(from), from.checked_sub(1)),
            max_closed_by: closed(&|r| r.ends_at(to), Some(to + 1).filter(|o| *o <= LAST)),
        };
        Self { parts: all.parts().iter().map(part).collect() }
    }
}

impl Banded {
    /// Bands of the two edges of a part of the window.
    #[must_use]
    pub fn bands(&self, part: &Part) -> [EdgeBand; 2] {
        let others: Vec<&Part> =
            self.varied.iter().filter_map(|(_, w)| w.counterpart(part)).chain([part]).collect();
        let band = |edge: &dyn Fn(&Part) -> f64| EdgeBand {
            least_pct: others.iter().map(|p| edge(p)).fold(f64::INFINITY, f64::min),
            most_pct: others.iter().map(|p| edge(p)).fold(f64::NEG_INFINITY, f64::max),
        };
        [band(&|p| p.min_pct), band(&|p| p.max_pct)]
    }

    /// Variations under which it is empty.
    pub fn empty_at(&self) -> impl Iterator<Item = Variation> + '_ {
        self.varied.iter().filter(|(_, w)| w.is_empty()).map(|(v, _)| *v)
    }
}

impl SettingWindow {
    /// The window of all limits, or that of the rest where some hold nowhere along this setting.
    #[must_use]
    pub fn reachable(&self) -> &Banded {
        self.rest.as_ref().unwrap_or(&self.all)
    }
}

impl Windows {
    /// What an edge is located to, percentage points.
    pub const LOCATED_TO_PCT: f64 = UNIT_PCT;
}
