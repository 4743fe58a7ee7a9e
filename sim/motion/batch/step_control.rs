//! Step size after a step whose error is too great.

use crate::numerics::simd::Lane;

/// Error of a step in tolerances, and the share of the step to try next: the fifth root, rounded to steps of √2.
pub const SHORTER: [(f64, f64); 6] =
    [(1.0, 0.7), (5.0, 0.5), (30.0, 0.35), (180.0, 0.25), (1_000.0, 0.18), (6_000.0, 0.125)];

/// Share of a step to try next when its error is `error` tolerances.
#[inline(always)]
pub fn shorter<T: Lane>(error: T) -> T {
    let mut share = error.splat(SHORTER[0].1);
    for (limit, to) in SHORTER {
        share = T::choose(error.above(error.splat(limit)), error.splat(to), share);
    }
    share
}
