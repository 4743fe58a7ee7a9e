//! Many walking strides at once, for scans: lanes over settings, person and prosthesis.
//!
//! **What it does.** The whole stride of `sim/motion/walking.rs`: stance valve under a straight knee,
//! pre-swing with limited effort, swing, stop and rebound up to heel contact, and 15 % beyond it for
//! strides that are not straight by then. The equations are those of the reference path, from the same
//! functions at work on vectors (`sim/motion/batch/flow.rs`). All strides of a batch share a drive: the
//! same v* and step ratio, hence one speed and cadence for people of one stature, and speeds and
//! cadences that scale with stature otherwise.
//!
//! **Method.** The method of Dormand and Prince of order 5 on cells of 1/240 of a stride (half as long in
//! pre-swing, longer in stance). A block of 256
//! strides goes through a cell in one loop over vectors; strides in which something happens there (a
//! switch, an error estimate beyond the tolerance, the knee becomes straight) are put together (or, if they are most
//! of a vector, left where they stand) and taken through it again by shorter steps that end on every switch (`sim/motion/batch/careful.rs`).
//!
//! **What it covers.** Orifice laws for both directions (any setting, any oil temperature); stance valves of
//! every trigger; cushion, assist spring, seal friction, extension stop; any person, prosthesis, alignment.
//! **What it does not:** other damper laws, a displacement that depends on flexion, a locked joint, a drive of
//! another shape ([`Member::new`] refuses them); a relief that opens or a flexion stop that is touched
//! ([`Batch::run`] gives an error for that stride).
//! There is no energy ledger, no trace and no landing: those are the reference path's.
//!
//! Results do not depend on the number of threads. They depend on the machine's vectors in the last
//! digits only. Accuracy against the reference path: tests/cross_code/batch.rs.

mod careful;
mod flow;
mod lanes;
mod table;
mod vector;

use rayon::prelude::*;

use crate::body::{Person, Shank};
use crate::error::SimError;
use crate::joint::damper::DamperLaw;
use crate::joint::{Knee, Lever};
use crate::motion::swing::Pendulum;
use crate::quantity::LaneMask;
use crate::scenario::Drive;
use flow::{MOST_TURN_RAD, OPEN, PRESWING, STANCE, SWING, State, Step, awake, for_each_switch};
use lanes::{
    ACC, ARMED, CONTACT, CONTACT_RATE, Lanes, NOT_YET, OMEGA, PEAK, PEAK_AT, PHI, REBOUND, SHARE,
    STRAIGHT_AT, STRAIGHT_RATE, TOE_OFF, VALVE, VALVE_RATE, WIDEST,
};
use table::{Cell, Part};
use vector::{OnVectors, Row, on_vectors};

pub use table::Table;
pub use vector::{Width, lanes_at_once};

/// Strides of a block.
pub const BLOCK: usize = 256;
/// Below this a valve that nothing closes counts as open.
const OPEN_BELOW: f64 = 3e-9;

/// How exact.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accuracy {
    /// Cells of a stride.
    pub cells_per_stride: usize,
    /// One over the error of ω that a step may make by its estimate, s/rad.
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

    /// One block.
    fn block(&self, scratch: &mut Scratch, members: &[Member], found: &mut [Option<Found>]) {
        let start = self.table.drive.preswing_start_s / self.table.drive.stride_time_s;
        let groups = members.len().div_ceil(WIDEST);
        for c in 0..groups * WIDEST {
            // columns beyond the last stride repeat it
            scratch.block[c / WIDEST].fill(c % WIDEST, &members[c.min(members.len() - 1)], start);
        }
        on_vectors(self.width, Block { batch: self, scratch, groups });
        for (c, f) in found.iter_mut().enumerate().take(members.len()) {
            *f = scratch.block[c / WIDEST].found(c % WIDEST);
        }
    }
}

/// Memory that a thread uses again for every block.
struct Scratch {
    block: Vec<Lanes>,
    few: Lanes,
    late: Vec<Lanes>,
}

impl Scratch {
    fn new() -> Self {
        Self {
            block: vec![Lanes::new(); BLOCK / WIDEST],
            few: Lanes::new(),
            late: vec![Lanes::new(); BLOCK / WIDEST],
        }
    }
}

struct Block<'a> {
    batch: &'a Batch,
    scratch: &'a mut Scratch,
    /// How many of the scratch's groups are in use.
    groups: usize,
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
                Part::Stance => through::<T, STANCE>(zero, block, few, *part, cells, &batch.accuracy),
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

/// Columns of the strides that have not been straight yet, and their number.
fn not_straight(block: &[Lanes]) -> ([usize; BLOCK], usize) {
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
fn gather<'a>(to: &'a mut [Lanes], block: &[Lanes], columns: &[usize]) -> &'a mut [Lanes] {
    let groups = columns.len().div_ceil(WIDEST);
    for c in 0..groups * WIDEST {
        let from = columns[c.min(columns.len() - 1)];
        to[c / WIDEST].copy(c % WIDEST, &block[from / WIDEST], from % WIDEST);
    }
    &mut to[..groups]
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

/// An error estimate beyond this many tolerances means many short steps.
const HARD: f64 = 20.0;

/// Strides to be taken through a cell again: the easy ones from the front, the hard ones from the back,
/// so that those of a vector need about the same number of steps.
struct Again {
    columns: [usize; BLOCK],
    easy: usize,
    hard: usize,
}

impl Default for Again {
    fn default() -> Self {
        Self { columns: [0; BLOCK], easy: 0, hard: 0 }
    }
}

impl Again {
    fn clear(&mut self) {
        (self.easy, self.hard) = (0, 0);
    }

    #[inline(always)]
    fn add(&mut self, column: usize, hard: bool) {
        if hard {
            self.hard += 1;
            self.columns[BLOCK - self.hard] = column;
        } else {
            self.columns[self.easy] = column;
            self.easy += 1;
        }
    }

    /// All of them, one after the other.
    fn in_order(&mut self) -> &[usize] {
        self.columns.copy_within(BLOCK - self.hard.., self.easy);
        &self.columns[..self.easy + self.hard]
    }
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
        careful = careful | (other & awake::<T>(I, &sides));
    });
    if KIND != STANCE {
        let straight = joint.straight_rad;
        careful = careful | (s.phi.above(straight) ^ to.phi.above(straight));
        let oil = -joint.flexion::<KIND>(to.omega, to.z);
        let relieved = oil.above(joint.relief_n_m) & to.omega.above(zero);
        careful = careful | relieved | to.phi.above(joint.flexion_stop_rad);
    }
    if careful.any() {
        let mut marks = [0.0; WIDEST];
        let hard = error.above(zero.same(HARD));
        T::choose(careful, T::choose(hard, one + one, one), zero).store(&mut marks);
        let listed = marks.iter().filter(|m| **m > 0.0).count();
        let here = 2 * listed > T::WIDTH;
        if !here {
            for (i, &mark) in marks.iter().enumerate().take(T::WIDTH) {
                if mark > 0.0 {
                    again.add(first + at + i, mark > 1.5);
                }
            }
        }
        let short = T::choose(error.above(zero.same(HARD)), one * 0.25, one * 0.5);
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
