//! Ranges of positions on a fine grid of a setting: found by a scan, intersected with each other.
//!
//! Positions are counted in units of [`UNIT_PCT`], so that scans of different limits meet on the same
//! points and every trial is run once. A coarse grid of [`COARSE`] steps is scanned; wherever a limit
//! holds on one side of a step and not on the other, the step is halved until it is one unit. An edge is
//! the outermost position at which the limit holds. A limit that changes twice within one coarse step is
//! missed.

/// Coarse steps of a scan.
pub const COARSE: u32 = 40;
/// Units in a coarse step; a power of two.
const UNITS_PER_STEP: u32 = 8;
/// Positions run from 0 to this.
pub const LAST: u32 = COARSE * UNITS_PER_STEP;
/// One unit, percentage points: what an edge is located to.
pub const UNIT_PCT: f64 = 100.0 / LAST as f64;

/// Percent of a position.
#[must_use]
pub fn pct(position: u32) -> f64 {
    f64::from(position) * UNIT_PCT
}

/// Positions of the coarse grid.
pub fn coarse() -> impl Iterator<Item = u32> {
    (0..=COARSE).map(|k| k * UNITS_PER_STEP)
}

/// Disjoint ranges of positions in rising order, ends included.
///
/// ```
/// use kneedamp::study::window::ranges::Ranges;
/// let found = Ranges::find(&mut |i| i >= 77);
/// assert_eq!(found.parts(), [(77, 320)]);
/// assert_eq!(found.intersection(&Ranges::find(&mut |i| i <= 100)).parts(), [(77, 100)]);
/// assert!(Ranges::find(&mut |_| false).is_empty());
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Ranges(Vec<(u32, u32)>);

impl Ranges {
    /// The whole range of a setting.
    #[must_use]
    pub fn whole() -> Self {
        Self(vec![(0, LAST)])
    }

    /// Positions at which `holds` is true.
    pub fn find(holds: &mut dyn FnMut(u32) -> bool) -> Self {
        let mut parts = Vec::new();
        let mut from = holds(0).then_some(0);
        for (low, high) in coarse().zip(coarse().skip(1)) {
            match (from, holds(high)) {
                (None, true) => from = Some(edge(high, low, holds)),
                (Some(start), false) => {
                    parts.push((start, edge(low, high, holds)));
                    from = None;
                }
                _ => {}
            }
        }
        parts.extend(from.map(|start| (start, LAST)));
        Self(parts)
    }

    /// The ranges.
    #[must_use]
    pub fn parts(&self) -> &[(u32, u32)] {
        &self.0
    }

    /// No position at all.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Every position.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        self.0 == [(0, LAST)]
    }

    /// Positions that lie in both.
    #[must_use]
    pub fn intersection(&self, other: &Self) -> Self {
        let pairs = self.0.iter().flat_map(|a| other.0.iter().map(move |b| (a.0.max(b.0), a.1.min(b.1))));
        Self(pairs.filter(|(from, to)| from <= to).collect())
    }

    /// Some part begins here.
    #[must_use]
    pub fn begins_at(&self, position: u32) -> bool {
        self.0.iter().any(|p| p.0 == position)
    }

    /// Some part ends here.
    #[must_use]
    pub fn ends_at(&self, position: u32) -> bool {
        self.0.iter().any(|p| p.1 == position)
    }

    /// Distance between two that share no position, units; none if they do or if one is empty.
    #[must_use]
    pub fn gap(&self, other: &Self) -> Option<u32> {
        let pairs = self
            .0
            .iter()
            .flat_map(|a| other.0.iter().map(move |b| i64::from(a.0.max(b.0)) - i64::from(a.1.min(b.1))));
        pairs.min().and_then(|d| u32::try_from(d).ok()).filter(|d| *d > 0)
    }
}

/// Halves the way from a position that holds to one that does not; the last that holds.
fn edge(mut inside: u32, mut outside: u32, holds: &mut dyn FnMut(u32) -> bool) -> u32 {
    while inside.abs_diff(outside) > 1 {
        let middle = (inside + outside) / 2;
        if holds(middle) { inside = middle } else { outside = middle }
    }
    inside
}
