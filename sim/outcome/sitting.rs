//! Outcomes of sitting down.

use super::Value;
use crate::motion::Motion;
use crate::motion::sitting::{SitRun, state};
use crate::scenario::OutcomeWord;
use crate::units::DEG;

fn read(m: &Motion, f: impl Fn(&SitRun) -> Option<f64>) -> Value {
    match m {
        Motion::Sit(s) => Value::number(f(s)),
        _ => Value::NotReached,
    }
}

pub(super) fn time(m: &Motion) -> Value {
    read(m, |s| s.reached_seat().then_some(s.trajectory.end.0))
}

pub(super) fn peak_rate(m: &Motion) -> Value {
    read(m, |s| {
        Some(s.trajectory.greatest(0.0, s.trajectory.end.0, [state::OMEGA], |_, [omega]| omega).0 / DEG)
    })
}

pub(super) fn seat_speed(m: &Motion) -> Value {
    read(m, |s| {
        let y = s.trajectory.end.1;
        s.reached_seat().then(|| -s.system.hip_height(y[state::PHI]).first * y[state::OMEGA])
    })
}

pub(super) fn start_valve(m: &Motion) -> Value {
    read(m, |s| Some(s.start_valve))
}

pub(super) fn supported(m: &Motion) -> Value {
    match m {
        Motion::Sit(s) if s.supported_share() >= 0.5 => Value::Word(OutcomeWord::Yes),
        Motion::Sit(_) => Value::Word(OutcomeWord::No),
        _ => Value::NotReached,
    }
}
