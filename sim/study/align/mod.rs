//! Alignment: what a foot further forward or back under the knee axis does to standing, and what that
//! costs in walking, landing, a stumble, the chair, a ramp and stairs.
//!
//! ```text
//! d = Lt (e + s − Rγ)/(L − R)     extension moment N d     lost at γ = (e + s)/R     to start bending N d L/L1
//! ```
//! d load line in front of the knee axis, s foot shift (`body::alignment`). Each thing that alignment
//! must leave intact is a [`Criterion`]; where it holds is looked for every 5 mm over ± 60 mm and its
//! ends found by bisection. A task that cannot be run or followed does not hold. Of several stretches
//! that hold the one with the unshifted foot in it counts, else the longest. Common practice puts the
//! load line a few centimetres in front of the knee axis; here "a few" is taken as 20 to 50 mm \[J\].
//! Checked in tests/studies/align.rs.

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
use crate::outcome::{Assessment, LimitVerdict, Value, detail_for_limits, metric};
use crate::scenario::{Activity, Scenario, Stand};
use crate::units::within;

/// Slope on which standing must hold: 1 in 12.
pub const SLOPE_DEG: f64 = 4.8;
/// What "a few centimetres" is taken to mean \[J\], m.
pub const FEW_CENTIMETRES_M: (f64, f64) = (0.02, 0.05);
/// Distance at which stretches are looked for, m.
const LOOKED_EVERY_M: f64 = 0.005;
/// Ends are found to this, m.
const FOUND_TO_M: f64 = 1e-5;

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

/// What must stay intact.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Criterion {
    /// Standing straight on a slope of 1 in 12.
    StandsOnSlope,
    /// The limit on late release in walking.
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
    /// All, those that the near edge is asked of first.
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

/// One shift.
#[derive(Debug, Clone)]
pub struct Row {
    /// Foot further forward by this, m.
    pub shift_m: f64,
    /// Standing on the level.
    pub standing: Standing,
    /// Walking, stumble, chair, ramp, stairs: outcomes, or why there are none.
    pub runs: [Result<Assessment, String>; 5],
}

/// An end of a stretch.
#[derive(Debug, Clone, PartialEq)]
pub struct Edge {
    /// Foot shift, m.
    pub shift_m: f64,
    /// Load line in front of the knee axis, m.
    pub load_line_m: f64,
    /// What closes it; none at the end of what was looked at.
    pub closed_by: Option<(Criterion, String)>,
}

/// A stretch of foot shifts.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// Foot furthest back.
    pub near: Edge,
    /// Foot furthest forward.
    pub far: Edge,
}

/// What was found.
#[derive(Debug, Clone)]
pub struct Alignments {
    /// Share of the weight on the prosthesis in standing.
    pub share: f64,
    /// Name of the walking scenario's pace.
    pub speed_m_per_s: Option<f64>,
    /// Greatest late release allowed, degrees.
    pub late_release_deg: Option<f64>,
    /// One per shift asked for.
    pub rows: Vec<Row>,
    /// The foot where the ratios of the body put it.
    pub unshifted: Standing,
    /// Where each criterion holds, or what breaks it with the foot not shifted.
    pub stretches: Vec<(Criterion, Result<Stretch, String>)>,
    /// Where else one holds, apart from its stretch: load line in front of the knee axis, m, to the 5 mm
    /// at which it was looked at.
    pub apart: Vec<(Criterion, f64, f64)>,
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

/// Steps of [`align`] for a number of shifts, for a progress bar.
#[must_use]
pub fn steps(shifts: usize) -> u64 {
    (shifts + Criterion::ALL.len()) as u64
}

/// Tries the shifts and looks for the edges.
///
/// # Errors
/// A set-up that is wrong in itself; a shift out of range.
pub fn align(setup: &Setup, tasks: &Tasks, shifts_m: &[f64], tick: Tick) -> Result<Alignments, SimError> {
    let stand = tasks.standing()?;
    setup.resolve()?;
    let walking = setup.trial(&tasks.walk)?;
    if let Activity::Walk(walk) = &walking.scenario.activity {
        walking.resolved_drive(walk)?;
    }
    for &shift in shifts_m {
        within("foot shift (m)", shift, -MOST_FOOT_SHIFT_M..=MOST_FOOT_SHIFT_M)?;
    }
    let bench = Bench { setup, tasks, stand };
    let rows = shifts_m
        .par_iter()
        .map(|&shift_m| {
            let runs = tasks.moving().map(|s| bench.run(s, shift_m));
            tick();
            Row { shift_m, standing: bench.level(shift_m), runs }
        })
        .collect();
    let found: Vec<_> = Criterion::ALL
        .into_par_iter()
        .map(|criterion| {
            let stretch = bench.stretch(criterion);
            tick();
            (criterion, stretch)
        })
        .collect();
    let apart =
        found.iter().flat_map(|(c, (_, apart))| apart.iter().map(|(from, to)| (*c, *from, *to))).collect();
    let stretches = found.into_iter().map(|(c, (stretch, _))| (c, stretch)).collect();
    let limit = tasks.walk.limits.iter().find(|l| l.outcome == LATE_RELEASE);
    Ok(Alignments {
        share: stand.share,
        speed_m_per_s: setup.speed_m_per_s,
        late_release_deg: limit.and_then(|l| l.max),
        rows,
        unshifted: bench.level(0.0),
        stretches,
        apart,
    })
}

const LATE_RELEASE: &str = "late_release_loss_deg";

/// Everything that a criterion is tried on.
struct Bench<'a> {
    setup: &'a Setup,
    tasks: &'a Tasks,
    stand: &'a Stand,
}

impl Bench<'_> {
    fn standing(&self, shift_m: f64, slope_deg: f64) -> Standing {
        let stand = Stand { slope_deg, share: self.stand.share };
        stand_aligned(&stand, &self.setup.person, Alignment { foot_shift_m: shift_m })
    }

    fn level(&self, shift_m: f64) -> Standing {
        self.standing(shift_m, 0.0)
    }

    fn run(&self, scenario: &Scenario, shift_m: f64) -> Result<Assessment, String> {
        let mut case = Case { setup: self.setup.paced_for(scenario), scenario: scenario.clone() };
        case.setup.alignment.foot_shift_m = shift_m;
        let detail =
            Detail { hip_band: detail_for_limits(&case.scenario.limits).hip_band, ..Detail::default() };
        case.assess(detail, Tolerances::scan()).map_err(|e| e.to_string())
    }

    /// What breaks a criterion at a shift; none if it holds.
    fn broken(&self, criterion: Criterion, shift_m: f64) -> Option<String> {
        let limits = |scenario: &Scenario, of: Option<&str>| match self.run(scenario, shift_m) {
            Err(e) => Some(e),
            Ok(a) => a
                .binding()
                .filter(|l| of.is_none_or(|key| l.limit.outcome == key) && !l.holds())
                .min_by(|a, b| a.relative_margin.total_cmp(&b.relative_margin))
                .map(said),
        };
        match criterion {
            Criterion::StandsOnSlope => {
                let moment = self.standing(shift_m, SLOPE_DEG).extension_moment_n_m;
                (moment < 0.0).then(|| "the weight bends the knee on that slope".to_owned())
            }
            Criterion::ReleasesInTime => limits(&self.tasks.walk, Some(LATE_RELEASE)),
            Criterion::Lands => limits(&self.tasks.walk, Some("landing")),
            Criterion::Stumble => limits(&self.tasks.stumble, None),
            Criterion::Chair => limits(&self.tasks.sit, None),
            Criterion::Ramp => limits(&self.tasks.ramp, None),
            Criterion::Stairs => limits(&self.tasks.stairs, None),
        }
    }

    /// The stretch that counts, and where it holds besides.
    #[allow(clippy::type_complexity)]
    fn stretch(&self, criterion: Criterion) -> (Result<Stretch, String>, Vec<(f64, f64)>) {
        let half = (MOST_FOOT_SHIFT_M / LOOKED_EVERY_M).round() as i32;
        let shift = |i: i32| (f64::from(i) * LOOKED_EVERY_M).clamp(-MOST_FOOT_SHIFT_M, MOST_FOOT_SHIFT_M);
        let broken: Vec<(i32, bool)> =
            (-half..=half).map(|i| (i, self.broken(criterion, shift(i)).is_some())).collect();
        let runs: Vec<&[(i32, bool)]> = broken.chunk_by(|a, b| a.1 == b.1).filter(|run| !run[0].1).collect();
        // the later of two equally long ones: the foot further forward
        let best = runs.iter().find(|run| run.iter().any(|(i, _)| *i == 0));
        let Some(run) = best.or_else(|| runs.iter().max_by_key(|run| run.len())) else {
            return (Err(self.broken(criterion, 0.0).unwrap_or_default()), vec![]);
        };
        let line = |i: i32| self.level(shift(i)).load_line_ahead_m;
        let apart = runs
            .iter()
            .filter(|other| other[0].0 != run[0].0)
            .map(|other| (line(other[0].0), line(other[other.len() - 1].0)))
            .collect();
        let (first, last) = (run[0].0, run[run.len() - 1].0);
        let stretch = Stretch {
            near: self.edge(criterion, shift(first), (first > -half).then(|| shift(first - 1))),
            far: self.edge(criterion, shift(last), (last < half).then(|| shift(last + 1))),
        };
        (Ok(stretch), apart)
    }

    /// Between a shift that holds and one that does not.
    fn edge(&self, criterion: Criterion, holds: f64, breaks: Option<f64>) -> Edge {
        let (mut inside, outside) = (holds, breaks);
        let closed_by = outside.and_then(|mut outside| {
            while (outside - inside).abs() > FOUND_TO_M {
                let middle = 0.5 * (inside + outside);
                if self.broken(criterion, middle).is_some() { outside = middle } else { inside = middle }
            }
            self.broken(criterion, outside).map(|why| (criterion, why))
        });
        Edge { shift_m: inside, load_line_m: self.level(inside).load_line_ahead_m, closed_by }
    }
}

/// What a watcher sees, with the value.
fn said(l: &LimitVerdict) -> String {
    match (metric(&l.limit.outcome), l.value) {
        (Some(m), Value::NotReached) => format!("{} ({}: not reached)", l.seen(), m.label),
        (Some(m), value) => format!("{} ({}: {})", l.seen(), m.label, m.say(value)),
        (None, _) => l.seen().to_owned(),
    }
}

impl Alignments {
    /// Where all of some criteria hold; none if nowhere.
    #[must_use]
    pub fn common(&self, criteria: &[Criterion]) -> Option<Stretch> {
        self.innermost(criteria).filter(|f| f.near.shift_m <= f.far.shift_m)
    }

    /// The near edge that lies furthest forward and the far edge that lies furthest back, which do not
    /// leave anything between them if they are the wrong way round; none if a criterion holds nowhere.
    #[must_use]
    pub fn innermost(&self, criteria: &[Criterion]) -> Option<Stretch> {
        let mut found: Option<Stretch> = None;
        for (_, stretch) in self.stretches.iter().filter(|(c, _)| criteria.contains(c)) {
            let stretch = stretch.clone().ok()?;
            found = Some(match found {
                None => stretch,
                Some(f) => Stretch {
                    near: if stretch.near.shift_m > f.near.shift_m { stretch.near } else { f.near },
                    far: if stretch.far.shift_m < f.far.shift_m { stretch.far } else { f.far },
                },
            });
        }
        found
    }
}
