//! The measures of a motion by which rules are tested, and how two values compare.

use super::evidence::{Abort, Agreement, Evidence, ExperimentResult, RunSpec};
use crate::motion::Motion;
use crate::motion::stance_tasks::{LegEnd, LegRun};
use crate::outcome::metric;
use crate::units::DEG;

/// A measure of a motion.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MotionMeasure {
    /// An outcome of the registry.
    Outcome(&'static str),
    /// Time straight before heel contact, ms; none if the knee is not straight by then. After heel
    /// contact the swing model continues in free motion, which a foot on the ground does not.
    MarginInTime,
    /// Energy at full extension, J, if that comes before heel contact.
    ImpactInTime,
    /// Instant at which the stance valve releases, % of the stride; toe-off if it stays closed until then; none
    /// if it never closes.
    Release,
    /// Flexion added after landing, °: greatest flexion less flexion at landing; none if the knee folds,
    /// where the model ends.
    AddedFlexion,
}

/// Reason: the swing does not end before the foot lands.
pub const NOT_STRAIGHT: &str = "not straight before heel contact";
/// Reason: the stance valve does not act.
pub const NOT_CLOSED: &str = "the load on the prosthesis does not close the stance valve";
/// Reason: not straight in either of two strides.
pub const NEVER_STRAIGHT: &str = "not straight before heel contact either way";

impl MotionMeasure {
    /// Its value for a motion.
    #[must_use]
    pub fn value(self, motion: &Motion) -> Option<f64> {
        match self {
            Self::Outcome(key) => metric(key).and_then(|m| m.read(motion).as_number()),
            Self::MarginInTime => Self::Outcome("extension_margin_ms").value(motion).filter(|m| *m > 0.0),
            Self::ImpactInTime => Self::MarginInTime
                .value(motion)
                .and_then(|_| Self::Outcome("terminal_energy_j").value(motion)),
            Self::Release => {
                let Motion::Walk(w) = motion else { return None };
                let s = &w.stride;
                let toe_off = s.drive.toe_off_s;
                let release = s.release_s.or_else(|| (s.valve_at(toe_off) > 0.5).then_some(toe_off))?;
                Some(100.0 * release / s.drive.stride_time_s)
            }
            Self::AddedFlexion => {
                let (run, start_deg) = landing(motion)?;
                (run.ended() != LegEnd::Collapse).then(|| run.max_flexion_rad() / DEG - start_deg)
            }
        }
    }

    /// The outcome it is about.
    #[must_use]
    pub fn outcome_key(self) -> &'static str {
        match self {
            Self::Outcome(key) => key,
            Self::MarginInTime => "extension_margin_ms",
            Self::ImpactInTime => "terminal_energy_j",
            Self::Release => "release_pct",
            Self::AddedFlexion => "max_flexion_deg",
        }
    }

    /// What is compared, as printed.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::AddedFlexion => "max_flexion_deg less the flexion at landing",
            other => other.outcome_key(),
        }
    }

    /// Whether it needs the stride with a valve that never closes.
    #[must_use]
    pub fn needs_never_closing(self) -> bool {
        self == Self::Outcome("late_release_loss_deg")
    }

    /// Unit as printed.
    #[must_use]
    pub fn unit(self) -> &'static str {
        metric(self.outcome_key()).map_or("", |m| m.unit)
    }

    /// Differences up to this are integration error: errors stay below 1e-5 rad and 1e-4 rad/s
    /// (`tests/trends/mod.rs`).
    #[must_use]
    pub fn noise(self) -> f64 {
        match self.unit() {
            "°" => 2e-3,
            "°/s" => 1e-2,
            "ms" => 2e-2,
            "% of stride" => 1e-3,
            _ => 1e-4,
        }
    }

    /// In words, rounded one digit further than in tables.
    #[must_use]
    pub fn text(self, v: Option<f64>) -> String {
        let Some(m) = metric(self.outcome_key()) else { return String::new() };
        let unit = if m.unit.is_empty() || m.unit.starts_with('°') {
            m.unit.to_owned()
        } else {
            format!(" {}", m.unit)
        };
        let never = if self == Self::AddedFlexion { "folds" } else { "not reached" };
        match v.filter(|v| v.is_finite()) {
            Some(v) => format!("{v:.*}{unit}", m.decimals + 1),
            None => never.into(),
        }
    }
}

/// The motion after landing, and the flexion at landing, °.
#[must_use]
pub fn landing(motion: &Motion) -> Option<(&LegRun, f64)> {
    match motion {
        Motion::Stumble(s) => {
            let asked = s.task.start_flexion_deg;
            Some((&s.run, asked + s.run.start_beyond_deg(asked)))
        }
        Motion::Walk(w) => {
            let start_deg = MotionMeasure::Outcome("heel_contact_flexion_deg").value(motion)?;
            w.landing.as_ref().ok().map(|run| (run, start_deg))
        }
        _ => None,
    }
}

/// Whether the load closes the stance valve: for half of sitting down at least, or at all on ramp and stairs.
#[must_use]
pub fn valve_closes(motion: &Motion) -> bool {
    match motion {
        Motion::Sit(s) => s.supported_share() >= 0.5,
        Motion::Ramp(r) => r.run.support_after_s().is_some(),
        Motion::Stairs(s) => s.run.support_after_s().is_some(),
        Motion::Stumble(s) => s.run.support_after_s().is_some(),
        Motion::Walk(_) | Motion::Stand(_) => false,
    }
}

/// What a value that is not reached counts as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotReachedAs {
    /// The statement makes no sense then, for this reason.
    Undecided(&'static str),
    /// Less than any number: never straight in time.
    Least,
    /// More than any number: never supported, never seated.
    Most,
}

/// Compares two values: `sign` is +1 if the rule says that the second is greater, −1 if less.
///
/// # Errors
/// Undecided if neither is reached, or if one is not and that makes no sense.
pub fn compare(
    measure: MotionMeasure,
    not_reached: NotReachedAs,
    sign: f64,
    [before, after]: [Option<f64>; 2],
    runs: Vec<RunSpec>,
) -> ExperimentResult {
    let or_substitute = |v: Option<f64>| match (v, not_reached) {
        (Some(v), _) => Ok(v),
        (None, NotReachedAs::Least) => Ok(f64::NEG_INFINITY),
        (None, NotReachedAs::Most) => Ok(f64::INFINITY),
        (None, NotReachedAs::Undecided(why)) => Err(Abort::Undecided(why)),
    };
    let (a, b) = (or_substitute(before)?, or_substitute(after)?);
    if before.is_none() && after.is_none() {
        return Err(Abort::Undecided(match measure {
            MotionMeasure::MarginInTime => NEVER_STRAIGHT,
            MotionMeasure::AddedFlexion => "folds either way",
            _ => "not reached either way",
        }));
    }
    let effect = sign * (b - a);
    Ok(Evidence {
        agreement: Agreement::of(effect, measure.noise()),
        effect,
        description: format!("{} -> {}", measure.text(before), measure.text(after)),
        runs,
    })
}

/// Compares a value with an edge: agrees if it lies beyond; the effect is by how much, infinite if the value is
/// never reached and that is beyond any edge.
#[must_use]
pub fn beyond(measure: MotionMeasure, edge: f64, sign: f64, value: f64, runs: Vec<RunSpec>) -> Evidence {
    let effect = sign * (value - edge);
    Evidence {
        agreement: Agreement::of(effect, measure.noise()),
        effect,
        description: format!("{} against {}", measure.text(Some(value)), measure.text(Some(edge))),
        runs,
    }
}
