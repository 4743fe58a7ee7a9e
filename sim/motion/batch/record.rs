//! Outcomes of the strides of a vector, recorded as they happen.

use super::dynamics::{Joint, State};
use super::storage::{
    BROKEN, LaneBlock, NOT_YET, PEAK, PEAK_AT, REBOUND, RELEASED_AT, STRAIGHT_AT, STRAIGHT_RATE,
};
use crate::numerics::simd::{Lane, LaneMask};
use crate::numerics::vector::Row;

/// A correction of the instant of a switch is at most this, stride fraction.
const MAX_CORRECTION: f64 = 1e-4;

/// Sets row `row` to `value` where `mask` holds.
#[inline(always)]
pub fn set_where<T: Row>(lanes: &mut LaneBlock, row: usize, column: usize, mask: T::Mask, value: T) {
    let before = lanes.get(value, row, column);
    lanes.put(row, column, T::choose(mask, value, before));
}

/// Marks strides that leave what the batch covers by a step to `to`: the relief opens or the flexion stop is
/// touched.
#[inline(always)]
pub fn record_not_covered<T: Row, const KIND: usize>(
    lanes: &mut LaneBlock,
    column: usize,
    joint: &Joint<T>,
    to: &State<T>,
    accepted: T::Mask,
) {
    let zero = to.bend.splat(0.0);
    let oil = joint.resists_flexing::<KIND>(to.omega, to.z);
    let outside = ((oil.above(joint.relief_n_m) & to.omega.above(zero))
        | to.bend.above(joint.flexion_stop_rad))
        & accepted;
    if outside.any() {
        set_where(lanes, BROKEN, column, outside, zero.splat(1.0));
    }
}

/// `x` limited to ± [`MAX_CORRECTION`].
#[inline(always)]
fn limited<T: Lane>(x: T) -> T {
    x.greater(x.splat(-MAX_CORRECTION)).lesser(x.splat(MAX_CORRECTION))
}

/// Records at stride fraction `p` the release of the valve of the strides of `released`.
#[inline(always)]
pub fn record_release<T: Row>(lanes: &mut LaneBlock, column: usize, released: T::Mask, p: T, s: &State<T>) {
    let not_yet = p.splat(NOT_YET);
    let at = lanes.get(p, RELEASED_AT, column);
    let first = released & !at.above(not_yet);
    // the valve stands at z, not at ½: (z − ½)/z' of time off
    let rate = T::choose(s.z_rate.abs().above(p.splat(1e-3)), s.z_rate, p.splat(1.0));
    lanes.put(RELEASED_AT, column, T::choose(first, p - limited((s.z - 0.5) / rate), at));
}

/// Records at stride fraction `p` a change of direction of the strides of `turned`: a peak where the knee begins to
/// extend, the start of a rebound where it flexes again.
#[inline(always)]
pub fn record_turn<T: Row>(
    lanes: &mut LaneBlock,
    column: usize,
    turned: T::Mask,
    extending: T::Mask,
    p: T,
    s: &State<T>,
) {
    let not_yet = p.splat(NOT_YET);
    let peak = lanes.get(p, PEAK, column);
    let straight = lanes.get(p, STRAIGHT_AT, column);
    let rebound = lanes.get(p, REBOUND, column);
    // ω is not quite zero: ω/φ'' of time off
    let slope = T::choose(p.splat(1e-9).above(s.acc.abs()), p.splat(1.0), s.acc);
    let higher = turned & extending & s.bend.above(peak);
    lanes.put(PEAK, column, T::choose(higher, s.bend, peak));
    set_where(lanes, PEAK_AT, column, higher, p - limited(s.omega / slope));
    let begins = turned & !extending & straight.above(not_yet) & !rebound.above(not_yet);
    let again = turned & rebound.above(not_yet);
    let rebound = T::choose(begins, s.bend, T::choose(again, rebound.greater(s.bend), rebound));
    // what came before a new peak does not count
    lanes.put(REBOUND, column, T::choose(higher, not_yet, rebound));
    lanes.put(STRAIGHT_AT, column, T::choose(higher, not_yet, straight));
    set_where(lanes, STRAIGHT_RATE, column, higher, not_yet);
}
