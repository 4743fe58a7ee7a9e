//! Which strides go through a cell together.

use super::BLOCK;
use super::careful::SHORTER;
use super::lanes::{Lanes, NOT_YET, STRAIGHT_AT, WIDEST};

/// Ranks of strides to be taken again.
const RANKS: usize = Again::OF_A_TURN as usize + SHORTER.len();

/// Strides to be taken through a cell again, by rank: those of a vector need about the same number of steps.
pub struct Again {
    listed: [(u16, u8); BLOCK],
    number: usize,
    columns: [usize; BLOCK],
}

impl Default for Again {
    fn default() -> Self {
        Self { listed: [(0, 0); BLOCK], number: 0, columns: [0; BLOCK] }
    }
}

impl Again {
    /// Rank from which those stand in which the knee turns.
    pub const OF_A_TURN: u8 = 5;

    /// None.
    pub fn clear(&mut self) {
        self.number = 0;
    }

    /// Adds a stride.
    #[inline(always)]
    pub fn add(&mut self, column: usize, rank: u8) {
        self.listed[self.number] = (column as u16, rank);
        self.number += 1;
    }

    /// All of them, by rank.
    pub fn in_order(&mut self) -> &[usize] {
        let listed = &self.listed[..self.number];
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
        &self.columns[..self.number]
    }
}

/// How many different stances back a stride looks for its own.
const LOOKS_BACK: usize = 8;

/// The stances of a block: strides that differ in the swing settings only share theirs.
pub struct Stances {
    /// Number of its stance, per column.
    of: [u16; BLOCK],
    /// First column of each stance.
    first: [usize; BLOCK],
    number: usize,
}

impl Stances {
    /// Those of a block.
    pub fn of(block: &[Lanes]) -> Self {
        let mut found = Self { of: [0; BLOCK], first: [0; BLOCK], number: 0 };
        for c in 0..block.len() * WIDEST {
            let own = &block[c / WIDEST];
            let same = |stance: &usize| {
                let d = found.first[*stance];
                own.same_stance(c % WIDEST, &block[d / WIDEST], d % WIDEST)
            };
            let known = (found.number.saturating_sub(LOOKS_BACK)..found.number).rev().find(same);
            found.of[c] = known.unwrap_or(found.number) as u16;
            if known.is_none() {
                found.first[found.number] = c;
                found.number += 1;
            }
        }
        found
    }

    /// A column of each stance, if they take at most half of the block's groups.
    pub fn worth_sharing(&self, groups: usize) -> Option<&[usize]> {
        (2 * self.number.div_ceil(WIDEST) <= groups).then_some(&self.first[..self.number])
    }

    /// Gives every stride of a block what became of its stance.
    pub fn give_back(&self, stances: &[Lanes], block: &mut [Lanes]) {
        for c in 0..block.len() * WIDEST {
            let from = usize::from(self.of[c]);
            block[c / WIDEST].copy_stance(c % WIDEST, &stances[from / WIDEST], from % WIDEST);
        }
    }
}

/// Columns of the strides that have not been straight yet, and their number.
pub fn not_straight(block: &[Lanes]) -> ([usize; BLOCK], usize) {
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

/// Copies strides of a block to the front of another; what is left of the last vector repeats the last.
pub fn gather<'a>(to: &'a mut [Lanes], block: &[Lanes], columns: &[usize]) -> &'a mut [Lanes] {
    let groups = columns.len().div_ceil(WIDEST);
    for c in 0..groups * WIDEST {
        let from = columns[c.min(columns.len() - 1)];
        to[c / WIDEST].copy(c % WIDEST, &block[from / WIDEST], from % WIDEST);
    }
    &mut to[..groups]
}
