//! A cell in which something happens: shorter steps, each stride with its own, that end on every switch.
//!
//! Steps are shortened until their error estimate is within the tolerance. When a step ends on the wrong
//! side of a switch, the first crossing is located on its Hermite interpolation, the step taken again
//! up to there, the mode changed, and so on to the end of the cell: the same as the reference path
//! does for one stride.

use super::accuracy::Accuracy;
use super::attempt::{Attempt, Cursor, DONE, attempt};
use super::drive_table::{StridePhase, TimeCell};
use super::dynamics::{Joint, State};
use super::locate::{DenseOutput, Locate, STRAIGHT};
use super::record::{record_not_covered, record_release, record_turn, set_where};
use super::step_control::shorter;
use super::storage::{ARMED, BROKEN, LaneBlock, NOT_YET, STRAIGHT_AT, STRAIGHT_RATE, STRAIGHT_WITHIN_RAD};
use super::switches::{Mode, STANCE, exists, for_each_switch, is_active, on_ground, switch};
use crate::numerics::simd::LaneMask;
use crate::numerics::vector::{Row, Task};

/// Steps that one cell may take; more mean that the motion chatters.
const MAX_STEPS: usize = 4000;
/// Crossings that lie this close together, share of a step, are one event.
const SAME_INSTANT: f64 = 1e-9;

/// Takes the strides of a vector through a cell.
pub struct EventStep<'a, T, const KIND: usize> {
    /// Zeros.
    pub zero: T,
    /// Group of the vector.
    pub lanes: &'a mut LaneBlock,
    /// Its first column there.
    pub column: usize,
    /// The cell.
    pub cell: &'a TimeCell,
    /// Phase of the stride that the cell belongs to.
    pub phase: StridePhase,
    /// Tolerances.
    pub accuracy: &'a Accuracy,
}

impl<T: Row, const KIND: usize> Task for EventStep<'_, T, KIND> {
    type Output = ();

    #[inline(always)]
    fn run(mut self) {
        let Self { zero, column, cell, accuracy, .. } = self;
        let one = zero.splat(1.0);
        let joint: &Joint<T> = &self.lanes.joint(zero, column);
        let cursor = &mut Cursor::new::<KIND>(joint, self.lanes, column, cell, zero);
        for _ in 0..MAX_STEPS {
            if !cursor.active().any() {
                break;
            }
            let attempt = &attempt::<T, KIND>(joint, self.lanes, column, cell, accuracy, cursor);
            cursor.first = false;
            let (passed, wrong) = switches_passed::<T, KIND>(joint, cursor, attempt);
            if wrong.any() {
                self.aim(cursor, attempt, &passed, wrong);
            }
            let accepted = attempt.good & !wrong;
            if KIND != STANCE {
                self.record_straight(cursor, attempt, accepted);
                record_not_covered::<T, KIND>(self.lanes, column, joint, &attempt.to, accepted);
            }
            cursor.done = T::choose(accepted, cursor.done + attempt.step, cursor.done);
            cursor.state = State::choose(accepted, &attempt.to, &cursor.state);
            let turned = cursor.aimed & accepted;
            if turned.any() {
                self.change_mode(joint, cursor, turned);
            }
            set_next_step(cursor, attempt, accepted);
            let refused = attempt.active & !attempt.good;
            cursor.aimed = (cursor.aimed & !turned & !refused) | wrong;
        }
        let unfinished = (one - cursor.done).above(zero.splat(DONE));
        if unfinished.any() {
            set_where(self.lanes, BROKEN, column, unfinished, one);
        }
        self.lanes.put_state(column, &cursor.state);
        self.lanes.put(ARMED, column, T::choose(cursor.armed, one, zero));
    }
}

/// Switches that a step ends on the wrong side of, and the strides of which this is so.
#[inline(always)]
fn switches_passed<T: Row, const KIND: usize>(
    joint: &Joint<T>,
    cursor: &mut Cursor<T>,
    attempt: &Attempt<T>,
) -> (Mode<T>, T::Mask) {
    let Cursor { mode, armed, aimed, hit, .. } = cursor;
    let Attempt { drive, to, good, .. } = attempt;
    let never = to.bend.above(to.bend);
    let mut passed = [never; switch::COUNT];
    let mut wrong = never;
    for_each_switch!(KIND, I => {
        let at_end = joint.event_function(I, drive, to.bend, to.omega, to.z).above(to.bend.splat(0.0));
        let active = is_active::<T>(I, mode, *armed);
        // a step that was aimed at a switch may find another before it, which the step before crossed twice
        passed[I] = (at_end ^ mode[I]) & active & *good & !(*aimed & hit[I]);
        wrong = wrong | passed[I];
        // a switch without a meaning follows the state
        mode[I] = T::Mask::either(active, mode[I], at_end);
    });
    (passed, wrong)
}

/// The next step: after a switch as long as before it, else by the error.
#[inline(always)]
fn set_next_step<T: Row>(cursor: &mut Cursor<T>, attempt: &Attempt<T>, accepted: T::Mask) {
    let Attempt { active, step, error, good, .. } = attempt;
    let one = step.splat(1.0);
    let somewhat = T::choose(step.splat(1.0 / 7.0).above(*error), one * 1.41, one);
    let grown = *step * T::choose(step.splat(1.0 / 40.0).above(*error), one + one, somewhat);
    let next = T::choose(cursor.aimed, cursor.resume, grown);
    cursor.share = T::choose(accepted, next, cursor.share);
    cursor.share = T::choose(*active & !*good, *step * shorter(*error), cursor.share);
}

impl<T: Row, const KIND: usize> EventStep<'_, T, KIND> {
    /// Locates an event within a step, as a fraction of the step.
    #[inline(always)]
    fn locate(&self, cursor: &Cursor<T>, attempt: &Attempt<T>, event: usize, wanted: T::Mask) -> T {
        let Self { zero, ref lanes, column, cell, .. } = *self;
        let dense = DenseOutput { from: cursor.state, to: attempt.to, h: attempt.h };
        let (done, step, drive) = (cursor.done, attempt.step, attempt.drive);
        zero.call(Locate::<T, KIND> { lanes, column, cell, dense, done, step, drive, event, wanted })
    }

    /// Locates the first crossing of each stride of `wrong` and aims its next step there.
    #[inline(always)]
    fn aim(&self, cursor: &mut Cursor<T>, attempt: &Attempt<T>, passed: &Mode<T>, wrong: T::Mask) {
        let one = self.zero.splat(1.0);
        let mut nearest = one + one;
        let mut crossing = [one; switch::COUNT];
        #[allow(clippy::needless_range_loop)] // an iterator may not be inlined
        for event in 0..switch::COUNT {
            let wanted = passed[event];
            if exists(KIND, event) && wanted.any() {
                let x = self.locate(cursor, attempt, event, wanted);
                crossing[event] = x;
                nearest = T::choose(wanted & nearest.above(x), x, nearest);
            }
        }
        for_each_switch!(KIND, I => {
            let first = passed[I] & !crossing[I].above(nearest + SAME_INSTANT);
            cursor.hit[I] = T::Mask::either(wrong, first, cursor.hit[I]);
        });
        cursor.resume = T::choose(wrong & !cursor.aimed, attempt.step, cursor.resume);
        cursor.share = T::choose(wrong, attempt.step * nearest, cursor.share);
    }

    /// Records when a knee becomes straight, and its rate there.
    #[inline(always)]
    fn record_straight(&mut self, cursor: &Cursor<T>, attempt: &Attempt<T>, accepted: T::Mask) {
        let Self { zero, column, cell, .. } = *self;
        let straight = zero.splat(STRAIGHT_WITHIN_RAD);
        let at = self.lanes.get(zero, STRAIGHT_AT, column);
        let open = !at.above(zero.splat(NOT_YET));
        let (from, to) = (cursor.state, attempt.to);
        let wanted = (from.bend.above(straight) ^ to.bend.above(straight)) & open & accepted;
        if wanted.any() {
            let x = self.locate(cursor, attempt, STRAIGHT, wanted);
            let p = attempt.step.times_plus(x, cursor.done) * cell.step.span + cell.from;
            self.lanes.put(STRAIGHT_AT, column, T::choose(wanted, p, at));
            let rate = DenseOutput { from, to, h: attempt.h }.omega(x);
            set_where(self.lanes, STRAIGHT_RATE, column, wanted, rate);
        }
    }

    /// Changes the mode of the strides of `turned`, which stand on the switches that they were aimed at.
    #[inline(always)]
    fn change_mode(&mut self, joint: &Joint<T>, cursor: &mut Cursor<T>, turned: T::Mask) {
        let Self { zero, column, cell, .. } = *self;
        let Cursor { done, state: s, mode, armed, hit, .. } = cursor;
        let p = *done * cell.step.span + cell.from;
        let drive = joint.drive_sample::<KIND>(&cell.at::<KIND, T>(*done));
        let natural = joint.mode::<KIND>(&drive, s.bend, s.omega, s.z);
        for_each_switch!(KIND, I => {
            let changed = T::Mask::either(hit[I], !mode[I], natural[I]);
            mode[I] = T::Mask::either(turned, changed, mode[I]);
        });
        if KIND != STANCE && self.phase != StridePhase::Beyond {
            let extending = !mode[switch::RATE];
            record_turn(self.lanes, column, turned & hit[switch::RATE], extending, p, s);
        }
        if on_ground(KIND) {
            let released = turned & hit[switch::HALF] & !mode[switch::HALF];
            if released.any() {
                *armed = *armed & !released;
                record_release(self.lanes, column, released, p, s);
            }
        }
        // the slope in the new mode
        let laws = joint.freeze::<KIND>(*mode, *armed, s, zero);
        let (acc, z_rate) = joint.slope::<KIND>(&laws, &drive, s);
        s.acc = T::choose(turned, acc, s.acc);
        s.z_rate = T::choose(turned, z_rate, s.z_rate);
    }
}
