//! Sines, exponentials and their kin: those of the crate `libm`, which have the same bits on every platform and in
//! WebAssembly. Those of the standard library are the operating system's, and differ in last digits.
//!
//! Everything that an outcome depends on takes these, but for the vectors of a batch (`sim/numerics/simd.rs`).
//! tests/house/words.rs keeps the others out.

/// sin x, x in rad.
#[must_use]
pub fn sin(x: f64) -> f64 {
    libm::sin(x)
}

/// cos x, x in rad.
#[must_use]
pub fn cos(x: f64) -> f64 {
    libm::cos(x)
}

/// sin x and cos x, x in rad.
#[must_use]
pub fn sin_cos(x: f64) -> (f64, f64) {
    libm::sincos(x)
}

/// tan x, x in rad.
#[must_use]
pub fn tan(x: f64) -> f64 {
    libm::tan(x)
}

/// The angle whose sine is x, rad.
#[must_use]
pub fn asin(x: f64) -> f64 {
    libm::asin(x)
}

/// The angle whose cosine is x, rad.
#[must_use]
pub fn acos(x: f64) -> f64 {
    libm::acos(x)
}

/// The angle of the point (x, y), rad.
#[must_use]
pub fn atan2(y: f64, x: f64) -> f64 {
    libm::atan2(y, x)
}

/// √(x² + y²).
#[must_use]
pub fn hypot(x: f64, y: f64) -> f64 {
    libm::hypot(x, y)
}

/// eˣ, to two units of its last digit for |x| ≤ 700 and as `libm` has it beyond: friction and valve ask for it at every step, and
/// that of `libm` made studies a third slower. e^(k ln 2 + r) with |r| ≤ ½ ln 2 is 2^k times the series of e^r.
///
/// ```
/// use kneedamp::numerics::math::exp;
/// assert_eq!(exp(0.0), 1.0);
/// assert!((exp(1.0) / std::f64::consts::E - 1.0).abs() < 4.5e-16);
/// ```
#[must_use]
#[inline]
pub fn exp(x: f64) -> f64 {
    // 1.5·2^52: adding it rounds to a whole number
    const MAGIC: f64 = 6_755_399_441_055_744.0;
    // the upper 32 bits of ln 2, so that their product with k is exact; and the rest
    const LN_2_HIGH: f64 = 0.693_147_180_369_123_8;
    const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;
    if x.is_nan() || x.abs() > 700.0 {
        return libm::exp(x);
    }
    let shifted = x * std::f64::consts::LOG2_E + MAGIC;
    let k = shifted - MAGIC;
    let r = (x - k * LN_2_HIGH) - k * LN_2_LOW;
    let (r2, r4) = (r * r, r * r * r * r);
    let middle = (1.0 / 6.0 + r * (1.0 / 24.0)) + r2 * (1.0 / 120.0 + r * (1.0 / 720.0));
    let high = (1.0 / 5_040.0 + r * (1.0 / 40_320.0)) + r2 * (1.0 / 362_880.0 + r * (1.0 / 3_628_800.0));
    let highest = 1.0 / 39_916_800.0 + r * (1.0 / 479_001_600.0);
    // the small terms first
    let above = r2 * (0.5 + r * (middle + r4 * (high + r4 * highest)));
    let p = 1.0 + (r + above);
    // the low bits of `shifted` are k: into the exponent
    f64::from_bits((shifted.to_bits() << 52).wrapping_add(p.to_bits()))
}

/// Natural logarithm.
#[must_use]
pub fn ln(x: f64) -> f64 {
    libm::log(x)
}

/// Logarithm to base 2.
#[must_use]
pub fn log2(x: f64) -> f64 {
    libm::log2(x)
}

/// Logarithm to base 10.
#[must_use]
pub fn log10(x: f64) -> f64 {
    libm::log10(x)
}

/// xʸ.
#[must_use]
pub fn powf(x: f64, y: f64) -> f64 {
    libm::pow(x, y)
}

/// tanh x.
#[must_use]
pub fn tanh(x: f64) -> f64 {
    libm::tanh(x)
}
