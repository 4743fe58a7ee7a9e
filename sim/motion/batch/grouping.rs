//! Which strides go through a cell together.

use super::BLOCK;
use super::drive_table::{Cell, Reach};
use super::event_step::SHORTER;
use super::storage::{Lanes, NOT_YET, STRAIGHT_AT, WIDEST};

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

/// What became of a vector's step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Went {
    /// All of it is through, or listed; with room for a step twice as long.
    Through {
        /// Whether there is.
        roomy: bool,
    },
    /// It has to be taken again where it stands.
    Stands,
    /// A step through several cells does not do.
    TooFar,
}

/// How the vectors of a block go through a part: their equation, those that have gone further than the cell at
/// hand, and how many cells the next step may take.
pub struct Ahead {
    /// The equation, by the first column of the vector.
    pub kind: [u8; BLOCK],
    allowed: bool,
    until: [u32; BLOCK],
    next: [u8; BLOCK],
}

impl Ahead {
    /// At the start of a part.
    pub fn new(kind: usize, allowed: bool) -> Self {
        Self { kind: [kind as u8; BLOCK], allowed, until: [0; BLOCK], next: [1; BLOCK] }
    }

    /// Whether the vector at `column` is through cell `i`.
    #[inline(always)]
    pub fn is_beyond(&self, column: usize, i: usize) -> bool {
        self.until[column] as usize > i
    }

    /// The step that it may try.
    #[inline(always)]
    pub fn reach<'a>(&self, column: usize, cell: &'a Cell) -> &'a Reach {
        let most = usize::from(self.next[column]);
        cell.longer.iter().find(|longer| longer.cells <= most).unwrap_or(&cell.reach)
    }

    /// Takes down what became of it.
    #[inline(always)]
    pub fn went(&mut self, column: usize, i: usize, cells: usize, went: Went) {
        match went {
            Went::Through { roomy } => {
                self.until[column] = (i + cells) as u32;
                let next = if roomy && self.allowed { 2 * cells } else { cells };
                self.next[column] = next as u8;
            }
            Went::Stands | Went::TooFar => self.next[column] = 1,
        }
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

/// Whether the drive does the same to all strides of a block.
pub fn one_leg(block: &[Lanes]) -> bool {
    (0..block.len() * WIDEST).all(|c| block[c / WIDEST].same_leg(c % WIDEST, &block[0], 0))
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
