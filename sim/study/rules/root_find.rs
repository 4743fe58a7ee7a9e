//! The position of a setting at which a measure takes a target value. A scan over the range finds where the
//! measure passes it, for both ends may lie on the same side of it; then false position with Illinois weights
//! (Dowell & Jarratt 1971, BIT 11:168, from memory).

use super::evidence::Abort;
use crate::numerics::statistics::rounded;

/// Found once the measure (° or ms) is this close.
pub const TOLERANCE: f64 = 0.01;
/// A bracket this narrow, points, is not narrowed any further.
const NARROW_PCT: f64 = 0.02;
/// A measure still this far off (° or ms) in a narrow bracket jumps over the target.
const JUMP: f64 = 0.5;
const MAX_ITERATIONS: usize = 40;
/// Distance of the positions scanned first, points.
const SCAN_PCT: f64 = 10.0;

/// Position in percent, the nearest to `near` of those found; none if no position gives the target.
///
/// # Errors
/// A run that gives no value.
pub fn match_position(
    measure: impl Fn(f64) -> Result<f64, Abort>,
    target: f64,
    near: f64,
) -> Result<Option<f64>, Abort> {
    let off = |pct: f64| Ok::<f64, Abort>(measure(pct)? - target);
    let scanned = (0..=10)
        .map(|i| SCAN_PCT * f64::from(i))
        .map(|pct| Ok((pct, off(pct)?)))
        .collect::<Result<Vec<_>, Abort>>()?;
    let mut found: Vec<f64> = Vec::new();
    for pair in scanned.windows(2) {
        let [a, b] = [pair[0], pair[1]];
        if a.1 * b.1 <= 0.0 {
            found.extend(false_position(&off, a, b)?);
        }
    }
    found.sort_by(|x, y| (x - near).abs().total_cmp(&(y - near).abs()));
    Ok(found.first().copied())
}

/// The position in a bracket, unless the measure jumps there.
fn false_position(
    off: &impl Fn(f64) -> Result<f64, Abort>,
    (mut a, mut fa): (f64, f64),
    (mut b, mut fb): (f64, f64),
) -> Result<Option<f64>, Abort> {
    if let Some((end, _)) = [(a, fa), (b, fb)].into_iter().find(|(_, f)| f.abs() < TOLERANCE) {
        return Ok(Some(end));
    }
    let mut kept = 0;
    for i in 0..MAX_ITERATIONS {
        // bisect now and then, so that a step in the measure does not stall it
        let by_slope = (a * fb - b * fa) / (fb - fa);
        let x = if i % 3 == 2 || !by_slope.is_finite() { 0.5 * (a + b) } else { by_slope.clamp(a, b) };
        let fx = off(x)?;
        if fx.abs() < TOLERANCE {
            return Ok(Some(x));
        }
        if b - a < NARROW_PCT {
            return Ok((fx.abs() < JUMP).then_some(x));
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

/// Rounded as it is printed, so that the printed command gives the same run.
#[must_use]
pub fn rounded_position(pct: f64) -> f64 {
    rounded(pct, 2)
}
