//! One step of a vector through a cell, or through several.

use super::accuracy::Accuracy;
use super::drive_table::{CellStep, TimeCell};
use super::dynamics::{Joint, StageDrives, State};
use super::grouping::{RetryList, StepResult};
use super::step::{Estimate, LATER_STAGES, MAX_STEP_ANGLE_RAD, Step};
use super::step_control::{SHORTER, shorter};
use super::storage::{ARMED, LaneBlock, SHARE, STRAIGHT_WITHIN_RAD, VALVE, VALVE_RATE, WIDEST};
use super::switches::{
    PRESWING, PRESWING_OPENING, STANCE, SWING_OPEN, SWING_OPENING, decays, for_each_switch, is_active,
    is_preswing, is_valve_driven, switch,
};
use crate::numerics::simd::{Lane, LaneMask};
use crate::numerics::vector::{Row, Task};

/// A step may be twice as long when its error is below one over this: it grows with the sixth power.
const ROOM: f64 = 128.0;
/// Below this a valve that nothing closes counts as open.
const OPEN_BELOW: f64 = 3e-9;

/// A vector and the step that it is to take.
pub struct VectorStep<'a, T> {
    /// Zeros.
    pub zero: T,
    /// Group of the vector.
    pub lanes: &'a mut LaneBlock,
    /// Its first column there.
    pub at: usize,
    /// Its first column in the block.
    pub first: usize,
    /// The step.
    pub step: &'a CellStep,
    /// In pre-swing: the drive at the stages of the step.
    pub drives: &'a StageDrives<T>,
    /// Tolerances.
    pub accuracy: &'a Accuracy,
    /// Receives strides for which one step is not enough.
    pub retry: &'a mut RetryList,
}

/// The equation of a vector in a cell: that of the phase until its valves have released for good.
#[inline(always)]
pub fn equation<T: Row, const KIND: usize>(
    zero: T,
    lanes: &mut LaneBlock,
    at: usize,
    cell: &TimeCell,
    before: u8,
) -> u8 {
    let mut kind = usize::from(before);
    let z = lanes.get(zero, VALVE, at);
    if kind == KIND && KIND != STANCE {
        let joint: Joint<T> = lanes.joint(zero, at);
        if joint.has_released::<KIND>(lanes.get(zero, ARMED, at).above(zero), z, cell) {
            kind = if KIND == PRESWING { PRESWING_OPENING } else { SWING_OPENING };
        }
    }
    if kind == SWING_OPENING && !z.above(zero.splat(OPEN_BELOW)).any() {
        lanes.put(VALVE, at, zero);
        lanes.put(VALVE_RATE, at, zero);
        kind = SWING_OPEN;
    }
    kind as u8
}

/// The drive at the stages of a step in pre-swing, for the legs of a vector.
pub struct LegDrives<'a, T> {
    /// Zeros.
    pub zero: T,
    /// Group of the vector.
    pub lanes: &'a LaneBlock,
    /// Its first column there.
    pub at: usize,
    /// The step.
    pub step: &'a CellStep,
}

impl<T: Row> Task for LegDrives<'_, T> {
    type Output = StageDrives<T>;

    #[inline(always)]
    fn run(self) -> StageDrives<T> {
        let joint: Joint<T> = self.lanes.joint(self.zero, self.at);
        joint.stage_drives::<PRESWING>(&self.step.points)
    }
}

/// Takes the step. A step through several cells counts only if it is accurate for all strides of the vector and no
/// event happens. If a step through one cell is not, the strides concerned are listed to be taken again, or, if they
/// are most of the vector, the whole vector is.
pub struct FastStep<'a, T, const KIND: usize>(pub VectorStep<'a, T>);

/// A step that has been tried.
struct Trial<T: Lane> {
    to: State<T>,
    /// Strides that have to be taken again.
    refused: T::Mask,
    /// Strides in which the knee flexes at the start.
    flexing: T::Mask,
    omega_error: Estimate<T>,
    per_omega: T,
    /// Error of the valve, tolerances.
    z_error: T,
    /// Change of flexion, rad.
    angle: T,
}

impl<T: Lane> Trial<T> {
    /// Error estimate, tolerances.
    #[inline(always)]
    fn error(&self) -> T {
        let angle = self.angle * (1.0 / MAX_STEP_ANGLE_RAD);
        (self.omega_error.value() * self.per_omega).greater(self.z_error).greater(angle)
    }

    /// Whether a step twice as long would be accurate enough.
    #[inline(always)]
    fn is_roomy(&self) -> bool {
        let one = self.angle.splat(1.0);
        let tight = self.omega_error.beyond(self.per_omega * ROOM)
            | (self.z_error * ROOM).above(one)
            | self.angle.above(one.splat(0.5 * MAX_STEP_ANGLE_RAD));
        !tight.any()
    }
}

impl<T: Row, const KIND: usize> Task for FastStep<'_, T, KIND> {
    type Output = StepResult;

    #[inline(always)]
    fn run(mut self) -> StepResult {
        let trial = self.attempt();
        let VectorStep { lanes, at, step, .. } = &mut self.0;
        if !trial.refused.any() {
            lanes.put_state(*at, &trial.to);
            return StepResult::Through { roomy: !is_preswing(KIND) && trial.is_roomy() };
        }
        if step.cells > 1 {
            return StepResult::TooFar;
        }
        self.list(&trial)
    }
}

impl<T: Row, const KIND: usize> FastStep<'_, T, KIND> {
    #[inline(always)]
    fn attempt(&self) -> Trial<T> {
        let VectorStep { zero, ref lanes, at, step, drives, accuracy, .. } = self.0;
        let one = zero.splat(1.0);
        let joint: Joint<T> = lanes.joint(zero, at);
        let s: State<T> = lanes.state(zero, at);
        let armed = lanes.get(zero, ARMED, at).above(zero);
        let h = zero.splat(step.span);
        let own;
        let drives = if is_preswing(KIND) {
            drives
        } else {
            own = joint.stage_drives::<KIND>(&step.points);
            &own
        };
        let laws = joint.freeze::<KIND>(joint.mode::<KIND>(&drives[0], s.bend, s.omega, s.z), armed, &s, h);
        let mode = &laws.mode;
        let end = &drives[LATER_STAGES];
        let shares = if decays(KIND) { lanes.decays(zero, at, step.cells) } else { [zero; LATER_STAGES] };
        let Step { end: to, omega_error, z_error } =
            joint.step::<KIND, false>(&laws, drives, &shares, &s, (&step.weights, h));
        let angle = (to.bend - s.bend).abs().greater((h * s.omega).abs());
        let per_omega = joint.per_omega::<KIND>(accuracy.per_omega, step.left, mode);
        let z_error = if is_valve_driven(KIND) {
            z_error * joint.per_valve::<KIND>(accuracy.per_valve, step.left)
        } else {
            zero
        };
        let mut refused =
            omega_error.beyond(per_omega) | z_error.above(one) | angle.above(zero.splat(MAX_STEP_ANGLE_RAD));
        for_each_switch!(KIND, I => {
            let other = joint.event_function(I, end, to.bend, to.omega, to.z).above(zero) ^ mode[I];
            refused = refused | (other & is_active::<T>(I, mode, armed));
        });
        if KIND != STANCE {
            let straight = zero.splat(STRAIGHT_WITHIN_RAD);
            refused = refused | (s.bend.above(straight) ^ to.bend.above(straight));
            let oil = joint.resists_flexing::<KIND>(to.omega, to.z);
            let relieved = oil.above(joint.relief_n_m) & to.omega.above(zero);
            refused = refused | relieved | to.bend.above(joint.flexion_stop_rad);
        }
        Trial { to, refused, flexing: mode[switch::RATE], omega_error, per_omega, z_error, angle }
    }

    /// Lists the strides that have to be taken again, and accepts the step of the others.
    #[inline(always)]
    fn list(self, trial: &Trial<T>) -> StepResult {
        let VectorStep { zero, lanes, at, first, retry, .. } = self.0;
        let Trial { to, refused, flexing, .. } = trial;
        let (one, error) = (zero.splat(1.0), trial.error());
        let turns = to.omega.above(zero) ^ *flexing;
        // short steps to expect: the friction of a knee that changes its direction reverses within milliseconds
        let mut rank = T::choose(turns & *refused, one * f64::from(RetryList::OF_A_TURN), one);
        for (limit, _) in SHORTER {
            rank = rank + T::choose(error.above(zero.splat(limit)), one, zero);
        }
        let mut ranks = [0.0; WIDEST];
        T::choose(*refused, rank, zero).store(&mut ranks);
        let in_place = 2 * ranks.iter().filter(|rank| **rank > 0.0).count() > T::WIDTH;
        if in_place {
            retry.add_vector(first);
        } else {
            for (i, &rank) in ranks.iter().enumerate().take(T::WIDTH) {
                if rank > 0.0 {
                    retry.add(first + i, rank as u8 - 1);
                }
            }
        }
        lanes.put_trial_end(at, to);
        let share = T::choose(error.above(one), shorter(error), one);
        // zero marks strides that are through already
        lanes.put(SHARE, at, T::choose(*refused, share, zero));
        let before: State<T> = lanes.state(zero, at);
        lanes.put_state(at, &State::choose(*refused, &before, to));
        if in_place { StepResult::InPlace } else { StepResult::Through { roomy: false } }
    }
}
