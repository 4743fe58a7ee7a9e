//! Criteria of the statements that need more than one input moved and one measure compared, by family. A
//! criterion says whether a sample agrees and by how much, or why it is undecided.

mod alignment;
mod foot;
mod joints;
mod landing;
mod sessions;
pub mod shared_yield;
mod stance;
mod swing;
mod weight;

pub(super) use alignment::{behind_the_knee_is_not_safe, far_forward_hinders_release};
pub(super) use foot::{
    flexion_changes_range_more_than_time, heavier_foot_moves_extension, heavier_foot_moves_flexion,
    resistance_changes_range_more_than_time,
};
pub(super) use joints::{hydraulic_margins_spread_less, hydraulic_peaks_spread_less};
pub(super) use landing::more_bent_stride_lands_worse;
pub(super) use sessions::{flexion_first_is_shorter, swing_open_is_safer, yield_open_is_not_safer};
pub(super) use shared_yield::one_yield_serves_all;
pub(super) use stance::{
    closed_drags_on_the_chair, closed_holds, closed_holds_on_stairs, open_drops, open_drops_on_stairs,
    open_drops_on_the_chair,
};
pub(super) use swing::{
    closed_is_bent_at_contact, hurried_leaves_less, hurried_leaves_less_of_the_stride,
    later_most_at_fast_speed, short_steps_leave_less,
};
pub(super) use weight::{light_does_not_reach, light_only_where_heavy};

use super::evidence::{Abort, RunSpec};
use super::experiment::Experiment;
use crate::motion::{Motion, WalkMotion};
use crate::outcome::Assessment;
use crate::scenario::{Limit, Severity};

/// Speeds over which rules 2 and 6 compare: slow, comfortable, fast.
const SPEEDS: [f64; 3] = [0.8, 1.1, 1.4];

const MIN: fn(&Limit) -> Option<f64> = |l| l.min;
const MAX: fn(&Limit) -> Option<f64> = |l| l.max;

/// The lower or upper bound of a scenario's limit on an outcome.
fn edge(
    e: &Experiment,
    scenario: &str,
    outcome: &str,
    bound: fn(&Limit) -> Option<f64>,
) -> Result<f64, Abort> {
    let limits = e.fixtures.scenarios.iter().filter(|s| s.name == scenario).flat_map(|s| &s.limits);
    limits
        .filter(|l| l.outcome == outcome && l.severity == Severity::Limit)
        .find_map(bound)
        .ok_or(Abort::Undecided("the scenario has no such limit"))
}

/// Time straight before heel contact, ms; none if not straight by then. After it the swing model continues in
/// free motion, which a foot on the ground does not.
fn margin_in_time(w: &WalkMotion) -> Option<f64> {
    Some(margin_or_end(w)).filter(|ms| *ms > 0.0)
}

/// The same as far as the stride is followed, negative after heel contact; a knee that is never straight counts as
/// straight where the trajectory ends, so that root finding gets a number.
fn margin_or_end(w: &WalkMotion) -> f64 {
    let s = &w.stride;
    1e3 * (s.drive.stride_time_s - s.full_extension_s().unwrap_or(s.trajectory.end.0))
}

fn peak_deg(w: &WalkMotion) -> f64 {
    w.stride.peak().1 / crate::units::DEG
}

/// A loaded task at a position of the yield setting, with its assessment.
fn with_yield(
    e: &Experiment,
    scenario: &'static str,
    pct: f64,
) -> Result<(RunSpec, Motion, Assessment), Abort> {
    let run = e.base(scenario).with("stance-yield", pct);
    let (motion, assessment) = e.assessed(&run)?;
    Ok((run, motion, assessment))
}
