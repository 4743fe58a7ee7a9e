//! Assembles windows from scans: intersects the ranges of all limits, names the limit at each edge, finds
//! pairs of limits that exclude each other.

use super::case_limits::{BindingLimit, CaseLimits, LimitRef};
use super::ranges::{Ranges, UNIT_PCT, coarse, pct};
use super::scan::SettingScan;
use super::variations::Variation;
use super::{BestPosition, Closing, ExcludingPair, LimitRange, SettingWindow, Window, WithUncertainty};
use crate::joint::SettingName;

/// Results of all scans.
pub(super) struct ScanResults<'a> {
    /// Cases.
    pub cases: &'a [CaseLimits],
    /// Variations, as set first.
    pub variations: &'a [Variation],
    /// The scans.
    pub scans: ScanGrid,
}

impl ScanResults<'_> {
    /// The windows of setting `s` over some of the cases.
    pub fn setting(&self, cases: &[usize], s: usize, (setting, at_pct): (SettingName, f64)) -> SettingWindow {
        let scans = &self.scans;
        let limits: Vec<(usize, usize)> =
            cases.iter().flat_map(|&t| (0..self.cases[t].limits.len()).map(move |i| (t, i))).collect();
        let ranges = |t: usize, i: usize, v: usize| {
            let (scan, i) = scans.at(t, s, v, i);
            &scan.ranges[i]
        };
        let window = |limits: &[(usize, usize)], v: usize| {
            let limit_refs: Vec<_> = limits
                .iter()
                .map(|&(t, i)| {
                    move |outside: u32| {
                        let (scan, own) = scans.at(t, s, v, i);
                        let (failed, margin) = scan.outside(own, outside);
                        (self.cases[t].limit_ref(i, failed), margin)
                    }
                })
                .collect();
            let pairs: Vec<(&Ranges, &Closing<'_>)> = limits
                .iter()
                .zip(&limit_refs)
                .map(|(&(t, i), c)| (ranges(t, i, v), c as &Closing<'_>))
                .collect();
            Window::of(&pairs)
        };
        let with_uncertainty = |limits: &[(usize, usize)]| WithUncertainty {
            window: window(limits, 0),
            variations: (1..self.variations.len()).map(|v| (self.variations[v], window(limits, v))).collect(),
        };
        let named = |&(t, i): &(usize, usize)| self.cases[t].limit_ref(i, None);
        let (nowhere, met): (Vec<_>, Vec<_>) = limits.iter().partition(|&&(t, i)| ranges(t, i, 0).is_empty());
        let excluding = excluding(&met, &named, &|t, i| ranges(t, i, 0), &|l| window(&[l], 0));
        SettingWindow {
            setting,
            at_pct,
            limits: limits
                .iter()
                .map(|l| LimitRange { limit: named(l), window: with_uncertainty(&[*l]) })
                .collect(),
            all: with_uncertainty(&limits),
            rest: (!nowhere.is_empty() && !met.is_empty()).then(|| with_uncertainty(&met)),
            nowhere: self.broken_everywhere(&nowhere, s),
            excluding,
            best: best(cases.iter().map(|&t| scans.tightest(t, s))),
        }
    }
}

impl ScanResults<'_> {
    /// Limits that no position meets; a scenario that never runs is named once.
    fn broken_everywhere(&self, limits: &[(usize, usize)], s: usize) -> Vec<LimitRef> {
        let mut named: Vec<LimitRef> = Vec::new();
        for &(t, i) in limits {
            let rows = || self.scans.at(t, s, 0, i).0.margins.values();
            let never =
                rows().all(Result::is_err).then(|| rows().find_map(|row| row.as_ref().err().copied()));
            let limit_ref = self.cases[t].limit_ref(i, never.flatten());
            if !named.contains(&limit_ref) {
                named.push(limit_ref);
            }
        }
        named
    }
}

/// A scan of some of the limits of a case.
#[derive(Debug, Clone)]
pub(super) struct PartialScan {
    pub scan: SettingScan,
    /// Indices of these limits in the case.
    pub numbers: Vec<usize>,
}

/// Scans by case, setting and variation. Limits that a variation cannot affect have only the scan as set.
pub(super) struct ScanGrid {
    pub of: Vec<Vec<Vec<Option<PartialScan>>>>,
}

impl ScanGrid {
    fn get(&self, case: usize, setting: usize, variation: usize) -> Option<&PartialScan> {
        self.of[case][setting].get(variation).and_then(Option::as_ref)
    }

    /// The scan of limit `i` and its index there. Every limit of a case has one: as set, all are scanned.
    fn at(&self, case: usize, setting: usize, variation: usize, i: usize) -> (&SettingScan, usize) {
        let own = self.get(case, setting, variation).and_then(|r| {
            let number = r.numbers.iter().position(|n| *n == i)?;
            Some((&r.scan, number))
        });
        own.or_else(|| Some((&self.get(case, setting, 0)?.scan, i))).expect("every limit is scanned as set")
    }

    fn tightest(&self, case: usize, setting: usize) -> &[BindingLimit] {
        self.get(case, setting, 0).map_or(&[], |r| r.scan.tightest.as_slice())
    }
}

/// Pairs of limits that share no position, the widest gap first.
fn excluding<'a>(
    limits: &[(usize, usize)],
    named: &dyn Fn(&(usize, usize)) -> LimitRef,
    ranges: &dyn Fn(usize, usize) -> &'a Ranges,
    window: &dyn Fn((usize, usize)) -> Window,
) -> Vec<ExcludingPair> {
    let mut found = Vec::new();
    for (n, a) in limits.iter().enumerate() {
        for b in &limits[n + 1..] {
            let (ranges_a, ranges_b) = (ranges(a.0, a.1), ranges(b.0, b.1));
            let Some(gap) = ranges_a.gap(ranges_b) else { continue };
            let first = |r: &Ranges| r.parts().first().map(|p| p.0);
            let (low, high) = if first(ranges_a) <= first(ranges_b) { (a, b) } else { (b, a) };
            found.push(ExcludingPair {
                lower: named(low),
                lower_window: window(*low),
                upper: named(high),
                upper_window: window(*high),
                gap_pct: f64::from(gap) * UNIT_PCT,
            });
        }
    }
    // stable: equal gaps keep the order of the scenarios
    found.sort_by(|a, b| b.gap_pct.total_cmp(&a.gap_pct));
    found
}

/// The coarse position with the greatest least margin; the middle one of equals.
fn best<'a>(cases: impl Iterator<Item = &'a [BindingLimit]>) -> BestPosition {
    let mut grid: Vec<BindingLimit> = coarse().map(|_| BindingLimit::NONE).collect();
    for scan in cases {
        for (all, one) in grid.iter_mut().zip(scan) {
            *all = all.clone().or(one.clone());
        }
    }
    let greatest = grid.iter().map(|t| t.margin).fold(f64::NEG_INFINITY, f64::max);
    let equal: Vec<usize> =
        (0..grid.len()).filter(|i| grid[*i].margin.total_cmp(&greatest).is_eq()).collect();
    let middle = equal[equal.len() / 2];
    BestPosition { pct: coarse().nth(middle).map_or(0.0, pct), tightest: grid[middle].clone() }
}
