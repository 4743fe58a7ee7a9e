//! Motions side by side: each lane of a vector is a motion of its own, with its own time, step and mode.
//!
//! A lane does what [`Trajectory::run`] does: the same method, step control, event checks and search for events, so that
//! its trajectory is that of the motion alone but for rounding and the vectors' exponentials (`vector`). Slopes and
//! event functions of all lanes are computed together; what happens at an event, the end of a phase or the end of a
//! motion is done for that lane alone, by the code of the single motion. A lane whose motion has ended takes the next
//! one. Checked in tests/cross_code/lanes.rs.

use super::dormand_prince::{A2, A3, A4, A5, A6, A7, C, D, E, MOST_STEPS, StepControl};
use super::events::Mode;
use super::hybrid::{MOST_EVENTS, SHORTEST_FIRST_STEP_S};
use super::system::{FrozenMode, HybridSystem, State};
use super::tolerances::Tolerances;
use super::trajectory::{Step, TIME_TOLERANCE_S, Trajectory};
use super::vector::{OnVectors, Row, Task, Width, on_vectors};
use crate::error::SimError;

/// Lanes of the widest vector.
pub const WIDEST: usize = 8;
/// One number of each lane.
#[derive(Debug, Clone, Copy)]
#[repr(align(64))]
pub struct Lanes(pub [f64; WIDEST]);

/// Numbers that a motion notes at the end of every step.
pub const NOTES: usize = 3;

/// A struct of numbers, generic over the number, that moves in and out of rows of lanes.
macro_rules! lane_numbers {
    ($(#[$doc:meta])* $vis:vis $name:ident { $($(#[$about:meta])* $field:ident,)* }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq)]
        #[allow(missing_docs)]
        $vis struct $name<T = f64> { $($(#[$about])* pub $field: T,)* }

        #[allow(dead_code)]
        impl $name {
            /// How many they are.
            pub const COUNT: usize = [$(stringify!($field)),*].len();

            /// Into one lane of the rows from `first` on; returns the row behind them.
            pub fn put(&self, rows: &mut [$crate::numerics::lanes::Lanes], first: usize, lane: usize) -> usize {
                let mut row = first;
                $(
                    rows[row].0[lane] = self.$field;
                    row += 1;
                )*
                row
            }
        }

        #[allow(dead_code)]
        impl<T: $crate::numerics::vector::Row> $name<T> {
            /// From the rows from `row` on, which is moved behind them.
            #[inline(always)]
            pub fn get(zero: T, rows: &[$crate::numerics::lanes::Lanes], row: &mut usize) -> Self {
                $(
                    let $field = zero.load(&rows[*row].0);
                    *row += 1;
                )*
                Self { $($field),* }
            }
        }
    };
}
pub(crate) use lane_numbers;

/// A hybrid system whose slopes and event functions can be computed for many motions at once.
pub trait LaneSystem<const N: usize>: HybridSystem<N> {
    /// Number of rows of constants.
    const ROWS: usize;
    /// The constants of a vector of motions, each in its mode.
    type Laws<T: Row>: Copy;

    /// Writes the constants of a mode into a lane; `frozen` is the system in it.
    fn put(&self, frozen: &Self::FrozenMode<'_>, mode: Mode, rows: &mut [Lanes], lane: usize);
    /// Reads them.
    fn laws<T: Row>(zero: T, rows: &[Lanes]) -> Self::Laws<T>;
    /// y', and what is noted at the end of a step.
    fn rate<T: Row>(laws: &Self::Laws<T>, t: T, y: &[T; N], dy: &mut [T; N]) -> [T; NOTES];
    /// Motions that leave their mode.
    fn leaves<T: Row>(laws: &Self::Laws<T>, t: T, y: &[T; N]) -> T::Mask;
}

/// Lanes whose event function leaves its mode: `flip` is −1 in a mode in which it is positive, 1 where it is not, and 0
/// where it is inactive.
#[inline(always)]
pub fn leaves<T: Row>(value: T, flip: T, least: f64) -> T::Mask {
    (value * flip).above(value.splat(least))
}

/// The numbers for [`leaves`] of all event functions in a mode.
pub fn flips<const N: usize, F: HybridSystem<N>>(frozen: &F::FrozenMode<'_>, mode: Mode, into: &mut [f64]) {
    let anywhere = State::<N>::zeros();
    for (i, flip) in into.iter_mut().enumerate().take(F::EVENT_FUNCTIONS) {
        // whether an event function is active depends on the mode alone
        let active = frozen.event_function(i, 0.0, &anywhere).is_some();
        *flip = if !active {
            0.0
        } else if mode.positive(i) {
            -1.0
        } else {
            1.0
        };
    }
}

/// Part of a motion, at whose end the integration starts anew.
#[derive(Debug, Clone, Copy)]
pub struct Part {
    /// Mode bit that is set before it.
    pub set: Option<(usize, bool)>,
    /// Its latest end.
    pub until_s: f64,
    /// Its name in error messages.
    pub name: &'static str,
}

/// A motion to be run.
pub struct LaneMotion<F, const N: usize> {
    /// The system.
    pub system: F,
    /// The trajectory as far as it has come.
    pub trajectory: Trajectory<N>,
    /// Its parts.
    pub parts: Vec<Part>,
    /// Error tolerances; no fixed steps.
    pub tolerances: Tolerances,
    /// What is noted at the end of each step of the trajectory; none where an event has cut it.
    pub notes: Vec<Option<[f64; NOTES]>>,
    /// Why it could not be followed.
    pub failed: Option<SimError>,
}

impl<F: HybridSystem<N>, const N: usize> LaneMotion<F, N> {
    /// Runs it alone, with plain numbers.
    ///
    /// # Errors
    /// As [`Trajectory::run`].
    pub fn run_alone(&mut self) -> Result<(), SimError> {
        for part in &self.parts {
            if let Some((bit, on)) = part.set {
                self.trajectory.set_mode(&self.system, bit, on);
            }
            self.trajectory.run(&self.system, part.name, part.until_s, &self.tolerances)?;
        }
        Ok(())
    }
}

/// Runs motions on vectors.
pub fn run<F: LaneSystem<N>, const N: usize>(width: Width, motions: &mut [LaneMotion<F, N>]) {
    on_vectors(width, All { motions });
}

struct All<'a, F, const N: usize> {
    motions: &'a mut [LaneMotion<F, N>],
}

impl<F: LaneSystem<N>, const N: usize> OnVectors for All<'_, F, N> {
    type Output = ();

    #[inline(always)]
    fn run<T: Row>(self, zero: T) {
        let mut block = Block::new(F::ROWS);
        let mut waiting = self.motions.iter_mut();
        let mut slots: [Option<Slot<'_, F, N>>; WIDEST] = Default::default();
        for (lane, slot) in slots.iter_mut().enumerate().take(T::WIDTH) {
            *slot = next_motion(&mut waiting, &mut block, lane);
        }
        while choose_steps(&mut slots, &mut block) {
            zero.call(TakeStep::<T, F, N> { zero, block: &mut block, of: std::marker::PhantomData });
            accept_steps(&mut slots, &mut block, &mut waiting);
        }
    }
}

/// The next motion that has anything to run.
fn next_motion<'a, F: LaneSystem<N>, const N: usize>(
    waiting: &mut std::slice::IterMut<'a, LaneMotion<F, N>>,
    block: &mut Block<N>,
    lane: usize,
) -> Option<Slot<'a, F, N>> {
    loop {
        let mut slot = Slot::of(waiting.next()?);
        if slot.begin(block, lane) {
            return Some(slot);
        }
    }
}

/// Length of the next step of each lane; false if no motion is left.
#[inline(never)]
fn choose_steps<F: LaneSystem<N>, const N: usize>(
    slots: &mut [Option<Slot<'_, F, N>>; WIDEST],
    block: &mut Block<N>,
) -> bool {
    let mut any = false;
    for (lane, slot) in slots.iter_mut().enumerate() {
        block.h.0[lane] = slot.as_mut().map_or(0.0, Slot::choose_step);
        any |= slot.is_some();
    }
    any
}

#[inline(never)]
fn accept_steps<'a, F: LaneSystem<N>, const N: usize>(
    slots: &mut [Option<Slot<'a, F, N>>; WIDEST],
    block: &mut Block<N>,
    waiting: &mut std::slice::IterMut<'a, LaneMotion<F, N>>,
) {
    for (lane, slot) in slots.iter_mut().enumerate() {
        if let Some(motion) = slot
            && !motion.accept(block, lane)
        {
            *slot = next_motion(waiting, block, lane);
        }
    }
}

/// The numbers of a vector of motions.
struct Block<const N: usize> {
    rows: Vec<Lanes>,
    t: Lanes,
    h: Lanes,
    /// Absolute and relative tolerance.
    tolerance: [Lanes; 2],
    y: [Lanes; N],
    /// Slope at the start.
    first: [Lanes; N],
    end: [Lanes; N],
    /// Slope at the end.
    last: [Lanes; N],
    /// r₁ to r₄ of the dense output.
    output: [[Lanes; N]; 4],
    /// 1 where this step begins at the end of the last one.
    goes_on: Lanes,
    /// Square of the error over its tolerance, summed over the states.
    error: Lanes,
    /// 1 where an event function leaves its mode.
    leaves: Lanes,
    notes: [Lanes; NOTES],
}

impl<const N: usize> Block<N> {
    fn new(rows: usize) -> Self {
        let zero = Lanes([0.0; WIDEST]);
        let zeros = [zero; N];
        Self {
            rows: vec![zero; rows],
            t: zero,
            h: zero,
            tolerance: [Lanes([1.0; WIDEST]); 2],
            y: zeros,
            first: zeros,
            end: zeros,
            last: zeros,
            output: [zeros; 4],
            goes_on: zero,
            error: zero,
            leaves: zero,
            notes: [zero; NOTES],
        }
    }
}

/// Numbers of one lane.
fn column<const N: usize>(rows: &[Lanes; N], lane: usize) -> State<N> {
    State::<N>::from_fn(|i, _| rows[i].0[lane])
}

fn put_column<const N: usize>(rows: &mut [Lanes; N], lane: usize, values: &State<N>) {
    for (row, value) in rows.iter_mut().zip(values.iter()) {
        row.0[lane] = *value;
    }
}

/// A motion in its lane.
struct Slot<'a, F, const N: usize> {
    motion: &'a mut LaneMotion<F, N>,
    /// Number of the part that comes next.
    next_part: usize,
    part: Part,
    control: StepControl,
    /// Length of the next step to try, s.
    next_s: f64,
    /// The step ends the part.
    last: bool,
    steps: usize,
}

impl<'a, F: LaneSystem<N>, const N: usize> Slot<'a, F, N> {
    fn of(motion: &'a mut LaneMotion<F, N>) -> Self {
        let part = Part { set: None, until_s: f64::NEG_INFINITY, name: "" };
        Self { motion, next_part: 0, part, control: StepControl::new(), next_s: 0.0, last: false, steps: 0 }
    }

    /// Begins a phase of the integration; false if the motion has ended.
    fn begin(&mut self, block: &mut Block<N>, lane: usize) -> bool {
        let LaneMotion { system, trajectory, parts, tolerances, failed, .. } = &mut *self.motion;
        if trajectory.events.len() > MOST_EVENTS {
            let why = format!("more than {MOST_EVENTS} events");
            *failed = Some(SimError::Integration { phase: self.part.name, t_s: trajectory.end.0, why });
        }
        if failed.is_some() || trajectory.stopped_by.is_some() {
            return false;
        }
        while self.part.until_s - trajectory.end.0 <= TIME_TOLERANCE_S {
            let Some(part) = parts.get(self.next_part) else { return false };
            (self.part, self.next_part) = (*part, self.next_part + 1);
            if let Some((bit, on)) = part.set {
                trajectory.set_mode(system, bit, on);
            }
        }
        let (t, y) = trajectory.end;
        let frozen = system.freeze(trajectory.mode);
        let mut slope = State::<N>::zeros();
        frozen.rate(t, &y, &mut slope);
        system.put(&frozen, trajectory.mode, &mut block.rows, lane);
        block.t.0[lane] = t;
        put_column(&mut block.y, lane, &y);
        put_column(&mut block.first, lane, &slope);
        for (row, value) in block.tolerance.iter_mut().zip([tolerances.absolute, tolerances.relative]) {
            row.0[lane] = value;
        }
        trajectory.stats.phases += 1;
        trajectory.stats.evaluations += 1;
        (self.control, self.next_s, self.steps) = (StepControl::new(), trajectory.next_step_s, 0);
        true
    }

    fn choose_step(&mut self) -> f64 {
        let (t, until) = (self.motion.trajectory.end.0, self.part.until_s);
        // a remainder below a hundredth of this step is not worth a step of its own
        self.last = t + 1.01 * self.next_s > until;
        if self.last { until - t } else { self.next_s }
    }

    fn fail(&mut self, why: String) -> bool {
        let t_s = self.motion.trajectory.end.0;
        self.motion.failed = Some(SimError::Integration { phase: self.part.name, t_s, why });
        false
    }

    /// Accepts the step, or tries it again shorter; false if the motion has ended.
    fn accept(&mut self, block: &mut Block<N>, lane: usize) -> bool {
        let LaneMotion { trajectory, tolerances, .. } = &mut *self.motion;
        block.goes_on.0[lane] = 0.0;
        let h = block.h.0[lane];
        let error = (block.error.0[lane] / N as f64).sqrt();
        let (accepted, after) = self.control.accept_step(error, h, tolerances.longest_step_s);
        self.next_s = after;
        self.steps += 1;
        trajectory.stats.evaluations += 6;
        if 0.1 * after <= f64::EPSILON * trajectory.end.0.abs() || self.steps > MOST_STEPS {
            return self.fail("the steps became too short or too many".into());
        }
        if !accepted {
            trajectory.stats.rejected_steps += 1;
            return true;
        }
        let end = column(&block.end, lane);
        if !end.iter().all(|v| v.is_finite()) {
            return self.fail("the state is no longer finite".into());
        }
        trajectory.stats.accepted_steps += 1;
        if self.append(block, lane, h, end) {
            return self.begin(block, lane);
        }
        block.t.0[lane] = self.motion.trajectory.end.0;
        block.goes_on.0[lane] = 1.0;
        true
    }

    /// Appends an accepted step to the trajectory; true if a phase ends with it.
    fn append(&mut self, block: &Block<N>, lane: usize, h: f64, end: State<N>) -> bool {
        let LaneMotion { system, trajectory, tolerances, notes, .. } = &mut *self.motion;
        let (from, mode) = (trajectory.end.0, trajectory.mode);
        let to = if self.last { self.part.until_s } else { from + h };
        trajectory.end = (to, end);
        // the next phase begins with a step as long as this one
        trajectory.next_step_s = h.max(SHORTEST_FIRST_STEP_S);
        let [r1, r2, r3, r4] = &block.output;
        let output = [&block.y, r1, r2, r3, r4].map(|rows| column(rows, lane));
        trajectory.steps.push(Step::new([from, h, to], output, mode, tolerances.event_check_s));
        let inner_checks = trajectory.steps.last().is_some_and(Step::has_inner_checks);
        if block.leaves.0[lane] > 0.0 || inner_checks {
            let frozen = system.freeze(mode);
            if let Some(check) = trajectory.failed_check::<F>(&frozen) {
                trajectory.cut_at_event(system, &frozen, check);
                notes.push(None);
                return true;
            }
        }
        notes.push((!inner_checks).then(|| block.notes.map(|row| row.0[lane])));
        self.last
    }
}

/// Weights of the slopes at the stages and at the end of a step, and the instants of the stages.
const STAGES: usize = 6;
const A: [[f64; STAGES]; STAGES] = [
    [A2[0], 0.0, 0.0, 0.0, 0.0, 0.0],
    [A3[0], A3[1], 0.0, 0.0, 0.0, 0.0],
    [A4[0], A4[1], A4[2], 0.0, 0.0, 0.0],
    [A5[0], A5[1], A5[2], A5[3], 0.0, 0.0],
    [A6[0], A6[1], A6[2], A6[3], A6[4], 0.0],
    [A7[0], 0.0, A7[1], A7[2], A7[3], A7[4]],
];
const AT: [f64; STAGES] = [C[0], C[1], C[2], C[3], 1.0, 1.0];
/// The slopes that count for error and dense output.
const COUNTED: [usize; 6] = [0, 2, 3, 4, 5, 6];

/// One step of all lanes, each of its own length.
struct TakeStep<'a, T, F, const N: usize> {
    zero: T,
    block: &'a mut Block<N>,
    of: std::marker::PhantomData<F>,
}

impl<T: Row, F: LaneSystem<N>, const N: usize> Task for TakeStep<'_, T, F, N> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let Self { zero, block, .. } = self;
        let laws = F::laws(zero, &block.rows);
        let (t, h) = (zero.load(&block.t.0), zero.load(&block.h.0));
        let goes_on = zero.load(&block.goes_on.0).above(zero);
        let mut y = [zero; N];
        let mut k = [[zero; N]; STAGES + 1];
        for i in 0..N {
            y[i] = T::choose(goes_on, zero.load(&block.end[i].0), zero.load(&block.y[i].0));
            k[0][i] = T::choose(goes_on, zero.load(&block.last[i].0), zero.load(&block.first[i].0));
            y[i].store(&mut block.y[i].0);
            k[0][i].store(&mut block.first[i].0);
        }
        let mut at = y;
        let mut notes = [zero; NOTES];
        for s in 0..STAGES {
            // all states at every stage: a loop of fixed length stays in registers
            let mut sum = [zero; N];
            for i in 0..N {
                sum[i] = k[0][i] * A[s][0];
            }
            for j in 1..=s {
                for i in 0..N {
                    sum[i] = k[j][i].times_plus(zero.splat(A[s][j]), sum[i]);
                }
            }
            for i in 0..N {
                at[i] = h.times_plus(sum[i], y[i]);
            }
            notes = F::rate(&laws, h.times_plus(zero.splat(AT[s]), t), &at, &mut k[s + 1]);
        }
        let [absolute, relative] = [zero.load(&block.tolerance[0].0), zero.load(&block.tolerance[1].0)];
        let mut square = zero;
        for i in 0..N {
            let (mut off, mut dense) = (zero, zero);
            for j in 0..COUNTED.len() {
                let c = COUNTED[j];
                off = k[c][i].times_plus(zero.splat(E[j]), off);
                dense = k[c][i].times_plus(zero.splat(D[j]), dense);
            }
            let tolerance = relative.times_plus(y[i].abs().greater(at[i].abs()), absolute);
            let ratio = h * off / tolerance;
            square = ratio.times_plus(ratio, square);
            let change = at[i] - y[i];
            let bow = h.times_plus(k[0][i], -change);
            change.store(&mut block.output[0][i].0);
            bow.store(&mut block.output[1][i].0);
            (change - h * k[STAGES][i] - bow).store(&mut block.output[2][i].0);
            (h * dense).store(&mut block.output[3][i].0);
            at[i].store(&mut block.end[i].0);
            k[STAGES][i].store(&mut block.last[i].0);
        }
        square.store(&mut block.error.0);
        let one = zero.splat(1.0);
        T::choose(F::leaves(&laws, t + h, &at), one, zero).store(&mut block.leaves.0);
        #[allow(clippy::needless_range_loop)] // no closures on vectors
        for i in 0..NOTES {
            notes[i].store(&mut block.notes[i].0);
        }
    }
}
