//! A block of strides from heel contact to heel contact, cell by cell.
//!
//! All strides take one step through a cell (`sim/motion/batch/fast_step.rs`). Those for which one step is not enough
//! are listed and go through the cell again (`sim/motion/batch/event_step.rs`), grouped so that those of a vector need
//! about the same number of steps.

use super::accuracy::Accuracy;
use super::drive_table::{DriveTable, StridePhase, TimeCell};
use super::dynamics::{Joint, StageDrives, State};
use super::event_step::EventStep;
use super::fast_step::{FastStep, LegDrives, VectorStep, equation};
use super::grouping::{Progress, RetryList, Stances, StepResult, gather, not_straight, one_leg};
use super::outcomes::StrideOutcomes;
use super::storage::{
    ACC, ARMED, BEND, BLOCK, CONTACT, CONTACT_RATE, LaneBlock, NOT_YET, OMEGA, PEAK, PEAK_AT, REBOUND,
    STRAIGHT_AT, STRAIGHT_RATE, TOE_OFF, VALVE, VALVE_RATE, WIDEST,
};
use super::switches::{
    PRESWING, PRESWING_OPENING, STANCE, SWING, SWING_OPEN, SWING_OPENING, is_preswing, on_ground,
};
use crate::numerics::simd::LaneMask;
use crate::numerics::vector::{OnVectors, Row, Task};

/// Memory that a thread uses again for every block.
pub(super) struct Scratch {
    pub(super) block: Vec<LaneBlock>,
    /// Sort key and number of the stride in each column.
    pub(super) order: Vec<([f64; 3], usize)>,
    /// A vector of strides from several groups.
    gathered: LaneBlock,
    /// Part of the strides of a block.
    subset: Vec<LaneBlock>,
}

impl Scratch {
    pub(super) fn new() -> Self {
        Self {
            block: vec![LaneBlock::new(); BLOCK / WIDEST],
            order: Vec::with_capacity(BLOCK),
            gathered: LaneBlock::new(),
            subset: vec![LaneBlock::new(); BLOCK / WIDEST],
        }
    }

    /// Writes the outcomes of the strides of the block, in their order.
    pub(super) fn outcomes(&self, outcomes: &mut [Option<StrideOutcomes>]) {
        for (c, &(_, i)) in self.order.iter().enumerate() {
            outcomes[i] = self.block[c / WIDEST].outcomes(c % WIDEST);
        }
    }
}

/// Runs a block of strides on vectors.
pub(super) struct BlockRun<'a> {
    pub(super) table: &'a DriveTable,
    pub(super) accuracy: &'a Accuracy,
    pub(super) scratch: &'a mut Scratch,
    /// How many of the scratch's groups are in use.
    pub(super) groups: usize,
}

impl OnVectors for BlockRun<'_> {
    type Output = ();

    #[inline(always)]
    fn run<T: Row>(self, zero: T) {
        let Self { table, accuracy, scratch, groups } = self;
        let Scratch { block, gathered, subset, .. } = scratch;
        let block = &mut block[..groups];
        for (phase, cells) in &table.phases {
            let phase = *phase;
            match phase {
                StridePhase::Stance => {
                    // a stance that several strides share runs once
                    let stances = Stances::of(block);
                    let shared = stances.worth_sharing(block.len());
                    let lanes = match shared {
                        Some(columns) => gather(subset, block, columns),
                        None => &mut *block,
                    };
                    zero.call(PhaseRun::<T, STANCE> { zero, block: lanes, gathered, phase, cells, accuracy });
                    if shared.is_some() {
                        stances.copy_back(subset, block);
                    }
                }
                StridePhase::Preswing => {
                    zero.call(PhaseRun::<T, PRESWING> { zero, block, gathered, phase, cells, accuracy });
                    block.iter_mut().for_each(|lanes| copy_row(lanes, BEND, TOE_OFF));
                }
                StridePhase::Swing => {
                    zero.call(PhaseRun::<T, SWING> { zero, block, gathered, phase, cells, accuracy });
                    block.iter_mut().for_each(record_heel_contact);
                }
                StridePhase::Beyond => {
                    // only strides that have not been straight yet
                    let (columns, count) = not_straight(block);
                    let lanes = gather(subset, block, &columns[..count]);
                    zero.call(PhaseRun::<T, SWING> { zero, block: lanes, gathered, phase, cells, accuracy });
                    for (from, &to) in columns[..count].iter().enumerate() {
                        block[to / WIDEST].copy_back(to % WIDEST, &subset[from / WIDEST], from % WIDEST);
                    }
                }
            }
        }
    }
}

fn copy_row(lanes: &mut LaneBlock, from: usize, to: usize) {
    for c in 0..WIDEST {
        let value = lanes.one(from, c);
        lanes.put_one(to, c, value);
    }
}

/// Records heel contact: a knee that still flexes has its peak there.
fn record_heel_contact(lanes: &mut LaneBlock) {
    copy_row(lanes, BEND, CONTACT);
    copy_row(lanes, OMEGA, CONTACT_RATE);
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

/// Takes a block through the cells of a phase.
struct PhaseRun<'a, T, const KIND: usize> {
    zero: T,
    block: &'a mut [LaneBlock],
    gathered: &'a mut LaneBlock,
    phase: StridePhase,
    cells: &'a [TimeCell],
    accuracy: &'a Accuracy,
}

impl<T: Row, const KIND: usize> Task for PhaseRun<'_, T, KIND> {
    type Output = ();

    #[inline(always)]
    fn run(mut self) {
        let Some(first) = self.cells.first().filter(|_| !self.block.is_empty()) else { return };
        self.set_first_slopes(first);
        let mut retry = RetryList::default();
        // without a tolerance nothing would limit a longer step
        let mut progress = Progress::new(KIND, self.accuracy.per_omega > 0.0);
        let same_leg = is_preswing(KIND) && one_leg(self.block);
        for (i, cell) in self.cells.iter().enumerate() {
            retry.clear();
            let joint: Joint<T> = self.block[0].joint(self.zero, 0);
            let first_leg = &joint.stage_drives::<KIND>(&cell.step.points);
            for g in 0..self.block.len() {
                for at in (0..WIDEST).step_by(T::WIDTH) {
                    self.step_vector((g, at), (i, cell), (first_leg, same_leg), &mut retry, &mut progress);
                }
            }
            self.step_again(cell, &mut retry);
        }
    }
}

impl<T: Row, const KIND: usize> PhaseRun<'_, T, KIND> {
    /// Sets the slope that the first step begins with.
    #[inline(always)]
    fn set_first_slopes(&mut self, first: &TimeCell) {
        let zero = self.zero;
        for lanes in self.block.iter_mut() {
            for at in (0..WIDEST).step_by(T::WIDTH) {
                let joint = lanes.joint(zero, at);
                let s: State<T> = lanes.state(zero, at);
                let drive = joint.drive_sample::<KIND>(&first.step.points[0].splat(zero));
                let mode = joint.mode::<KIND>(&drive, s.bend, s.omega, s.z);
                let armed = lanes.get(zero, ARMED, at).above(zero);
                let laws = joint.freeze::<KIND>(mode, armed, &s, zero);
                let (acc, z_rate) = joint.slope::<KIND>(&laws, &drive, &s);
                lanes.put(ACC, at, acc);
                lanes.put(VALVE_RATE, at, z_rate);
                if KIND != STANCE {
                    lanes.set_decays(zero, at, first.step.span);
                }
            }
        }
    }

    /// Takes a vector through cell `i`, unless it is through already, by the longest step that is accurate enough.
    #[inline(always)]
    fn step_vector(
        &mut self,
        (group, at): (usize, usize),
        (i, cell): (usize, &TimeCell),
        (first_leg, same_leg): (&StageDrives<T>, bool),
        retry: &mut RetryList,
        progress: &mut Progress,
    ) {
        let (zero, accuracy) = (self.zero, self.accuracy);
        let lanes = &mut self.block[group];
        let first = group * WIDEST + at;
        if progress.is_beyond(first, i) || (self.phase == StridePhase::Beyond && !unfinished(zero, lanes, at))
        {
            return;
        }
        let kind = equation::<T, KIND>(zero, lanes, at, cell, progress.kind[first]);
        progress.kind[first] = kind;
        let own;
        let drives = if is_preswing(KIND) && !same_leg {
            own = LegDrives { zero, lanes, at, step: &cell.step }.run();
            &own
        } else {
            first_leg
        };
        let mut step = progress.step(first, cell);
        loop {
            let vector = VectorStep {
                zero,
                lanes: &mut *lanes,
                at,
                first,
                step,
                drives,
                accuracy,
                retry: &mut *retry,
            };
            let result = match usize::from(kind) {
                PRESWING_OPENING if is_preswing(KIND) => zero.call(FastStep::<T, PRESWING_OPENING>(vector)),
                SWING_OPENING if KIND == SWING => zero.call(FastStep::<T, SWING_OPENING>(vector)),
                SWING_OPEN if KIND == SWING => zero.call(FastStep::<T, SWING_OPEN>(vector)),
                // only the valve moves in stance: a call would cost more than the step
                _ if KIND == STANCE => FastStep::<T, KIND>(vector).run(),
                _ => zero.call(FastStep::<T, KIND>(vector)),
            };
            progress.note(first, i, step.cells, result);
            if result != StepResult::TooFar {
                break;
            }
            step = &cell.step;
        }
    }

    /// Takes the listed strides through a cell again: vectors where they stand, then single strides, gathered.
    #[inline(always)]
    fn step_again(&mut self, cell: &TimeCell, retry: &mut RetryList) {
        let Self { zero, phase, accuracy, .. } = *self;
        let (vectors, columns) = retry.in_order();
        for &first in vectors {
            event_step::<T, KIND>(
                zero,
                &mut self.block[first / WIDEST],
                first % WIDEST,
                cell,
                phase,
                accuracy,
            );
        }
        for chunk in columns.chunks(T::WIDTH) {
            for c in 0..T::WIDTH {
                let from = chunk[c.min(chunk.len() - 1)];
                self.gathered.copy_for_a_cell(on_ground(KIND), c, &self.block[from / WIDEST], from % WIDEST);
            }
            event_step::<T, KIND>(zero, self.gathered, 0, cell, phase, accuracy);
            for (from, &to) in chunk.iter().enumerate() {
                self.block[to / WIDEST].copy_back(to % WIDEST, self.gathered, from);
            }
        }
    }
}

/// Takes a vector through a cell by event steps; with open valves by their own equation.
#[inline(always)]
fn event_step<T: Row, const KIND: usize>(
    zero: T,
    lanes: &mut LaneBlock,
    column: usize,
    cell: &TimeCell,
    phase: StridePhase,
    accuracy: &Accuracy,
) {
    if KIND == SWING && !lanes.get(zero, VALVE, column).above(zero).any() {
        zero.call(EventStep::<T, SWING_OPEN> { zero, lanes, column, cell, phase, accuracy });
    } else {
        zero.call(EventStep::<T, KIND> { zero, lanes, column, cell, phase, accuracy });
    }
}

/// Whether a vector has strides that have not been straight yet.
#[inline(always)]
fn unfinished<T: Row>(zero: T, lanes: &LaneBlock, at: usize) -> bool {
    (!lanes.get(zero, STRAIGHT_AT, at).above(zero.splat(NOT_YET))).any()
}
