//! A vector's one step through a cell, or several.

use super::Accuracy;
use super::drive_table::{Cell, Reach};
use super::dynamics::{Joint, Moments, State};
use super::event_step;
use super::grouping::{Again, Went};
use super::step::{LATER, MOST_TURN_RAD, Step};
use super::storage::{ARMED, Lanes, SHARE, STRAIGHT_WITHIN_RAD, VALVE, VALVE_RATE, WIDEST};
use super::switches::{
    LET_GO, OPEN, OPENING, PRESWING, STANCE, awake, bends, driven, fades, for_each_switch, side,
};
use super::vector::Row;
use crate::numerics::simd::LaneMask;

/// A step may be twice as long when its error is below one over this: it grows with the sixth power.
const ROOM: f64 = 128.0;
/// Below this a valve that nothing closes counts as open.
const OPEN_BELOW: f64 = 3e-9;

/// A vector and the step it is to take.
pub struct Over<'a, T> {
    /// Its group.
    pub lanes: &'a mut Lanes,
    /// Its first column there.
    pub at: usize,
    /// The same in the block.
    pub first: usize,
    /// The step.
    pub reach: &'a Reach,
    /// What the drive does to the first stride of the block, and to all if they are alike.
    pub shared: &'a Moments<T>,
    /// How exact.
    pub accuracy: &'a Accuracy,
    /// Where strides are listed for which one step does not do.
    pub again: &'a mut Again,
}

/// The equation of a vector in a cell: as long as nothing else is known, that of the part.
#[inline(always)]
pub fn equation<T: Row, const KIND: usize>(
    zero: T,
    lanes: &mut Lanes,
    at: usize,
    cell: &Cell,
    before: u8,
) -> u8 {
    let mut kind = usize::from(before);
    let z = lanes.get(zero, VALVE, at);
    if kind == KIND && KIND != STANCE {
        let joint: Joint<T> = lanes.joint(zero, at);
        if joint.has_let_go::<KIND>(lanes.get(zero, ARMED, at).above(zero), z, cell) {
            kind = if KIND == PRESWING { LET_GO } else { OPENING };
        }
    }
    if kind == OPENING && !z.above(zero.splat(OPEN_BELOW)).any() {
        lanes.put(VALVE, at, zero);
        lanes.put(VALVE_RATE, at, zero);
        kind = OPEN;
    }
    kind as u8
}

/// One step for a vector through a cell. Strides for which it does not do are listed in `again`, or, if
/// they are most of the vector, left to be taken again where they stand. A step through more than one cell
/// has to do for all. `SHARED`: what the drive does to them is what it does to the first.
#[inline(always)]
pub fn once<T: Row, const KIND: usize, const SHARED: bool>(zero: T, over: &mut Over<'_, T>) -> Went {
    let Over { lanes, at, first, reach, shared, accuracy, again } = over;
    let at = *at;
    let one = zero.splat(1.0);
    let joint = lanes.joint(zero, at);
    let s: State<T> = lanes.state(zero, at);
    let armed = lanes.get(zero, ARMED, at).above(zero);
    let h = zero.splat(reach.span);
    let own;
    let moments = if SHARED {
        shared
    } else {
        own = joint.moments::<KIND>(&reach.points);
        &own
    };
    let held = joint.held::<KIND>(joint.sides::<KIND>(&moments[0], s.bend, s.omega, s.z), armed, &s, h);
    let sides = &held.sides;
    let end = &moments[LATER];
    let fade = if fades(KIND) { lanes.fades(zero, at, reach.cells) } else { [zero; LATER] };
    let Step { end: to, omega_error, z_error } =
        joint.step::<KIND, false>(&held, moments, &fade, &s, (&reach.weights, h));
    let turn = (to.bend - s.bend).abs().greater((h * s.omega).abs());
    let per_omega = joint.per_omega::<KIND>(accuracy.per_omega, reach.left, sides);
    let z_error =
        if driven(KIND) { z_error * joint.per_valve::<KIND>(accuracy.per_valve, reach.left) } else { zero };
    let mut careful =
        omega_error.beyond(per_omega) | z_error.above(one) | turn.above(zero.splat(MOST_TURN_RAD));
    for_each_switch!(KIND, I => {
        let other = joint.surface(I, end, to.bend, to.omega, to.z).above(zero) ^ sides[I];
        careful = careful | (other & awake::<T>(I, sides, armed));
    });
    if KIND != STANCE {
        let straight = zero.splat(STRAIGHT_WITHIN_RAD);
        careful = careful | (s.bend.above(straight) ^ to.bend.above(straight));
        let oil = joint.resists_flexing::<KIND>(to.omega, to.z);
        let relieved = oil.above(joint.relief_n_m) & to.omega.above(zero);
        careful = careful | relieved | to.bend.above(joint.flexion_stop_rad);
    }
    if careful.any() {
        if reach.cells > 1 {
            return Went::TooFar;
        }
        let error = (omega_error.value() * per_omega).greater(z_error).greater(turn * (1.0 / MOST_TURN_RAD));
        let mut marks = [0.0; WIDEST];
        // how many short steps to expect: the friction of a knee that turns changes within a few milliseconds
        let turns = joint.surface(side::RATE, end, to.bend, to.omega, to.z).above(zero) ^ sides[side::RATE];
        let mut rank = T::choose(turns & careful, one * f64::from(Again::OF_A_TURN), one);
        for (limit, _) in event_step::SHORTER {
            rank = rank + T::choose(error.above(zero.splat(limit)), one, zero);
        }
        T::choose(careful, rank, zero).store(&mut marks);
        let listed = marks.iter().filter(|m| **m > 0.0).count();
        let here = 2 * listed > T::WIDTH;
        if !here {
            for (i, &mark) in marks.iter().enumerate().take(T::WIDTH) {
                if mark > 0.0 {
                    again.add(*first + i, mark as u8 - 1);
                }
            }
        }
        lanes.put_tried(at, &to);
        let short = event_step::shorter(error);
        // zero: through already
        lanes.put(SHARE, at, T::choose(careful, T::choose(error.above(one), short, one), zero));
        let kept: State<T> = lanes.state(zero, at);
        lanes.put_state(
            at,
            &State {
                bend: T::choose(careful, kept.bend, to.bend),
                omega: T::choose(careful, kept.omega, to.omega),
                z: T::choose(careful, kept.z, to.z),
                sin: T::choose(careful, kept.sin, to.sin),
                cos: T::choose(careful, kept.cos, to.cos),
                acc: T::choose(careful, kept.acc, to.acc),
                z_rate: T::choose(careful, kept.z_rate, to.z_rate),
            },
        );
        if here { Went::Stands } else { Went::Through { roomy: false } }
    } else {
        lanes.put_state(at, &to);
        if bends(KIND) {
            return Went::Through { roomy: false };
        }
        let tight = omega_error.beyond(per_omega * ROOM)
            | (z_error * ROOM).above(one)
            | turn.above(zero.splat(0.5 * MOST_TURN_RAD));
        Went::Through { roomy: !tight.any() }
    }
}
