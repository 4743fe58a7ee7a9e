//! A set-up: one person, prosthesis and knee with settings, oil temperature and pace; the trials of it.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::body::{Alignment, Person, Prosthesis, Shank};
use crate::error::SimError;
use crate::joint::{Knee, KneeFile, Settings};
use crate::motion::trial::Detail;
use crate::motion::{Precision, Trial};
use crate::quantity::within;
use crate::scenario::{Activity, DriveFile, Scenario};

/// What a study is about, before it is resolved.
#[derive(Debug, Clone)]
pub struct Setup {
    /// Person.
    pub person: Person,
    /// Prosthesis below the knee axis.
    pub prosthesis: Prosthesis,
    /// Where the foot stands under the knee axis.
    pub alignment: Alignment,
    /// Knee.
    pub knee: KneeFile,
    /// Knee that toe height is compared with.
    pub comparison: KneeFile,
    /// Settings that override those of the knee's file.
    pub settings: Settings,
    /// Oil temperature, °C; by default the file's reference temperature.
    pub temperature_c: Option<f64>,
    /// Walking speed that overrides the scenario's, m/s.
    pub speed_m_per_s: Option<f64>,
    /// Cadence that overrides the scenario's, steps per minute.
    pub cadence_steps_per_min: Option<f64>,
    /// Walking drives by name.
    pub drives: BTreeMap<String, Arc<DriveFile>>,
}

/// A set-up in numbers that act.
#[derive(Debug, Clone)]
pub struct Resolved {
    /// Limb below the knee.
    pub shank: Shank,
    /// Knee.
    pub knee: Knee,
    /// Comparison knee.
    pub comparison_knee: Knee,
}

impl Setup {
    /// A set-up with the knee's own settings, compared with itself; one walking drive.
    #[must_use]
    pub fn new(person: Person, prosthesis: Prosthesis, knee: KneeFile, drive: DriveFile) -> Self {
        Self {
            person,
            prosthesis,
            alignment: Alignment::default(),
            comparison: knee.clone(),
            knee,
            settings: Settings::default(),
            temperature_c: None,
            speed_m_per_s: None,
            cadence_steps_per_min: None,
            drives: BTreeMap::from([(drive.name.clone(), Arc::new(drive))]),
        }
    }

    /// Checks everything and turns it into numbers.
    ///
    /// # Errors
    /// The first value out of range; a setting that the knee does not have.
    pub fn resolve(&self) -> Result<Resolved, SimError> {
        self.person.check()?;
        self.alignment.check()?;
        if let Some(v) = self.speed_m_per_s {
            within("speed", v, 0.1..=5.0)?;
        }
        if let Some(c) = self.cadence_steps_per_min {
            within("cadence", c, 30.0..=240.0)?;
        }
        Ok(Resolved {
            shank: self.prosthesis.shank()?,
            knee: self.knee.resolve(&self.settings, self.temperature_c)?,
            comparison_knee: self.comparison.resolve(&Settings::default(), None)?,
        })
    }

    /// The trial of a scenario.
    ///
    /// # Errors
    /// As [`Setup::resolve`]; a drive that is not at hand; a pace asked of a scenario without walking.
    pub fn trial(&self, scenario: &Scenario) -> Result<Trial, SimError> {
        let Resolved { shank, knee, comparison_knee } = self.resolve()?;
        let mut scenario = scenario.clone();
        let mut drive = None;
        if let Activity::Walk(walk) = &mut scenario.activity {
            if let Some(v) = self.speed_m_per_s {
                walk.speed_m_per_s = Some(v);
                walk.dimensionless_speed = None;
                walk.speed_factor = None;
                walk.cadence_factor = None;
            }
            if let Some(c) = self.cadence_steps_per_min {
                walk.cadence_steps_per_min = Some(c);
                walk.cadence_factor = None;
            }
            drive = Some(self.drives.get(&walk.drive).cloned().ok_or_else(|| SimError::Unknown {
                kind: "drive",
                name: walk.drive.clone(),
                known: self.drives.keys().cloned().collect::<Vec<_>>().join(", "),
            })?);
        } else if self.speed_m_per_s.is_some() || self.cadence_steps_per_min.is_some() {
            return Err(SimError::Usage(format!(
                "scenario '{}' is no level walking: speed and cadence do not apply",
                scenario.name
            )));
        }
        Ok(Trial {
            scenario,
            person: self.person.clone(),
            shank,
            alignment: self.alignment,
            knee,
            comparison_knee,
            drive,
            precision: Precision::default(),
            detail: Detail::default(),
        })
    }
}
