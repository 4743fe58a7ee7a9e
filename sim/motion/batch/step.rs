//! One Runge-Kutta step of a vector of strides.
//!
//! The method is that of Dormand and Prince of order 5 (`sim/numerics/dormand_prince.rs`). Where all lanes share the
//! length of the step, the weights contain it. Sine and cosine of φ − ε are part of the state; each step rotates them
//! by its Δφ with a series that is exact to rounding for |Δφ| up to [`MAX_STEP_ANGLE_RAD`], so they do not drift.
//! The course of a valve that opens undisturbed is known in advance: its decay at the stages is given.

use super::dynamics::{DriveSample, FrozenLaws, Joint, StageDrives, State, rotated};
use super::switches::{STANCE, decays, is_valve_driven};
use super::weights::Weights;
use crate::numerics::simd::Lane;

/// Greatest change of flexion in a step, rad.
pub const MAX_STEP_ANGLE_RAD: f64 = 0.12;
/// Stages of a step after its start.
pub const LATER_STAGES: usize = 5;

/// Result of a step.
pub struct Step<T> {
    /// State and slope at its end.
    pub end: State<T>,
    /// Estimated error of ω.
    pub omega_error: Estimate<T>,
    /// Estimated error of the valve.
    pub z_error: T,
}

/// Estimated error of ω. `off` is the difference between the results of order 5 and 4, the error of the latter. The
/// result of order 5 is better by about h λ, as long as that is small, with the rate λ at which the motion responds:
/// h λ = `change`/`of`, the change of the slope (times h) over the change of the state between the last stage and the
/// end.
pub struct Estimate<T> {
    off: T,
    change: T,
    of: T,
}

impl<T: Lane> Estimate<T> {
    /// No error: for a step that has been checked before.
    #[inline(always)]
    pub fn none(zero: T) -> Self {
        Self { off: zero, change: zero, of: zero.splat(1.0) }
    }

    /// Lanes in which the error times `per` is more than one; needs no quotient.
    #[inline(always)]
    pub fn beyond(&self, per: T) -> T::Mask {
        let off = self.off * per;
        off.above(off.splat(1.0)) & (off * self.change).above(self.of)
    }

    /// The error.
    #[inline(always)]
    pub fn value(&self) -> T {
        self.off.lesser(self.off * self.change / self.of)
    }
}

/// A start plus the weighted sum of one component of the slopes; a macro, because a closure on vectors would not be
/// inlined.
macro_rules! weighted {
    ($weights:expr, $slopes:expr, $number:ident) => {
        weighted!($weights, $slopes, $number, 1, $slopes[0].$number * $weights[0])
    };
    ($weights:expr, $slopes:expr, $number:ident, from $start:expr) => {
        weighted!($weights, $slopes, $number, 0, $start)
    };
    ($weights:expr, $slopes:expr, $number:ident, $first:literal, $start:expr) => {{
        let mut sum = $start;
        #[allow(clippy::needless_range_loop)] // unrolled for certain
        for i in $first..$weights.len() {
            let k = $slopes[i].$number;
            sum = k.splat($weights[i]).times_plus(k, sum);
        }
        sum
    }};
}

impl<T: Lane> Joint<T> {
    /// One step, with the drive at its stages and the decay of a valve that opens undisturbed; the slope at its end is
    /// the first of the next step. The weights contain its length; with `EACH` every lane has its own length `h`, and
    /// the weights are for a length of one.
    #[inline(always)]
    pub fn step<const KIND: usize, const EACH: bool>(
        &self,
        laws: &FrozenLaws<T>,
        at: &StageDrives<T>,
        fade: &[T; LATER_STAGES],
        s: &State<T>,
        (w, h): (&Weights, T),
    ) -> Step<T> {
        let k1 = Slope { bend: s.omega, omega: s.acc, z: s.z_rate };
        let y = reached::<KIND, EACH, false, T, _>(s, h, fade[0], &w.a2, [&k1]);
        let k2 = self.slope_at::<KIND>(laws, &at[1], &y);
        let y = reached::<KIND, EACH, false, T, _>(s, h, fade[1], &w.a3, [&k1, &k2]);
        let k3 = self.slope_at::<KIND>(laws, &at[2], &y);
        let y = reached::<KIND, EACH, false, T, _>(s, h, fade[2], &w.a4, [&k1, &k2, &k3]);
        let k4 = self.slope_at::<KIND>(laws, &at[3], &y);
        let y = reached::<KIND, EACH, false, T, _>(s, h, fade[3], &w.a5, [&k1, &k2, &k3, &k4]);
        let k5 = self.slope_at::<KIND>(laws, &at[4], &y);
        let y = reached::<KIND, EACH, false, T, _>(s, h, fade[4], &w.a6, [&k1, &k2, &k3, &k4, &k5]);
        let k6 = self.slope_at::<KIND>(laws, &at[LATER_STAGES], &y);
        let mut to = reached::<KIND, EACH, true, T, _>(s, h, fade[4], &w.a7, [&k1, &k3, &k4, &k5, &k6]);
        let k7 = self.slope_at::<KIND>(laws, &at[LATER_STAGES], &to);
        (to.acc, to.z_rate) = (k7.omega, k7.z);
        let slopes = [&k1, &k3, &k4, &k5, &k6, &k7];
        let still = h.splat(0.0);
        let omega_error = if KIND == STANCE {
            Estimate::none(still)
        } else {
            let off = weighted!(w.e, slopes, omega);
            Estimate {
                off: if EACH { off * h } else { off }.abs(),
                change: ((k6.omega - k7.omega) * h).abs(),
                of: (k6.bend - k7.bend).abs() + 1e-14,
            }
        };
        let z_error = if is_valve_driven(KIND) {
            let off = weighted!(w.e, slopes, z);
            if EACH { off * h } else { off }.abs()
        } else {
            still
        };
        Step { end: to, omega_error, z_error }
    }

    #[inline(always)]
    fn slope_at<const KIND: usize>(
        &self,
        laws: &FrozenLaws<T>,
        at: &DriveSample<T>,
        y: &State<T>,
    ) -> Slope<T> {
        let (omega, z) = self.slope::<KIND>(laws, at, y);
        Slope { bend: y.omega, omega, z }
    }
}

/// Slope of the state.
#[derive(Clone, Copy)]
struct Slope<T> {
    bend: T,
    omega: T,
    z: T,
}

/// The state that a weighted sum of slopes leads to; what the equation keeps constant stays.
#[inline(always)]
fn reached<const KIND: usize, const EACH: bool, const END: bool, T: Lane, const N: usize>(
    s: &State<T>,
    h: T,
    fade: T,
    weights: &[f64; N],
    slopes: [&Slope<T>; N],
) -> State<T> {
    let mut to = *s;
    if is_valve_driven(KIND) {
        to.z = if EACH {
            h.times_plus(weighted!(weights, slopes, z), s.z)
        } else {
            weighted!(weights, slopes, z, from s.z)
        };
    } else if decays(KIND) {
        to.z = s.z * fade;
    }
    if KIND == STANCE {
        return to;
    }
    let turn = weighted!(weights, slopes, bend);
    let turn = if EACH { turn * h } else { turn };
    to.bend = s.bend + turn;
    to.omega = if EACH {
        h.times_plus(weighted!(weights, slopes, omega), s.omega)
    } else {
        weighted!(weights, slopes, omega, from s.omega)
    };
    (to.sin, to.cos) = rotated((s.sin, s.cos), small::<END, T>(turn));
    to
}

/// Sine and cosine of a small angle, by series. The stages within a step, whose errors do not add up, take a shorter
/// one, with errors of 2e-7 and 4e-9 at [`MAX_STEP_ANGLE_RAD`], by 2e-10 and 1e-12 at a quarter of it.
#[inline(always)]
fn small<const END: bool, T: Lane>(x: T) -> (T, T) {
    let q = x * x;
    let (mut sin, mut cos) = (x.splat(-1.0 / 6.0), x.splat(1.0 / 24.0));
    if END {
        let fifth = q.times_plus(x.splat(-1.0 / 5_040.0), x.splat(1.0 / 120.0));
        sin = q.times_plus(fifth, sin);
        cos = q.times_plus(x.splat(-1.0 / 720.0), cos);
    }
    let cos = q.times_plus(cos, x.splat(-0.5));
    ((q * x).times_plus(sin, x), q.times_plus(cos, x.splat(1.0)))
}
