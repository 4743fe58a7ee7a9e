//! The confidence interval of a share.
//!
//! ```text
//! Wilson interval: (p + z²/2n ± z √(p(1 − p)/n + z²/4n²)) / (1 + z²/n),   p = k/n, z = 1.959964
//! ```
//! Wilson 1927, J Am Stat Assoc 22:209, doi 10.1080/01621459.1927.10502953. Checked in tests/studies/rules.rs.

/// Normal quantile of a two-sided interval of 95 %.
const Z_95: f64 = 1.959_963_984_540_054;

/// Wilson's interval of 95 % for `hits` of `tries`; all of 0..1 without tries.
///
/// ```
/// use kneedamp::numerics::intervals::wilson_95;
/// let (low, high) = wilson_95(8, 10);
/// assert!((low - 0.4902).abs() < 1e-4 && (high - 0.9433).abs() < 1e-4);
/// ```
#[must_use]
pub fn wilson_95(hits: usize, tries: usize) -> (f64, f64) {
    if tries == 0 {
        return (0.0, 1.0);
    }
    let (k, n) = (hits as f64, tries as f64);
    let p = k / n;
    let z2 = Z_95 * Z_95;
    let centre = p + 0.5 * z2 / n;
    let half = Z_95 * (p * (1.0 - p) / n + 0.25 * z2 / (n * n)).sqrt();
    // exactly 0 and 1 at the ends, which rounding would miss
    let low = if hits == 0 { 0.0 } else { (centre - half) / (1.0 + z2 / n) };
    let high = if hits == tries { 1.0 } else { (centre + half) / (1.0 + z2 / n) };
    (low, high)
}
