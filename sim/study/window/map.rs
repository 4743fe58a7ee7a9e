//! The joint map of two settings: the tightest limit of all scenarios over a grid of their positions.

use rayon::prelude::*;

use super::plan::Question;
use super::task::{Task, Tightest};
use super::varied::Variation;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::study::Tick;

/// What was found.
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
    /// The settings that are held, percent.
    pub held: Vec<(SettingName, f64)>,
    /// Row by row, x running faster.
    pub cells: Vec<JointCell>,
}

/// One pair of positions.
#[derive(Debug, Clone)]
pub struct JointCell {
    /// As set.
    pub tightest: Tightest,
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
    let tasks = question
        .scenarios
        .iter()
        .map(|s| Ok(Task::new(question.case(&question.setup.person, s, None)?, &question.without)))
        .collect::<Result<Vec<_>, SimError>>()?;
    if tasks.iter().all(|t| t.limits.is_empty()) {
        return wrong("no binding limit is left in the chosen scenarios".into());
    }
    let positions_pct: Vec<f64> = (0..grid).map(|i| 100.0 * f64::from(i) / f64::from(grid - 1)).collect();
    let points: Vec<(f64, f64)> =
        positions_pct.iter().flat_map(|&b| positions_pct.iter().map(move |&a| (a, b))).collect();
    let cells = points
        .into_par_iter()
        .map(|(a, b)| {
            let cell = cell(&tasks, &[(x, a), (y, b)], question.bands);
            tick();
            cell
        })
        .collect::<Result<Vec<_>, _>>()?;
    let held = SettingName::ALL.into_iter().filter(|n| *n != x && *n != y);
    let held = held.filter_map(|n| knee.settings.get(n).map(|s| (n, s.pct()))).collect();
    Ok(JointMap { x, y, positions_pct, at_pct, held, cells })
}

fn cell(tasks: &[Task], at: &[(SettingName, f64)], bands: bool) -> Result<JointCell, SimError> {
    let variations = if bands { Variation::all() } else { vec![Variation::AsSet] };
    let mut tightest = vec![Tightest::NONE; variations.len()];
    for task in tasks {
        let as_set = task.row(at, Variation::AsSet)?;
        for (all, variation) in tightest.iter_mut().zip(&variations) {
            let touched = variation.touches(task.kind(), &task.limits);
            let one = match variation {
                Variation::Judged { .. } if touched => task.tightest(&task.row(at, *variation)?),
                Variation::Edges { .. } if touched => task.tightest_under(&as_set, *variation),
                _ => task.tightest(&as_set),
            };
            *all = all.clone().or(one);
        }
    }
    let margins = || tightest.iter().map(|t| t.margin);
    let band = (margins().fold(f64::INFINITY, f64::min), margins().fold(f64::NEG_INFINITY, f64::max));
    Ok(JointCell { band: bands.then_some(band), tightest: tightest.swap_remove(0) })
}

impl JointMap {
    /// Share of the cells in which every limit holds, percent.
    #[must_use]
    pub fn holds_pct(&self) -> f64 {
        self.share_pct(|c| c.tightest.holds())
    }

    /// The same under every variation; none if edges have no band.
    #[must_use]
    pub fn always_holds_pct(&self) -> Option<f64> {
        self.cells
            .iter()
            .all(|c| c.band.is_some())
            .then(|| self.share_pct(|c| c.band.is_some_and(|b| b.0 >= 0.0)))
    }

    fn share_pct(&self, counts: impl Fn(&JointCell) -> bool) -> f64 {
        100.0 * self.cells.iter().filter(|c| counts(c)).count() as f64 / self.cells.len().max(1) as f64
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
