//! Numbers that count the operations on them: how many a stride needs, for the comparison with the machine's peak
//! (`cargo bench --bench batch --features count`).
//!
//! The kernel runs on one such number at a time. Unlike on vectors no lane waits for another, and a stride takes every
//! longer step that it can, so the count is what the strides themselves need. Operations that the compiler removes
//! are counted. Exponentials count as the operations of `Vector::exp`; [`Lane::splat`] counts nothing, and
//! [`Lane::divided_by`] as a product, because the compiler keeps the reciprocal over a step.

use crate::numerics::math;
use std::cell::Cell;
use std::ops::{Add, Div, Mul, Neg, Sub};

use super::block::{BlockRun, Scratch};
use super::member::Member;
use super::outcomes::StrideOutcomes;
use super::run::Batch;
use super::storage::BLOCK;
use super::vector::{Row, SATURATED, TANH_SATURATED, TANH_SMALL, Task};
use crate::numerics::simd::Lane;

/// Operations, by kind.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Operations {
    /// a b + c.
    pub product_sums: u64,
    /// Sums, differences and products.
    pub sums_and_products: u64,
    /// Quotients.
    pub quotients: u64,
    /// Comparisons, choices, signs and magnitudes.
    pub choices: u64,
}

thread_local! {
    static DONE: Cell<Operations> = const { Cell::new(Operations {
        product_sums: 0, sums_and_products: 0, quotients: 0, choices: 0,
    }) };
}

#[inline(always)]
fn count(add: impl Fn(&mut Operations)) {
    DONE.with(|done| {
        let mut all = done.get();
        add(&mut all);
        done.set(all);
    });
}

/// A number that counts the operations on it.
#[derive(Debug, Clone, Copy)]
struct Counted(f64);

/// Counts an exponential of [`super::vector`]: 14 product-sums, or 10 for the shorter one, 3 sums and products, 2
/// operations on whole numbers.
fn exponential(full: bool) {
    count(|n| {
        n.product_sums += if full { 14 } else { 10 };
        n.sums_and_products += 3;
        n.choices += 2;
    });
}

macro_rules! operators {
    ($($trait:ident $method:ident $kind:ident;)*) => {$(
        impl $trait for Counted {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: Self) -> Self {
                count(|n| n.$kind += 1);
                Self($trait::$method(self.0, other.0))
            }
        }
    )*};
}

operators! {
    Add add sums_and_products;
    Sub sub sums_and_products;
    Mul mul sums_and_products;
    Div div quotients;
}

macro_rules! with_numbers {
    ($($trait:ident $method:ident;)*) => {$(
        impl $trait<f64> for Counted {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: f64) -> Self {
                $trait::$method(self, Self(other))
            }
        }
    )*};
}

with_numbers! {
    Add add;
    Sub sub;
    Mul mul;
}

impl Neg for Counted {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        count(|n| n.choices += 1);
        Self(-self.0)
    }
}

impl Row for Counted {
    const WIDTH: usize = 1;

    #[inline(always)]
    fn load(self, row: &[f64]) -> Self {
        Self(row[0])
    }

    #[inline(always)]
    fn store(self, row: &mut [f64]) {
        row[0] = self.0;
    }

    #[inline(always)]
    fn exp(self) -> Self {
        exponential(true);
        Self(math::exp(self.0))
    }

    #[inline(always)]
    fn call<W: Task>(self, task: W) -> W::Output {
        task.run()
    }
}

impl Lane for Counted {
    type Mask = bool;

    #[inline(always)]
    fn splat(self, value: f64) -> Self {
        Self(value)
    }

    #[inline(always)]
    fn times_plus(self, by: Self, plus: Self) -> Self {
        count(|n| n.product_sums += 1);
        Self(self.0.mul_add(by.0, plus.0))
    }

    #[inline(always)]
    fn divided_by(self, by: Self) -> Self {
        count(|n| n.sums_and_products += 1);
        Self(self.0 / by.0)
    }

    #[inline(always)]
    fn above(self, other: Self) -> bool {
        count(|n| n.choices += 1);
        self.0 > other.0
    }

    #[inline(always)]
    fn choose(mask: bool, yes: Self, no: Self) -> Self {
        count(|n| n.choices += 1);
        if mask { yes } else { no }
    }

    #[inline(always)]
    fn abs(self) -> Self {
        count(|n| n.choices += 1);
        Self(self.0.abs())
    }

    #[inline(always)]
    fn greater(self, other: Self) -> Self {
        count(|n| n.choices += 1);
        Self(self.0.max(other.0))
    }

    #[inline(always)]
    fn lesser(self, other: Self) -> Self {
        count(|n| n.choices += 1);
        Self(self.0.min(other.0))
    }

    #[inline(always)]
    fn tanh_over(self, scale: Self) -> Self {
        let acting = (scale * TANH_SATURATED).above(self.abs());
        let sign = Self::choose(self.above(Self(0.0)), Self(1.0), Self(-1.0));
        if !acting {
            return sign;
        }
        if self.abs().above(scale * TANH_SMALL) {
            exponential(false);
            count(|n| {
                n.quotients += 1;
                n.sums_and_products += 3;
            });
        } else {
            count(|n| {
                n.product_sums += 5;
                n.sums_and_products += 3;
            });
        }
        Self(math::tanh(self.0 / scale.0))
    }

    #[inline(always)]
    fn sigmoid_over(self, width: Self) -> Self {
        let acting = (width * SATURATED).above(self.abs());
        if !acting {
            return Self::choose(self.above(Self(0.0)), Self(1.0), Self(0.0));
        }
        exponential(false);
        count(|n| {
            n.quotients += 1;
            n.sums_and_products += 2;
        });
        Self(self.0.sigmoid_over(width.0))
    }
}

impl Batch {
    /// Operations that strides need, all together, and the outcomes of the counting run, in order.
    #[must_use]
    pub fn operations(&self, members: &[Member]) -> (Operations, Vec<Option<StrideOutcomes>>) {
        use super::vector::OnVectors;
        DONE.with(|done| done.set(Operations::default()));
        let mut scratch = Scratch::new();
        let mut outcomes = vec![None; members.len()];
        for (members, outcomes) in members.chunks(BLOCK).zip(outcomes.chunks_mut(BLOCK)) {
            let groups = self.fill(&mut scratch, members);
            let (table, accuracy) = (&self.table, &self.accuracy);
            BlockRun { table, accuracy, scratch: &mut scratch, groups }.run(Counted(0.0));
            scratch.outcomes(outcomes);
        }
        (DONE.with(Cell::get), outcomes)
    }
}
