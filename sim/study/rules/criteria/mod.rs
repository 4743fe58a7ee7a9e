//! Judges of the statements that are more than a move of one input and one reading, by family. A judge says
//! which way a sample points and by how much, or why it decides nothing.

mod foot;
mod joints;
mod landing;
mod sessions;
pub mod shared_yield;
mod stance;
mod swing;
mod weight;

pub(super) use crate::study::rules::criteria::foot::{
    flexion_changes_range_more_than_time, heavier_foot_moves_extension, heavier_foot_moves_flexion,
    resistance_changes_range_more_than_time,
};
pub(super) use crate::study::rules::criteria::joints::{
    hydraulic_margins_spread_less, hydraulic_peaks_spread_less,
};
pub(super) use crate::study::rules::criteria::landing::more_bent_stride_lands_worse;
pub(super) use crate::study::rules::criteria::sessions::{
    flexion_first_is_shorter, swing_open_is_safer, yield_open_is_not_safer,
};
pub(super) use crate::study::rules::criteria::shared_yield::one_yield_serves_all;
pub(super) use crate::study::rules::criteria::stance::{
    closed_drags_on_the_chair, closed_holds, closed_holds_on_stairs, open_drops, open_drops_on_stairs,
    open_drops_on_the_chair,
};
pub(super) use crate::study::rules::criteria::swing::{
    closed_is_bent_at_contact, hurried_leaves_less, hurried_leaves_less_of_the_stride,
    later_most_at_fast_speed, short_steps_leave_less,
};
pub(super) use crate::study::rules::criteria::weight::{light_does_not_reach, light_only_where_heavy};

use super::experiment::{Judged, Run, Stop, Try};
use crate::motion::{Motion, WalkMotion};
use crate::outcome::Assessment;
use crate::scenario::{Limit, Severity};

/// Speeds over which rules 2 and 6 compare: slow, comfortable, fast.
const SPEEDS: [f64; 3] = [0.8, 1.1, 1.4];

const MIN: fn(&Limit) -> Option<f64> = |l| l.min;
const MAX: fn(&Limit) -> Option<f64> = |l| l.max;

/// The test of a row before it has one of its own.
pub(super) fn nothing(_: &Try) -> Judged {
    Err(Stop::Undecided("no test"))
}

/// The edge of a scenario's limit on an outcome, by which bound.
fn edge(t: &Try, scenario: &str, outcome: &str, bound: fn(&Limit) -> Option<f64>) -> Result<f64, Stop> {
    let limits = t.bench.scenarios.iter().filter(|s| s.name == scenario).flat_map(|s| &s.limits);
    limits
        .filter(|l| l.outcome == outcome && l.severity == Severity::Limit)
        .find_map(bound)
        .ok_or(Stop::Undecided("the scenario has no such limit"))
}

/// Time straight before heel contact, ms; none if not straight by then. After it the model goes on in free
/// motion, as no foot on the ground does.
fn margin_in_time(w: &WalkMotion) -> Option<f64> {
    Some(margin_or_end(w)).filter(|ms| *ms > 0.0)
}

/// The same as far as the stride is followed, negative after heel contact; a knee never straight counts as
/// straight where the course ends, so that a setting can be found.
fn margin_or_end(w: &WalkMotion) -> f64 {
    let s = &w.stride;
    1e3 * (s.drive.stride_time_s - s.full_extension_s().unwrap_or(s.trajectory.end.0))
}

fn peak_deg(w: &WalkMotion) -> f64 {
    w.stride.peak().1 / crate::units::DEG
}

/// A loaded task at a position of the yield setting, held against its limits.
fn yielding(t: &Try, scenario: &'static str, pct: f64) -> Result<(Run, Motion, Assessment), Stop> {
    let run = t.base(scenario).with("stance-yield", pct);
    let (motion, assessment) = t.assessed(&run)?;
    Ok((run, motion, assessment))
}
