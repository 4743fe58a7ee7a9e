//! A set-up: one person, prosthesis and knee with settings, oil temperature and pace. A case: a set-up in a
//! scenario.

use std::collections::BTreeMap;
use std::time::Instant;

use crate::body::{Alignment, Person, Prosthesis, Shank};
use crate::error::SimError;
use crate::joint::{Knee, KneeFile, SettingName, Settings};
use crate::motion::Trial;
use crate::motion::trial::Detail;
use crate::numerics::tolerances::Tolerances;
use crate::outcome::Assessment;
use crate::scenario::{Activity, Scenario, WalkingDrive};
use crate::units::{GRAVITY_M_PER_S2, percent, within};

/// Settings in words, with what the percentages mean.
pub(crate) fn settings_in_words(settings: &Settings) -> String {
    let positions: Vec<String> = SettingName::ALL
        .into_iter()
        .filter_map(|n| settings.get(n).map(|s| format!("{n} {}", percent(s.pct()))))
        .collect();
    format!("{} (of this model's range; matches no mark on any joint)", positions.join(", "))
}

/// The inputs of a study besides the scenario.
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
    /// Knee to compare toe height with.
    pub comparison: KneeFile,
    /// Settings that override those of the knee's file.
    pub settings: Settings,
    /// Oil temperature, °C; by default the file's reference temperature.
    pub temperature_c: Option<f64>,
    /// Walking speed that overrides the scenario's, m/s.
    pub speed_m_per_s: Option<f64>,
    /// Cadence that overrides the scenario's, steps per minute.
    pub cadence_steps_per_min: Option<f64>,
    /// Walking drives by the names that scenarios use; the drive itself may have another name.
    pub drives: BTreeMap<String, WalkingDrive>,
    /// Share of each drive against the one that it was shifted from; by default 1.
    pub drive_share: Option<f64>,
    /// Instant after which its trials are not run any more: a study then ends with [`SimError::Stopped`].
    pub deadline: Option<Instant>,
}

/// A set-up in SI units, checked.
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
    pub fn settings_in_words(&self) -> String {
        settings_in_words(&self.knee.settings)
    }
}

impl Setup {
    /// A set-up with the settings of the knee's file, that knee for comparison, and one walking drive.
    #[must_use]
    pub fn new(
        person: Person,
        prosthesis: Prosthesis,
        knee: KneeFile,
        drive: impl Into<WalkingDrive>,
    ) -> Self {
        let drive = drive.into();
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
            drives: BTreeMap::from([(drive.file.name.clone(), drive)]),
            drive_share: None,
            deadline: None,
        }
    }

    /// Person, prosthesis, knee and oil in words.
    #[must_use]
    pub fn models_in_words(&self, resolved: &Resolved) -> String {
        let drives = self.drives_in_words();
        format!(
            "Person {} ({:.0} kg, {:.2} m), prosthesis {} ({:.2} kg below the knee){}, knee {}, oil {:.0} °C{drives}",
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

    /// `, drive users-2020 (measured near 0.78 m/s, elsewhere shifted)`, for drives that were not measured at every
    /// speed.
    fn drives_in_words(&self) -> String {
        let unit = (GRAVITY_M_PER_S2 * self.person.leg_length_m()).sqrt();
        let drives: BTreeMap<&str, _> =
            self.drives.values().map(|d| (d.file.name.as_str(), &d.file)).collect();
        let words = drives.into_iter().filter_map(|(name, drive)| {
            let speeds = &drive.measured.as_ref()?.dimensionless_speeds;
            let at: Vec<String> = speeds.iter().map(|v| format!("{:.2} m/s", v * unit)).collect();
            Some(format!(", drive {name} (measured near {}, elsewhere shifted)", at.join(", ")))
        });
        words.collect()
    }

    /// Checks everything and converts it to SI units.
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

    /// The set-up for a scenario: speed and cadence apply to walking only.
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
        [self.models_in_words(resolved), resolved.settings_in_words()]
    }

    /// The trial of a scenario.
    ///
    /// # Errors
    /// As [`Setup::resolve`]; an unknown drive; a speed or cadence for a scenario without walking.
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
            let found = self.drives.get(&walk.drive).ok_or_else(|| SimError::Unknown {
                kind: "drive",
                name: walk.drive.clone(),
                known: self.drives.keys().cloned().collect::<Vec<_>>().join(", "),
            })?;
            drive = Some(found.at_share(self.drive_share.unwrap_or(1.0)));
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
            deadline: self.deadline,
            detail: Detail::default(),
            stride_cache: None,
        })
    }
}

/// A set-up in a scenario.
#[derive(Debug, Clone)]
pub struct Case {
    /// Set-up.
    pub setup: Setup,
    /// Scenario.
    pub scenario: Scenario,
}

impl Case {
    /// Its trial.
    ///
    /// # Errors
    /// As [`Setup::trial`].
    pub fn trial(&self, detail: Detail, tolerances: Tolerances) -> Result<Trial, SimError> {
        let mut trial = self.setup.trial(&self.scenario)?;
        trial.detail = detail;
        trial.tolerances = tolerances;
        Ok(trial)
    }

    /// Runs it and compares its outcomes with the limits.
    ///
    /// # Errors
    /// As [`Assessment::of`].
    pub fn assess(&self, detail: Detail, tolerances: Tolerances) -> Result<Assessment, SimError> {
        Assessment::of(&self.trial(detail, tolerances)?)
    }
}
