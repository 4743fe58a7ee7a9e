//! A block of strides from heel contact to heel contact, cell by cell.
//!
//! All strides go through a cell by one step. Those for which one does not do are listed and taken through it
//! again (`sim/motion/batch/event_step.rs`), put together so that those of a vector need about the same number of
//! steps.

use super::drive_table::{Cell, Part};
use super::dynamics::{Joint, State};
use super::event_step;
use super::fast_step::{Over, equation, once};
use super::grouping::{Again, Ahead, Stances, Went, gather, not_straight, one_leg};
use super::storage::{
    ACC, ARMED, BEND, CONTACT, CONTACT_RATE, Lanes, NOT_YET, OMEGA, PEAK, PEAK_AT, REBOUND, STRAIGHT_AT,
    STRAIGHT_RATE, TOE_OFF, VALVE, VALVE_RATE, WIDEST,
};
use super::switches::{LET_GO, OPEN, OPENING, PRESWING, STANCE, SWING, bends, loaded};
use super::vector::{OnVectors, Row};
use super::{Accuracy, BLOCK, Batch, Found};
use crate::numerics::simd::LaneMask;

/// Memory that a thread uses again for every block.
pub(super) struct Scratch {
    pub(super) block: Vec<Lanes>,
    /// Which stride stands in each column, behind what it is sorted by.
    pub(super) order: Vec<([f64; 3], usize)>,
    few: Lanes,
    late: Vec<Lanes>,
}

impl Scratch {
    pub(super) fn new() -> Self {
        Self {
            block: vec![Lanes::new(); BLOCK / WIDEST],
            order: Vec::with_capacity(BLOCK),
            few: Lanes::new(),
            late: vec![Lanes::new(); BLOCK / WIDEST],
        }
    }

    /// What was found of the strides of the block, in their order.
    pub(super) fn give(&self, found: &mut [Option<Found>]) {
        for (c, &(_, i)) in self.order.iter().enumerate() {
            found[i] = self.block[c / WIDEST].found(c % WIDEST);
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
            let Scratch { block, few, late, .. } = &mut *scratch;
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
                    Part::Preswing => note(lanes, BEND, TOE_OFF),
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
    note(lanes, BEND, CONTACT);
    note(lanes, OMEGA, CONTACT_RATE);
    for c in 0..WIDEST {
        let bend = lanes.one(BEND, c);
        if bend > lanes.one(PEAK, c) {
            lanes.put_one(PEAK, c, bend);
            lanes.put_one(PEAK_AT, c, 1.0);
            lanes.put_one(STRAIGHT_AT, c, NOT_YET);
            lanes.put_one(STRAIGHT_RATE, c, NOT_YET);
            lanes.put_one(REBOUND, c, NOT_YET);
        } else if lanes.one(REBOUND, c) > NOT_YET {
            let most = lanes.one(REBOUND, c).max(bend);
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
    if block.is_empty() {
        return;
    }
    // the slope that the first step begins with
    for lanes in block.iter_mut() {
        for at in (0..WIDEST).step_by(T::WIDTH) {
            let joint = lanes.joint(zero, at);
            let s: State<T> = lanes.state(zero, at);
            let instant = joint.instant::<KIND>(&first.reach.points[0].splat(zero));
            let sides = joint.sides::<KIND>(&instant, s.bend, s.omega, s.z);
            let armed = lanes.get(zero, ARMED, at).above(zero);
            let held = joint.held::<KIND>(sides, armed, &s, zero);
            let (acc, z_rate) = joint.slope::<KIND>(&held, &instant, &s);
            lanes.put(ACC, at, acc);
            lanes.put(VALVE_RATE, at, z_rate);
            if KIND != STANCE {
                lanes.set_fades(zero, at, first.reach.span);
            }
        }
    }
    let mut again = Again::default();
    let mut standing = [0; BLOCK];
    // without a tolerance there is nothing that a longer step could keep to
    let mut ahead = Ahead::new(KIND, accuracy.per_omega > 0.0);
    let alike = bends(KIND) && one_leg(block);
    for (i, cell) in cells.iter().enumerate() {
        again.clear();
        let mut stand = 0;
        let joint: Joint<T> = block[0].joint(zero, 0);
        let shared = &joint.moments::<KIND>(&cell.reach.points);
        for (g, lanes) in block.iter_mut().enumerate() {
            for at in (0..WIDEST).step_by(T::WIDTH) {
                let first = g * WIDEST + at;
                if ahead.is_beyond(first, i) || (part == Part::Beyond && !unfinished(zero, lanes, at)) {
                    continue;
                }
                let kind = equation::<T, KIND>(zero, lanes, at, cell, ahead.kind[first]);
                ahead.kind[first] = kind;
                let mut reach = ahead.reach(first, cell);
                loop {
                    let over = &mut Over {
                        lanes: &mut *lanes,
                        at,
                        first,
                        reach,
                        shared,
                        accuracy,
                        again: &mut again,
                    };
                    // strides are alike in pre-swing only
                    let as_the_part = const { KIND == STANCE } || usize::from(kind) == KIND;
                    let went = match (as_the_part, alike) {
                        (true, true) => once::<T, KIND, true>(zero, over),
                        (true, false) => once::<T, KIND, false>(zero, over),
                        (false, true) => once::<T, LET_GO, true>(zero, over),
                        (false, false) if const { KIND == PRESWING } => once::<T, LET_GO, false>(zero, over),
                        (false, false) if usize::from(kind) == OPENING => {
                            once::<T, OPENING, false>(zero, over)
                        }
                        (false, false) => once::<T, OPEN, false>(zero, over),
                    };
                    ahead.went(first, i, reach.cells, went);
                    if went == Went::Stands {
                        standing[stand] = first;
                        stand += 1;
                    }
                    if went != Went::TooFar {
                        break;
                    }
                    reach = &cell.reach;
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
                for c in 0..T::WIDTH {
                    let from = chunk[c.min(chunk.len() - 1)];
                    few.copy_for_a_cell(loaded(KIND), c, &block[from / WIDEST], from % WIDEST);
                }
            }
            let (lanes, at) = if gathered {
                (&mut *few, 0)
            } else {
                (&mut block[standing[k] / WIDEST], standing[k] % WIDEST)
            };
            if const { KIND == SWING } && !lanes.get(zero, VALVE, at).above(zero).any() {
                event_step::through::<T, OPEN>(zero, lanes, at, cell, part, accuracy);
            } else {
                event_step::through::<T, KIND>(zero, lanes, at, cell, part, accuracy);
            }
            if gathered {
                for (from, &to) in chunk.iter().enumerate() {
                    block[to / WIDEST].copy_back(to % WIDEST, few, from);
                }
            }
        }
    }
}

/// Whether a vector has strides that have not been straight yet.
#[inline(always)]
fn unfinished<T: Row>(zero: T, lanes: &Lanes, at: usize) -> bool {
    (!lanes.get(zero, STRAIGHT_AT, at).above(zero.splat(NOT_YET))).any()
}
