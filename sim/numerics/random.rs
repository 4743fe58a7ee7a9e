//! Random numbers: a stream for each sample, and numbers that depend on seed, index and name alone.
//!
//! Every sample has a stream of its own (ChaCha8, the same on every machine), so results depend neither on
//! the number of threads nor on which other samples are drawn.

use rand::rngs::ChaCha8Rng;
use rand::{Rng, SeedableRng};

/// Random numbers of one sample.
///
/// ```
/// use kneedamp::numerics::random::Draw;
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
        unit(self.0.next_u64())
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

/// Uniform in [0, 1), by seed, number and name alone.
#[must_use]
pub fn uniform(seed: u64, n: u64, name: &str) -> f64 {
    unit(split_mix(split_mix(split_mix(seed) ^ n) ^ hash(name.as_bytes())))
}

/// Random bits as a number in [0, 1): the upper 53, as many as a double holds.
#[must_use]
pub fn unit(bits: u64) -> f64 {
    (bits >> 11) as f64 / (1_u64 << 53) as f64
}

/// Distance between consecutive states of SplitMix64.
pub const SPLIT_MIX_STEP: u64 = 0x9E37_79B9_7F4A_7C15;

/// The output of SplitMix64 (Steele, Lea & Flood 2014) that follows state `x`.
#[must_use]
pub fn split_mix(x: u64) -> u64 {
    let z = x.wrapping_add(SPLIT_MIX_STEP);
    let z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    let z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

/// FNV-1a, 64 bits: for names and for telling requests apart; not against an adversary.
#[must_use]
pub fn hash(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |h, &b| (h ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3))
}
