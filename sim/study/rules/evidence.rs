//! What an experiment takes and gives: a run by its inputs, the evidence of a sample, or why it gives none.

use super::population::InputValues;
use crate::error::SimError;
use crate::joint::SettingName;

/// How the catch load of an experiment is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CatchLoadMode {
    /// Drawn over the joint's range, or fixed as given.
    AsSampled,
    /// A drawn share of body weight.
    ScaledToWeight,
}

impl CatchLoadMode {
    /// As printed.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::AsSampled => "as sampled",
            Self::ScaledToWeight => "scaled",
        }
    }
}

/// The knee of a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KneeChoice {
    /// That of the set-up.
    Setup,
    /// The one with constant friction, for rule 6.
    ConstantFriction,
}

/// A run by its inputs.
#[derive(Debug, Clone)]
pub struct RunSpec {
    /// Scenario.
    pub scenario: &'static str,
    /// Knee.
    pub knee: KneeChoice,
    /// Index of the prosthesis; none for that of the set-up.
    pub prosthesis: Option<usize>,
    /// Whether the landing after a stride is run as well.
    pub landing: bool,
    /// A whole fitting session instead of one scenario, with this order of settings.
    pub session: Option<&'static [SettingName]>,
    /// Inputs that differ from the set-up.
    pub values: InputValues,
}

impl RunSpec {
    /// The same with one input changed.
    #[must_use]
    pub fn with(&self, key: &'static str, value: f64) -> Self {
        let mut run = self.clone();
        run.values.insert(key, value);
        run
    }

    /// The same without one of its inputs.
    #[must_use]
    pub fn without(&self, key: &str) -> Self {
        let mut run = self.clone();
        run.values.remove(key);
        run
    }
}

/// Why an experiment gives no evidence.
#[derive(Debug)]
pub enum Abort {
    /// The statement makes no sense for this sample, or a run could not be followed.
    Undecided(&'static str),
    /// The inputs are wrong.
    Error(SimError),
}

impl From<SimError> for Abort {
    fn from(e: SimError) -> Self {
        e.no_result_because().map_or(Self::Error(e), Self::Undecided)
    }
}

/// Whether a sample agrees with a rule.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Agreement {
    /// The effect is as the rule says.
    Agrees,
    /// The effect is the opposite.
    Disagrees,
    /// The effect is the opposite here; the same sample agrees elsewhere in the range of the input moved, or would with
    /// another value of a judged edge.
    DisagreesHere,
    /// No difference beyond the integration's errors.
    NoDifference,
}

impl Agreement {
    /// Of an effect, positive in the direction of the rule; one no greater than `noise` is no difference.
    #[must_use]
    pub fn of(effect: f64, noise: f64) -> Self {
        match effect {
            e if e > noise => Self::Agrees,
            e if e < -noise => Self::Disagrees,
            _ => Self::NoDifference,
        }
    }

    /// Of something that is true or not.
    #[must_use]
    pub fn of_bool(agrees: bool) -> Self {
        if agrees { Self::Agrees } else { Self::Disagrees }
    }
}

/// What an experiment shows.
#[derive(Debug, Clone)]
pub struct Evidence {
    /// Whether it agrees with the rule.
    pub agreement: Agreement,
    /// Size of the effect, positive in the direction of the rule; infinite where one value is never reached.
    pub effect: f64,
    /// The values, in words.
    pub description: String,
    /// The runs that gave them.
    pub runs: Vec<RunSpec>,
}

/// Result of one statement on one sample.
pub type ExperimentResult = Result<Evidence, Abort>;
