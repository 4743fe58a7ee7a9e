//! The position of a setting at which a reading takes a wanted value. A scan over the range finds where the
//! reading passes it, for the ends alone may lie on one side of it; then false position with Illinois weights
//! (Dowell & Jarratt 1971, BIT 11:168, from memory).

use super::experiment::Stop;
use crate::numerics::statistics::rounded;

/// Found once the reading (° or ms) is this close.
pub const CLOSE: f64 = 0.01;
/// A bracket this narrow, points, is not narrowed any further.
const NARROW_PCT: f64 = 0.02;
/// Still this far off (° or ms) in a narrow bracket, the reading jumps over the wanted value.
const JUMPS: f64 = 0.5;
const MOST_TRIES: usize = 40;
/// Positions that are looked at first, points apart.
const SCAN_PCT: f64 = 10.0;

/// Position in percent, the nearest to `near` of those found; none if no position gives what is wanted.
///
/// # Errors
/// A reading that cannot be had.
pub fn match_position(
    read: impl Fn(f64) -> Result<f64, Stop>,
    wanted: f64,
    near: f64,
) -> Result<Option<f64>, Stop> {
    let off = |pct: f64| Ok::<f64, Stop>(read(pct)? - wanted);
    let scanned = (0..=10)
        .map(|i| SCAN_PCT * f64::from(i))
        .map(|pct| Ok((pct, off(pct)?)))
        .collect::<Result<Vec<_>, Stop>>()?;
    let mut found: Vec<f64> = Vec::new();
    for pair in scanned.windows(2) {
        let [a, b] = [pair[0], pair[1]];
        if a.1 * b.1 <= 0.0 {
            found.extend(between(&off, a, b)?);
        }
    }
    found.sort_by(|x, y| (x - near).abs().total_cmp(&(y - near).abs()));
    Ok(found.first().copied())
}

/// The position in a bracket, unless the reading jumps there.
fn between(
    off: &impl Fn(f64) -> Result<f64, Stop>,
    (mut a, mut fa): (f64, f64),
    (mut b, mut fb): (f64, f64),
) -> Result<Option<f64>, Stop> {
    if let Some((end, _)) = [(a, fa), (b, fb)].into_iter().find(|(_, f)| f.abs() < CLOSE) {
        return Ok(Some(end));
    }
    let mut kept = 0;
    for i in 0..MOST_TRIES {
        // now and then halve, so that a step in the reading does not stall it
        let by_slope = (a * fb - b * fa) / (fb - fa);
        let x = if i % 3 == 2 || !by_slope.is_finite() { 0.5 * (a + b) } else { by_slope.clamp(a, b) };
        let fx = off(x)?;
        if fx.abs() < CLOSE {
            return Ok(Some(x));
        }
        if b - a < NARROW_PCT {
            return Ok((fx.abs() < JUMPS).then_some(x));
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
    Ok(None)
}

/// As printed and typed in again.
#[must_use]
pub fn rounded_position(pct: f64) -> f64 {
    rounded(pct, 2)
}
