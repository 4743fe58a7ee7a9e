//! One Runge-Kutta step of strides side by side.
//!
//! The method of Dormand and Prince of order 5 (`sim/motion/dormand_prince.rs`). Sine and cosine of φ − ε are carried along, turned by each
//! step's Δφ: a rotation by a series (exact to rounding for |Δφ| up to [`MOST_TURN_RAD`]), so they do not drift.

use super::flow::{Instant, Joint, OPEN, STANCE, Sides, State, turned};
use crate::motion::dormand_prince::{A2, A3, A4, A5, A6, A7, E};
use crate::quantity::Lane;

/// Greatest turn of a step, rad.
pub const MOST_TURN_RAD: f64 = 0.12;

/// One step: where it ends, and by how much it may be off.
pub struct Step<T> {
    /// End with slope there.
    pub end: State<T>,
    /// Estimated error of ω, rad/s.
    pub omega_error: T,
    /// The same of the valve.
    pub z_error: T,
}

/// The weighted sum of one number of slopes; a macro, because a closure on vectors would not be inlined.
macro_rules! weighted {
    ($weights:expr, $slopes:expr, $number:ident) => {{
        let mut sum = $slopes[0].$number * $weights[0];
        #[allow(clippy::needless_range_loop)] // unrolled for certain
        for i in 1..$weights.len() {
            let k = $slopes[i].$number;
            sum = k.same($weights[i]).times_plus(k, sum);
        }
        sum
    }};
}

impl<T: Lane> Joint<T> {
    /// One step of the method of Dormand and Prince of order 5, `h` in s, with the drive at its instants;
    /// the slope at its end is the first of the next.
    #[inline(always)]
    pub fn step<const KIND: usize>(
        &self,
        sides: &Sides<T>,
        armed: T::Mask,
        at: &[Instant<T>; 5],
        s: &State<T>,
        h: T,
    ) -> Step<T> {
        let k1 = Slope { phi: s.omega, omega: s.acc, z: s.z_rate };
        let k2 = self.stage::<KIND>(sides, armed, &at[0], s, h, &sum::<KIND, T, _>(&A2, [&k1]));
        let k3 = self.stage::<KIND>(sides, armed, &at[1], s, h, &sum::<KIND, T, _>(&A3, [&k1, &k2]));
        let k4 = self.stage::<KIND>(sides, armed, &at[2], s, h, &sum::<KIND, T, _>(&A4, [&k1, &k2, &k3]));
        let k5 =
            self.stage::<KIND>(sides, armed, &at[3], s, h, &sum::<KIND, T, _>(&A5, [&k1, &k2, &k3, &k4]));
        let k6 = self.stage::<KIND>(
            sides,
            armed,
            &at[4],
            s,
            h,
            &sum::<KIND, T, _>(&A6, [&k1, &k2, &k3, &k4, &k5]),
        );
        let mut to = moved::<KIND, true, T>(s, h, &sum::<KIND, T, _>(&A7, [&k1, &k3, &k4, &k5, &k6]));
        (to.acc, to.z_rate) = self.slope::<KIND>(sides, armed, &at[4], &to);
        let k7 = Slope { phi: to.omega, omega: to.acc, z: to.z_rate };
        let slopes = [&k1, &k3, &k4, &k5, &k6, &k7];
        let still = h.same(0.0);
        Step {
            omega_error: if KIND == STANCE {
                still
            } else {
                let off = weighted!(E, slopes, omega);
                estimate(off * h, (k6.omega - k7.omega) * h, k6.phi - k7.phi)
            },
            z_error: if KIND == OPEN { still } else { (weighted!(E, slopes, z) * h).size() },
            end: to,
        }
    }

    /// The slope at a stage, reached by the mean of the slopes before.
    #[inline(always)]
    fn stage<const KIND: usize>(
        &self,
        sides: &Sides<T>,
        armed: T::Mask,
        at: &Instant<T>,
        s: &State<T>,
        h: T,
        mean: &Slope<T>,
    ) -> Slope<T> {
        let y = moved::<KIND, false, T>(s, h, mean);
        let (omega, z) = self.slope::<KIND>(sides, armed, at, &y);
        Slope { phi: y.omega, omega, z }
    }
}

/// Slope of a state.
#[derive(Clone, Copy)]
struct Slope<T> {
    phi: T,
    omega: T,
    z: T,
}

/// Error of a step: `off` is the difference between the results of order 5 and 4, the error of the
/// latter. h times the rate λ at which the motion answers is the ratio of the slope's change (times h)
/// between the last stage and the end to that of the state; the result of order 5 is better by about
/// that, as long as it is small.
#[inline(always)]
fn estimate<T: Lane>(off: T, k: T, y: T) -> T {
    let off = off.size();
    off.lesser(off * k.size() / (y.size() + 1e-14))
}

/// The weighted sum of slopes, of what moves in a part.
#[inline(always)]
fn sum<const KIND: usize, T: Lane, const N: usize>(weights: &[f64; N], slopes: [&Slope<T>; N]) -> Slope<T> {
    let mut sum = *slopes[0];
    if KIND != STANCE {
        sum.phi = weighted!(weights, slopes, phi);
        sum.omega = weighted!(weights, slopes, omega);
    }
    if KIND != OPEN {
        sum.z = weighted!(weights, slopes, z);
    }
    sum
}

/// The state after `h` with a slope held.
#[inline(always)]
fn moved<const KIND: usize, const END: bool, T: Lane>(s: &State<T>, h: T, slope: &Slope<T>) -> State<T> {
    if KIND == STANCE {
        return State { z: h.times_plus(slope.z, s.z), z_rate: slope.z, ..*s };
    }
    let turn = h * slope.phi;
    let (sin, cos) = turned((s.sin, s.cos), small::<END, T>(turn));
    State {
        phi: s.phi + turn,
        omega: h.times_plus(slope.omega, s.omega),
        z: if KIND == OPEN { s.z } else { h.times_plus(slope.z, s.z) },
        sin,
        cos,
        acc: slope.omega,
        z_rate: slope.z,
    }
}

/// Sine and cosine of a small angle, by series; for the stages within a step, which do not add up, by a shorter
/// one: off by 4e-9 at [`MOST_TURN_RAD`], by 1e-12 at a quarter of it.
#[inline(always)]
fn small<const END: bool, T: Lane>(x: T) -> (T, T) {
    let q = x * x;
    let (mut sin, mut cos) = (x.same(1.0 / 120.0), x.same(1.0 / 24.0));
    if END {
        sin = q.times_plus(x.same(-1.0 / 5_040.0), sin);
        cos = q.times_plus(x.same(-1.0 / 720.0), cos);
    }
    let (sin, cos) = (q.times_plus(sin, x.same(-1.0 / 6.0)), q.times_plus(cos, x.same(-0.5)));
    ((q * x).times_plus(sin, x), q.times_plus(cos, x.same(1.0)))
}
