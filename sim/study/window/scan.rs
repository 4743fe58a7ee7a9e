//! One scenario along one setting: the ranges within which each of its limits holds.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::case_limits::{Row, Task, Tightest};
use super::ranges::{Ranges, coarse, pct};
use super::variations::Variation;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::motion::stride_cache::StrideCache;
use crate::outcome::MISSED;

/// What a scan along a setting found.
#[derive(Debug, Clone)]
pub(super) struct Line {
    /// Per limit of the task.
    pub held: Vec<Ranges>,
    /// Relative margins of the limits wherever a trial was run; none where the scenario cannot run.
    pub margins: BTreeMap<u32, Option<Vec<f64>>>,
    /// Tightest limit at each coarse position.
    pub tightest: Vec<Tightest>,
}

/// Scans a task along a setting under each of the variations, which differ at most in the limits'
/// edges: the trials are shared.
///
/// # Errors
/// A set-up that is wrong in itself.
pub(super) fn scan(
    task: &Task,
    setting: SettingName,
    variations: &[Variation],
) -> Result<Vec<Line>, SimError> {
    let physical = variations.first().copied().unwrap_or(Variation::AsSet);
    let compared = Arc::new(StrideCache::default());
    let mut trials = Trials { task, setting, physical, compared, known: BTreeMap::new() };
    // the coarse grid first: an error in the set-up shows before any bisection
    for i in coarse() {
        trials.row(i)?;
    }
    variations.iter().map(|v| line(&mut trials, *v)).collect()
}

fn line(trials: &mut Trials<'_>, variation: Variation) -> Result<Line, SimError> {
    let task = trials.task;
    let limits: Vec<_> = task.limits.iter().map(|l| variation.applied_to(l)).collect();
    let mut failed = None;
    let mut held = Vec::new();
    for i in 0..limits.len() {
        held.push(Ranges::find(&mut |at| match trials.row(at) {
            Ok(row) => task.margins(row, &limits)[i] >= 0.0,
            Err(e) => {
                failed = Some(e);
                false
            }
        }));
    }
    if let Some(e) = failed {
        return Err(e);
    }
    let tightest = coarse().filter_map(|i| trials.known.get(&i)).map(|row| task.tightest(row)).collect();
    let margins = trials.known.iter();
    let margins = margins.map(|(i, row)| (*i, row.is_ok().then(|| task.margins(row, &limits)))).collect();
    Ok(Line { held, margins, tightest })
}

impl Line {
    /// Whether the scenario runs at the position just outside an edge of limit `i`, and the relative
    /// margin there.
    pub fn outside(&self, i: usize, position: u32) -> (bool, f64) {
        match self.margins.get(&position) {
            Some(None) => (false, MISSED),
            Some(Some(margins)) => (true, margins[i]),
            None => (true, 0.0),
        }
    }
}

/// Trials that have run.
struct Trials<'a> {
    task: &'a Task,
    setting: SettingName,
    physical: Variation,
    /// What strides are compared with: the same all along a setting that acts through the closed valve only.
    compared: Arc<StrideCache>,
    known: BTreeMap<u32, Row>,
}

impl Trials<'_> {
    fn row(&mut self, position: u32) -> Result<&Row, SimError> {
        if !self.known.contains_key(&position) {
            let row = self.task.row(&[(self.setting, pct(position))], self.physical, Some(&self.compared))?;
            self.known.insert(position, row);
        }
        Ok(&self.known[&position])
    }
}
