//! What the page asks about a curve of the user's own: where it lies beside the model, and what `next` makes of it.
//!
//! The table comes with the question, is read by the reader of the command line, and is kept nowhere.

use serde::Deserialize;
use serde_json::{Value as Json, json};

use crate::case::setup::Setup;
use crate::error::SimError;
use crate::findings::Cell;
use crate::library::measured::trace::{Column, read};
use crate::library::table::Named;
use crate::numerics::statistics::rounded;
use crate::scenario::Scenario;
use crate::scenario::uncertainty_file::UncertaintyFile;
use crate::study::identify_stride::{MeanCurves, PERCENT, curves_beside, swing_figures};
use crate::study::next::{Grade, NextOptions, Observation, next};
use crate::teaching::model_set::ModelSet;

/// Draws and tries of an answer on the page: half of those of the command, so that it comes sooner.
const DRAWS: u32 = 1024;
const TRIES: usize = 48;
/// Steps that are shown.
const SHOWN: usize = 8;

/// A question about a measured curve.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AskMeasured {
    scenario: String,
    /// The leg as `KEY=VALUE,…`.
    leg: String,
    /// The table; empty without a curve.
    #[serde(default)]
    table: String,
    /// `OURS=THEIRS`.
    #[serde(default)]
    columns: Vec<String>,
    /// Heel contact later than it was found, percent of the stride.
    #[serde(default)]
    later_pct: f64,
    #[serde(default)]
    seen: Vec<String>,
    #[serde(default)]
    not_seen: Vec<String>,
    #[serde(default = "crate::words::first_language")]
    pub(super) lang: String,
}

impl AskMeasured {
    fn place<'a>(&self, models: &'a ModelSet) -> Result<(Setup, &'a Scenario), SimError> {
        let scenario = models.scenario(&self.scenario)?;
        let setup = models.variant(&self.leg)?.case(&models.base, scenario)?.setup;
        Ok((setup, scenario))
    }

    fn curves(&self, setup: &Setup, scenario: &Scenario) -> Result<MeanCurves, SimError> {
        let columns = self
            .columns
            .iter()
            .map(|c| c.parse::<Column>().map_err(SimError::Usage))
            .collect::<Result<Vec<_>, _>>()?;
        let trace = read(Named { name: "your table", text: &self.table }, &columns)?;
        let later = self.later_pct.rem_euclid(PERCENT as f64);
        if !later.is_finite() {
            return Err(SimError::Usage("heel contact: a finite number is needed".into()));
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // within 0..100
        let later = later.round() as usize;
        Ok(curves_beside(&trace, setup, scenario)?.from_later_contact(later))
    }

    /// The mean stride of the table, and its figures.
    ///
    /// # Errors
    /// What is wrong in the table; a scenario that does not walk.
    pub fn curve(&self, models: &ModelSet) -> Result<Json, SimError> {
        let (setup, scenario) = self.place(models)?;
        let curves = self.curves(&setup, scenario)?;
        let swing = swing_figures(&curves.knee_deg, &scenario.name);
        Ok(json!({
            "knee_deg": curves.knee_deg,
            "strides": curves.contacts_s.len().saturating_sub(1).max(1),
            "stride_time_s": curves.stride_time_s,
            "said": swing.in_words(),
        }))
    }

    /// The ranked steps.
    ///
    /// # Errors
    /// As [`Self::curve`]; nothing seen, or an unknown symptom.
    pub fn steps(&self, models: &ModelSet, ranges: &UncertaintyFile) -> Result<Json, SimError> {
        let (setup, scenario) = self.place(models)?;
        let read = |texts: &[String], grade| {
            texts.iter().map(|t| Observation::parse(t, grade)).collect::<Result<Vec<_>, SimError>>()
        };
        let mut observations = read(&self.seen, Grade::Seen)?;
        observations.extend(read(&self.not_seen, Grade::None)?);
        let swing = match self.table.trim() {
            "" => None,
            _ => Some(swing_figures(&self.curves(&setup, scenario)?.knee_deg, &scenario.name)),
        };
        let options = NextOptions {
            observations,
            swing,
            settings_pct: 10.0,
            draws: DRAWS,
            tries: TRIES,
            step_pct: None,
            seed: 1,
        };
        // the reference ones belong to the checks
        let scenarios: Vec<Scenario> =
            models.scenarios.iter().filter(|s| !s.name.starts_with("reference")).cloned().collect();
        let found = next(&setup, &scenarios, ranges, options, &|| ())?.findings(false);
        let table = &found.tables[0];
        let text = |cell: &Cell| match cell {
            Cell::Text(t) => t.clone(),
            // no minus before a zero
            Cell::Number(v, decimals) => format!("{:.decimals$}", rounded(*v, *decimals) + 0.0),
            Cell::Empty => "–".into(),
        };
        let rows: Vec<Vec<String>> =
            table.rows.iter().take(SHOWN).map(|r| r.iter().map(text).collect()).collect();
        Ok(json!({ "text": found.text, "columns": table.columns, "rows": rows }))
    }
}
