//! From scans to windows: ranges of limits cut with each other, their edges named, pairs that exclude
//! each other.

use super::case_limits::{Closer, Task, Tightest};
use super::ranges::{Ranges, UNIT_PCT, coarse, pct};
use super::scan::Line;
use super::variations::Variation;
use super::{Banded, Best, Closing, Excluding, LimitRange, SettingWindow, Window};
use crate::joint::SettingName;

/// Every scan that was run.
pub(super) struct Gathered<'a> {
    /// Tasks.
    pub tasks: &'a [Task],
    /// Variations, as set first.
    pub variations: &'a [Variation],
    /// What the scans found.
    pub lines: Lines,
}

impl Gathered<'_> {
    /// The windows of setting `s` over some of the tasks.
    pub fn setting(&self, tasks: &[usize], s: usize, (setting, at_pct): (SettingName, f64)) -> SettingWindow {
        let lines = &self.lines;
        let limits: Vec<(usize, usize)> =
            tasks.iter().flat_map(|&t| (0..self.tasks[t].limits.len()).map(move |i| (t, i))).collect();
        let ranges = |t: usize, i: usize, v: usize| {
            let (line, i) = lines.at(t, s, v, i);
            &line.held[i]
        };
        let window = |limits: &[(usize, usize)], v: usize| {
            let closers: Vec<_> = limits
                .iter()
                .map(|&(t, i)| {
                    move |outside: u32| {
                        let (line, own) = lines.at(t, s, v, i);
                        let (can_run, margin) = line.outside(own, outside);
                        (self.tasks[t].closer(i, can_run), margin)
                    }
                })
                .collect();
            let pairs: Vec<(&Ranges, &Closing<'_>)> = limits
                .iter()
                .zip(&closers)
                .map(|(&(t, i), c)| (ranges(t, i, v), c as &Closing<'_>))
                .collect();
            Window::of(&pairs)
        };
        let banded = |limits: &[(usize, usize)]| Banded {
            window: window(limits, 0),
            varied: (1..self.variations.len()).map(|v| (self.variations[v], window(limits, v))).collect(),
        };
        let named = |&(t, i): &(usize, usize)| self.tasks[t].closer(i, true);
        let (nowhere, met): (Vec<_>, Vec<_>) = limits.iter().partition(|&&(t, i)| ranges(t, i, 0).is_empty());
        let excluding = excluding(&met, &named, &|t, i| ranges(t, i, 0), &|l| window(&[l], 0));
        SettingWindow {
            setting,
            at_pct,
            limits: limits.iter().map(|l| LimitRange { limit: named(l), held: banded(&[*l]) }).collect(),
            all: banded(&limits),
            rest: (!nowhere.is_empty() && !met.is_empty()).then(|| banded(&met)),
            nowhere: self.broken_everywhere(&nowhere, s),
            excluding,
            best: best(tasks.iter().map(|&t| lines.tightest(t, s))),
        }
    }
}

impl Gathered<'_> {
    /// Limits without a position; a scenario that never runs is named once.
    fn broken_everywhere(&self, limits: &[(usize, usize)], s: usize) -> Vec<Closer> {
        let mut named: Vec<Closer> = Vec::new();
        for &(t, i) in limits {
            let runs = self.lines.at(t, s, 0, i).0.margins.values().any(Option::is_some);
            let closer = self.tasks[t].closer(i, runs);
            if !named.contains(&closer) {
                named.push(closer);
            }
        }
        named
    }
}

/// A line of some of a task's limits.
#[derive(Debug, Clone)]
pub(super) struct Reached {
    pub line: Line,
    /// Their numbers in the task.
    pub numbers: Vec<usize>,
}

/// Lines by task, setting and variation; what a variation does not reach is as set.
pub(super) struct Lines {
    pub of: Vec<Vec<Vec<Option<Reached>>>>,
}

impl Lines {
    fn get(&self, task: usize, setting: usize, variation: usize) -> Option<&Reached> {
        self.of[task][setting].get(variation).and_then(Option::as_ref)
    }

    /// The line of limit `i` and its number there. Every limit of a task has one: as set all are scanned.
    fn at(&self, task: usize, setting: usize, variation: usize, i: usize) -> (&Line, usize) {
        let own = self.get(task, setting, variation).and_then(|r| {
            let number = r.numbers.iter().position(|n| *n == i)?;
            Some((&r.line, number))
        });
        own.or_else(|| Some((&self.get(task, setting, 0)?.line, i))).expect("every limit is scanned as set")
    }

    fn tightest(&self, task: usize, setting: usize) -> &[Tightest] {
        self.get(task, setting, 0).map_or(&[], |r| r.line.tightest.as_slice())
    }
}

/// Pairs of limits that share no position, the widest gap first.
fn excluding<'a>(
    limits: &[(usize, usize)],
    named: &dyn Fn(&(usize, usize)) -> Closer,
    ranges: &dyn Fn(usize, usize) -> &'a Ranges,
    window: &dyn Fn((usize, usize)) -> Window,
) -> Vec<Excluding> {
    let mut found = Vec::new();
    for (n, a) in limits.iter().enumerate() {
        for b in &limits[n + 1..] {
            let (held_a, held_b) = (ranges(a.0, a.1), ranges(b.0, b.1));
            let Some(gap) = held_a.gap(held_b) else { continue };
            let first = |r: &Ranges| r.parts().first().map(|p| p.0);
            let (low, high) = if first(held_a) <= first(held_b) { (a, b) } else { (b, a) };
            found.push(Excluding {
                lower: named(low),
                lower_held: window(*low),
                upper: named(high),
                upper_held: window(*high),
                gap_pct: f64::from(gap) * UNIT_PCT,
            });
        }
    }
    // stable: equal gaps keep the order of the scenarios
    found.sort_by(|a, b| b.gap_pct.total_cmp(&a.gap_pct));
    found
}

/// The coarse position with the greatest least margin; the middle one of equals.
fn best<'a>(tasks: impl Iterator<Item = &'a [Tightest]>) -> Best {
    let mut grid: Vec<Tightest> = coarse().map(|_| Tightest::NONE).collect();
    for line in tasks {
        for (all, one) in grid.iter_mut().zip(line) {
            *all = all.clone().or(one.clone());
        }
    }
    let greatest = grid.iter().map(|t| t.margin).fold(f64::NEG_INFINITY, f64::max);
    let equal: Vec<usize> =
        (0..grid.len()).filter(|i| grid[*i].margin.total_cmp(&greatest).is_eq()).collect();
    let middle = equal[equal.len() / 2];
    Best { pct: coarse().nth(middle).map_or(0.0, pct), tightest: grid[middle].clone() }
}
