//! The drive of many strides, computed once: motion of hip and thigh, ground load and released knee. The stride is cut
//! into equal cells; the table has the drive at the stages of a step through each, and a polynomial in between.
//!
//! Strides share a table if they walk at the same v* with the same step ratio. Every quantity is then the same
//! function of the stride fraction p, if θ'' is counted per stride time squared, because lengths and
//! accelerations scale with stature (Lt/T² is the same for all). Within a cell each quantity is the
//! polynomial of degree 6 through seven points.

use super::switches::{STANCE, is_preswing, on_ground};
use super::weights::Weights;
use crate::error::SimError;
use crate::motion::swing::PivotAcceleration;
use crate::numerics::dormand_prince::C as STAGES;
use crate::numerics::math;
use crate::numerics::simd::Lane;
use crate::scenario::Drive;

/// The drive at an instant; rates and accelerations per stride time.
#[derive(Debug, Clone, Copy, Default)]
pub struct DrivePoint<T = f64> {
    /// θ'' T², rad.
    pub thigh_acc: T,
    /// Acceleration of the pivot across the thigh, m/s².
    pub across: T,
    /// Acceleration of the pivot along the thigh, m/s².
    pub along: T,
    /// Ground load, share of body weight.
    pub load_bw: T,
    /// Centre of pressure of a foot that is not shifted, per stature.
    pub pressure: T,
    /// How far it lies in front of the one that the drive assumes, per stature.
    pub pressure_shift: T,
    /// Flexion of a released knee from the stop, rad.
    pub bend: T,
    /// Rate of this flexion × T.
    pub bend_rate: T,
    /// Acceleration of this flexion × T².
    pub bend_acc: T,
    /// Sine of this flexion.
    pub bend_sin: T,
    /// Cosine of this flexion.
    pub bend_cos: T,
}

/// Quantities of a point.
const QUANTITIES: usize = 11;
/// Points through which a cell's polynomials run.
const NODES: usize = 7;
/// Cells that a long step may go through, except in pre-swing.
const MULTI_CELL: [usize; 2] = [4, 2];
/// Stages of a step, fractions of its length: start, then those of the method.
pub const STAGE_FRACTIONS: [f64; 6] = [0.0, STAGES[0], STAGES[1], STAGES[2], STAGES[3], 1.0];

impl DrivePoint {
    fn of(drive: &Drive, p: f64, loaded: bool) -> Self {
        let period = drive.stride_time_s;
        let t = p * period;
        let pivot = PivotAcceleration::of(&drive.kinematics(t));
        let [bend, rate, acc] = drive.released_knee(t);
        Self {
            thigh_acc: pivot.thigh_acc * period * period,
            across: pivot.across,
            along: pivot.along,
            load_bw: if loaded { drive.load_bw(t) } else { 0.0 },
            pressure: drive.tilted_pressure(t),
            pressure_shift: drive.tilted_pressure(t) - drive.assumed_pressure(t),
            bend,
            bend_rate: rate * period,
            bend_acc: acc * period * period,
            bend_sin: math::sin(bend),
            bend_cos: math::cos(bend),
        }
    }

    fn row(&self) -> [f64; QUANTITIES] {
        let Self {
            thigh_acc,
            across,
            along,
            load_bw,
            pressure,
            pressure_shift,
            bend,
            bend_rate,
            bend_acc,
            bend_sin,
            bend_cos,
        } = *self;
        [
            thigh_acc,
            across,
            along,
            load_bw,
            pressure,
            bend,
            bend_rate,
            bend_acc,
            bend_sin,
            bend_cos,
            pressure_shift,
        ]
    }
}

impl DrivePoint {
    /// The same in every lane.
    #[inline(always)]
    pub fn splat<T: Lane>(&self, zero: T) -> DrivePoint<T> {
        DrivePoint {
            thigh_acc: zero.splat(self.thigh_acc),
            across: zero.splat(self.across),
            along: zero.splat(self.along),
            load_bw: zero.splat(self.load_bw),
            pressure: zero.splat(self.pressure),
            pressure_shift: zero.splat(self.pressure_shift),
            bend: zero.splat(self.bend),
            bend_rate: zero.splat(self.bend_rate),
            bend_acc: zero.splat(self.bend_acc),
            bend_sin: zero.splat(self.bend_sin),
            bend_cos: zero.splat(self.bend_cos),
        }
    }
}

/// A step through one cell or several, with the drive along it.
#[derive(Debug, Clone)]
pub struct CellStep {
    /// Cells that it goes through.
    pub cells: usize,
    /// Length, stride fraction.
    pub span: f64,
    /// From its end to the end of the phase, stride fraction.
    pub left: f64,
    /// The drive at [`STAGE_FRACTIONS`].
    pub points: [DrivePoint; STAGE_FRACTIONS.len()],
    /// The method's weights for it.
    pub weights: Weights,
}

/// One cell of the stride.
#[derive(Debug, Clone)]
pub struct TimeCell {
    /// Stride fraction at its start.
    pub from: f64,
    /// The step through it.
    pub step: CellStep,
    /// Steps through it and the next cells, longest first.
    pub multi_cell_steps: Vec<CellStep>,
    /// Greatest ground load from its start to the end of the phase, share of body weight.
    pub most_load_bw: f64,
    /// Rearmost centre of pressure of a foot that is not shifted, in the same time, per stature.
    pub least_pressure: f64,
    /// Coefficients by power of the cell's fraction.
    powers: [[f64; QUANTITIES]; NODES],
}

/// Equal cells of a phase.
struct Run<'a> {
    drive: &'a Drive,
    from: f64,
    span: f64,
    count: usize,
    loaded: bool,
    bends: bool,
}

impl Run<'_> {
    /// At fraction `f` of a step that begins at cell `i`.
    fn at(&self, i: usize, cells: usize, f: f64) -> DrivePoint {
        // just inside: a jump at the end of a phase belongs to the next
        let f = f.min(1.0 - 1e-12);
        DrivePoint::of(self.drive, self.from + self.span * (i as f64 + f * cells as f64), self.loaded)
    }

    fn step(&self, i: usize, cells: usize) -> CellStep {
        CellStep {
            cells,
            span: self.span * cells as f64,
            left: self.span * (self.count - i - cells) as f64,
            points: STAGE_FRACTIONS.map(|f| self.at(i, cells, f)),
            weights: Weights::of(self.span * cells as f64),
        }
    }

    fn cells(&self) -> Vec<TimeCell> {
        let mut cells: Vec<TimeCell> = (0..self.count).map(|i| self.cell(i)).collect();
        let (mut load_bw, mut pressure) = (0.0_f64, f64::INFINITY);
        for cell in cells.iter_mut().rev() {
            for point in &cell.step.points {
                load_bw = load_bw.max(point.load_bw);
                pressure = pressure.min(point.pressure);
            }
            (cell.most_load_bw, cell.least_pressure) = (load_bw, pressure);
        }
        cells
    }

    fn cell(&self, i: usize) -> TimeCell {
        let fits = |&cells: &usize| !self.bends && i.is_multiple_of(cells) && i + cells <= self.count;
        let multi_cell_steps = MULTI_CELL.into_iter().filter(fits).map(|cells| self.step(i, cells)).collect();
        TimeCell::new(self.from + self.span * i as f64, self.step(i, 1), multi_cell_steps, |f| {
            self.at(i, 1, f)
        })
    }
}

impl TimeCell {
    fn new(
        from: f64,
        step: CellStep,
        multi_cell_steps: Vec<CellStep>,
        at: impl Fn(f64) -> DrivePoint,
    ) -> Self {
        // the step has its ends already
        let [start, .., end] = &step.points;
        let nodes: [[f64; QUANTITIES]; NODES] = std::array::from_fn(|i| match i {
            0 => start.row(),
            i if i == NODES - 1 => end.row(),
            i => at(i as f64 / (NODES - 1) as f64).row(),
        });
        let mut powers = [[0.0; QUANTITIES]; NODES];
        for q in 0..QUANTITIES {
            // Newton's forward differences over s = 6 f, expanded in powers of f
            let mut differences: [f64; NODES] = std::array::from_fn(|i| nodes[i][q]);
            for k in 1..NODES {
                for i in (k..NODES).rev() {
                    differences[i] = (differences[i] - differences[i - 1]) / k as f64;
                }
            }
            let mut by_s = [0.0; NODES];
            for (k, difference) in differences.iter().enumerate().rev() {
                // times s − k, plus the next difference
                for i in (0..NODES).rev() {
                    by_s[i] = if i > 0 { by_s[i - 1] } else { *difference } - k as f64 * by_s[i];
                }
            }
            for (k, b) in by_s.into_iter().enumerate() {
                powers[k][q] = b * ((NODES - 1) as f64).powi(k as i32);
            }
        }
        Self { from, step, multi_cell_steps, most_load_bw: f64::NAN, least_pressure: f64::NAN, powers }
    }

    /// The drive at fraction `f` of the cell, one per lane; quantities that the equation does not need are zero.
    #[inline(always)]
    pub fn at<const KIND: usize, T: Lane>(&self, f: T) -> DrivePoint<T> {
        let mut at = DrivePoint::default().splat(f);
        if KIND != STANCE {
            at.thigh_acc = self.quantity(0, f);
            at.across = self.quantity(1, f);
            at.along = self.quantity(2, f);
        }
        if on_ground(KIND) {
            at.load_bw = self.quantity(3, f);
            at.pressure = self.quantity(4, f);
        }
        if is_preswing(KIND) {
            at.bend = self.quantity(5, f);
            at.bend_rate = self.quantity(6, f);
            at.bend_acc = self.quantity(7, f);
            at.bend_sin = self.quantity(8, f);
            at.bend_cos = self.quantity(9, f);
            at.pressure_shift = self.quantity(10, f);
        }
        at
    }

    #[inline(always)]
    fn quantity<T: Lane>(&self, q: usize, f: T) -> T {
        let p = &self.powers;
        // in pairs, which halves the chain of dependent operations
        let f2 = f * f;
        let low = f.times_plus(f.splat(p[1][q]), f.splat(p[0][q]));
        let middle = f.times_plus(f.splat(p[3][q]), f.splat(p[2][q]));
        let high = f.times_plus(f.splat(p[5][q]), f.splat(p[4][q]));
        let high = f2.times_plus(f.splat(p[6][q]), high);
        f2.times_plus(f2.times_plus(high, middle), low)
    }
}

/// A phase of the stride in which the drive is smooth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StridePhase {
    /// The stance valve under a straight knee.
    Stance,
    /// The foot is on the ground and the knee flexes.
    Preswing,
    /// The foot is in the air, up to heel contact.
    Swing,
    /// After heel contact.
    Beyond,
}

/// The drive of one pace in cells.
#[derive(Debug, Clone)]
pub struct DriveTable {
    /// The drive that it was computed from.
    pub drive: Drive,
    /// Phases with their cells, in order.
    pub phases: Vec<(StridePhase, Vec<TimeCell>)>,
}

impl DriveTable {
    /// Cells of about 1/`cells_per_stride` of a stride, twice as long in stance and two thirds as long in
    /// pre-swing; followed for `beyond` strides past heel contact.
    #[must_use]
    pub fn new(drive: &Drive, cells_per_stride: usize, beyond: f64) -> Self {
        let period = drive.stride_time_s;
        let (p0, toe_off) = (drive.preswing_start_s / period, drive.toe_off_s / period);
        let laid = [
            (StridePhase::Stance, 0.0, p0),
            (StridePhase::Preswing, p0, toe_off),
            (StridePhase::Swing, toe_off, 1.0),
            (StridePhase::Beyond, 1.0, 1.0 + beyond),
        ];
        let loaded = |part| matches!(part, StridePhase::Stance | StridePhase::Preswing);
        // a cell may not run across a kink of the centre of pressure
        let smooth = laid.into_iter().flat_map(|(part, from, to)| {
            let mut ends = vec![from, to];
            if loaded(part) {
                let kinks = drive.pressure_kinks_s(from * period, to * period);
                ends.splice(1..1, kinks.into_iter().map(|t| t / period));
            }
            ends.windows(2).map(|w| (part, w[0], w[1])).collect::<Vec<_>>()
        });
        let phases = smooth.filter(|(_, from, to)| to > from).map(|(part, from, to)| {
            let finer = match part {
                StridePhase::Stance => 0.5,
                StridePhase::Preswing => 1.5,
                StridePhase::Swing | StridePhase::Beyond => 1.0,
            };
            let count = ((to - from) * cells_per_stride as f64 * finer).ceil().max(1.0);
            let span = (to - from) / count;
            let count = count as usize;
            let run =
                Run { drive, from, span, count, loaded: loaded(part), bends: part == StridePhase::Preswing };
            (part, run.cells())
        });
        Self { drive: drive.clone(), phases: phases.collect() }
    }

    /// Checks that a drive is this one at another size.
    ///
    /// # Errors
    /// The drive differs in pace or shape.
    pub fn check(&self, drive: &Drive) -> Result<(), SimError> {
        if drive.same_shape(&self.drive) {
            return Ok(());
        }
        Err(SimError::CannotRun("the strides of a batch need the same v* and step ratio".into()))
    }
}
