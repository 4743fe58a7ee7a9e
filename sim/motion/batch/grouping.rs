//! Which strides go through a cell together.

use super::drive_table::{CellStep, TimeCell};
use super::step_control::SHORTER;
use super::storage::{BLOCK, LaneBlock, NOT_YET, STRAIGHT_AT, WIDEST};

/// Number of ranks of strides to be taken again.
const RANKS: usize = RetryList::OF_A_TURN as usize + SHORTER.len();

/// Strides to be taken through a cell again: whole vectors where they stand, and single strides by rank, so that
/// those of a vector need about the same number of steps.
pub struct RetryList {
    vectors: [usize; BLOCK],
    vector_count: usize,
    listed: [(u16, u8); BLOCK],
    count: usize,
    columns: [usize; BLOCK],
}

impl Default for RetryList {
    fn default() -> Self {
        Self { vectors: [0; BLOCK], vector_count: 0, listed: [(0, 0); BLOCK], count: 0, columns: [0; BLOCK] }
    }
}

impl RetryList {
    /// Least rank of strides in which the knee changes its direction.
    pub const OF_A_TURN: u8 = 5;

    /// Empties the list.
    pub fn clear(&mut self) {
        (self.vector_count, self.count) = (0, 0);
    }

    /// Adds the vector that begins at a column of the block.
    #[inline(always)]
    pub fn add_vector(&mut self, first: usize) {
        self.vectors[self.vector_count] = first;
        self.vector_count += 1;
    }

    /// Adds the stride in a column of the block.
    #[inline(always)]
    pub fn add(&mut self, column: usize, rank: u8) {
        self.listed[self.count] = (column as u16, rank);
        self.count += 1;
    }

    /// First columns of the vectors, and columns of the single strides by rank.
    pub fn in_order(&mut self) -> (&[usize], &[usize]) {
        let listed = &self.listed[..self.count];
        let mut next = [0; RANKS + 1];
        for &(_, rank) in listed {
            next[rank as usize + 1] += 1;
        }
        for rank in 0..RANKS {
            next[rank + 1] += next[rank];
        }
        for &(column, rank) in listed {
            self.columns[next[rank as usize]] = column as usize;
            next[rank as usize] += 1;
        }
        (&self.vectors[..self.vector_count], &self.columns[..self.count])
    }
}

/// Result of a vector's step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StepResult {
    /// All strides are through, or listed to be taken again.
    Through {
        /// There is room for a step twice as long.
        roomy: bool,
    },
    /// The whole vector has to be taken again where it stands.
    InPlace,
    /// The step through several cells does not do.
    TooFar,
}

/// Progress of the vectors of a block through a phase: the equation of each, the cells that it is through, and how
/// many cells its next step may take.
pub struct Progress {
    /// Equation of each vector, by its first column.
    pub kind: [u8; BLOCK],
    allowed: bool,
    until: [u32; BLOCK],
    next: [u8; BLOCK],
}

impl Progress {
    /// At the start of a phase.
    pub fn new(kind: usize, allowed: bool) -> Self {
        Self { kind: [kind as u8; BLOCK], allowed, until: [0; BLOCK], next: [1; BLOCK] }
    }

    /// Whether the vector at `column` is through cell `i`.
    #[inline(always)]
    pub fn is_beyond(&self, column: usize, i: usize) -> bool {
        self.until[column] as usize > i
    }

    /// The step that the vector may try.
    #[inline(always)]
    pub fn step<'a>(&self, column: usize, cell: &'a TimeCell) -> &'a CellStep {
        let most = usize::from(self.next[column]);
        cell.multi_cell_steps.iter().find(|step| step.cells <= most).unwrap_or(&cell.step)
    }

    /// Takes note of the result of a step from cell `i` on.
    #[inline(always)]
    pub fn note(&mut self, column: usize, i: usize, cells: usize, result: StepResult) {
        match result {
            StepResult::Through { roomy } => {
                self.until[column] = (i + cells) as u32;
                let next = if roomy && self.allowed { 2 * cells } else { cells };
                self.next[column] = next as u8;
            }
            StepResult::InPlace | StepResult::TooFar => self.next[column] = 1,
        }
    }
}

/// How many different stances a stride is compared with, the latest first.
const LOOKS_BACK: usize = 8;

/// The different stances of a block: strides that differ only in their swing settings share one.
pub struct Stances {
    /// Number of the stance of each column.
    of: [u16; BLOCK],
    /// First column of each stance.
    first: [usize; BLOCK],
    number: usize,
}

impl Stances {
    /// Finds the stances of a block.
    pub fn of(block: &[LaneBlock]) -> Self {
        let mut stances = Self { of: [0; BLOCK], first: [0; BLOCK], number: 0 };
        for c in 0..block.len() * WIDEST {
            let own = &block[c / WIDEST];
            let same = |stance: &usize| {
                let d = stances.first[*stance];
                own.same_stance(c % WIDEST, &block[d / WIDEST], d % WIDEST)
            };
            let known = (stances.number.saturating_sub(LOOKS_BACK)..stances.number).rev().find(same);
            stances.of[c] = known.unwrap_or(stances.number) as u16;
            if known.is_none() {
                stances.first[stances.number] = c;
                stances.number += 1;
            }
        }
        stances
    }

    /// A column of each stance, if they take at most half of the block's groups.
    pub fn worth_sharing(&self, groups: usize) -> Option<&[usize]> {
        (2 * self.number.div_ceil(WIDEST) <= groups).then_some(&self.first[..self.number])
    }

    /// Copies the end of each stance to the strides that share it.
    pub fn copy_back(&self, stances: &[LaneBlock], block: &mut [LaneBlock]) {
        for c in 0..block.len() * WIDEST {
            let from = usize::from(self.of[c]);
            block[c / WIDEST].copy_stance(c % WIDEST, &stances[from / WIDEST], from % WIDEST);
        }
    }
}

/// Whether the drive has the same effect on all strides of a block.
pub fn one_leg(block: &[LaneBlock]) -> bool {
    (0..block.len() * WIDEST).all(|c| block[c / WIDEST].same_leg(c % WIDEST, &block[0], 0))
}

/// Columns of the strides that have not been straight yet, and their number.
pub fn not_straight(block: &[LaneBlock]) -> ([usize; BLOCK], usize) {
    let mut columns = [0; BLOCK];
    let mut count = 0;
    for c in 0..block.len() * WIDEST {
        if block[c / WIDEST].one(STRAIGHT_AT, c % WIDEST) <= NOT_YET {
            columns[count] = c;
            count += 1;
        }
    }
    (columns, count)
}

/// Copies strides of a block to the front of another; the rest of the last group repeats the last stride.
pub fn gather<'a>(to: &'a mut [LaneBlock], block: &[LaneBlock], columns: &[usize]) -> &'a mut [LaneBlock] {
    let groups = columns.len().div_ceil(WIDEST);
    for c in 0..groups * WIDEST {
        let from = columns[c.min(columns.len() - 1)];
        to[c / WIDEST].copy(c % WIDEST, &block[from / WIDEST], from % WIDEST);
    }
    &mut to[..groups]
}
