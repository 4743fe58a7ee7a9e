//! Runs a batch: blocks of strides on all cores.

use rayon::prelude::*;

use super::accuracy::Accuracy;
use super::block::{BlockRun, Scratch};
use super::drive_table::DriveTable;
use super::member::Member;
use super::outcomes::StrideOutcomes;
use super::storage::{BLOCK, WIDEST};
use crate::error::SimError;
use crate::numerics::vector::{Width, on_vectors};
use crate::scenario::Drive;

/// A batch: the drive that all strides share, and the tolerances.
#[derive(Debug, Clone)]
pub struct Batch {
    pub(super) table: DriveTable,
    pub(super) accuracy: Accuracy,
    width: Width,
}

impl Batch {
    /// A batch of strides with one drive, followed `beyond` strides past heel contact.
    #[must_use]
    pub fn new(drive: &Drive, beyond: f64, accuracy: Accuracy) -> Self {
        Self {
            table: DriveTable::new(drive, accuracy.cells_per_stride, beyond),
            accuracy,
            width: Width::default(),
        }
    }

    /// This batch on vectors of another width.
    #[must_use]
    pub fn with_width(self, width: Width) -> Self {
        Self { width, ..self }
    }

    /// The table of the drive.
    #[must_use]
    pub fn table(&self) -> &DriveTable {
        &self.table
    }

    /// Runs strides on all cores, in order.
    ///
    /// A stride that leaves what the batch covers gives an error: the relief opens, the flexion stop is touched, or a
    /// switch chatters.
    #[must_use]
    pub fn run(&self, members: &[Member]) -> Vec<Result<StrideOutcomes, SimError>> {
        let mut outcomes = vec![None; members.len()];
        outcomes
            .par_chunks_mut(BLOCK)
            .zip(members.par_chunks(BLOCK))
            .for_each_init(Scratch::new, |scratch, (outcomes, members)| {
                self.block(scratch, members, outcomes)
            });
        let left = "batch: the stride leaves what is covered (relief, flexion stop, or chatter)";
        outcomes.into_iter().map(|o| o.ok_or_else(|| SimError::CannotRun(left.into()))).collect()
    }

    /// Runs strides number 0 to `count`, each made by `member` when its turn comes, and calls `visit` with the number
    /// and the outcomes of each, in no order: memory does not grow with their number.
    pub fn for_each(
        &self,
        count: usize,
        member: impl Fn(usize) -> Member + Sync,
        visit: impl Fn(usize, Option<StrideOutcomes>) + Sync,
    ) {
        (0..count.div_ceil(BLOCK)).into_par_iter().for_each_init(
            || (Scratch::new(), Vec::with_capacity(BLOCK), [None; BLOCK]),
            |(scratch, members, outcomes), b| {
                let from = b * BLOCK;
                members.clear();
                members.extend((from..count.min(from + BLOCK)).map(&member));
                self.block(scratch, members, outcomes);
                for (i, o) in outcomes.iter().take(members.len()).enumerate() {
                    visit(from + i, *o);
                }
            },
        );
    }

    /// Sorts the strides of a block into its columns, similar ones next to each other, and returns the number of
    /// groups that they take.
    pub(super) fn fill(&self, scratch: &mut Scratch, members: &[Member]) -> usize {
        let start = self.table.drive.preswing_start_s / self.table.drive.stride_time_s;
        let groups = members.len().div_ceil(WIDEST);
        let Scratch { block, order, .. } = scratch;
        order.clear();
        order.extend(members.iter().map(Member::sort_key).zip(0..));
        order.sort_by(|(a, _), (b, _)| {
            a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])).then(a[2].total_cmp(&b[2]))
        });
        for c in 0..groups * WIDEST {
            // columns beyond the last stride repeat it
            let (_, i) = order[c.min(members.len() - 1)];
            block[c / WIDEST].fill(c % WIDEST, &members[i], start);
        }
        groups
    }

    /// Runs the strides of one block.
    fn block(&self, scratch: &mut Scratch, members: &[Member], outcomes: &mut [Option<StrideOutcomes>]) {
        let groups = self.fill(scratch, members);
        let (table, accuracy) = (&self.table, &self.accuracy);
        on_vectors(self.width, BlockRun { table, accuracy, scratch, groups });
        scratch.outcomes(outcomes);
    }
}
