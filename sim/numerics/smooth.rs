//! The smooth step that several laws share, and interpolation in a table.

use super::simd::Lane;

/// smoothstep(x) = x²(3 − 2x), x clamped to 0..1: once differentiable, kinks of second order at 0 and 1.
///
/// ```
/// use kneedamp::numerics::smooth::smoothstep;
/// assert_eq!(smoothstep(-1.0), 0.0);
/// assert_eq!(smoothstep(0.5), 0.5);
/// assert_eq!(smoothstep(2.0), 1.0);
/// ```
#[must_use]
#[inline]
pub fn smoothstep(x: f64) -> f64 {
    smooth_cubic(x.clamp(0.0, 1.0))
}

/// The middle branch of [`smoothstep`], continued beyond 0 and 1 without its kinks: the integration stays on
/// this branch until the event at its end has been found.
#[must_use]
#[inline(always)]
pub fn smooth_cubic<T: Lane>(x: T) -> T {
    x * x * (x.splat(3.0) - x * 2.0)
}

/// Linear interpolation in ascending `xs`, constant beyond both ends.
#[must_use]
pub fn interpolate(x: f64, xs: &[f64], ys: &[f64]) -> f64 {
    let last = xs.len() - 1;
    if x <= xs[0] {
        return ys[0];
    }
    if x >= xs[last] {
        return ys[last];
    }
    let i = xs.partition_point(|&v| v <= x).clamp(1, last);
    let f = (x - xs[i - 1]) / (xs[i] - xs[i - 1]);
    ys[i - 1] + f * (ys[i] - ys[i - 1])
}
