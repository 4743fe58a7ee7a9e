//! What was seen, in words, and how likely each word is where the model says how much there is of a symptom.
//!
//! ```text
//! x             excess of the symptom: units beyond the edge at which it begins, the worst of the scenarios meant
//! P(above t)    1 / (1 + exp(−(x − t) / s))       slight from t = 0, clear from t = 0.3, s = 0.08  [J]
//! P(word)       0.95 of that, and 0.05 shared by none, slight and clear: people err  [J]
//! ```

use crate::error::SimError;
use crate::numerics::math;
use crate::study::adjust::{Symptom, symptom_by_name};

/// Excess from which a symptom is clear. \[J\]
pub const CLEAR_FROM: f64 = 0.3;
/// How sharply a watcher tells one word from the next, in units of the excess. \[J\]
pub const BLUR: f64 = 0.08;
/// Share of reports that have nothing to do with what there was. \[J\]
pub const LAPSE: f64 = 0.05;

/// How much of a symptom was seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Grade {
    /// Looked for, and not there.
    None,
    /// There, and slight.
    Slight,
    /// There, and clear.
    Clear,
    /// There; how much is not said.
    Seen,
}

impl Grade {
    /// The word.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::None => "not seen",
            Self::Slight => "slight",
            Self::Clear => "clear",
            Self::Seen => "seen",
        }
    }

    /// What an excess is called by one who does not err.
    #[must_use]
    pub fn of(excess: f64) -> Self {
        match excess {
            x if x > CLEAR_FROM => Self::Clear,
            x if x > 0.0 => Self::Slight,
            _ => Self::None,
        }
    }
}

/// One observation.
#[derive(Debug, Clone)]
pub struct Observation {
    /// What was looked for.
    pub symptom: &'static Symptom,
    /// How much was seen.
    pub grade: Grade,
    /// The scenario; none means any in which it can occur.
    pub scenario: Option<String>,
}

impl Observation {
    /// `knee-late-straight:clear@walk-fast`; without a word `grade` holds, without a scenario any.
    ///
    /// # Errors
    /// An unknown symptom or word.
    pub fn parse(text: &str, grade: Grade) -> Result<Self, SimError> {
        let (rest, scenario) = match text.split_once('@') {
            Some((rest, scenario)) => (rest, Some(scenario.trim().to_owned())),
            None => (text, None),
        };
        let (name, word) = match rest.split_once(':') {
            Some((name, word)) => (name, Some(word.trim())),
            None => (rest, None),
        };
        let symptom = symptom_by_name(name.trim()).ok_or_else(|| SimError::Unknown {
            kind: "symptom",
            name: name.trim().to_owned(),
            known: crate::study::adjust::SYMPTOMS.iter().map(|s| s.name).collect::<Vec<_>>().join(", "),
        })?;
        let grade = match word {
            None => grade,
            Some("slight") => Grade::Slight,
            Some("clear") => Grade::Clear,
            Some("none") => Grade::None,
            Some(other) => {
                return Err(SimError::Usage(format!("{text}: '{other}'; wanted none, slight or clear")));
            }
        };
        Ok(Self { symptom, grade, scenario })
    }

    /// As it is written.
    #[must_use]
    pub fn in_words(&self) -> String {
        let place = self.scenario.as_ref().map_or_else(String::new, |s| format!(" in {s}"));
        format!("{}: {}{place}", self.symptom.name, self.grade.as_str())
    }

    /// Whether it is about a scenario.
    #[must_use]
    pub fn is_about(&self, scenario: &str) -> bool {
        self.scenario.as_deref().is_none_or(|s| s == scenario)
    }

    /// The report beside what the model has, in words.
    #[must_use]
    pub fn beside(&self, excess: Option<f64>) -> String {
        let told = self.in_words();
        let Some(model) = excess.map(Grade::of) else {
            return format!("Told: {told}. The model cannot follow it there.");
        };
        let agrees = self.grade == model || (self.grade == Grade::Seen && model != Grade::None);
        let so = match (agrees, self.grade) {
            (true, _) => "the model agrees",
            (false, Grade::None) => "the model shows it all the same",
            (false, _) => "kneedamp next asks what would explain the difference",
        };
        format!("Told: {told}. In the model with these settings: {}; {so}.", model.as_str())
    }

    /// Likelihood of this report at an excess; where nothing could be followed, it says nothing.
    #[must_use]
    pub fn likelihood(&self, excess: Option<f64>) -> f64 {
        let Some(x) = excess else { return 1.0 / 3.0 };
        let above = |t: f64| 1.0 / (1.0 + math::exp(-(x - t) / BLUR));
        let (slight_or_more, clear) = (above(0.0), above(CLEAR_FROM));
        let (share, words) = match self.grade {
            Grade::None => (1.0 - slight_or_more, 1.0),
            Grade::Slight => (slight_or_more - clear, 1.0),
            Grade::Clear => (clear, 1.0),
            Grade::Seen => (slight_or_more, 2.0),
        };
        (1.0 - LAPSE) * share + LAPSE * words / 3.0
    }
}
