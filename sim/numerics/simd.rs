//! SIMD lanes: the operations that a law needs of a number, so that each law is written once, for one joint
//! (`f64`) and for a batch of joints (the vectors of `sim/motion/batch/vector.rs`).
//!
//! Where a law has branches, a mask selects one per lane: `bool` for `f64`.

use crate::numerics::math;
use std::fmt::Debug;
use std::ops::{Add, BitAnd, BitOr, BitXor, Div, Mul, Neg, Not, Sub};

/// One truth value per lane.
pub trait LaneMask:
    Copy + Debug + BitAnd<Output = Self> + BitOr<Output = Self> + BitXor<Output = Self> + Not<Output = Self>
{
    /// Whether it is true in at least one lane: work that no lane needs is skipped.
    #[must_use]
    fn any(self) -> bool;

    /// `yes` where `mask` is true, `no` elsewhere.
    #[must_use]
    #[inline(always)]
    fn either(mask: Self, yes: Self, no: Self) -> Self {
        (mask & yes) | (!mask & no)
    }
}

/// One number per lane.
///
/// ```
/// use kneedamp::numerics::simd::{Lane, LaneMask};
/// // a law: linear up to 1, constant beyond
/// fn law<T: Lane>(x: T) -> T {
///     T::choose(x.above(x.splat(1.0)), x.splat(1.0), x)
/// }
/// assert_eq!(law(0.5), 0.5);
/// assert_eq!(law(3.0), 1.0);
/// assert!(2.0.above(1.0).any());
/// ```
pub trait Lane:
    Copy
    + Debug
    + Neg<Output = Self>
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
{
    /// Truth value per lane.
    type Mask: LaneMask;

    /// `value` in every lane.
    #[must_use]
    fn splat(self, value: f64) -> Self;
    /// self · by + plus, as one fused operation where the machine has it.
    #[must_use]
    fn times_plus(self, by: Self, plus: Self) -> Self;
    /// self/by, for a divisor that is the same over many steps: vectors use its reciprocal.
    #[must_use]
    fn divided_by(self, by: Self) -> Self;
    /// self > other.
    #[must_use]
    fn above(self, other: Self) -> Self::Mask;
    /// `yes` where `mask` is true, `no` elsewhere.
    #[must_use]
    fn choose(mask: Self::Mask, yes: Self, no: Self) -> Self;
    /// Magnitude.
    #[must_use]
    fn abs(self) -> Self;
    /// The greater of two.
    #[must_use]
    fn greater(self, other: Self) -> Self;
    /// The lesser of two.
    #[must_use]
    fn lesser(self, other: Self) -> Self;
    /// tanh(self/scale).
    #[must_use]
    fn tanh_over(self, scale: Self) -> Self;
    /// σ(self/width) = 1/(1 + e^(−self/width)).
    #[must_use]
    fn sigmoid_over(self, width: Self) -> Self;
}

/// Beyond this argument a smoothed step is saturated to the last digit: e^−40 is 4e-18.
const SATURATED: f64 = 40.0;

impl LaneMask for bool {
    #[inline(always)]
    fn any(self) -> bool {
        self
    }
}

impl Lane for f64 {
    type Mask = bool;

    #[inline(always)]
    fn splat(self, value: f64) -> Self {
        value
    }

    // without the machine's instruction a fused product is a slow library call
    #[inline(always)]
    fn times_plus(self, by: Self, plus: Self) -> Self {
        self * by + plus
    }

    #[inline(always)]
    fn divided_by(self, by: Self) -> Self {
        self / by
    }

    #[inline(always)]
    fn above(self, other: Self) -> bool {
        self > other
    }

    #[inline(always)]
    fn choose(mask: bool, yes: Self, no: Self) -> Self {
        if mask { yes } else { no }
    }

    #[inline(always)]
    fn abs(self) -> Self {
        self.abs()
    }

    #[inline(always)]
    fn greater(self, other: Self) -> Self {
        self.max(other)
    }

    #[inline(always)]
    fn lesser(self, other: Self) -> Self {
        self.min(other)
    }

    // 1 − 2/(e^2x + 1): absolute error 2e-16, at a third of the cost of the library's tanh, whose relative
    // error is as small
    #[inline(always)]
    fn tanh_over(self, scale: Self) -> Self {
        if self.abs() > 0.5 * SATURATED * scale {
            return self.signum();
        }
        let x = self / scale;
        1.0 - 2.0 / (math::exp(x + x) + 1.0)
    }

    #[inline(always)]
    fn sigmoid_over(self, width: Self) -> Self {
        if self.abs() > SATURATED * width {
            return if self > 0.0 { 1.0 } else { 0.0 };
        }
        1.0 / (1.0 + math::exp(-(self / width)))
    }
}
