//! What rules read off a motion, and how two readings compare.

use super::experiment::{Judged, Run, Seen, Sense, Stop};
use crate::motion::Motion;
use crate::motion::stance_tasks::{LegEnd, LegRun};
use crate::outcome::metric;
use crate::units::DEG;

/// A reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Read {
    /// An outcome of the registry.
    Outcome(&'static str),
    /// Time straight before heel contact, ms; none if the knee is not straight by then. After heel
    /// contact the model goes on in free motion, as no foot on the ground does.
    MarginInTime,
    /// Energy at full extension, J, if that comes before heel contact.
    ImpactInTime,
    /// Instant the stance valve lets go, % of the stride; toe-off if it stays closed until then; none
    /// if it never closes.
    Release,
    /// By how much the knee bends on after it has landed, °: the most, less what it landed with; none if it
    /// folds, where the model stops counting.
    BendsOn,
}

/// Why nothing is decided where a swing does not end before the foot lands.
pub const NOT_STRAIGHT: &str = "not straight before heel contact";
/// Why nothing is decided where the stance valve does not act.
pub const NOT_CLOSED: &str = "the load on the prosthesis does not close the stance valve";
/// Not straight, of two strides.
pub const NEVER_STRAIGHT: &str = "not straight before heel contact either way";

impl Read {
    /// Off a motion.
    #[must_use]
    pub fn of(self, motion: &Motion) -> Option<f64> {
        match self {
            Self::Outcome(key) => metric(key).and_then(|m| m.read(motion).as_number()),
            Self::MarginInTime => Self::Outcome("extension_margin_ms").of(motion).filter(|m| *m > 0.0),
            Self::ImpactInTime => {
                Self::MarginInTime.of(motion).and_then(|_| Self::Outcome("terminal_energy_j").of(motion))
            }
            Self::Release => {
                let Motion::Walk(w) = motion else { return None };
                let s = &w.stride;
                let toe_off = s.drive.toe_off_s;
                let release = s.release_s.or_else(|| (s.valve_at(toe_off) > 0.5).then_some(toe_off))?;
                Some(100.0 * release / s.drive.stride_time_s)
            }
            Self::BendsOn => {
                let (run, landed_with_deg) = landing(motion)?;
                (run.ended() != LegEnd::Collapse).then(|| run.max_flexion_rad() / DEG - landed_with_deg)
            }
        }
    }

    /// The outcome it is about.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Outcome(key) => key,
            Self::MarginInTime => "extension_margin_ms",
            Self::ImpactInTime => "terminal_energy_j",
            Self::Release => "release_pct",
            Self::BendsOn => "max_flexion_deg",
        }
    }

    /// What is compared, as printed.
    #[must_use]
    pub fn compared(self) -> &'static str {
        match self {
            Self::BendsOn => "max_flexion_deg less the flexion at landing",
            other => other.key(),
        }
    }

    /// Whether it takes the stride with a valve that never closes.
    #[must_use]
    pub fn takes_never_closing(self) -> bool {
        self == Self::Outcome("late_release_loss_deg")
    }

    /// Unit as printed.
    #[must_use]
    pub fn unit(self) -> &'static str {
        metric(self.key()).map_or("", |m| m.unit)
    }

    /// Differences up to this are noise of the integration: errors stay below 1e-5 rad and 1e-4 rad/s
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
    pub fn say(self, v: Option<f64>) -> String {
        let Some(m) = metric(self.key()) else { return String::new() };
        let unit = if m.unit.is_empty() || m.unit.starts_with('°') {
            m.unit.to_owned()
        } else {
            format!(" {}", m.unit)
        };
        let never = if self == Self::BendsOn { "folds" } else { "not reached" };
        match v.filter(|v| v.is_finite()) {
            Some(v) => format!("{v:.*}{unit}", m.decimals + 1),
            None => never.into(),
        }
    }
}

/// What comes after a foot has landed, and the flexion it landed with, °.
#[must_use]
pub fn landing(motion: &Motion) -> Option<(&LegRun, f64)> {
    match motion {
        Motion::Stumble(s) => Some((&s.run, s.task.start_flexion_deg)),
        Motion::Walk(w) => {
            let landed_with = Read::Outcome("heel_contact_flexion_deg").of(motion)?;
            w.landing.as_ref().ok().map(|run| (run, landed_with))
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

/// What a reading that is not there counts as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Missing {
    /// The statement makes no sense then.
    Undecided(&'static str),
    /// Less than any number: never straight in time.
    Least,
    /// More than any number: never supported, never seated.
    Most,
}

/// Compares two readings: `sign` is +1 if the rule says that the second is greater, −1 if less.
///
/// # Errors
/// Undecided if neither, or one of them where that makes no sense, is there.
pub fn compare(
    read: Read,
    missing: Missing,
    sign: f64,
    [before, after]: [Option<f64>; 2],
    runs: Vec<Run>,
) -> Judged {
    let stands_for = |v: Option<f64>| match (v, missing) {
        (Some(v), _) => Ok(v),
        (None, Missing::Least) => Ok(f64::NEG_INFINITY),
        (None, Missing::Most) => Ok(f64::INFINITY),
        (None, Missing::Undecided(why)) => Err(Stop::Undecided(why)),
    };
    let (a, b) = (stands_for(before)?, stands_for(after)?);
    if before.is_none() && after.is_none() {
        return Err(Stop::Undecided(match read {
            Read::MarginInTime => NEVER_STRAIGHT,
            Read::BendsOn => "folds either way",
            _ => "not reached either way",
        }));
    }
    let effect = sign * (b - a);
    Ok(Seen {
        sense: Sense::of(effect, read.noise()),
        effect,
        said: format!("{} -> {}", read.say(before), read.say(after)),
        runs,
    })
}

/// A reading against an edge: agrees if it lies beyond, by how much; infinite if it is never reached and that
/// is beyond any edge.
#[must_use]
pub fn beyond(read: Read, edge: f64, sign: f64, value: f64, runs: Vec<Run>) -> Seen {
    let effect = sign * (value - edge);
    Seen {
        sense: Sense::of(effect, read.noise()),
        effect,
        said: format!("{} against {}", read.say(Some(value)), read.say(Some(edge))),
        runs,
    }
}
