//! What no leg does: a motion beyond these bounds says that the model does not hold for its inputs.

use std::f64::consts::PI;

use crate::error::SimError;
use crate::numerics::hybrid::Trajectory;
use crate::units::DEG;

/// Greatest knee angle, rad: half a turn.
pub const MOST_ANGLE_RAD: f64 = PI;
/// Greatest angle of a loaded shank from upright, rad: it lies on the ground.
pub const MOST_SHANK_RAD: f64 = 0.5 * PI;
/// Greatest ground load, share of body weight. \[J\]
pub const MOST_LOAD_BW: f64 = 20.0;
/// Greatest work of one torque or force in one motion, J: a body of 100 kg raised by 10 m. \[J\]
pub const MOST_WORK_J: f64 = 10_000.0;

/// Checks a motion: `phi` is the index of the knee angle, works stand in the states from `works` on, and `load_bw` is the
/// greatest ground load, 0 where there is none.
///
/// # Errors
/// [`SimError::BeyondBounds`].
pub(super) fn check<const N: usize>(
    phase: &'static str,
    trajectory: &Trajectory<N>,
    [phi, works]: [usize; 2],
    load_bw: f64,
) -> Result<(), SimError> {
    check_angle(phase, trajectory, "a knee angle", phi, MOST_ANGLE_RAD)?;
    let last = trajectory.end.1;
    let work_j = last.iter().skip(works).map(|w| w.abs()).fold(0.0, f64::max);
    at_most(phase, "a ground load", load_bw, MOST_LOAD_BW, " times body weight")?;
    at_most(phase, "a work", work_j, MOST_WORK_J, " J")
}

/// Checks one angle of a motion, to either side.
///
/// # Errors
/// [`SimError::BeyondBounds`].
pub(super) fn check_angle<const N: usize>(
    phase: &'static str,
    trajectory: &Trajectory<N>,
    what: &'static str,
    index: usize,
    most_rad: f64,
) -> Result<(), SimError> {
    let last = trajectory.end.1;
    let angle_rad = trajectory.step_starts().chain([&last]).map(|y| y[index].abs()).fold(0.0, f64::max);
    at_most(phase, what, angle_rad / DEG, most_rad / DEG, "°")
}

fn at_most(
    phase: &'static str,
    what: &'static str,
    value: f64,
    most: f64,
    unit: &'static str,
) -> Result<(), SimError> {
    // what is no number is beyond, too
    if value <= most { Ok(()) } else { Err(SimError::BeyondBounds { phase, what, value, most, unit }) }
}
