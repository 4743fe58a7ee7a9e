//! Sine and cosine of an angle that changes little from call to call.
//!
//! ```text
//! sin(a + d) = sin a cos d + cos a sin d      cos(a + d) = cos a cos d − sin a sin d
//! sin d = d − d³/6 + d⁵/120 − d⁷/5040         cos d = 1 − d²/2 + d⁴/24 − d⁶/720 + d⁸/40320
//! ```
//! a is an earlier angle whose sine and cosine the standard library computed; for |d| ≤ 1/16 the truncated
//! series are exact to 4e-17. Farther away the library computes them anew. So errors do not add up: every
//! result is one rotation from a library value, within 4e-16 of the exact one.

use crate::numerics::math;
use std::cell::Cell;

/// Greatest distance from the angle of the library, rad.
const FARTHEST: f64 = 0.0625;

/// Sine and cosine of the last angle that the library computed.
///
/// ```
/// use kneedamp::numerics::sin_cos_cache::SinCosCache;
/// let cache = SinCosCache::default();
/// for i in 0..1000 {
///     let x = 0.01 * f64::from(i);
///     let (sin, cos) = cache.sin_cos(x);
///     assert!((sin - x.sin()).abs() < 4e-16 && (cos - x.cos()).abs() < 4e-16);
/// }
/// ```
#[derive(Debug, Clone)]
pub struct SinCosCache(Cell<[f64; 3]>);

impl Default for SinCosCache {
    fn default() -> Self {
        Self(Cell::new([0.0, 0.0, 1.0]))
    }
}

impl SinCosCache {
    /// Sine and cosine of `x`, rad.
    #[must_use]
    #[inline(always)]
    pub fn sin_cos(&self, x: f64) -> (f64, f64) {
        let [a, sin, cos] = self.0.get();
        let d = x - a;
        if d.abs() <= FARTHEST {
            let u = d * d;
            let v = u * u;
            let sin_d = d * ((1.0 - u * (1.0 / 6.0)) + v * (1.0 / 120.0 - u * (1.0 / 5040.0)));
            // a small number, added to one near 1
            let cos_d_minus_1 = v * (1.0 / 24.0 - u * (1.0 / 720.0) + v * (1.0 / 40320.0)) - 0.5 * u;
            (sin + (sin * cos_d_minus_1 + cos * sin_d), cos + (cos * cos_d_minus_1 - sin * sin_d))
        } else {
            let (sin, cos) = math::sin_cos(x);
            self.0.set([x, sin, cos]);
            (sin, cos)
        }
    }
}
