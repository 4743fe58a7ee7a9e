//! Where a switch is crossed within a step.

use super::drive_table::TimeCell;
use super::dynamics::{DriveSample, Joint, State};
use super::storage::{LaneBlock, STRAIGHT_WITHIN_RAD};
use super::switches::{on_ground, switch};
use crate::numerics::simd::{Lane, LaneMask};
use crate::numerics::vector::{Row, Task};

/// Crossings are located to this share of a step.
const LOCATED_TO: f64 = 1e-9;
/// Iterations at most.
const MAX_ITERATIONS: usize = 40;

/// Number, behind those of the switches, of the event "the knee counts as straight".
pub const STRAIGHT: usize = switch::COUNT;

/// Interpolation of a step by its fraction: cubic, and quintic for the bend.
#[derive(Clone, Copy)]
pub struct DenseOutput<T> {
    /// Start.
    pub from: State<T>,
    /// End.
    pub to: State<T>,
    /// Length.
    pub h: T,
}

/// Cubic through value and slope at both ends, slopes per step.
#[inline(always)]
fn hermite<T: Lane>(s: T, y0: T, d0: T, y1: T, d1: T) -> T {
    let rise = y1 - y0;
    let (a, b) = (rise * 3.0 - d0 * 2.0 - d1, d0 + d1 - rise * 2.0);
    s.times_plus(s.times_plus(s.times_plus(b, a), d0), y0)
}

impl<T: Lane> DenseOutput<T> {
    /// Bend: quintic through value, rate and acceleration at both ends.
    #[inline(always)]
    fn bend(&self, s: T) -> T {
        let (h, a, b) = (self.h, &self.from, &self.to);
        let (v0, v1) = (a.omega * h, b.omega * h);
        let (w0, w1) = (a.acc * h * h * 0.5, b.acc * h * h * 0.5);
        // remainder after the parabola from the start, and its two derivatives at the end
        let d = b.bend - a.bend - v0 - w0;
        let e = v1 - v0 - w0 * 2.0;
        let f = w1 - w0;
        let c3 = d * 10.0 - e * 4.0 + f;
        let c4 = e * 7.0 - d * 15.0 - f * 2.0;
        let c5 = d * 6.0 - e * 3.0 + f;
        let tail = s.times_plus(s.times_plus(c5, c4), c3);
        s.times_plus(s.times_plus(s.times_plus(tail, w0), v0), a.bend)
    }

    /// ω.
    #[inline(always)]
    pub fn omega(&self, s: T) -> T {
        hermite(s, self.from.omega, self.from.acc * self.h, self.to.omega, self.to.acc * self.h)
    }

    #[inline(always)]
    fn z(&self, s: T) -> T {
        hermite(s, self.from.z, self.from.z_rate * self.h, self.to.z, self.to.z_rate * self.h)
    }
}

/// Finds where an event function becomes zero in a step, as a fraction of the step, for the strides of `wanted`,
/// for which its ends differ in sign.
pub struct Locate<'a, T: Lane, const KIND: usize> {
    /// Group of the vector.
    pub lanes: &'a LaneBlock,
    /// Its first column there.
    pub column: usize,
    /// The cell.
    pub cell: &'a TimeCell,
    /// The step.
    pub dense: DenseOutput<T>,
    /// Its start, share of the cell.
    pub done: T,
    /// Its length, share of the cell.
    pub step: T,
    /// The drive at its end.
    pub drive: DriveSample<T>,
    /// Number of the switch, or [`STRAIGHT`].
    pub event: usize,
    /// The strides.
    pub wanted: T::Mask,
}

impl<T: Lane, const KIND: usize> Locate<'_, T, KIND> {
    /// The event function at a fraction of the step.
    #[inline(always)]
    fn value(&self, joint: &Joint<T>, x: T) -> T {
        let Self { cell, dense, event, .. } = self;
        if *event == STRAIGHT {
            return dense.bend(x) - x.splat(STRAIGHT_WITHIN_RAD);
        }
        let (bend, omega, z) = (dense.bend(x), dense.omega(x), dense.z(x));
        // the other switches do not ask for the drive
        let by_drive = matches!(*event, switch::HIGH | switch::LOW | switch::RELEASED | switch::HEEL);
        if on_ground(KIND) && by_drive {
            let f = self.step.times_plus(x, self.done);
            let drive = joint.drive_sample::<KIND>(&cell.at::<KIND, T>(f));
            joint.event_function(*event, &drive, bend, omega, z)
        } else {
            joint.event_function(*event, &self.drive, bend, omega, z)
        }
    }
}

impl<T: Row, const KIND: usize> Task for Locate<'_, T, KIND> {
    type Output = T;

    /// Regula falsi with halved weights (Illinois), until the crossings of all strides are located.
    #[inline(always)]
    fn run(self) -> T {
        let zero = self.step.splat(0.0);
        let wanted = self.wanted;
        let joint: &Joint<T> = &self.lanes.joint(zero, self.column);
        let (mut a, mut b) = (zero, zero.splat(1.0));
        let (mut fa, mut fb) = (self.value(joint, a), self.value(joint, b));
        let mut x = b;
        let rising = fb.above(zero);
        // a step that begins on the switch: the crossing is where it comes back to it, if it has left it
        let begun = T::Mask::either(rising, zero.above(fa), fa.above(zero));
        if (!begun & wanted).any() {
            let early = zero.splat(1.0 / 16.0);
            let value = self.value(joint, early);
            let left = !begun & T::Mask::either(rising, zero.above(value), value.above(zero));
            (a, fa) = (T::choose(left, early, a), T::choose(left, value, fa));
        }
        // the end of the step counts as found first
        let mut last = rising | !rising;
        for _ in 0..MAX_ITERATIONS {
            let slope = fb - fa;
            let flat = (slope.splat(1e-300)).above(slope.abs());
            let before = x;
            x = T::choose(flat, a, a - fa * (b - a) / T::choose(flat, slope.splat(1.0), slope));
            x = x.greater(a).lesser(b);
            if !((x - before).abs().above(x.splat(LOCATED_TO)) & wanted).any() {
                break;
            }
            let fx = self.value(joint, x);
            // a value beyond the crossing replaces the end, one before it the start
            let beyond = !(fx.above(zero) ^ rising);
            // an end that stays a second time weighs half
            let again = !(beyond ^ last);
            let weight = T::choose(again, x.splat(0.5), x.splat(1.0));
            let (na, nfa) = (T::choose(beyond, a, x), T::choose(beyond, fa * weight, fx));
            let (nb, nfb) = (T::choose(beyond, x, b), T::choose(beyond, fx, fb * weight));
            (a, fa, b, fb, last) = (na, nfa, nb, nfb, beyond);
        }
        x
    }
}
