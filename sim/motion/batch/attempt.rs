//! One attempt of an event step: each stride of a vector with a step of its own.

use super::accuracy::Accuracy;
use super::drive_table::{STAGE_FRACTIONS, TimeCell};
use super::dynamics::{DriveSample, Joint, StageDrives, State};
use super::step::{Estimate, LATER_STAGES, MAX_STEP_ANGLE_RAD, Step};
use super::storage::{ARMED, LaneBlock, SHARE};
use super::switches::{Mode, switch};
use super::weights::Weights;
use crate::numerics::simd::{Lane, LaneMask};
use crate::numerics::vector::Row;

/// Shortest step, share of a cell, that the error estimate can ask for.
const SHORTEST: f64 = 1.0 / 4096.0;
/// A cell counts as done when less than this share of it is left.
pub const DONE: f64 = 1e-12;

/// How far the strides of a vector are through a cell, and the step that each takes next.
pub struct Cursor<T: Lane> {
    /// Share of the cell that is done.
    pub done: T,
    /// State there.
    pub state: State<T>,
    /// Branch of every law, frozen up to the next switch.
    pub mode: Mode<T>,
    /// Strides whose stance valve has not released yet.
    pub armed: T::Mask,
    /// Next step, share of the cell.
    pub share: T,
    /// Strides whose next step ends on a switch that has been located.
    pub aimed: T::Mask,
    /// The switches that it ends on.
    pub hit: Mode<T>,
    /// Step after that switch, share of the cell: as long as the one that crossed it.
    pub resume: T,
    /// No step has been tried yet.
    pub first: bool,
}

impl<T: Row> Cursor<T> {
    /// At the start of the cell; a stride that is through it already stands at its end.
    #[inline(always)]
    pub fn new<const KIND: usize>(
        joint: &Joint<T>,
        lanes: &LaneBlock,
        column: usize,
        cell: &TimeCell,
        zero: T,
    ) -> Self {
        let (one, never) = (zero.splat(1.0), zero.above(zero));
        let state: State<T> = lanes.state(zero, column);
        let share = lanes.get(zero, SHARE, column);
        let done = T::choose(share.above(zero), zero, one);
        let drive = joint.drive_sample::<KIND>(&cell.at::<KIND, T>(done));
        Self {
            done,
            state,
            mode: joint.mode::<KIND>(&drive, state.bend, state.omega, state.z),
            armed: lanes.get(zero, ARMED, column).above(zero),
            share,
            aimed: never,
            hit: [never; switch::COUNT],
            resume: one,
            first: true,
        }
    }

    /// Strides that are not through the cell yet.
    #[inline(always)]
    pub fn active(&self) -> T::Mask {
        (self.done.splat(1.0) - self.done).above(self.done.splat(DONE))
    }
}

/// A step that has been tried.
pub struct Attempt<T: Lane> {
    /// Strides that take it.
    pub active: T::Mask,
    /// Its length, share of the cell.
    pub step: T,
    /// Its length, stride fraction.
    pub h: T,
    /// The drive at its end.
    pub drive: DriveSample<T>,
    /// State at its end.
    pub to: State<T>,
    /// Error estimate, tolerances.
    pub error: T,
    /// Strides whose error is within the tolerance.
    pub good: T::Mask,
}

/// Tries the next step of each stride.
#[inline(always)]
pub fn attempt<T: Row, const KIND: usize>(
    joint: &Joint<T>,
    lanes: &LaneBlock,
    column: usize,
    cell: &TimeCell,
    accuracy: &Accuracy,
    cursor: &Cursor<T>,
) -> Attempt<T> {
    let Cursor { done, state: s, mode, armed, share, aimed, .. } = cursor;
    let (zero, one) = (done.splat(0.0), done.splat(1.0));
    let active = cursor.active();
    let step = T::choose(*aimed, *share, share.lesser(one - *done)) * T::choose(active, one, zero);
    let h = step * cell.step.span;
    let drive = joint.drive_sample::<KIND>(&cell.at::<KIND, T>(*done + step));
    // the step through the whole cell has been taken before
    let Step { end: to, omega_error, z_error } = if cursor.first && !(one.above(step) & active).any() {
        Step { end: lanes.trial_end(zero, column), omega_error: Estimate::none(zero), z_error: zero }
    } else {
        let mut drives: StageDrives<T> = [drive; STAGE_FRACTIONS.len()];
        #[allow(clippy::needless_range_loop)] // an iterator may not be inlined
        for i in 0..LATER_STAGES {
            let f = step.times_plus(zero.splat(STAGE_FRACTIONS[i]), *done);
            drives[i] = joint.drive_sample::<KIND>(&cell.at::<KIND, T>(f));
        }
        let laws = joint.freeze::<KIND>(*mode, *armed, s, h);
        joint.step::<KIND, true>(&laws, &drives, &[zero; LATER_STAGES], s, (&Weights::UNIT, h))
    };
    let angle = (to.bend - s.bend).abs().greater((h * s.omega).abs()) * (1.0 / MAX_STEP_ANGLE_RAD);
    let per_omega = joint.per_omega::<KIND>(accuracy.per_omega, cell.step.left, mode);
    let per_valve = joint.per_valve::<KIND>(accuracy.per_valve, cell.step.left);
    let error = (omega_error.value() * per_omega).greater(z_error * per_valve).greater(angle);
    let good = (!error.above(one) | zero.splat(SHORTEST).above(step)) & active;
    Attempt { active, step, h, drive, to, error, good }
}
