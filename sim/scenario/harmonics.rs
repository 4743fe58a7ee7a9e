//! Fourier series over the stride, evaluated with all their harmonics at one instant.

use serde::{Deserialize, Serialize};

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
pub(super) struct Basis {
    pub cos: [f64; MOST_HARMONICS],
    pub sin: [f64; MOST_HARMONICS],
}

impl Basis {
    #[inline(always)]
    pub fn of((s1, c1): (f64, f64), count: usize) -> Self {
        let (mut cos, mut sin) = ([0.0; MOST_HARMONICS], [0.0; MOST_HARMONICS]);
        let rotated =
            |(c, s): (f64, f64), (c_by, s_by): (f64, f64)| (c * c_by - s * s_by, s * c_by + c * s_by);
        let second = rotated((c1, s1), (c1, s1));
        let first = [(c1, s1), second, rotated((c1, s1), second), rotated(second, second)];
        for (k, (c, s)) in first.into_iter().enumerate() {
            (cos[k], sin[k]) = (c, s);
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
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Series {
    pub mean: f64,
    /// Number of harmonics given.
    pub count: usize,
    pub cos: [f64; MOST_HARMONICS],
    pub sin: [f64; MOST_HARMONICS],
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

    #[inline(always)]
    pub fn value(&self, basis: &Basis) -> f64 {
        let mut sum = [0.0; BLOCK];
        for block in 0..blocks(self.count) {
            for (lane, sum) in sum.iter_mut().enumerate() {
                let k = BLOCK * block + lane;
                *sum += self.cos[k] * basis.cos[k] + self.sin[k] * basis.sin[k];
            }
        }
        self.mean + sum.iter().sum::<f64>()
    }

    /// Value, first and second derivative by time; `w` is 2π/T.
    #[inline(always)]
    pub fn derivatives(&self, basis: &Basis, w: f64) -> [f64; 3] {
        let [mut value, mut rate, mut acc] = [[0.0; BLOCK]; 3];
        for block in 0..blocks(self.count) {
            for lane in 0..BLOCK {
                let k = BLOCK * block + lane;
                let (c, s, cos, sin) = (self.cos[k], self.sin[k], basis.cos[k], basis.sin[k]);
                let y = c * cos + s * sin;
                value[lane] += y;
                rate[lane] += ORDERS[k] * (s * cos - c * sin);
                acc[lane] += ORDERS[k] * ORDERS[k] * y;
            }
        }
        let sum = |lanes: [f64; BLOCK]| (lanes[0] + lanes[1]) + (lanes[2] + lanes[3]);
        [self.mean + sum(value), w * sum(rate), -w * w * sum(acc)]
    }
}
