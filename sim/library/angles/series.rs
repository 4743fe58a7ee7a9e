//! Curves over one stride as Fourier series of the stride fraction.
//!
//! ```text
//! y(p) = mean + Σ cₖ cos 2πkp + sₖ sin 2πkp
//! ```
//! A measured curve does not end exactly where it began. The gap is taken out as a ramp over the whole
//! stride before the series is fitted.

use crate::numerics::math;
use std::f64::consts::TAU;

use crate::scenario::Harmonics;

/// Intervals of a curve in whole percent of the stride.
pub const PERCENT: usize = 100;

/// The first `count` harmonics of a curve whose points lie evenly from 0 to 100 % of the stride.
/// Harmonics that so few points cannot carry are 0.
#[must_use]
pub fn fit(y: &[f64], count: usize) -> Harmonics {
    let n = y.len().saturating_sub(1).max(1);
    let gap = y[n.min(y.len() - 1)] - y[0];
    let closed: Vec<f64> = (0..n).map(|i| y[i] - gap * i as f64 / n as f64).collect();
    let mut h = Harmonics {
        mean: closed.iter().sum::<f64>() / n as f64,
        cos: vec![0.0; count],
        sin: vec![0.0; count],
    };
    for k in 1..=count.min(n / 2) {
        // the highest harmonic that the points carry counts once
        let weight = if 2 * k == n { 1.0 } else { 2.0 } / n as f64;
        for (i, y) in closed.iter().enumerate() {
            // k·i mod n keeps the angle, and with it its rounding, small
            let (sin, cos) = math::sin_cos(TAU * ((k * i) % n) as f64 / n as f64);
            h.cos[k - 1] += weight * y * cos;
            h.sin[k - 1] += weight * y * sin;
        }
    }
    h
}

/// A series through all points of a curve but for its ramp.
#[must_use]
pub fn through(y: &[f64]) -> Harmonics {
    fit(y, y.len().saturating_sub(1) / 2)
}

/// Value of a series at stride fraction `p`.
#[must_use]
pub fn value(h: &Harmonics, p: f64) -> f64 {
    let terms = h.cos.iter().zip(&h.sin).enumerate().map(|(i, (c, s))| {
        let (sin, cos) = math::sin_cos(TAU * (i + 1) as f64 * p);
        c * cos + s * sin
    });
    h.mean + terms.sum::<f64>()
}

/// Derivative of a series by the stride fraction.
#[must_use]
pub fn rate(h: &Harmonics, p: f64) -> f64 {
    let terms = h.cos.iter().zip(&h.sin).enumerate().map(|(i, (c, s))| {
        let k = TAU * (i + 1) as f64;
        let (sin, cos) = math::sin_cos(k * p);
        k * (s * cos - c * sin)
    });
    terms.sum()
}

/// Second derivative of a series by the stride fraction, as a series.
#[must_use]
pub fn second_derivative(h: &Harmonics) -> Harmonics {
    let scaled = |a: &[f64]| a.iter().enumerate().map(|(i, a)| -(TAU * (i + 1) as f64).powi(2) * a).collect();
    Harmonics { mean: 0.0, cos: scaled(&h.cos), sin: scaled(&h.sin) }
}

/// A series times a factor.
#[must_use]
pub fn scaled(h: &Harmonics, by: f64) -> Harmonics {
    let scale = |a: &[f64]| a.iter().map(|a| a * by).collect();
    Harmonics { mean: h.mean * by, cos: scale(&h.cos), sin: scale(&h.sin) }
}

/// Mean of several series of one length.
#[must_use]
pub fn mean(all: &[Harmonics]) -> Harmonics {
    let n = all.len() as f64;
    let column = |get: fn(&Harmonics) -> &Vec<f64>, k: usize| all.iter().map(|h| get(h)[k]).sum::<f64>() / n;
    let count = all.first().map_or(0, |h| h.cos.len());
    Harmonics {
        mean: all.iter().map(|h| h.mean).sum::<f64>() / n,
        cos: (0..count).map(|k| column(|h| &h.cos, k)).collect(),
        sin: (0..count).map(|k| column(|h| &h.sin, k)).collect(),
    }
}

/// A curve of any number of evenly spaced points at whole percents of the stride: the trigonometric
/// series through its points, its ramp kept.
#[must_use]
pub fn in_percent(y: &[f64]) -> Vec<f64> {
    if y.len() == PERCENT + 1 {
        return y.to_vec();
    }
    let (series, gap) = (through(y), y[y.len() - 1] - y[0]);
    (0..=PERCENT).map(|i| i as f64 / PERCENT as f64).map(|p| value(&series, p) + gap * p).collect()
}

/// A percent curve as its first `count` harmonics show it.
#[must_use]
pub fn smoothed(y: &[f64], count: usize) -> Vec<f64> {
    let series = fit(y, count);
    (0..=PERCENT).map(|i| value(&series, i as f64 / PERCENT as f64)).collect()
}
