//! The position of a setting at which a reading takes a wanted value: false position with Illinois weights
//! (Dowell & Jarratt 1971, BIT 11:168, from memory), for readings that go one way with the setting.

use super::trying::Stop;
use crate::study::sampling::rounded;

/// Found once the reading (° or ms) is this close, or the bracket this narrow, points.
const CLOSE: f64 = 0.01;
const NARROW_PCT: f64 = 0.02;
const MOST_TRIES: usize = 40;

/// Position in percent, or none if both ends of the range lie on one side of `wanted`.
pub(super) fn match_position(
    read: impl Fn(f64) -> Result<f64, Stop>,
    wanted: f64,
) -> Result<Option<f64>, Stop> {
    let off = |pct: f64| Ok::<f64, Stop>(read(pct)? - wanted);
    let (mut a, mut b) = (0.0, 100.0);
    let (mut fa, mut fb) = (off(a)?, off(b)?);
    if fa * fb > 0.0 {
        return Ok(None);
    }
    let mut kept = 0;
    for i in 0..MOST_TRIES {
        // now and then halve, so that a step in the reading does not stall it
        let by_slope = (a * fb - b * fa) / (fb - fa);
        let x = if i % 3 == 2 || !by_slope.is_finite() { 0.5 * (a + b) } else { by_slope.clamp(a, b) };
        let fx = off(x)?;
        if fx.abs() < CLOSE || b - a < NARROW_PCT {
            return Ok(Some(x));
        }
        if fa * fx < 0.0 {
            (b, fb) = (x, fx);
            if kept == 1 {
                fa *= 0.5;
            }
            kept = 1;
        } else {
            (a, fa) = (x, fx);
            if kept == 2 {
                fb *= 0.5;
            }
            kept = 2;
        }
    }
    Ok(Some(0.5 * (a + b)))
}

/// As printed and typed in again.
pub(super) fn rounded_position(pct: f64) -> f64 {
    rounded(pct, 2)
}
