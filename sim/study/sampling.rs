//! Random numbers that belong to a sample, and what is said of a share and of a set of numbers.
//!
//! ```text
//! Wilson interval: (p + z²/2n ± z √(p(1 − p)/n + z²/4n²)) / (1 + z²/n),   p = k/n, z = 1.959964
//! ```
//! Wilson 1927, J Am Stat Assoc 22:209, doi 10.1080/01621459.1927.10502953. Every sample has a stream of
//! its own (ChaCha8, the same on every machine), so results depend neither on the number of threads nor on
//! which other samples are drawn. Checked in tests/studies/rules.rs.

use rand::rngs::ChaCha8Rng;
use rand::{Rng, SeedableRng};

/// Normal quantile of a two-sided interval of 95 %.
const Z_95: f64 = 1.959_963_984_540_054;

/// Random numbers of one sample.
///
/// ```
/// use kneedamp::study::sampling::Draw;
/// let (mut a, mut b) = (Draw::new(1, 7), Draw::new(1, 7));
/// assert_eq!(a.within(2.0, 3.0), b.within(2.0, 3.0));
/// assert!(Draw::new(1, 8).unit() != Draw::new(1, 7).unit());
/// ```
#[derive(Debug)]
pub struct Draw(ChaCha8Rng);

impl Draw {
    /// The stream of a sample.
    #[must_use]
    pub fn new(seed: u64, sample: u64) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream(sample);
        Self(rng)
    }

    /// Uniform in 0..1, on a grid of 2⁻⁵³.
    pub fn unit(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 * (0.5_f64).powi(53)
    }

    /// Uniform in `low`..`high`.
    pub fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// One of 0..`count`, all equally likely (to 1 in 2⁵³/count).
    pub fn index(&mut self, count: usize) -> usize {
        ((self.unit() * count as f64) as usize).min(count.saturating_sub(1))
    }
}

/// Rounded to so many decimals, so that what is printed is what was run.
#[must_use]
pub fn rounded(v: f64, decimals: usize) -> f64 {
    // through the text, which is what a reader types back
    format!("{v:.decimals$}").parse().unwrap_or(v)
}

/// Wilson's interval of 95 % for `hits` of `tries`; all of 0..1 without tries.
///
/// ```
/// use kneedamp::study::sampling::wilson_95;
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

/// The `share` quantile of ascending numbers, linear between neighbours; `None` without numbers.
#[must_use]
pub fn quantile(ascending: &[f64], share: f64) -> Option<f64> {
    let last = ascending.len().checked_sub(1)?;
    let at = share.clamp(0.0, 1.0) * last as f64;
    let below = (at.floor() as usize).min(last);
    let above = (below + 1).min(last);
    Some(ascending[below] + (at - below as f64) * (ascending[above] - ascending[below]))
}

/// Median; `None` without numbers.
#[must_use]
pub fn median(mut numbers: Vec<f64>) -> Option<f64> {
    numbers.sort_by(f64::total_cmp);
    quantile(&numbers, 0.5)
}
