//! Limits: data in the scenario files, each with its source.

use serde::{Deserialize, Serialize};

use super::outcome_word::OutcomeWord;
use crate::error::SimError;
use crate::units::within;

/// How a broken limit counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// Breaks the scenario.
    #[default]
    Limit,
    /// Worth saying; breaks nothing.
    Warning,
    /// Worth aiming at, for looks or symmetry; breaks nothing.
    Target,
}

impl Severity {
    /// The word in files and reports.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Limit => "limit",
            Self::Warning => "warning",
            Self::Target => "target",
        }
    }
}

/// One limit on one outcome: a range, or a list of words that are allowed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Limit {
    /// Key of the outcome.
    pub outcome: String,
    /// Least value allowed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub min: Option<f64>,
    /// Greatest value allowed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max: Option<f64>,
    /// Words allowed, for outcomes that are words.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub allowed: Vec<OutcomeWord>,
    /// Where the limit comes from; `[J]` marks engineering judgement.
    pub source: String,
    /// Change of the outcome that counts as one unit of margin; by default half the range of a
    /// two-sided limit, else the limit itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scale: Option<f64>,
    /// Uncertainty of a judged edge, percent of the edge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub band_pct: Option<f64>,
    /// Greatest value of the outcome judged beside this one at which a missed limit is doubtful rather than broken.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub beside_max: Option<f64>,
    /// How a broken limit counts.
    #[serde(default)]
    pub severity: Severity,
}

impl Limit {
    /// # Errors
    /// No bound at all, words and bounds mixed, an empty range, or no usable scale.
    pub fn check(&self) -> Result<(), SimError> {
        let wrong =
            |field: &str, why: &str| Err(SimError::Inconsistent { field: field.into(), why: why.into() });
        if self.outcome.is_empty() || self.source.is_empty() {
            return wrong("source", "every limit names its outcome and its source");
        }
        for (field, bound) in [("min", self.min), ("max", self.max)] {
            if let Some(b) = bound {
                within(field, b, -1e6..=1e6)?;
            }
        }
        match (self.min, self.max, self.allowed.is_empty()) {
            (None, None, true) => wrong("min", "give min, max or allowed"),
            (Some(_), _, false) | (_, Some(_), false) => wrong("allowed", "give a range or words, not both"),
            (Some(a), Some(b), true) if a >= b => wrong("max", "must exceed min"),
            _ => {
                if let Some(s) = self.scale {
                    within("scale", s, 1e-9..=1e6)?;
                } else if self.allowed.is_empty() && self.unit_margin() <= 0.0 {
                    return wrong("scale", "needed for a limit at zero");
                }
                if let Some(b) = self.beside_max {
                    within("beside_max", b, 1e-6..=1e6)?;
                }
                if let Some(b) = self.band_pct {
                    within("band_pct", b, 0.0..=100.0)?;
                }
                Ok(())
            }
        }
    }

    /// What counts as one unit of margin, in units of the outcome.
    #[must_use]
    pub fn unit_margin(&self) -> f64 {
        self.scale.unwrap_or_else(|| match (self.min, self.max) {
            (Some(a), Some(b)) => 0.5 * (b - a),
            (Some(a), None) => a.abs(),
            (None, Some(b)) => b.abs(),
            (None, None) => 1.0,
        })
    }

    /// Distance to the nearest bound, positive inside, in units of the outcome; infinite for words.
    #[must_use]
    pub fn margin(&self, value: f64) -> f64 {
        let above = self.min.map_or(f64::INFINITY, |a| value - a);
        let below = self.max.map_or(f64::INFINITY, |b| b - value);
        above.min(below)
    }
}
