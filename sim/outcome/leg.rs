//! Outcomes of ramp, stairs, stumble and landing.

use super::Value;
use crate::motion::Motion;
use crate::motion::stance_leg::state;
use crate::motion::stance_tasks::{LegEnd, LegRun};
use crate::numerics::math;
use crate::scenario::OutcomeWord;
use crate::units::DEG;

/// Still bending: at the end ω above this, rad/s, and φ above 5°.
const STILL_BENDING_RAD_PER_S: f64 = 0.1;
const STILL_BENT_RAD: f64 = 5.0 * DEG;

/// A knee that yields under load: never beyond 35°, and at the end bending by no more than 60°/s, a third of what a
/// ramp allows: it does its work and leaves time \[J\].
const YIELDS_TO_RAD: f64 = 35.0 * DEG;
const YIELDS_AT_RAD_PER_S: f64 = 60.0 * DEG;

/// How a landing or stumble can end, from the best to the worst.
pub(super) const LANDING: &[OutcomeWord] = &[
    OutcomeWord::Straight,
    OutcomeWord::Caught,
    OutcomeWord::Yields,
    OutcomeWord::Doubtful,
    OutcomeWord::GivesWay,
];

/// How bad a landing or stumble is, 0 for the best; none for other words.
#[must_use]
pub fn landing_rank(word: OutcomeWord) -> Option<usize> {
    LANDING.iter().position(|w| *w == word)
}

/// How a landing or stumble ends: straight (never beyond 10°), caught (never beyond 45° and no
/// longer bending), yields (never beyond 35° and bending slowly), doubtful (up to 60°), gives way.
#[must_use]
pub fn landing_word(run: &LegRun) -> OutcomeWord {
    let max = run.max_flexion_rad();
    let last = run.trajectory.end.1;
    let still_bending = last[state::OMEGA] > STILL_BENDING_RAD_PER_S && last[state::PHI] > STILL_BENT_RAD;
    if run.ended() == LegEnd::Collapse || max > 60.0 * DEG {
        OutcomeWord::GivesWay
    } else if max <= 10.0 * DEG {
        OutcomeWord::Straight
    } else if max <= 45.0 * DEG && !still_bending {
        OutcomeWord::Caught
    } else if max <= YIELDS_TO_RAD && last[state::OMEGA] <= YIELDS_AT_RAD_PER_S {
        OutcomeWord::Yields
    } else {
        OutcomeWord::Doubtful
    }
}

/// How a step down ends: yields (bends at least to `yields_from_deg`), holds (bends less), stalls, gives way.
#[must_use]
pub fn step_word(run: &LegRun, yields_from_deg: f64) -> OutcomeWord {
    match run.ended() {
        LegEnd::Collapse => OutcomeWord::GivesWay,
        LegEnd::Stall => OutcomeWord::Stalls,
        LegEnd::OtherFoot | LegEnd::OtherFootLate
            if run.trajectory.end.1[state::PHI] >= yields_from_deg * DEG =>
        {
            OutcomeWord::Yields
        }
        _ => OutcomeWord::Holds,
    }
}

/// The run with the hip moment used, of any activity that has a loaded leg.
pub(super) fn leg(m: &Motion) -> Option<&LegRun> {
    match m {
        Motion::Walk(w) => w.landing.as_ref().ok(),
        Motion::Ramp(r) => Some(&r.run),
        Motion::Stairs(s) => Some(&s.run),
        Motion::Stumble(s) => Some(&s.run),
        Motion::Sit(_) | Motion::Stand(_) => None,
    }
}

fn read(m: &Motion, f: impl Fn(&LegRun) -> Option<f64>) -> Value {
    Value::number(leg(m).and_then(f))
}

pub(super) fn what_happens(m: &Motion) -> Value {
    word(m, leg)
}

pub(super) fn what_happens_least_hip(m: &Motion) -> Value {
    word(m, |x| band(x, 0))
}

pub(super) fn what_happens_most_hip(m: &Motion) -> Value {
    word(m, |x| band(x, 1))
}

pub(super) fn what_happens_without_hip(m: &Motion) -> Value {
    word(m, |x| band(x, 2))
}

fn band(m: &Motion, i: usize) -> Option<&LegRun> {
    match m {
        Motion::Walk(w) => w.landing_band[i].as_ref(),
        Motion::Ramp(r) => r.band[i].as_ref(),
        Motion::Stairs(s) => s.band[i].as_ref(),
        Motion::Stumble(s) => s.band[i].as_ref(),
        Motion::Sit(_) | Motion::Stand(_) => None,
    }
}

fn word<'a>(m: &'a Motion, which: impl Fn(&'a Motion) -> Option<&'a LegRun>) -> Value {
    let Some(run) = which(m) else { return Value::NotReached };
    Value::Word(match m {
        Motion::Ramp(r) => step_word(run, r.yields_from_deg()),
        Motion::Stairs(s) => step_word(run, s.yields_from_deg()),
        _ => landing_word(run),
    })
}

pub(super) fn max_flexion(m: &Motion) -> Value {
    read(m, |r| Some(r.max_flexion_rad() / DEG))
}

pub(super) fn end_rate(m: &Motion) -> Value {
    read(m, |r| Some(r.trajectory.end.1[state::OMEGA] / DEG))
}

pub(super) fn support_after(m: &Motion) -> Value {
    read(m, |r| r.support_after_s().map(|t| 1e3 * t))
}

pub(super) fn flexion_at_other_foot(m: &Motion) -> Value {
    read(m, |r| {
        matches!(r.ended(), LegEnd::OtherFoot | LegEnd::OtherFootLate)
            .then(|| r.trajectory.end.1[state::PHI] / DEG)
    })
}

pub(super) fn peak_rate(m: &Motion) -> Value {
    let from = if let Motion::Ramp(r) = m { r.task.rate_from_s } else { 0.0 };
    read(m, |r| r.max_rate_from(from).map(|w| w / DEG))
}

pub(super) fn drop_speed(m: &Motion) -> Value {
    read(m, |r| Some(r.drop_speed_m_per_s()))
}

pub(super) fn lowering_time(m: &Motion) -> Value {
    read(m, |r| Some(r.trajectory.end.0))
}

pub(super) fn step_length(m: &Motion) -> Value {
    let Motion::Ramp(ramp) = m else { return Value::NotReached };
    let leg = ramp.run.system.segments.leg_m();
    Value::Number(ramp.run.hip_end_m()[0] + leg * math::sin(ramp.task.other_leg_ahead_deg * DEG))
}

pub(super) fn landing_late(m: &Motion) -> Value {
    match leg(m).map(LegRun::ended) {
        Some(LegEnd::OtherFootLate) => Value::Word(OutcomeWord::Yes),
        Some(LegEnd::OtherFoot) => Value::Word(OutcomeWord::No),
        _ => Value::NotReached,
    }
}

pub(super) fn hip_past_edge(m: &Motion) -> Value {
    read(m, |r| Some(r.hip_end_m()[0]))
}

pub(super) fn held_down(m: &Motion) -> Value {
    read(m, |r| Some(1e3 * r.held_down_bw_s))
}

pub(super) fn pace_work(m: &Motion) -> Value {
    read(m, |r| Some(r.trajectory.end.1[state::PACE]))
}
