//! Vectors of the machine: eight, four or one number at a time, chosen at run time. The only file that names the crate
//! `pulp`.
//!
//! Every function that works on vectors is `#[inline(always)]` and none is a closure: only code that is inlined into a
//! function compiled for the chosen width may use the machine's instructions. [`Row::call`] makes such functions.
//!
//! Exponentials are computed here: e^x = 2^k e^r with |r| ≤ ½ ln 2 and a polynomial, of degree 11 (relative error
//! below 1e-13) or, in the two smoothed switches, of degree 8 (3e-10). These are cut off where they hardly change
//! any more: tanh is ±1 beyond 8 (off by 2e-7), σ is 0 or 1 beyond 20 (2e-9). Near zero tanh is its series
//! (6e-11). The tests of the whole batch check them: tests/cross_code/batch.rs.

use std::ops::{Add, BitAnd, BitOr, BitXor, Div, Mul, Neg, Not, Sub};

use pulp::{Arch, Simd, WithSimd};

use crate::numerics::simd::{Lane, LaneMask};

/// Beyond this many widths σ is 0 or 1.
pub const SATURATED: f64 = 20.0;
/// Beyond this tanh is ±1.
pub const TANH_SATURATED: f64 = 8.0;
/// Adding it rounds to a whole number: 1.5·2^52.
const MAGIC: f64 = 6_755_399_441_055_744.0;
/// π/2 as a sum; the first part has 33 binary digits.
const HALF_PI: [f64; 2] = [1.570_796_326_734_125_6, 6.077_100_506_506_192e-11];
/// Coefficients of cos r − 1 and of sin r/r − 1 by r²: errors below 1e-16 up to π/4.
const SERIES: [[f64; 2]; 8] = [
    [-1.0 / 2.0, -1.0 / 6.0],
    [1.0 / 24.0, 1.0 / 120.0],
    [-1.0 / 720.0, -1.0 / 5_040.0],
    [1.0 / 40_320.0, 1.0 / 362_880.0],
    [-1.0 / 3_628_800.0, -1.0 / 39_916_800.0],
    [1.0 / 479_001_600.0, 1.0 / 6_227_020_800.0],
    [-1.0 / 87_178_291_200.0, -1.0 / 1_307_674_368_000.0],
    [1.0 / 20_922_789_888_000.0, 1.0 / 355_687_428_096_000.0],
];
/// Up to this tanh is its series.
pub const TANH_SMALL: f64 = 0.25;

/// A vector of numbers with the proof that the machine has such vectors.
#[derive(Clone, Copy, Debug)]
pub struct Vector<S: Simd> {
    simd: S,
    v: S::f64s,
}

/// A vector of truth values.
#[derive(Clone, Copy, Debug)]
pub struct Mask<S: Simd> {
    simd: S,
    m: S::m64s,
}

/// A piece of the kernel that is compiled as a function of its own.
pub trait Task {
    /// Result.
    type Output;
    /// Does the work; must be `#[inline(always)]`.
    fn run(self) -> Self::Output;
}

/// What the kernel needs of a lane type besides what the laws need: memory, and functions of its own.
pub trait Row: Lane {
    /// Numbers per vector.
    const WIDTH: usize;
    /// From the first `WIDTH` numbers of a row.
    #[must_use]
    fn load(self, row: &[f64]) -> Self;
    /// Into the first `WIDTH` numbers of a row.
    fn store(self, row: &mut [f64]);
    /// e^self for |self| ≤ 700.
    #[must_use]
    fn exp(self) -> Self;
    /// Runs `task` in a function of its own, which may use the instructions of these vectors: it is then compiled
    /// once, however often it is called.
    fn call<W: Task>(self, task: W) -> W::Output;
}

/// Work on vectors of any width.
pub trait OnVectors {
    /// Result.
    type Output;
    /// Does the work; every other vector is made from `zero`.
    fn run<T: Row>(self, zero: T) -> Self::Output;
}

/// Runs a task with the vectors in its own data, which are those that its function is compiled for.
struct Outlined<W>(W);

impl<W: Task> WithSimd for Outlined<W> {
    type Output = W::Output;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> W::Output {
        self.0.run()
    }
}

#[inline(never)]
fn outlined<S: Simd, W: Task>(simd: S, task: W) -> W::Output {
    simd.vectorize(Outlined(task))
}

struct Dispatched<W>(W);

impl<W: OnVectors> WithSimd for Dispatched<W> {
    type Output = W::Output;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> W::Output {
        self.0.run(Vector { simd, v: simd.splat_f64s(0.0) })
    }
}

/// Which vectors are used: for reports and comparisons.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Width {
    /// The widest that the machine has.
    #[default]
    Widest,
    /// One number at a time, on any machine.
    One,
}

/// Runs `work` on vectors.
pub fn on_vectors<W: OnVectors>(width: Width, work: W) -> W::Output {
    match width {
        Width::Widest => Arch::new().dispatch(Dispatched(work)),
        Width::One => Dispatched(work).with_simd(pulp::Scalar),
    }
}

/// Numbers per vector on this machine.
#[must_use]
pub fn lanes_at_once() -> usize {
    struct Count;
    impl OnVectors for Count {
        type Output = usize;
        #[inline(always)]
        fn run<T: Row>(self, _: T) -> usize {
            T::WIDTH
        }
    }
    on_vectors(Width::Widest, Count)
}

impl<S: Simd> Vector<S> {
    #[inline(always)]
    fn of(self, v: S::f64s) -> Self {
        Self { simd: self.simd, v }
    }

    #[inline(always)]
    fn mask(self, m: S::m64s) -> Mask<S> {
        Mask { simd: self.simd, m }
    }

    /// a + b self.
    #[inline(always)]
    fn line(self, a: f64, b: f64) -> Self {
        self.times_plus(self.splat(b), self.splat(a))
    }

    #[inline(always)]
    fn exponential<const FULL: bool>(self) -> Self {
        let s = self.simd;
        let shifted = self.times_plus(self.splat(std::f64::consts::LOG2_E), self.splat(MAGIC));
        let k = shifted - MAGIC;
        // a product-sum that is rounded once needs no second part of ln 2; rounded twice (vectors of one), its error
        // is at most 1e-13 for |self| up to 700
        let r = k.times_plus(self.splat(-std::f64::consts::LN_2), self);
        let r2 = r * r;
        let low = r2.times_plus(r.line(1.0 / 2.0, 1.0 / 6.0), r.line(1.0, 1.0));
        let middle = r2.times_plus(r.line(1.0 / 720.0, 1.0 / 5_040.0), r.line(1.0 / 24.0, 1.0 / 120.0));
        let r4 = r2 * r2;
        let high = if FULL {
            r2.times_plus(
                r.line(1.0 / 3_628_800.0, 1.0 / 39_916_800.0),
                r.line(1.0 / 40_320.0, 1.0 / 362_880.0),
            )
        } else {
            self.splat(1.0 / 40_320.0)
        };
        let p = r4.times_plus(r4.times_plus(high, middle), low);
        // the low bits of `shifted` are k: into the exponent
        let bits = s.mul_u64s(s.transmute_u64s_f64s(shifted.v), s.splat_u64s(1 << 52));
        self.of(s.transmute_f64s_u64s(s.add_u64s(bits, s.transmute_u64s_f64s(p.v))))
    }
}

impl<S: Simd> Row for Vector<S> {
    const WIDTH: usize = S::F64_LANES;

    #[inline(always)]
    fn load(self, row: &[f64]) -> Self {
        self.of(S::as_simd_f64s(&row[..S::F64_LANES]).0[0])
    }

    #[inline(always)]
    fn store(self, row: &mut [f64]) {
        S::as_mut_simd_f64s(&mut row[..S::F64_LANES]).0[0] = self.v;
    }

    #[inline(always)]
    fn exp(self) -> Self {
        self.exponential::<true>()
    }

    #[inline(always)]
    fn call<W: Task>(self, task: W) -> W::Output {
        outlined(self.simd, task)
    }
}

impl<S: Simd> Lane for Vector<S> {
    type Mask = Mask<S>;

    #[inline(always)]
    fn splat(self, value: f64) -> Self {
        self.of(self.simd.splat_f64s(value))
    }

    #[inline(always)]
    fn times_plus(self, by: Self, plus: Self) -> Self {
        self.of(self.simd.mul_add_e_f64s(self.v, by.v, plus.v))
    }

    // the reciprocal is computed once for all stages of a step
    #[inline(always)]
    fn divided_by(self, by: Self) -> Self {
        self * (self.splat(1.0) / by)
    }

    #[inline(always)]
    fn above(self, other: Self) -> Mask<S> {
        self.mask(self.simd.greater_than_f64s(self.v, other.v))
    }

    #[inline(always)]
    fn choose(mask: Mask<S>, yes: Self, no: Self) -> Self {
        yes.of(yes.simd.select_f64s(mask.m, yes.v, no.v))
    }

    #[inline(always)]
    fn abs(self) -> Self {
        // all bits but the sign; the crate's own `abs_f64s` and `neg_f64s` are not certain to be inlined
        self.of(self.simd.and_f64s(self.v, self.simd.splat_f64s(f64::from_bits(u64::MAX >> 1))))
    }

    #[inline(always)]
    fn greater(self, other: Self) -> Self {
        self.of(self.simd.max_f64s(self.v, other.v))
    }

    #[inline(always)]
    fn lesser(self, other: Self) -> Self {
        self.of(self.simd.min_f64s(self.v, other.v))
    }

    #[inline(always)]
    fn tanh_over(self, scale: Self) -> Self {
        let one = self.splat(1.0);
        let sign = Self::choose(self.above(self.splat(0.0)), one, -one);
        let acting = (scale * TANH_SATURATED).above(self.abs());
        if !acting.any() {
            return sign;
        }
        // lanes at ±1 take part with x = 0
        let acts = Self::choose(acting, self, self.splat(0.0));
        let per_scale = one / scale;
        let x = acts * per_scale;
        let q = x * x;
        let series = q.line(62.0 / 2_835.0, -1_382.0 / 155_925.0);
        let series = q.times_plus(q.times_plus(series, self.splat(-17.0 / 315.0)), self.splat(2.0 / 15.0));
        let mut tanh = (q * x).times_plus(q.times_plus(series, self.splat(-1.0 / 3.0)), x);
        let large = acts.abs().above(scale * TANH_SMALL);
        if large.any() {
            // 1 − 2/(e^2x + 1); each lane by its own argument, whatever the others are
            let e = (x + x).exponential::<false>();
            tanh = Self::choose(large, one - self.splat(2.0) / (e + 1.0), tanh);
        }
        Self::choose(acting, tanh, sign)
    }

    #[inline(always)]
    fn sigmoid_over(self, width: Self) -> Self {
        let one = self.splat(1.0);
        let saturated = Self::choose(self.above(self.splat(0.0)), one, self.splat(0.0));
        let per_width = one / width;
        let acting = (width * SATURATED).above(self.abs());
        if !acting.any() {
            return saturated;
        }
        let x = Self::choose(acting, self, self.splat(0.0)) * per_width;
        Self::choose(acting, one / ((-x).exponential::<false>() + 1.0), saturated)
    }

    // x = k π/2 + r with |r| ≤ π/4, the series of r, and the quadrant k
    #[inline(always)]
    fn sin_cos(self) -> (Self, Self) {
        let k = self * std::f64::consts::FRAC_2_PI + MAGIC - MAGIC;
        // the first part of π/2 has so few digits that its product with k is exact
        let r = k.times_plus(self.splat(-HALF_PI[1]), k.times_plus(self.splat(-HALF_PI[0]), self));
        let q = r * r;
        let (mut sin, mut cos) = (self.splat(0.0), self.splat(0.0));
        let mut n = SERIES.len();
        while n > 0 {
            n -= 1;
            sin = sin.times_plus(q, self.splat(SERIES[n][1]));
            cos = cos.times_plus(q, self.splat(SERIES[n][0]));
        }
        let sin = (sin * q).times_plus(r, r);
        let cos = cos.times_plus(q, self.splat(1.0));
        // 0 to 3
        let quadrant = (k * 0.25 - 0.375 + MAGIC - MAGIC).times_plus(self.splat(-4.0), k);
        let (one, half) = (self.splat(1.0), self.splat(0.5));
        let odd = half.above(((quadrant - 2.0).abs() - 1.0).abs());
        let (s, c) = (Self::choose(odd, cos, sin), Self::choose(odd, sin, cos));
        let s = Self::choose(quadrant.above(self.splat(1.5)), -s, s);
        (s, Self::choose(one.above((quadrant - 1.5).abs()), -c, c))
    }
}

impl<S: Simd> LaneMask for Mask<S> {
    #[inline(always)]
    fn any(self) -> bool {
        self.simd.first_true_m64s(self.m) < S::F64_LANES
    }
}

macro_rules! operators {
    ($($trait:ident $method:ident $op:ident;)*) => {$(
        impl<S: Simd> $trait for Vector<S> {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: Self) -> Self {
                self.of(self.simd.$op(self.v, other.v))
            }
        }
    )*};
}

operators! {
    Add add add_f64s;
    Sub sub sub_f64s;
    Mul mul mul_f64s;
    Div div div_f64s;
}

macro_rules! with_numbers {
    ($($trait:ident $method:ident;)*) => {$(
        impl<S: Simd> $trait<f64> for Vector<S> {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: f64) -> Self {
                $trait::$method(self, self.splat(other))
            }
        }
    )*};
}

with_numbers! {
    Add add;
    Sub sub;
    Mul mul;
}

impl<S: Simd> Neg for Vector<S> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        self.splat(-0.0) - self
    }
}

macro_rules! mask_operators {
    ($($trait:ident $method:ident $op:ident;)*) => {$(
        impl<S: Simd> $trait for Mask<S> {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: Self) -> Self {
                Self { simd: self.simd, m: self.simd.$op(self.m, other.m) }
            }
        }
    )*};
}

mask_operators! {
    BitAnd bitand and_m64s;
    BitOr bitor or_m64s;
    BitXor bitxor xor_m64s;
}

impl<S: Simd> Not for Mask<S> {
    type Output = Self;
    #[inline(always)]
    fn not(self) -> Self {
        let all = self.simd.equal_f64s(self.simd.splat_f64s(0.0), self.simd.splat_f64s(0.0));
        Self { simd: self.simd, m: self.simd.xor_m64s(all, self.m) }
    }
}
