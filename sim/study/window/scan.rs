//! One scan: a scenario along a setting, with the ranges in which each of its limits is met.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::case_limits::{BindingLimit, CaseLimits, Row};
use super::ranges::{Ranges, coarse, pct};
use super::variations::Variation;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::motion::stride_cache::StrideCache;
use crate::outcome::MISSED;
use crate::scenario::Limit;

/// Result of a scan along a setting.
#[derive(Debug, Clone)]
pub(super) struct SettingScan {
    /// Where each limit of the case is met.
    pub ranges: Vec<Ranges>,
    /// Relative margins of the limits at every position that was run, or the words where there is no result.
    pub margins: BTreeMap<u32, Result<Vec<f64>, &'static str>>,
    /// Tightest limit at each coarse position.
    pub tightest: Vec<BindingLimit>,
}

/// Scans a case along a setting under each of the variations. These differ at most in the edges of the
/// limits, so they share the trials.
///
/// # Errors
/// A set-up that is wrong in itself.
pub(super) fn scan(
    case: &CaseLimits,
    setting: SettingName,
    variations: &[Variation],
) -> Result<Vec<SettingScan>, SimError> {
    let physical = variations.first().copied().unwrap_or(Variation::AsSet);
    let compared = Arc::new(StrideCache::default());
    let mut trials = Trials { case, setting, physical, compared, known: BTreeMap::new() };
    // the coarse grid first, so that an error in the set-up appears before any bisection
    let limits: Vec<Vec<Limit>> =
        variations.iter().map(|v| case.limits.iter().map(|l| v.applied_to(l)).collect()).collect();
    trials.run(&coarse().collect::<Vec<_>>(), &limits)?;
    trials.halve(&limits)?;
    variations.iter().map(|v| scan_variation(&mut trials, *v)).collect()
}

fn scan_variation(trials: &mut Trials<'_>, variation: Variation) -> Result<SettingScan, SimError> {
    let case = trials.case;
    let limits: Vec<_> = case.limits.iter().map(|l| variation.applied_to(l)).collect();
    let mut failed = None;
    let mut ranges = Vec::new();
    for i in 0..limits.len() {
        ranges.push(Ranges::find(&mut |at| match trials.row(at) {
            Ok(row) => case.margins(row, &limits)[i] >= 0.0,
            Err(e) => {
                failed = Some(e);
                false
            }
        }));
    }
    if let Some(e) = failed {
        return Err(e);
    }
    let tightest = coarse().filter_map(|i| trials.known.get(&i)).map(|row| case.tightest(row)).collect();
    let of = |row: &Row| match row {
        Ok(_) => Ok(case.margins(row, &limits)),
        Err(e) => Err(e.in_place_of_verdict()),
    };
    let margins = trials.known.iter().map(|(i, row)| (*i, of(row))).collect();
    Ok(SettingScan { ranges, margins, tightest })
}

impl SettingScan {
    /// At the position just outside an edge of limit `i`: the words if there is no result, and the relative margin.
    pub fn outside(&self, i: usize, position: u32) -> (Option<&'static str>, f64) {
        match self.margins.get(&position) {
            Some(Err(failed)) => (Some(failed), MISSED),
            Some(Ok(margins)) => (None, margins[i]),
            None => (None, 0.0),
        }
    }
}

/// Trials run so far.
struct Trials<'a> {
    case: &'a CaseLimits,
    setting: SettingName,
    physical: Variation,
    /// Comparison strides: one serves the whole range of a setting that acts only through the closed valve.
    compared: Arc<StrideCache>,
    known: BTreeMap<u32, Row>,
}

impl Trials<'_> {
    /// Runs those positions that are not known, side by side.
    fn run(&mut self, positions: &[u32], limits: &[Vec<Limit>]) -> Result<(), SimError> {
        let mut new: Vec<u32> = positions.iter().copied().filter(|p| !self.known.contains_key(p)).collect();
        new.sort_unstable();
        new.dedup();
        let trial =
            |at: &u32| self.case.trial(&[(self.setting, pct(*at))], self.physical, Some(&self.compared));
        let trials = new.iter().map(trial).collect::<Result<Vec<_>, _>>()?;
        let rows = self.case.rows(&trials, &limits.concat())?;
        self.known.extend(new.into_iter().zip(rows));
        Ok(())
    }

    /// Runs the positions that [`Ranges::find`] will ask for between coarse ones: all limits halve their steps together.
    fn halve(&mut self, limits: &[Vec<Limit>]) -> Result<(), SimError> {
        let holds = |trials: &Self, variation: usize, i: usize, at: u32| {
            trials.known.get(&at).is_some_and(|row| trials.case.margins(row, &limits[variation])[i] >= 0.0)
        };
        let mut steps = Vec::new();
        for (variation, limits) in limits.iter().enumerate() {
            for i in 0..limits.len() {
                let all = coarse().zip(coarse().skip(1));
                let changes = all.filter(|(low, high)| {
                    holds(self, variation, i, *low) != holds(self, variation, i, *high)
                });
                steps.extend(changes.map(|step| (variation, i, step)));
            }
        }
        loop {
            steps.retain(|(.., (low, high))| high - low > 1);
            if steps.is_empty() {
                return Ok(());
            }
            let middle = |(low, high): (u32, u32)| (low + high) / 2;
            self.run(&steps.iter().map(|(.., step)| middle(*step)).collect::<Vec<_>>(), limits)?;
            for (variation, i, step) in &mut steps {
                let at = middle(*step);
                let as_low = holds(self, *variation, *i, at) == holds(self, *variation, *i, step.0);
                *step = if as_low { (at, step.1) } else { (step.0, at) };
            }
        }
    }

    fn row(&mut self, position: u32) -> Result<&Row, SimError> {
        if !self.known.contains_key(&position) {
            self.run(&[position], &[])?;
        }
        Ok(&self.known[&position])
    }
}
