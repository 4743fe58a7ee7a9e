//! A measured swing as evidence: how likely its figures are where the model says what they would be.
//!
//! ```text
//! P ∝ Π exp(−(x − m)² / 2s²)    x of the model, m measured; s 3° for flexions, 2 and 3 % of the stride for
//!                               the instants of peak and full extension [J]
//! ```
//! s is what the swing equation leaves when its values fit (U3: 1.1° rms, up to 2.5°) with room for what a trace misses.
//! A walk that cannot be followed is as unlikely as figures three s away.

use crate::error::SimError;
use crate::numerics::math;
use crate::outcome::Assessment;

/// Standard deviation of a flexion, degrees \[J\].
pub const FLEXION_SD_DEG: f64 = 3.0;
/// Standard deviation of an instant, percent of the stride \[J\].
pub const INSTANT_SD_PCT: f64 = 2.0;
/// Standard deviation of the instant of full extension, which a flat end of swing blurs, percent of the stride \[J\].
pub const STRAIGHT_SD_PCT: f64 = 3.0;

/// Figures of a measured swing.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredSwing {
    /// The walking scenario that it belongs to.
    pub scenario: String,
    /// Peak flexion, degrees.
    pub peak_deg: f64,
    /// Its instant, percent of the stride.
    pub peak_pct: f64,
    /// When the knee is first within 1° of straight after that, percent of the stride; none if it is not before heel
    /// contact. It counts as evidence where there is one.
    pub straight_pct: Option<f64>,
    /// Flexion at heel contact, degrees.
    pub contact_deg: f64,
}

impl MeasuredSwing {
    /// `TABLE@SCENARIO`, or a table alone: the table's path and the scenario.
    #[must_use]
    pub fn place(text: &str) -> (&str, Option<&str>) {
        text.rsplit_once('@').map_or((text, None), |(table, scenario)| (table, Some(scenario.trim())))
    }

    /// In words.
    #[must_use]
    pub fn in_words(&self) -> String {
        let straight = self.straight_pct.map_or_else(String::new, |p| format!(", straight at {p:.0} %"));
        format!(
            "measured in {}: peak {:.0}° at {:.0} % of the stride{straight}, {:.0}° at heel contact",
            self.scenario,
            self.peak_deg,
            self.peak_pct,
            self.contact_deg.round() + 0.0
        )
    }

    /// Likelihood of these figures where the model has others; it cannot be more than 1.
    #[must_use]
    pub fn likelihood(&self, model: Option<&Assessment>) -> f64 {
        let figures = [
            ("peak_flexion_deg", self.peak_deg, FLEXION_SD_DEG),
            ("peak_flexion_pct", self.peak_pct, INSTANT_SD_PCT),
            ("heel_contact_flexion_deg", self.contact_deg, FLEXION_SD_DEG),
        ];
        let straight = self.straight_pct.map(|p| ("full_extension_pct", p, STRAIGHT_SD_PCT));
        let off = figures.into_iter().chain(straight).map(|(key, measured, sd)| {
            let x = model.and_then(|a| a.outcomes.number(key));
            x.map_or(3.0, |x| (x - measured) / sd).powi(2)
        });
        math::exp(-0.5 * off.sum::<f64>())
    }

    /// # Errors
    /// A scenario that is not among those run.
    pub fn check(&self, scenarios: &[crate::scenario::Scenario]) -> Result<(), SimError> {
        if scenarios.iter().any(|s| s.name == self.scenario) {
            return Ok(());
        }
        Err(SimError::Usage(format!(
            "--trace: '{}' is none of the scenarios run; --trace TABLE@SCENARIO names another",
            self.scenario
        )))
    }
}
