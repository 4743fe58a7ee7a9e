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
    for i in coarse() {
        trials.row(i)?;
    }
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
    fn row(&mut self, position: u32) -> Result<&Row, SimError> {
        if !self.known.contains_key(&position) {
            let row = self.case.row(&[(self.setting, pct(position))], self.physical, Some(&self.compared))?;
            self.known.insert(position, row);
        }
        Ok(&self.known[&position])
    }
}
