//! What rules read off a motion, and how two readings compare.

use super::trying::{Judged, Run, Seen, Sense, Stop};
use crate::motion::Motion;
use crate::outcome::metric;

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
}

impl Read {
    /// Off a motion.
    #[must_use]
    pub fn of(self, motion: &Motion) -> Option<f64> {
        match self {
            Self::Outcome(key) => metric(key).and_then(|m| (m.measure)(motion).as_number()),
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
        }
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
        v.map_or_else(|| "not reached".into(), |v| format!("{v:.*}{unit}", m.decimals + 1))
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
            Read::MarginInTime => "not straight before heel contact either way",
            _ => "not reached either way",
        }));
    }
    let effect = sign * (b - a);
    Ok(Seen {
        sense: match effect {
            e if e > read.noise() => Sense::Agrees,
            e if e < -read.noise() => Sense::Disagrees,
            _ => Sense::NoDifference,
        },
        effect: effect.is_finite().then_some(effect),
        said: format!("{} -> {}", read.say(before), read.say(after)),
        runs,
    })
}

/// A reading against an edge: agrees if it lies beyond, with the distance.
#[must_use]
pub fn beyond(read: Read, edge: f64, sign: f64, value: Option<f64>, runs: Vec<Run>) -> Seen {
    let effect = value.map(|v| sign * (v - edge));
    Seen {
        sense: if effect.is_some_and(|e| e > 0.0) { Sense::Agrees } else { Sense::Disagrees },
        effect,
        said: format!("{} against {}", read.say(value), read.say(Some(edge))),
        runs,
    }
}
