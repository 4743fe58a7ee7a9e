//! Instants of a prosthetic stride that users are aligned at.

use super::series::{fit, value};
use super::user::User;
use crate::scenario::Harmonics;

/// Harmonics of the thigh angle in a drive.
pub const THIGH_HARMONICS: usize = 7;
/// Harmonics of knee flexion in a drive.
pub const KNEE_HARMONICS: usize = 9;
/// Points per stride on which a greatest value is looked for.
const FINE: usize = 1000;

/// An instant that every stride has, in the order in which they come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Landmark {
    /// Contact of the sound foot.
    SoundContact,
    /// Toe-off.
    ToeOff,
    /// Greatest knee flexion after toe-off.
    KneePeak,
    /// Greatest thigh angle after toe-off.
    GreatestThigh,
}

impl Landmark {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::SoundContact, Self::ToeOff, Self::KneePeak, Self::GreatestThigh];
    /// Those that a drive is aligned at unless others are asked for. The greatest thigh angle is none of them: its
    /// instant scatters by 6.3 % of the stride over the nine users (a flat top in some), that of the greatest knee
    /// flexion by 3.6 %, and a mean aligned there extends more slowly than any user.
    pub const DEFAULT: [Self; 3] = [Self::SoundContact, Self::ToeOff, Self::KneePeak];

    /// In words.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::SoundContact => "contact of the sound foot",
            Self::ToeOff => "toe-off",
            Self::KneePeak => "greatest knee flexion",
            Self::GreatestThigh => "greatest thigh angle",
        }
    }
}

impl std::fmt::Display for Landmark {
    /// As the command line names it.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::SoundContact => "sound-contact",
            Self::ToeOff => "toe-off",
            Self::KneePeak => "knee-peak",
            Self::GreatestThigh => "greatest-thigh",
        })
    }
}

impl std::str::FromStr for Landmark {
    type Err = String;

    fn from_str(name: &str) -> Result<Self, String> {
        let known = || Self::ALL.map(|l| l.to_string()).join(", ");
        let found = Self::ALL.into_iter().find(|l| l.to_string() == name);
        found.ok_or_else(|| format!("no such landmark; known: {}", known()))
    }
}

/// Landmarks in words; `plain mean` for none.
#[must_use]
pub fn in_words(landmarks: &[Landmark]) -> String {
    match landmarks {
        [] => "plain mean".into(),
        [one] => format!("mean aligned at {}", one.as_str()),
        [first @ .., last] => {
            let first: Vec<&str> = first.iter().map(|l| l.as_str()).collect();
            format!("mean aligned at {} and {}", first.join(", "), last.as_str())
        }
    }
}

/// Landmarks of one stride, fractions of the prosthetic stride.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Landmarks([f64; 4]);

impl Landmarks {
    /// From the contact of the sound foot, toe-off, and the curves as a drive has them.
    #[must_use]
    pub fn find(user: &User, knee_deg: &[f64], sound_contact: f64, toe_off: f64) -> Self {
        let knee = greatest_after(&fit(knee_deg, KNEE_HARMONICS), toe_off);
        let thigh = greatest_after(&fit(&user.prosthetic.thigh_deg(), THIGH_HARMONICS), toe_off);
        Self([sound_contact, toe_off, knee, thigh])
    }

    /// One of them.
    #[must_use]
    pub fn at(&self, landmark: Landmark) -> f64 {
        self.0[landmark as usize]
    }
}

/// Instant at which a curve is greatest between `from` and the end of the stride.
fn greatest_after(curve: &Harmonics, from: f64) -> f64 {
    let after = (0..=FINE).map(|i| i as f64 / FINE as f64).filter(|p| *p >= from);
    after.max_by(|a, b| value(curve, *a).total_cmp(&value(curve, *b))).unwrap_or(1.0)
}
