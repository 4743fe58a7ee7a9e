//! Fourier series over the stride, evaluated with all their harmonics at one instant.

use serde::{Deserialize, Serialize};

use crate::numerics::lanes::Lanes;
use crate::numerics::simd::Lane;
use crate::numerics::vector::Row;

/// Fourier coefficients of one signal over the stride.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Harmonics {
    /// Mean.
    pub mean: f64,
    /// Cosine coefficients, k = 1, 2, ...
    pub cos: Vec<f64>,
    /// Sine coefficients, k = 1, 2, ...
    pub sin: Vec<f64>,
}

/// Harmonics a series may have.
pub(super) const MOST_HARMONICS: usize = 12;

/// Harmonics are summed in blocks of so many.
const BLOCK: usize = 4;

/// 1, 2, ... 12: factor of the derivative of harmonic k.
pub(super) const ORDERS: [f64; MOST_HARMONICS] =
    [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0];

/// cos kx and sin kx for k = 1, 2, ... from sin x and cos x, by the angle-sum formulas: up to 4 by
/// doubling, then each block of 4 from the first; the error stays below 1e-14 for 12 harmonics.
#[derive(Clone, Copy)]
pub(super) struct Basis<T = f64> {
    pub cos: [T; MOST_HARMONICS],
    pub sin: [T; MOST_HARMONICS],
}

/// cos and sin of the sum of two angles.
#[inline(always)]
fn rotated<T: Lane>((c, s): (T, T), (c_by, s_by): (T, T)) -> (T, T) {
    (c * c_by - s * s_by, s * c_by + c * s_by)
}

impl<T: Lane> Basis<T> {
    #[inline(always)]
    pub fn of((s1, c1): (T, T), count: usize) -> Self {
        let zero = s1.splat(0.0);
        let (mut cos, mut sin) = ([zero; MOST_HARMONICS], [zero; MOST_HARMONICS]);
        let second = rotated((c1, s1), (c1, s1));
        let first = [(c1, s1), second, rotated((c1, s1), second), rotated(second, second)];
        for k in 0..BLOCK {
            (cos[k], sin[k]) = first[k];
        }
        for block in 1..blocks(count) {
            let by = (cos[BLOCK * block - 1], sin[BLOCK * block - 1]);
            for k in 0..BLOCK {
                (cos[BLOCK * block + k], sin[BLOCK * block + k]) = rotated(first[k], by);
            }
        }
        Self { cos, sin }
    }
}

#[inline]
fn blocks(count: usize) -> usize {
    count.min(MOST_HARMONICS).div_ceil(BLOCK)
}

/// A Fourier series in SI units, padded with harmonics of 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Series<T = f64> {
    pub mean: T,
    /// Number of harmonics given.
    pub count: usize,
    pub cos: [T; MOST_HARMONICS],
    pub sin: [T; MOST_HARMONICS],
}

impl Series {
    pub fn between(lower: &Harmonics, upper: &Harmonics, f: f64, unit: f64, scale: f64) -> Self {
        let mix = |a: f64, b: f64| (a + f * (b - a)) * unit;
        let count = lower.cos.len().min(MOST_HARMONICS);
        let (mut cos, mut sin) = ([0.0; MOST_HARMONICS], [0.0; MOST_HARMONICS]);
        for k in 0..count {
            cos[k] = mix(lower.cos[k], upper.cos[k]) * scale;
            sin[k] = mix(lower.sin[k], upper.sin[k]) * scale;
        }
        Self { mean: mix(lower.mean, upper.mean), count, cos, sin }
    }

    /// Number of rows in which lanes keep it.
    pub const ROWS: usize = 1 + 2 * MOST_HARMONICS;

    /// Into one lane of the rows from `first` on; returns the row behind them.
    pub fn put(&self, rows: &mut [Lanes], first: usize, lane: usize) -> usize {
        let numbers = std::iter::once(&self.mean).chain(&self.cos).chain(&self.sin);
        rows[first..].iter_mut().zip(numbers).for_each(|(row, number)| row.0[lane] = *number);
        first + Self::ROWS
    }
}

impl<T: Row> Series<T> {
    /// From the rows from `row` on, which is moved behind them.
    #[inline(always)]
    pub fn get(zero: T, count: usize, rows: &[Lanes], row: &mut usize) -> Self {
        let mut series = Self {
            mean: zero.load(&rows[*row].0),
            count,
            cos: [zero; MOST_HARMONICS],
            sin: [zero; MOST_HARMONICS],
        };
        for k in 0..MOST_HARMONICS {
            series.cos[k] = zero.load(&rows[*row + 1 + k].0);
            series.sin[k] = zero.load(&rows[*row + 1 + MOST_HARMONICS + k].0);
        }
        *row += Series::ROWS;
        series
    }
}

impl<T: Lane> Series<T> {
    #[inline(always)]
    #[allow(clippy::needless_range_loop)] // no closures on vectors
    pub fn value(&self, basis: &Basis<T>) -> T {
        let mut sum = [self.mean.splat(0.0); BLOCK];
        for block in 0..blocks(self.count) {
            for lane in 0..BLOCK {
                let k = BLOCK * block + lane;
                sum[lane] = sum[lane] + (self.cos[k] * basis.cos[k] + self.sin[k] * basis.sin[k]);
            }
        }
        self.mean + (((sum[0] + sum[1]) + sum[2]) + sum[3])
    }

    /// Value, first and second derivative by time; `w` is 2π/T.
    #[inline(always)]
    pub fn derivatives(&self, basis: &Basis<T>, w: T) -> [T; 3] {
        let zero = w.splat(0.0);
        let [mut value, mut rate, mut acc] = [[zero; BLOCK]; 3];
        for block in 0..blocks(self.count) {
            for lane in 0..BLOCK {
                let k = BLOCK * block + lane;
                let (c, s, cos, sin) = (self.cos[k], self.sin[k], basis.cos[k], basis.sin[k]);
                let y = c * cos + s * sin;
                value[lane] = value[lane] + y;
                rate[lane] = rate[lane] + (s * cos - c * sin) * ORDERS[k];
                acc[lane] = acc[lane] + y * (ORDERS[k] * ORDERS[k]);
            }
        }
        [self.mean + sum(value), w * sum(rate), -w * w * sum(acc)]
    }
}

#[inline(always)]
fn sum<T: Lane>(lanes: [T; BLOCK]) -> T {
    (lanes[0] + lanes[1]) + (lanes[2] + lanes[3])
}
