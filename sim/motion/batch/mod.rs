//! Many walking strides at once, for scans: lanes over settings, person and prosthesis.
//!
//! **What it does.** The whole stride of `sim/motion/stride.rs`: stance valve under a straight knee,
//! pre-swing with limited effort, swing, stop and rebound up to heel contact, and 15 % beyond it for
//! strides that are not straight by then. The equations are those of the reference path, from the same
//! functions at work on vectors (`sim/motion/batch/dynamics.rs`). All strides of a batch share a drive: the
//! same v* and step ratio, hence one speed and cadence for people of one stature, and speeds and
//! cadences that scale with stature otherwise.
//!
//! **Method.** The method of Dormand and Prince of order 5 on cells of 1/240 of a stride (1/360 in
//! pre-swing, 1/120 in stance). A block of 512 strides goes through a cell in one loop over vectors
//! (`sim/motion/batch/block.rs`); strides in which something happens there (a switch, an error estimate
//! beyond the tolerance, the knee becomes straight) are put together (or, if they are most of a vector, left
//! where they stand) and taken through it again by shorter steps that end on every switch
//! (`sim/motion/batch/event_step.rs`). In stance and swing a vector takes two or four cells at a time where the
//! errors of all its strides leave room for it. Strides that differ in the swing settings only share one run through stance, and
//! strides of one leg what the drive does to it in pre-swing.
//!
//! **What it covers.** Orifice laws for both directions (any setting, any oil temperature); stance valves of
//! every trigger; cushion, assist spring, seal friction, extension stop; any person, prosthesis, alignment.
//! **What it does not:** other damper laws, a displacement that depends on flexion, a locked joint, a drive of
//! another shape ([`Member::new`] refuses them); a relief that opens or a flexion stop that is touched
//! ([`Batch::run`] gives an error for that stride).
//! There is no energy ledger, no trace and no landing: those are the reference path's.
//!
//! Results do not depend on the number of threads. They depend on the machine's vectors, and on which strides
//! stand beside each other, by less than they may be off. Accuracy against the reference path:
//! tests/cross_code/batch.rs.

mod block;
pub mod drive_table;
mod dynamics;
mod event_step;
mod fast_step;
mod grouping;
#[cfg(feature = "count")]
mod op_count;
mod step;
mod storage;
mod switches;
mod vector;

use rayon::prelude::*;

use super::batch::storage::WIDEST;
use crate::body::{Person, Shank};
use crate::error::SimError;
use crate::joint::damper::DamperLaw;
use crate::joint::{Knee, Lever, Trigger};
use crate::motion::swing::Pendulum;
use crate::scenario::Drive;
use block::{Block, Scratch};
use vector::on_vectors;

pub use crate::motion::batch::drive_table::Table;
#[cfg(feature = "count")]
pub use crate::motion::batch::op_count::Operations;
pub use vector::{Width, lanes_at_once};

/// A catch load, in shares of body weight, that no load and no hysteresis reaches.
const NEVER_BW: f64 = 1e6;

/// Strides of a block.
pub const BLOCK: usize = 512;

/// How exact.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accuracy {
    /// Cells of a stride.
    pub cells_per_stride: usize,
    /// One over the error of ω that a step may make by its estimate, s/rad; with 0 every step goes through one
    /// cell.
    pub per_omega: f64,
    /// One over the same of the valve.
    pub per_valve: f64,
}

impl Default for Accuracy {
    /// Peak flexion to 1e-6 rad, instants to 1e-5 s, heel contact to 1e-4 rad, but for a few in ten thousand
    /// random strides, near forks of the motion: tests/cross_code/batch.rs.
    fn default() -> Self {
        Self { cells_per_stride: 240, per_omega: 1.0 / 1e-6, per_valve: 1.0 / 1e-8 }
    }
}

/// One stride of a batch.
#[derive(Debug, Clone)]
pub struct Member {
    knee: Knee,
    pendulum: Pendulum,
    weight_n: f64,
    effort_n_m: f64,
    stride_time_s: f64,
    foot_shift_m: f64,
}

impl Member {
    /// A stride, if the batch covers it.
    ///
    /// # Errors
    /// What the batch does not cover, by name; a drive that differs from the table's in more than size.
    pub fn new(
        table: &Table,
        drive: &Drive,
        knee: Knee,
        person: &Person,
        shank: Shank,
    ) -> Result<Self, SimError> {
        table.check(drive)?;
        let not_covered = |what: &str| Err(SimError::CannotRun(format!("side by side: {what}")));
        if knee.locked {
            return not_covered("the joint is locked straight");
        }
        if !matches!(knee.swing_flexion, DamperLaw::Orifice(_)) {
            return not_covered("the flexion law is not an orifice");
        }
        if !matches!(knee.swing_extension, DamperLaw::Orifice(_)) {
            return not_covered("the extension law is not an orifice");
        }
        if knee.lever != Lever::default() {
            return not_covered("the displacement depends on flexion");
        }
        Ok(Self {
            knee,
            pendulum: Pendulum::from(shank),
            weight_n: person.weight_n(),
            effort_n_m: person.user_effort_n_m(),
            stride_time_s: drive.stride_time_s,
            foot_shift_m: drive.foot_shift_m,
        })
    }

    /// Strides go alike whose valves let go at about the same time, then those that bend and straighten alike.
    fn likeness(&self) -> [f64; 3] {
        let b = |law: &DamperLaw| law.coefficients().map_or(f64::NAN, |orifice| orifice.b);
        // in steps of a twentieth of body weight
        let catch = (20.0 * self.catch_bw()).floor();
        [catch, b(&self.knee.swing_flexion), b(&self.knee.swing_extension)]
    }

    /// Catch load as a share of body weight; far beyond reach for a valve that is always closed, or never.
    fn catch_bw(&self) -> f64 {
        match self.knee.stance.trigger {
            Trigger::Load => self.knee.stance.catch_load_n / self.weight_n,
            Trigger::Always => -NEVER_BW,
            Trigger::None => NEVER_BW,
        }
    }
}

/// What was found of a stride; the names are those of the outcomes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Found {
    /// Flexion at toe-off.
    pub toe_off_rad: f64,
    /// Peak flexion up to heel contact.
    pub peak_rad: f64,
    /// Its instant.
    pub peak_s: f64,
    /// First instant after the peak within 1° of the stop.
    pub full_extension_s: Option<f64>,
    /// ω there.
    pub terminal_rate_rad_per_s: Option<f64>,
    /// Greatest flexion after the first minimum that follows, up to heel contact.
    pub rebound_rad: Option<f64>,
    /// Flexion at heel contact.
    pub heel_contact_rad: f64,
    /// ω there.
    pub heel_contact_rate_rad_per_s: f64,
    /// Instant at which the valve lets go while the foot carries load.
    pub release_s: Option<f64>,
}

/// A batch: the drive and how exact.
#[derive(Debug, Clone)]
pub struct Batch {
    table: Table,
    accuracy: Accuracy,
    width: Width,
}

impl Batch {
    /// A batch of strides with one drive, followed `beyond` strides past heel contact.
    #[must_use]
    pub fn new(drive: &Drive, beyond: f64, accuracy: Accuracy) -> Self {
        Self {
            table: Table::new(drive, accuracy.cells_per_stride, beyond),
            accuracy,
            width: Width::default(),
        }
    }

    /// The same on vectors of another width.
    #[must_use]
    pub fn on(self, width: Width) -> Self {
        Self { width, ..self }
    }

    /// The table of the drive.
    #[must_use]
    pub fn table(&self) -> &Table {
        &self.table
    }

    /// Runs strides on all cores, in order.
    ///
    /// A stride that leaves what the batch covers on its way gives an error: the relief opens, the
    /// flexion stop is touched, a switch chatters.
    #[must_use]
    pub fn run(&self, members: &[Member]) -> Vec<Result<Found, SimError>> {
        let mut found = vec![None; members.len()];
        found
            .par_chunks_mut(BLOCK)
            .zip(members.par_chunks(BLOCK))
            .for_each_init(Scratch::new, |scratch, (found, members)| self.block(scratch, members, found));
        let left = "side by side: the stride leaves what is covered (relief, flexion stop, or chatter)";
        found.into_iter().map(|f| f.ok_or_else(|| SimError::CannotRun(left.into()))).collect()
    }

    /// Runs `count` strides made on the way, and shows each to `visit` with its number, in no order:
    /// memory does not grow with their number.
    pub fn each(
        &self,
        count: usize,
        member: impl Fn(usize) -> Member + Sync,
        visit: impl Fn(usize, Option<Found>) + Sync,
    ) {
        (0..count.div_ceil(BLOCK)).into_par_iter().for_each_init(
            || (Scratch::new(), Vec::with_capacity(BLOCK), [None; BLOCK]),
            |(scratch, members, found), b| {
                let from = b * BLOCK;
                members.clear();
                members.extend((from..count.min(from + BLOCK)).map(&member));
                self.block(scratch, members, found);
                for (i, f) in found.iter().take(members.len()).enumerate() {
                    visit(from + i, *f);
                }
            },
        );
    }

    /// Puts the strides of a block in their places, and says how many groups they are.
    fn fill(&self, scratch: &mut Scratch, members: &[Member]) -> usize {
        let start = self.table.drive.preswing_start_s / self.table.drive.stride_time_s;
        let groups = members.len().div_ceil(WIDEST);
        let Scratch { block, order, .. } = scratch;
        order.clear();
        order.extend(members.iter().map(Member::likeness).zip(0..));
        // strides that go alike stand side by side
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

    /// One block.
    fn block(&self, scratch: &mut Scratch, members: &[Member], found: &mut [Option<Found>]) {
        let groups = self.fill(scratch, members);
        on_vectors(self.width, Block { batch: self, scratch, groups });
        scratch.give(found);
    }
}
