//! Alignment: how a foot further forward or back under the knee axis changes standing, and what that costs
//! in walking, landing, a stumble, the chair, a ramp and stairs.
//!
//! ```text
//! d = Lt (e + s − Rγ)/(L − R)     extension moment N d     lost at γ = (e + s)/R     to start bending N d L/L1
//! ```
//! d load line in front of the knee axis, s foot shift (`body::alignment`). What alignment must leave intact
//! is a [`Criterion`]. Each criterion is evaluated every 5 mm over ± 60 mm, and the edges of its range are
//! found by bisection. A task that cannot run does not hold. If a criterion holds in several ranges, the one
//! with the unshifted foot counts, else the longest. Common practice puts the load line a few centimetres in
//! front of the knee axis; here "a few" is taken as 20 to 50 mm \[J\].
//! Checked in tests/studies/align.rs.

mod plot;
mod report;

use rayon::prelude::*;

use super::Tick;
use crate::body::Alignment;
use crate::body::alignment::MOST_FOOT_SHIFT_M;
use crate::case::inputs::Case;
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::motion::standing::{Standing, stand_aligned};
use crate::motion::trial::Detail;
use crate::numerics::tolerances::Tolerances;
use crate::outcome::{Assessment, LimitVerdict, Verdict, detail_for_limits, metric};
use crate::scenario::{Activity, Scenario, Stand};
use crate::units::within;

/// Slope on which standing must hold: 1 in 12.
pub const SLOPE_DEG: f64 = 4.8;
/// What "a few centimetres" is taken to mean \[J\], m.
pub const FEW_CENTIMETRES_M: (f64, f64) = (0.02, 0.05);
/// Distance between the shifts at which a criterion is evaluated, m.
const GRID_STEP_M: f64 = 0.005;
/// Edges are found to this, m.
const EDGE_TOLERANCE_M: f64 = 1e-5;

/// The tasks that alignment acts on.
#[derive(Debug, Clone)]
pub struct Tasks {
    /// Standing on the level.
    pub stand: Scenario,
    /// Comfortable walking with its landing.
    pub walk: Scenario,
    /// Stumble.
    pub stumble: Scenario,
    /// Sitting down.
    pub sit: Scenario,
    /// Ramp.
    pub ramp: Scenario,
    /// Stairs.
    pub stairs: Scenario,
}

/// A requirement that alignment must leave intact.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Criterion {
    /// Standing straight on a slope of 1 in 12.
    StandsOnSlope,
    /// The limits on late release and on peak flexion in walking: the stance valve, or the load line itself, can hold
    /// the knee straight too long.
    ReleasesInTime,
    /// The limit on the landing after walking.
    Lands,
    /// The limits of the stumble.
    Stumble,
    /// The limits of sitting down.
    Chair,
    /// The limits of the ramp.
    Ramp,
    /// The limits of the stairs.
    Stairs,
}

impl Criterion {
    /// All criteria.
    pub const ALL: [Self; 7] = [
        Self::StandsOnSlope,
        Self::ReleasesInTime,
        Self::Lands,
        Self::Stumble,
        Self::Chair,
        Self::Ramp,
        Self::Stairs,
    ];
}

/// The results at one shift.
#[derive(Debug, Clone)]
pub struct ShiftResult {
    /// Shift of the foot, forward positive, m.
    pub shift_m: f64,
    /// Standing on the level.
    pub standing: Standing,
    /// Walking, stumble, chair, ramp, stairs: outcomes, or why there are none.
    pub runs: [Result<Assessment, SimError>; 5],
}

/// What is drawn at one shift.
#[derive(Debug, Clone)]
pub struct CurvePoint {
    /// Standing on the level.
    pub standing: Standing,
    /// Comfortable walking; none where it gives no result.
    pub walk: Option<Assessment>,
}

/// Distance between the shifts that are drawn, m: what falls from one to the next is a jump.
const CURVE_STEP_M: f64 = 0.001;

/// An edge of a range of shifts.
#[derive(Debug, Clone, PartialEq)]
pub struct Edge {
    /// Foot shift, m.
    pub shift_m: f64,
    /// Load line in front of the knee axis, m.
    pub load_line_m: f64,
    /// What fails beyond it; none at the end of the shifts evaluated.
    pub closed_by: Option<(Criterion, String)>,
}

/// A range of foot shifts.
#[derive(Debug, Clone, PartialEq)]
pub struct ShiftRange {
    /// Foot furthest back.
    pub near: Edge,
    /// Foot furthest forward.
    pub far: Edge,
}

/// What to vary.
#[derive(Debug, Clone)]
pub struct AlignmentStudy {
    /// Set-up; its foot shift is varied.
    pub setup: Setup,
    /// The tasks.
    pub tasks: Tasks,
    /// Shifts to tabulate, m.
    pub shifts_m: Vec<f64>,
}

/// Results over the shift of the foot.
#[derive(Debug, Clone)]
pub struct AlignmentResult {
    /// Person, prosthesis, knee and settings in words.
    pub inputs: [String; 2],
    /// Share of the weight on the prosthesis in standing.
    pub share: f64,
    /// Greatest late release allowed, degrees.
    pub late_release_deg: Option<f64>,
    /// Shift that moves the standing load line as far as 1° of tilt, m.
    pub shift_per_tilt_m: f64,
    /// One per shift asked for.
    pub rows: Vec<ShiftResult>,
    /// Standing with the foot where the ratios of the body put it.
    pub unshifted: Standing,
    /// Where each criterion holds, or why it fails with the foot not shifted.
    pub ranges: Vec<(Criterion, Result<ShiftRange, String>)>,
    /// Other ranges in which a criterion holds: load line in front of the knee axis, m, to the 5 mm of the
    /// grid.
    pub other_ranges: Vec<(Criterion, f64, f64)>,
}

impl Tasks {
    fn moving(&self) -> [&Scenario; 5] {
        [&self.walk, &self.stumble, &self.sit, &self.ramp, &self.stairs]
    }

    fn standing(&self) -> Result<&Stand, SimError> {
        match &self.stand.activity {
            Activity::Stand(s) => Ok(s),
            _ => Err(SimError::Usage(format!("scenario '{}' is no standing", self.stand.name))),
        }
    }
}

impl AlignmentStudy {
    /// Steps of progress.
    #[must_use]
    pub fn steps(&self) -> u64 {
        (self.shifts_m.len() + Criterion::ALL.len()) as u64
    }

    /// Standing and walking at shifts close together, over the range asked for.
    ///
    /// # Errors
    /// As [`AlignmentStudy::run`].
    pub fn curve(&self) -> Result<Vec<CurvePoint>, SimError> {
        let trials = ShiftTrials { setup: &self.setup, tasks: &self.tasks, stand: self.tasks.standing()? };
        let (Some(from), Some(to)) = (self.shifts_m.first(), self.shifts_m.last()) else { return Ok(vec![]) };
        let steps = ((to - from) / CURVE_STEP_M).ceil().max(1.0);
        (0..=steps as u32)
            .into_par_iter()
            .map(|i| {
                let shift_m = from + (to - from) * f64::from(i) / steps;
                let walk = SimError::finding(trials.run(&self.tasks.walk, shift_m))?.ok();
                Ok(CurvePoint { standing: trials.level(shift_m), walk })
            })
            .collect()
    }

    /// Evaluates every shift and finds the range of every criterion.
    ///
    /// # Errors
    /// A set-up that is wrong in itself; a shift out of range.
    pub fn run(&self, tick: Tick) -> Result<AlignmentResult, SimError> {
        let Self { setup, tasks, shifts_m } = self;
        let stand = tasks.standing()?;
        let resolved = setup.resolve()?;
        let walking = setup.trial(&tasks.walk)?;
        if let Activity::Walk(walk) = &walking.scenario.activity {
            walking.resolved_drive(walk)?;
        }
        for &shift in shifts_m {
            within("foot shift (m)", shift, -MOST_FOOT_SHIFT_M..=MOST_FOOT_SHIFT_M)?;
        }
        let trials = ShiftTrials { setup, tasks, stand };
        let rows = shifts_m
            .par_iter()
            .map(|&shift_m| {
                let runs = tasks.moving().map(|s| trials.run(s, shift_m));
                tick();
                ShiftResult { shift_m, standing: trials.level(shift_m), runs }
            })
            .collect();
        let found: Vec<(Criterion, CriterionRanges)> = Criterion::ALL
            .into_par_iter()
            .map(|criterion| {
                let ranges = trials.ranges(criterion);
                tick();
                (criterion, ranges)
            })
            .collect();
        let other_ranges =
            found.iter().flat_map(|(c, r)| r.others.iter().map(|(from, to)| (*c, *from, *to))).collect();
        let ranges = found.into_iter().map(|(c, r)| (c, r.range)).collect();
        let limit = tasks.walk.limits.iter().find(|l| l.outcome == LATE_RELEASE);
        Ok(AlignmentResult {
            inputs: setup.in_words(&resolved),
            share: stand.share,
            late_release_deg: limit.and_then(|l| l.max),
            shift_per_tilt_m: Alignment { foot_shift_m: 0.0, foot_tilt_deg: 1.0 }
                .load_line_shift_m(setup.person.stature_m()),
            rows,
            unshifted: trials.level(0.0),
            ranges,
            other_ranges,
        })
    }
}

const LATE_RELEASE: &str = "late_release_loss_deg";
const PEAK: &str = "peak_flexion_deg";

/// Where one criterion holds.
struct CriterionRanges {
    /// The range that counts, or why it fails with the foot not shifted.
    range: Result<ShiftRange, String>,
    /// Load lines of the other ranges, m.
    others: Vec<(f64, f64)>,
}

/// Trials of the tasks at any shift of the foot.
struct ShiftTrials<'a> {
    setup: &'a Setup,
    tasks: &'a Tasks,
    stand: &'a Stand,
}

impl ShiftTrials<'_> {
    fn standing(&self, shift_m: f64, slope_deg: f64) -> Standing {
        let stand = Stand { slope_deg, share: self.stand.share };
        stand_aligned(&stand, &self.setup.person, Alignment { foot_shift_m: shift_m, ..self.setup.alignment })
    }

    fn level(&self, shift_m: f64) -> Standing {
        self.standing(shift_m, 0.0)
    }

    fn run(&self, scenario: &Scenario, shift_m: f64) -> Result<Assessment, SimError> {
        let mut case = Case { setup: self.setup.paced_for(scenario), scenario: scenario.clone() };
        case.setup.alignment.foot_shift_m = shift_m;
        let detail = Detail {
            hip_band: detail_for_limits(&case.scenario.limits).hip_band,
            without_hip: false,
            ..Detail::default()
        };
        case.assess(detail, Tolerances::scan())
    }

    /// Why a criterion fails at a shift; none if it holds.
    fn failure(&self, criterion: Criterion, shift_m: f64) -> Option<String> {
        let limits = |scenario: &Scenario, of: &[&str]| match self.run(scenario, shift_m) {
            Err(e) => Some(e.to_string()),
            Ok(a) => a
                .binding()
                .filter(|l| (of.is_empty() || of.contains(&l.limit.outcome.as_str())) && !l.holds())
                .min_by(|a, b| a.relative_margin.total_cmp(&b.relative_margin))
                .map(in_words),
        };
        match criterion {
            Criterion::StandsOnSlope => {
                let moment = self.standing(shift_m, SLOPE_DEG).extension_moment_n_m;
                (moment < 0.0).then(|| "the weight bends the knee on that slope".to_owned())
            }
            Criterion::ReleasesInTime => limits(&self.tasks.walk, &[LATE_RELEASE, PEAK]),
            Criterion::Lands => limits(&self.tasks.walk, &["landing"]),
            Criterion::Stumble => limits(&self.tasks.stumble, &[]),
            Criterion::Chair => limits(&self.tasks.sit, &[]),
            Criterion::Ramp => limits(&self.tasks.ramp, &[]),
            Criterion::Stairs => limits(&self.tasks.stairs, &[]),
        }
    }

    /// The ranges of shifts in which a criterion holds.
    fn ranges(&self, criterion: Criterion) -> CriterionRanges {
        let half = (MOST_FOOT_SHIFT_M / GRID_STEP_M).round() as i32;
        let shift = |i: i32| (f64::from(i) * GRID_STEP_M).clamp(-MOST_FOOT_SHIFT_M, MOST_FOOT_SHIFT_M);
        let grid: Vec<(i32, bool)> =
            (-half..=half).map(|i| (i, self.failure(criterion, shift(i)).is_none())).collect();
        let runs: Vec<&[(i32, bool)]> = grid.chunk_by(|a, b| a.1 == b.1).filter(|run| run[0].1).collect();
        let unshifted = runs.iter().find(|run| run.iter().any(|(i, _)| *i == 0));
        // of two equally long ones the later: the foot further forward
        let Some(run) = unshifted.or_else(|| runs.iter().max_by_key(|run| run.len())) else {
            let why = self.failure(criterion, 0.0).unwrap_or_default();
            return CriterionRanges { range: Err(why), others: vec![] };
        };
        let load_line = |i: i32| self.level(shift(i)).load_line_ahead_m;
        let others = runs
            .iter()
            .filter(|other| other[0].0 != run[0].0)
            .map(|other| (load_line(other[0].0), load_line(other[other.len() - 1].0)))
            .collect();
        let (first, last) = (run[0].0, run[run.len() - 1].0);
        let range = ShiftRange {
            near: self.edge(criterion, shift(first), (first > -half).then(|| shift(first - 1))),
            far: self.edge(criterion, shift(last), (last < half).then(|| shift(last + 1))),
        };
        CriterionRanges { range: Ok(range), others }
    }

    /// Between a shift that holds and one that does not.
    fn edge(&self, criterion: Criterion, holds: f64, fails: Option<f64>) -> Edge {
        let mut inside = holds;
        let closed_by = fails.and_then(|mut outside| {
            while (outside - inside).abs() > EDGE_TOLERANCE_M {
                let middle = 0.5 * (inside + outside);
                if self.failure(criterion, middle).is_some() { outside = middle } else { inside = middle }
            }
            self.failure(criterion, outside).map(|why| (criterion, why))
        });
        Edge { shift_m: inside, load_line_m: self.level(inside).load_line_ahead_m, closed_by }
    }
}

/// What an observer would see, or might see where it is doubtful, with the value.
fn in_words(l: &LimitVerdict) -> String {
    let doubtful = if l.verdict == Verdict::Doubtful { "doubtful: " } else { "" };
    let said = match (metric(&l.limit.outcome), l.value) {
        (Some(m), value) => format!("{} ({})", l.seen(), m.sentence(value)),
        (None, _) => l.seen().to_owned(),
    };
    format!("{doubtful}{said}")
}

impl AlignmentResult {
    /// The range in which several criteria hold; none if there is no such range.
    #[must_use]
    pub fn common(&self, criteria: &[Criterion]) -> Option<ShiftRange> {
        self.innermost_edges(criteria).filter(|r| r.near.shift_m <= r.far.shift_m)
    }

    /// Of several criteria the near edge that lies furthest forward and the far edge that lies furthest
    /// back; in the wrong order if no shift fulfils all. None if a criterion holds nowhere.
    #[must_use]
    pub fn innermost_edges(&self, criteria: &[Criterion]) -> Option<ShiftRange> {
        let mut found: Option<ShiftRange> = None;
        for (_, range) in self.ranges.iter().filter(|(c, _)| criteria.contains(c)) {
            let range = range.clone().ok()?;
            found = Some(match found {
                None => range,
                Some(f) => ShiftRange {
                    near: if range.near.shift_m > f.near.shift_m { range.near } else { f.near },
                    far: if range.far.shift_m < f.far.shift_m { range.far } else { f.far },
                },
            });
        }
        found
    }
}
