//! A block of strides from heel contact to heel contact, cell by cell.
//!
//! All strides go through a cell by one step. Those for which one does not do are listed and taken through it
//! again (`sim/motion/batch/careful.rs`), put together so that those of a vector need about the same number of
//! steps.

use super::careful;
use super::flow::{Joint, LET_GO, OPEN, PRESWING, STANCE, SWING, State, awake, for_each_switch, side};
use super::lanes::{
    ACC, ARMED, CONTACT, CONTACT_RATE, Lanes, NOT_YET, OMEGA, PEAK, PEAK_AT, PHI, REBOUND, SHARE,
    STRAIGHT_AT, STRAIGHT_RATE, TOE_OFF, VALVE, VALVE_RATE, WIDEST,
};
use super::step::{MOST_TURN_RAD, Step};
use super::table::{Cell, INSTANTS, Part};
use super::together::{Again, Stances, gather, not_straight};
use super::vector::{OnVectors, Row};
use super::{Accuracy, BLOCK, Batch};
use crate::quantity::LaneMask;

/// Below this a valve that nothing closes counts as open.
const OPEN_BELOW: f64 = 3e-9;

/// Memory that a thread uses again for every block.
pub(super) struct Scratch {
    pub(super) block: Vec<Lanes>,
    few: Lanes,
    late: Vec<Lanes>,
}

impl Scratch {
    pub(super) fn new() -> Self {
        Self {
            block: vec![Lanes::new(); BLOCK / WIDEST],
            few: Lanes::new(),
            late: vec![Lanes::new(); BLOCK / WIDEST],
        }
    }
}

/// A block of strides, to be run on vectors.
pub(super) struct Block<'a> {
    pub(super) batch: &'a Batch,
    pub(super) scratch: &'a mut Scratch,
    /// How many of the scratch's groups are in use.
    pub(super) groups: usize,
}

impl OnVectors for Block<'_> {
    type Output = ();

    #[inline(always)]
    fn run<T: Row>(self, zero: T) {
        let Self { batch, scratch, groups } = self;
        for (part, cells) in &batch.table.parts {
            let Scratch { block, few, late } = &mut *scratch;
            let block = &mut block[..groups];
            match part {
                Part::Stance => {
                    // a stance that several strides share is run once
                    let stances = Stances::of(block);
                    if let Some(columns) = stances.worth_sharing(block.len()) {
                        let lanes = gather(late, block, columns);
                        through::<T, STANCE>(zero, lanes, few, *part, cells, &batch.accuracy);
                        stances.give_back(late, block);
                    } else {
                        through::<T, STANCE>(zero, block, few, *part, cells, &batch.accuracy);
                    }
                }
                Part::Preswing => through::<T, PRESWING>(zero, block, few, *part, cells, &batch.accuracy),
                Part::Swing | Part::Beyond => {
                    // beyond heel contact only those that have not been straight yet, moved together
                    let (columns, count) = not_straight(block);
                    let lanes = if *part == Part::Swing {
                        &mut block[..]
                    } else {
                        gather(late, block, &columns[..count])
                    };
                    through::<T, SWING>(zero, lanes, few, *part, cells, &batch.accuracy);
                    if *part == Part::Beyond {
                        for (from, &to) in columns[..count].iter().enumerate() {
                            block[to / WIDEST].copy_back(to % WIDEST, &late[from / WIDEST], from % WIDEST);
                        }
                    }
                }
            }
            for lanes in &mut scratch.block[..groups] {
                match part {
                    Part::Preswing => note(lanes, PHI, TOE_OFF),
                    Part::Swing => heel_contact(lanes),
                    Part::Stance | Part::Beyond => {}
                }
            }
        }
    }
}

fn note(lanes: &mut Lanes, from: usize, to: usize) {
    for c in 0..WIDEST {
        let value = lanes.one(from, c);
        lanes.put_one(to, c, value);
    }
}

/// At heel contact: a knee that is still bending has its peak there.
fn heel_contact(lanes: &mut Lanes) {
    note(lanes, PHI, CONTACT);
    note(lanes, OMEGA, CONTACT_RATE);
    for c in 0..WIDEST {
        let phi = lanes.one(PHI, c);
        if phi > lanes.one(PEAK, c) {
            lanes.put_one(PEAK, c, phi);
            lanes.put_one(PEAK_AT, c, 1.0);
            lanes.put_one(STRAIGHT_AT, c, NOT_YET);
            lanes.put_one(STRAIGHT_RATE, c, NOT_YET);
            lanes.put_one(REBOUND, c, NOT_YET);
        } else if lanes.one(REBOUND, c) > NOT_YET {
            let most = lanes.one(REBOUND, c).max(phi);
            lanes.put_one(REBOUND, c, most);
        }
    }
}

/// A block through the cells of a part.
#[inline(always)]
fn through<T: Row, const KIND: usize>(
    zero: T,
    block: &mut [Lanes],
    few: &mut Lanes,
    part: Part,
    cells: &[Cell],
    accuracy: &Accuracy,
) {
    let Some(first) = cells.first() else { return };
    // the slope that the first step begins with
    for lanes in block.iter_mut() {
        for at in (0..WIDEST).step_by(T::WIDTH) {
            let joint = lanes.joint(zero, at);
            let s: State<T> = lanes.state(zero, at);
            let instant = joint.instant::<KIND>(&first.points[0].same(zero));
            let sides = joint.sides::<KIND>(&instant, &s);
            let armed = lanes.get(zero, ARMED, at).above(zero);
            let (acc, z_rate) = joint.slope::<KIND>(&sides, armed, &instant, &s);
            lanes.put(ACC, at, acc);
            lanes.put(VALVE_RATE, at, z_rate);
        }
    }
    let mut again = Again::default();
    let mut standing = [0; BLOCK];
    for cell in cells {
        again.clear();
        let mut stand = 0;
        for (g, lanes) in block.iter_mut().enumerate() {
            for at in (0..WIDEST).step_by(T::WIDTH) {
                if part == Part::Beyond && !unfinished(zero, lanes, at) {
                    continue;
                }
                // a valve that is as good as open and that nothing closes is taken as open
                let valve = lanes.get(zero, VALVE, at).greater(lanes.get(zero, VALVE_RATE, at));
                let here = if const { KIND == SWING } && !valve.above(zero.same(OPEN_BELOW)).any() {
                    lanes.put(VALVE, at, zero);
                    lanes.put(VALVE_RATE, at, zero);
                    once::<T, OPEN>(zero, lanes, at, g * WIDEST, cell, accuracy, &mut again)
                } else if const { KIND == PRESWING } && has_let_go(zero, lanes, at, cell) {
                    once::<T, LET_GO>(zero, lanes, at, g * WIDEST, cell, accuracy, &mut again)
                } else {
                    once::<T, KIND>(zero, lanes, at, g * WIDEST, cell, accuracy, &mut again)
                };
                if here {
                    standing[stand] = g * WIDEST + at;
                    stand += 1;
                }
            }
        }
        // vectors that are taken again where they stand, then those put together
        let listed = again.in_order();
        for k in 0..stand + listed.len().div_ceil(T::WIDTH) {
            let from = k.saturating_sub(stand) * T::WIDTH;
            let chunk = &listed[from.min(listed.len())..listed.len().min(from + T::WIDTH)];
            let gathered = k >= stand;
            if gathered {
                gather(std::slice::from_mut(few), block, chunk);
            }
            let (lanes, at) = if gathered {
                (&mut *few, 0)
            } else {
                (&mut block[standing[k] / WIDEST], standing[k] % WIDEST)
            };
            careful::through::<T, KIND>(zero, lanes, at, cell, part, accuracy);
            if gathered {
                for (from, &to) in chunk.iter().enumerate() {
                    block[to / WIDEST].copy_back(to % WIDEST, few, from);
                }
            }
        }
    }
}

/// Whether no valve of a vector is driven any more in this cell.
#[inline(always)]
fn has_let_go<T: Row>(zero: T, lanes: &Lanes, at: usize, cell: &Cell) -> bool {
    let armed = lanes.get(zero, ARMED, at).above(zero);
    let joint: Joint<T> = lanes.joint(zero, at);
    joint.has_let_go(armed, &lanes.state(zero, at), [&cell.points[0], &cell.points[INSTANTS.len() - 1]])
}

/// Whether a vector has strides that have not been straight yet.
#[inline(always)]
fn unfinished<T: Row>(zero: T, lanes: &Lanes, at: usize) -> bool {
    (!lanes.get(zero, STRAIGHT_AT, at).above(zero.same(NOT_YET))).any()
}

/// One step for a vector through a cell. Strides for which it does not do are listed in `again`, or, if
/// they are most of the vector, left to be taken again where they stand: true.
#[inline(always)]
fn once<T: Row, const KIND: usize>(
    zero: T,
    lanes: &mut Lanes,
    at: usize,
    first: usize,
    cell: &Cell,
    accuracy: &Accuracy,
    again: &mut Again,
) -> bool {
    let one = zero.same(1.0);
    let joint = lanes.joint(zero, at);
    let s: State<T> = lanes.state(zero, at);
    let armed = lanes.get(zero, ARMED, at).above(zero);
    let sides = joint.sides::<KIND>(&joint.instant::<KIND>(&cell.points[0].same(zero)), &s);
    let instants = [
        joint.instant::<KIND>(&cell.points[1].same(zero)),
        joint.instant::<KIND>(&cell.points[2].same(zero)),
        joint.instant::<KIND>(&cell.points[3].same(zero)),
        joint.instant::<KIND>(&cell.points[4].same(zero)),
        joint.instant::<KIND>(&cell.points[5].same(zero)),
    ];
    let end = instants[4];
    let h = joint.period * cell.span;
    let Step { end: to, omega_error, z_error } = joint.step::<KIND>(&sides, armed, &instants, &s, h);
    let turn = ((to.phi - s.phi).size() + (h * s.omega).size()) * (0.5 / MOST_TURN_RAD);
    let per_valve = joint.per_valve::<KIND>(accuracy.per_valve, cell.left);
    let error = (omega_error * joint.per_omega::<KIND>(accuracy.per_omega, cell.left, &sides))
        .greater(z_error * per_valve)
        .greater(turn);
    let mut careful = error.above(one);
    for_each_switch!(KIND, I => {
        let other = joint.surface(I, &end, to.phi, to.omega, to.z).above(zero) ^ sides[I];
        careful = careful | (other & awake::<T>(I, &sides, armed));
    });
    if KIND != STANCE {
        let straight = joint.straight_rad;
        careful = careful | (s.phi.above(straight) ^ to.phi.above(straight));
        let oil = joint.resists_flexing::<KIND>(to.omega, to.z);
        let relieved = oil.above(joint.relief_n_m) & to.omega.above(zero);
        careful = careful | relieved | to.phi.above(joint.flexion_stop_rad);
    }
    if careful.any() {
        let mut marks = [0.0; WIDEST];
        // how many short steps to expect: the friction of a knee that turns changes within a few milliseconds
        let turns = joint.surface(side::RATE, &end, to.phi, to.omega, to.z).above(zero) ^ sides[side::RATE];
        let mut rank = T::choose(turns & careful, one * f64::from(Again::OF_A_TURN), one);
        for (limit, _) in careful::SHORTER {
            rank = rank + T::choose(error.above(zero.same(limit)), one, zero);
        }
        T::choose(careful, rank, zero).store(&mut marks);
        let listed = marks.iter().filter(|m| **m > 0.0).count();
        let here = 2 * listed > T::WIDTH;
        if !here {
            for (i, &mark) in marks.iter().enumerate().take(T::WIDTH) {
                if mark > 0.0 {
                    again.add(first + at + i, mark as u8 - 1);
                }
            }
        }
        lanes.put_tried(at, &to);
        let short = careful::shorter(error);
        // zero: through already
        lanes.put(SHARE, at, T::choose(careful, T::choose(error.above(one), short, one), zero));
        let kept: State<T> = lanes.state(zero, at);
        lanes.put_state(
            at,
            &State {
                phi: T::choose(careful, kept.phi, to.phi),
                omega: T::choose(careful, kept.omega, to.omega),
                z: T::choose(careful, kept.z, to.z),
                sin: T::choose(careful, kept.sin, to.sin),
                cos: T::choose(careful, kept.cos, to.cos),
                acc: T::choose(careful, kept.acc, to.acc),
                z_rate: T::choose(careful, kept.z_rate, to.z_rate),
            },
        );
        here
    } else {
        lanes.put_state(at, &to);
        false
    }
}
