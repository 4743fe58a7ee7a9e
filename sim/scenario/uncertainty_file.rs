//! What is uncertain, as written in `models/uncertainty/*.yaml`: inputs by name, each with a range and why.
//!
//! The names are those of `sim/case/inputs.rs`; the study checks them.

use serde::{Deserialize, Serialize};

use crate::error::SimError;

/// Most inputs in one file.
pub const MOST_INPUTS: usize = 100;

/// Marks a file of uncertain inputs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum UncertaintyKind {
    /// The only kind.
    #[default]
    Uncertainty,
}

/// What a range starts from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Around {
    /// Zero: low and high are values.
    #[default]
    Zero,
    /// The value of the set-up: low and high are added to it.
    SetUp,
}

/// One uncertain input; evenly likely over its range.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct UncertainInput {
    /// Name of the input.
    pub input: String,
    /// Least.
    pub low: f64,
    /// Greatest.
    pub high: f64,
    /// What the range starts from.
    #[serde(default)]
    pub around: Around,
    /// Why this range.
    pub why: String,
}

/// A file of uncertain inputs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct UncertaintyFile {
    /// Always `uncertainty`.
    pub kind: UncertaintyKind,
    /// Name in the library.
    pub name: String,
    /// What it is about.
    pub about: String,
    /// What is uncertain.
    pub inputs: Vec<UncertainInput>,
}

impl UncertaintyFile {
    /// Ranges that are ranges, each with its reason, no input twice.
    ///
    /// # Errors
    /// The first thing that is wrong.
    pub fn check(&self) -> Result<(), SimError> {
        let wrong = |field: String, why: String| Err(SimError::Inconsistent { field, why });
        if self.inputs.is_empty() || self.inputs.len() > MOST_INPUTS {
            let n = self.inputs.len();
            return wrong("inputs".into(), format!("{n} inputs; 1 to {MOST_INPUTS} are wanted"));
        }
        for (i, u) in self.inputs.iter().enumerate() {
            for (name, v) in [("low", u.low), ("high", u.high)] {
                if !v.is_finite() {
                    return wrong(format!("inputs[{i}].{name}"), format!("{v} is no finite number"));
                }
            }
            if u.high <= u.low {
                return wrong(
                    format!("inputs[{i}].high"),
                    format!("{} must be more than low ({})", u.high, u.low),
                );
            }
            if u.why.trim().is_empty() {
                return wrong(format!("inputs[{i}].why"), "say why this range".into());
            }
            if self.inputs[..i].iter().any(|other| other.input == u.input) {
                return wrong(format!("inputs[{i}].input"), format!("'{}' is there twice", u.input));
            }
        }
        Ok(())
    }
}
