//! All settings moved together: the share of all positions that meets every limit, how far each setting reaches among
//! them, and a block of positions, one range for each setting, inside which any combination meets every limit.
//!
//! The share comes from scrambled Sobol' points. The block grows from the present settings or, where they are not
//! within, from the point with the greatest least margin, one face at a time by `GROWTH_PCT`, as long as the corners
//! and the middle of the moved face are within. Points inside then try it; where one is not within, the block gives up
//! the least volume that leaves this point out, and fresh points try again. A block is what was tried, not a proof.

use rayon::prelude::*;

use super::case_limits::{BindingLimit, CaseLimits};
use super::question::Question;
use super::variations::Variation;
use crate::error::SimError;
use crate::findings::{Cell, Findings, Table};
use crate::joint::SettingName;
use crate::numerics::intervals::wilson_95;
use crate::numerics::sobol;
use crate::outcome::TrialVerdict;
use crate::study::Tick;

/// A face moves by this, percentage points.
const GROWTH_PCT: f64 = 2.0;
/// Points that try a block.
const TRIES: u32 = 128;
/// Points of the block are taken from here on, apart from those of the share.
const FIRST_TRY: u32 = 1 << 15;
/// Positions a region may be looked for in.
pub const SAMPLES: std::ops::RangeInclusive<u32> = 32..=32_768;

/// What was found with all settings moved together.
#[derive(Debug)]
pub struct Region {
    /// The settings of the joint, with where each is set, percent.
    pub settings: Vec<(SettingName, f64)>,
    /// Positions tried over the whole range.
    pub tried: usize,
    /// Those within every limit.
    pub within: usize,
    /// Least and greatest position of each setting among those, percent.
    pub reach_pct: Option<Vec<[f64; 2]>>,
    /// The block.
    pub block: Option<Block>,
}

/// One range for each setting; any combination is within every limit as far as it was tried.
#[derive(Debug)]
pub struct Block {
    /// Ranges, percent, in the order of the settings.
    pub ranges_pct: Vec<[f64; 2]>,
    /// Positions inside that were tried after it was found, all of them within every limit.
    pub tried: usize,
}

/// Looks for the region in `samples` positions; `tick` is called after each.
///
/// # Errors
/// A set-up that is wrong in itself, a number of samples outside [`SAMPLES`], masses or cadences in the question, no
/// limit left.
pub fn region(question: &Question, samples: u32, tick: Tick<'_>) -> Result<Region, SimError> {
    question.check_without()?;
    let wrong = |why: &str| Err(SimError::Usage(why.to_owned()));
    if !SAMPLES.contains(&samples) {
        return wrong(&format!(
            "--samples {samples}: wanted {} to {} positions",
            SAMPLES.start(),
            SAMPLES.end()
        ));
    }
    if !(question.masses_kg.is_empty() && question.cadences_steps_per_min.is_empty()) {
        return wrong("--together is of one person at one pace: give no range of mass or cadence");
    }
    let space = Space::new(question)?;
    if space.cases.iter().all(|t| t.limits.is_empty()) {
        return wrong("no binding limit is left in the chosen scenarios");
    }
    let whole = vec![[0.0, 100.0]; space.settings.len()];
    let points: Vec<Vec<f64>> = (0..samples).map(|i| point_in(&whole, i)).collect();
    let found: Vec<BindingLimit> = points
        .par_iter()
        .map(|p| {
            let tightest = space.tightest(p);
            tick();
            tightest
        })
        .collect::<Result<_, _>>()?;
    let within: Vec<usize> = (0..points.len()).filter(|i| is_within(&found[*i])).collect();
    let reach = |d: usize| {
        let along = within.iter().map(|i| points[*i][d]);
        along.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], v| [low.min(v), high.max(v)])
    };
    let reach_pct = (!within.is_empty()).then(|| (0..whole.len()).map(reach).collect());
    let best = within.iter().copied().reduce(|a, b| if found[b].margin > found[a].margin { b } else { a });
    let here: Vec<f64> = space.settings.iter().map(|s| s.1).collect();
    let from = if is_within(&space.tightest(&here)?) { Some(&here) } else { best.map(|i| &points[i]) };
    let block = from.map(|point| space.block(point)).transpose()?.flatten();
    Ok(Region { settings: space.settings, tried: points.len(), within: within.len(), reach_pct, block })
}

fn is_within(tightest: &BindingLimit) -> bool {
    matches!(tightest.verdict, TrialVerdict::Within | TrialVerdict::NoLimits)
}

fn point_in(ranges: &[[f64; 2]], index: u32) -> Vec<f64> {
    let along = |(d, [low, high]): (u32, &[f64; 2])| low + (high - low) * sobol::coordinate(1, index, d);
    (0..).zip(ranges).map(along).collect()
}

/// All positions of all settings, and the scenarios that are run there.
struct Space {
    settings: Vec<(SettingName, f64)>,
    cases: Vec<CaseLimits>,
}

impl Space {
    fn new(question: &Question) -> Result<Self, SimError> {
        let knee = question.setup.resolve()?.knee;
        let settings = SettingName::ALL
            .into_iter()
            .filter_map(|name| knee.settings.get(name).map(|s| (name, s.pct())))
            .collect();
        let case =
            |s| Ok(CaseLimits::new(question.case(&question.setup.person, s, None)?, &question.without));
        let cases = question.scenarios.iter().map(case).collect::<Result<_, SimError>>()?;
        Ok(Self { settings, cases })
    }

    /// The tightest limit at a position, or the first that is not within.
    fn tightest(&self, point: &[f64]) -> Result<BindingLimit, SimError> {
        let moved: Vec<(SettingName, f64)> =
            self.settings.iter().map(|s| s.0).zip(point.iter().copied()).collect();
        let mut all = BindingLimit::NONE;
        for case in &self.cases {
            all = all.or(case.tightest(&case.row(&moved, Variation::AsSet)?));
            if !is_within(&all) {
                break;
            }
        }
        Ok(all)
    }

    fn all_within(&self, points: &[Vec<f64>]) -> Result<bool, SimError> {
        let within = |p: &Vec<f64>| self.tightest(p).map(|t| is_within(&t));
        // the first that is not within, or that fails, ends the others
        let ended = points.par_iter().map(within).find_any(|w| !matches!(w, Ok(true)));
        ended.unwrap_or(Ok(true))
    }

    /// Grows a block from a point, and tries it; none if nothing of it stays.
    fn block(&self, from: &[f64]) -> Result<Option<Block>, SimError> {
        let mut ranges: Vec<[f64; 2]> = from.iter().map(|v| [*v, *v]).collect();
        let mut open = vec![[true, true]; ranges.len()];
        while open.iter().flatten().any(|o| *o) {
            for d in 0..ranges.len() {
                for (side, by) in [-GROWTH_PCT, GROWTH_PCT].into_iter().enumerate() {
                    let to = (ranges[d][side] + by).clamp(0.0, 100.0);
                    let moves = open[d][side] && (to - ranges[d][side]).abs() > 1e-9;
                    open[d][side] = moves && self.all_within(&face(&ranges, d, to))?;
                    if open[d][side] {
                        ranges[d][side] = to;
                    }
                }
            }
        }
        self.tried(ranges)
    }

    fn tried(&self, mut ranges: Vec<[f64; 2]>) -> Result<Option<Block>, SimError> {
        let mut first = FIRST_TRY;
        loop {
            let points: Vec<Vec<f64>> = (first..first + TRIES).map(|i| point_in(&ranges, i)).collect();
            let found: Vec<bool> = points
                .par_iter()
                .map(|p| self.tightest(p).map(|t| is_within(&t)))
                .collect::<Result<_, _>>()?;
            let outside = points.iter().zip(&found).find(|(_, within)| !**within);
            let Some((point, _)) = outside else {
                return Ok(Some(Block { ranges_pct: ranges, tried: points.len() }));
            };
            cut(&mut ranges, point);
            if ranges.iter().any(|[low, high]| high - low < GROWTH_PCT) {
                return Ok(None);
            }
            // the sequence has 2^16 points
            first += TRIES;
            if first + TRIES > 1 << 16 {
                return Ok(None);
            }
        }
    }
}

/// Corners and middle of a face of a block, moved to `to` along setting `d`.
fn face(ranges: &[[f64; 2]], d: usize, to: f64) -> Vec<Vec<f64>> {
    let at = |pick: &dyn Fn(usize) -> f64| -> Vec<f64> {
        (0..ranges.len()).map(|i| if i == d { to } else { pick(i) }).collect()
    };
    let corner = |bits: usize| at(&|i| ranges[i][(bits >> i) & 1]);
    // the bit of the face's own setting changes nothing
    let mut points: Vec<Vec<f64>> =
        (0..1usize << ranges.len()).filter(|bits| (bits >> d) & 1 == 0).map(corner).collect();
    points.push(at(&|i| 0.5 * (ranges[i][0] + ranges[i][1])));
    points
}

/// Leaves a point out by the cut that keeps most of the block.
fn cut(ranges: &mut [[f64; 2]], point: &[f64]) {
    let mut best = (0, 0, 0.0);
    for (d, [low, high]) in ranges.iter().enumerate() {
        let width = (high - low).max(f64::MIN_POSITIVE);
        // the new edge lies a hundredth of the width beyond the point
        let beyond = 0.01 * width;
        for (side, kept) in [(0, high - point[d] - beyond), (1, point[d] - beyond - low)] {
            if kept / width > best.2 {
                best = (d, side, kept / width);
            }
        }
    }
    let (d, side, kept) = best;
    let width = ranges[d][1] - ranges[d][0];
    ranges[d][side] = if side == 0 { ranges[d][1] - kept * width } else { ranges[d][0] + kept * width };
}

impl Region {
    /// The answer: sentences and a row for each setting.
    #[must_use]
    pub fn findings(&self) -> Findings {
        Findings { text: self.sentences(), tables: vec![self.table()], ..Findings::default() }
    }

    fn sentences(&self) -> Vec<String> {
        let (low, high) = wilson_95(self.within, self.tried);
        let share = 100.0 * self.within as f64 / self.tried as f64;
        let mut text = vec![format!(
            "All settings moved together: {} of {} positions are within every limit: {share:.1} % (95 % interval {:.1} to \
             {:.1} %).",
            self.within,
            self.tried,
            100.0 * low,
            100.0 * high
        )];
        text.push(match &self.block {
            Some(block) => {
                let ranges: Vec<String> = self
                    .settings
                    .iter()
                    .zip(&block.ranges_pct)
                    .map(|((name, _), [low, high])| format!("{name} {low:.0} to {high:.0} %"))
                    .collect();
                let here = self.settings.iter().zip(&block.ranges_pct);
                let inside = here.clone().all(|((_, at), [low, high])| (*low..=*high).contains(at));
                format!(
                    "A block of positions in which any combination is within every limit: {}. It was tried at {} positions \
                     inside, all within, and at its corners; it is a trial, not a proof. The present settings lie {} it.",
                    ranges.join(", "),
                    block.tried,
                    if inside { "in" } else { "outside" }
                )
            }
            None if self.within > 0 => {
                "The positions within lie so thinly that no block of them holds: look at each with run.".to_owned()
            }
            None => "No position tried meets every limit: window says which limits exclude each other.".to_owned(),
        });
        text
    }

    fn table(&self) -> Table {
        let cell = |r: Option<&[f64; 2]>, side: usize| Cell::number(r.map(|r| r[side]), 1);
        let rows = self
            .settings
            .iter()
            .enumerate()
            .map(|(d, (name, at))| {
                let reach = self.reach_pct.as_ref().map(|r| &r[d]);
                let block = self.block.as_ref().map(|b| &b.ranges_pct[d]);
                let [a, b] = [0, 1].map(|side| cell(reach, side));
                let [c, e] = [0, 1].map(|side| cell(block, side));
                vec![Cell::text(name.as_str()), Cell::Number(*at, 0), a, b, c, e]
            })
            .collect();
        Table::new(
            "region",
            "positions within every limit, all settings moved together, percent of this model's range (matches no mark on \
             any joint)",
            &["setting", "set at", "least of those within", "greatest", "block from", "block to"],
            rows,
        )
    }
}
