//! A set-up: one person, prosthesis and knee with settings, oil temperature and pace; the trials of it.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::body::{Alignment, Person, Prosthesis, Shank};
use crate::error::SimError;
use crate::joint::{Knee, KneeFile, SettingName, Settings};
use crate::motion::Trial;
use crate::motion::trial::Detail;
use crate::numerics::tolerances::Tolerances;
use crate::scenario::{Activity, DriveFile, Scenario};
use crate::units::within;

/// Positions of settings in words, with what the percentages mean.
pub(crate) fn settings_in_words(settings: &Settings) -> String {
    let said: Vec<String> = SettingName::ALL
        .into_iter()
        .filter_map(|n| settings.get(n).map(|s| format!("{n} {:.0} %", s.pct())))
        .collect();
    format!("{} (of this model's range; matches no mark on any joint)", said.join(", "))
}

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

impl Resolved {
    /// The settings in words, with what the percentages mean.
    #[must_use]
    pub fn said_settings(&self) -> String {
        settings_in_words(&self.knee.settings)
    }
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

    /// Person, prosthesis, knee and oil in words.
    #[must_use]
    pub fn said_models(&self, resolved: &Resolved) -> String {
        format!(
            "Person {} ({:.0} kg, {:.2} m), prosthesis {} ({:.2} kg below the knee){}, knee {}, oil {:.0} °C",
            self.person.name,
            self.person.mass_kg,
            self.person.stature_m(),
            self.prosthesis.name,
            resolved.shank.mass_kg,
            self.alignment.in_words(),
            self.knee.name,
            self.temperature_c.unwrap_or(self.knee.reference_temperature_c),
        )
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

    /// The set-up as it is for a scenario: a pace given for walking does not count in the others.
    #[must_use]
    pub fn paced_for(&self, scenario: &Scenario) -> Self {
        let mut setup = self.clone();
        if !matches!(scenario.activity, Activity::Walk(_)) {
            setup.speed_m_per_s = None;
            setup.cadence_steps_per_min = None;
        }
        setup
    }

    /// Inputs in words: person, prosthesis, knee and oil; then the settings.
    #[must_use]
    pub fn in_words(&self, resolved: &Resolved) -> [String; 2] {
        [self.said_models(resolved), resolved.said_settings()]
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
            tolerances: Tolerances::default(),
            detail: Detail::default(),
            stride_cache: None,
        })
    }
}
