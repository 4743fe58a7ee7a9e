//! Outcomes of every run: oil work, ground load, friction needed, energy balance.

use super::Value;
use super::leg::leg;
use crate::motion::Motion;
use crate::motion::stance_tasks::LegRun;
use crate::motion::{sitting, stance_leg, swing};

/// Work taken out by the oil (walking: t0 to heel contact) or by oil and seals (loaded tasks).
pub(super) fn damper_work(m: &Motion) -> Value {
    Value::number(match m {
        Motion::Walk(w) => {
            let s = &w.stride;
            Some(-s.trajectory.at(s.drive.stride_time_s)[swing::state::DAMPER])
        }
        Motion::Sit(s) => Some(-s.trajectory.end.1[sitting::state::DAMPER]),
        _ => leg(m).map(|r| -r.trajectory.end.1[stance_leg::state::DAMPER]),
    })
}

pub(super) fn least_load(m: &Motion) -> Value {
    Value::number(match m {
        Motion::Sit(s) => Some(s.least_load_bw),
        _ => leg(m).map(|r| r.least_load_bw),
    })
}

pub(super) fn greatest_load(m: &Motion) -> Value {
    Value::number(match m {
        Motion::Sit(s) => Some(s.greatest_load_bw),
        _ => leg(m).map(|r| r.greatest_load_bw),
    })
}

pub(super) fn friction_needed(m: &Motion) -> Value {
    Value::number(leg(m).map(|r| r.friction_needed))
}

impl Motion {
    /// Greatest energy residual of all integrations behind this motion; 0 for statics.
    #[must_use]
    pub fn energy_residual(&self) -> f64 {
        let legs = |run: Option<&LegRun>, band: &[Option<LegRun>; 3]| {
            run.into_iter().chain(band.iter().flatten()).map(|r| r.energy_residual).fold(0.0, f64::max)
        };
        match self {
            Self::Walk(w) => std::iter::once(&w.stride)
                .chain(w.never_closing.as_deref())
                .chain(w.comparison.as_deref())
                .map(|s| s.energy_residual)
                .fold(legs(w.landing.as_ref().ok(), &w.landing_band), f64::max),
            Self::Sit(s) => s.energy_residual,
            Self::Ramp(r) => legs(Some(&r.run), &r.band),
            Self::Stairs(s) => legs(Some(&s.run), &s.band),
            Self::Stumble(s) => legs(Some(&s.run), &s.band),
            Self::Stand(_) => 0.0,
        }
    }
}
