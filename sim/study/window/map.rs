//! The joint map of two settings: the tightest limit of all scenarios over a grid of their positions.

use rayon::prelude::*;

use super::case_limits::{BindingLimit, CaseLimits};
use super::question::Question;
use super::variations::Variation;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::outcome::TrialVerdict;
use crate::study::Tick;

/// The map: the tightest limit at every pair of positions.
#[derive(Debug)]
pub struct JointMap {
    /// Setting along x.
    pub x: SettingName,
    /// Setting along y.
    pub y: SettingName,
    /// Positions along each, percent.
    pub positions_pct: Vec<f64>,
    /// Where the two are set, percent.
    pub at_pct: (f64, f64),
    /// The other settings and their fixed positions, percent.
    pub fixed: Vec<(SettingName, f64)>,
    /// Row by row, x running faster.
    pub cells: Vec<MapPosition>,
}

/// One pair of positions.
#[derive(Debug, Clone)]
pub struct MapPosition {
    /// As set.
    pub tightest: BindingLimit,
    /// Least and greatest tightest margin over all variations; none if edges have no band.
    pub band: Option<(f64, f64)>,
}

/// Positions a map may have along each setting.
pub const GRID: std::ops::RangeInclusive<u32> = 2..=101;

/// The map of two settings over `grid` positions each; `tick` is called after each cell.
///
/// # Errors
/// A set-up that is wrong in itself, twice the same setting, a setting that the joint does not have, a
/// grid outside [`GRID`], masses or cadences in the question, no limit left.
pub fn joint_map(
    question: &Question,
    [x, y]: [SettingName; 2],
    grid: u32,
    tick: Tick<'_>,
) -> Result<JointMap, SimError> {
    question.check_without()?;
    let wrong = |why: String| Err(SimError::Usage(why));
    if x == y {
        return wrong(format!("a map wants two different settings, not {x} twice"));
    }
    if !GRID.contains(&grid) {
        return wrong(format!(
            "a map has {} to {} positions along each setting, not {grid}",
            GRID.start(),
            GRID.end()
        ));
    }
    if !(question.masses_kg.is_empty() && question.cadences_steps_per_min.is_empty()) {
        return wrong("a map is of one person at one pace: give no range of mass or cadence".into());
    }
    let knee = question.setup.resolve()?.knee;
    let at = |name: SettingName| match knee.settings.get(name) {
        Some(s) => Ok(s.pct()),
        None => Err(SimError::Usage(format!("knee '{}' has no setting {name}", question.setup.knee.name))),
    };
    let at_pct = (at(x)?, at(y)?);
    let cases = question
        .scenarios
        .iter()
        .map(|s| Ok(CaseLimits::new(question.case(&question.setup.person, s, None)?, &question.without)))
        .collect::<Result<Vec<_>, SimError>>()?;
    if cases.iter().all(|t| t.limits.is_empty()) {
        return wrong("no binding limit is left in the chosen scenarios".into());
    }
    let variations = if question.bands { Variation::all() } else { vec![Variation::AsSet] };
    let cases: Vec<CaseVariations> = cases.into_iter().map(|t| CaseVariations::new(t, &variations)).collect();
    let positions_pct: Vec<f64> = (0..grid).map(|i| 100.0 * f64::from(i) / f64::from(grid - 1)).collect();
    let points: Vec<(f64, f64)> =
        positions_pct.iter().flat_map(|&b| positions_pct.iter().map(move |&a| (a, b))).collect();
    let cells = points
        .into_par_iter()
        .map(|(a, b)| {
            let cell = cell(&cases, &[(x, a), (y, b)]);
            tick();
            cell
        })
        .collect::<Result<Vec<_>, _>>()?;
    let fixed = SettingName::ALL.into_iter().filter(|n| *n != x && *n != y);
    let fixed = fixed.filter_map(|n| knee.settings.get(n).map(|s| (n, s.pct()))).collect();
    Ok(JointMap { x, y, positions_pct, at_pct, fixed, cells })
}

/// A case and, per variation, the limits that it can affect.
struct CaseVariations {
    case: CaseLimits,
    reached: Vec<(Variation, CaseLimits, Vec<usize>)>,
}

impl CaseVariations {
    fn new(case: CaseLimits, variations: &[Variation]) -> Self {
        let reached = |v: &Variation| {
            let (some, numbers) = case.reached_by(*v);
            (*v, some, numbers)
        };
        Self { reached: variations.iter().map(reached).collect(), case }
    }

    /// The tightest limit under each variation, as set first.
    fn tightest(&self, at: &[(SettingName, f64)]) -> Result<Vec<BindingLimit>, SimError> {
        let as_set = self.case.row(at, Variation::AsSet)?;
        let under = |(variation, some, numbers): &(Variation, CaseLimits, Vec<usize>)| {
            if numbers.is_empty() || !matches!(variation, Variation::Judged { .. }) {
                return Ok(self.case.tightest_under(&as_set, *variation));
            }
            let others = self.case.tightest_of(&as_set, &self.case.limits, |i| !numbers.contains(&i));
            Ok(some.tightest(&some.row(at, *variation)?).or(others))
        };
        self.reached.iter().map(under).collect()
    }
}

fn cell(cases: &[CaseVariations], at: &[(SettingName, f64)]) -> Result<MapPosition, SimError> {
    let mut tightest: Vec<BindingLimit> = Vec::new();
    for case in cases {
        let own = case.tightest(at)?;
        tightest.resize(own.len(), BindingLimit::NONE);
        tightest = tightest.into_iter().zip(own).map(|(all, one)| all.or(one)).collect();
    }
    let margins = || tightest.iter().map(|t| t.margin);
    let band = (margins().fold(f64::INFINITY, f64::min), margins().fold(f64::NEG_INFINITY, f64::max));
    let band = (tightest.len() > 1).then_some(band);
    Ok(MapPosition { band, tightest: tightest.into_iter().next().unwrap_or(BindingLimit::NONE) })
}

impl JointMap {
    /// Number of cells with a verdict.
    #[must_use]
    pub fn count(&self, verdict: TrialVerdict) -> usize {
        self.cells.iter().filter(|c| c.tightest.verdict == verdict).count()
    }

    /// The same under every variation; none if edges have no band.
    #[must_use]
    pub fn always_holding(&self) -> Option<usize> {
        let least: Option<Vec<f64>> = self.cells.iter().map(|c| c.band.map(|b| b.0)).collect();
        least.map(|all| all.iter().filter(|m| **m >= 0.0).count())
    }

    /// Positions of a cell, percent.
    #[must_use]
    pub fn at(&self, cell: usize) -> (f64, f64) {
        let n = self.positions_pct.len();
        (self.positions_pct[cell % n], self.positions_pct[cell / n])
    }

    /// The cell with the greatest tightest margin; the first of equals.
    #[must_use]
    pub fn best(&self) -> usize {
        let greatest = |best: usize, i: usize| {
            if self.cells[i].tightest.margin > self.cells[best].tightest.margin { i } else { best }
        };
        (1..self.cells.len()).fold(0, greatest)
    }
}
