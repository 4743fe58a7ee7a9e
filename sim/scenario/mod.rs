//! Scenarios: what is done with the knee, and the limits of its outcomes.

pub mod drive_file;
mod drive_lanes;
pub mod ground;
pub mod harmonics;
mod limits;
mod outcome_word;
pub mod uncertainty_file;
pub mod walking_drive;

pub use crate::scenario::uncertainty_file::{
    Around, MOST_INPUTS, UncertainInput, UncertaintyFile, UncertaintyKind,
};
pub use crate::scenario::walking_drive::{Drive, DriveSinCos, Kinematics, Pace};
pub use drive_file::{DriveFile, DriveKind, DriveRow, MeasuredSpeeds, TOE_OFF_FRACTION, WalkingDrive};
pub(crate) use drive_lanes::DriveLanes;
pub use ground::{Footing, KneeOverFoot, Region, Sole};
pub use harmonics::Harmonics;
pub use limits::{Limit, Severity};
pub use outcome_word::OutcomeWord;

use serde::{Deserialize, Serialize};

use crate::error::SimError;
use crate::units::within;

/// Marks a file as a scenario.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum ScenarioKind {
    /// A scenario.
    #[default]
    Scenario,
}

/// A scenario as written in `scenarios/*.yaml`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Scenario {
    /// Always `scenario`.
    pub kind: ScenarioKind,
    /// Name in the library.
    pub name: String,
    /// What happens, in a sentence.
    pub about: String,
    /// Left out when no scenario is named; run it by name.
    #[serde(default)]
    pub by_name_only: bool,
    /// What is done.
    pub activity: Activity,
    /// Limits of its outcomes.
    #[serde(default)]
    pub limits: Vec<Limit>,
}

impl Scenario {
    /// What happens, in its own words up to the first stop; without the speed of walking, which a set-up can change.
    ///
    /// ```
    /// let library = kneedamp::library::Library::default();
    /// assert_eq!(library.scenario("walk-fast").unwrap().brief(), "Fast level walking");
    /// assert_eq!(library.scenario("sit-down").unwrap().brief(), "Sitting down on a chair of 0.45 m");
    /// ```
    #[must_use]
    pub fn brief(&self) -> &str {
        let stop = [";", ":", ". "].into_iter().filter_map(|s| self.about.find(s)).min();
        let brief = self.about[..stop.unwrap_or(self.about.len())].trim_end().trim_end_matches('.');
        match self.activity {
            Activity::Walk(_) => brief.split(" at ").next().unwrap_or(brief),
            _ => brief,
        }
    }
}

/// What is done with the knee.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Activity {
    /// Level walking, one stride and the landing after it.
    Walk(Walk),
    /// Sitting down.
    Sit(Sit),
    /// Down a ramp, one yielding step.
    Ramp(Ramp),
    /// Down stairs, one step.
    Stairs(Stairs),
    /// The foot lands with the knee bent.
    Stumble(Stumble),
    /// Standing.
    Stand(Stand),
}

/// Hip extension moment, N m per kg of body mass, with the band over which the motion is shown too.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct HipMoment {
    /// Used.
    pub used_n_m_per_kg: f64,
    /// Least of the band.
    pub least_n_m_per_kg: f64,
    /// Greatest of the band.
    pub most_n_m_per_kg: f64,
}

/// Level walking. Give `speed_m_per_s` or `dimensionless_speed`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct Walk {
    pub drive: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub speed_m_per_s: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dimensionless_speed: Option<f64>,
    /// Speed over that one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub speed_factor: Option<f64>,
    /// Cadence over the one that goes with that speed (before the factor).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cadence_factor: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cadence_steps_per_min: Option<f64>,
    /// Free motion followed beyond heel contact, share of the stride.
    pub beyond_heel_contact: f64,
    pub landing: LandingFile,
}

/// Landing at the end of a stride.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct LandingFile {
    pub hip_moment: HipMoment,
    pub span_s: f64,
    pub collapse_deg: f64,
}

/// Sitting down with a share of the weight on the prosthesis.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct Sit {
    pub share: f64,
    /// Shank tilt over knee flexion, κ.
    pub shank_tilt_per_flexion: f64,
    pub centre_of_pressure_m: f64,
    pub start_flexion_deg: f64,
    pub seat_height_m: f64,
    pub hip_above_seat_m: f64,
    /// Inertia besides the moving body mass, kg m², on top of the shank's own.
    pub extra_inertia_kg_m2: f64,
    pub longest_s: f64,
}

/// Down a ramp.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct Ramp {
    pub slope_deg: f64,
    pub speed_m_per_s: f64,
    /// Shank behind the vertical at the start, degrees.
    pub start_shank_deg: f64,
    pub start_flexion_deg: f64,
    pub other_leg_ahead_deg: f64,
    pub weight_transfer_s: f64,
    pub hip_moment: HipMoment,
    /// Contact of the other foot is checked once the hip is this far ahead, m.
    pub other_foot_from_m: f64,
    /// Peak rate is taken from here on, s.
    pub rate_from_s: f64,
    pub collapse_deg: f64,
    pub stall_m_per_s: f64,
    pub longest_s: f64,
    /// Flexion at the other foot's contact from which the knee is said to yield.
    pub yields_from_deg: f64,
}

/// Down one step of stairs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct Stairs {
    pub riser_m: f64,
    pub speed_m_per_s: f64,
    pub start_flexion_deg: f64,
    /// Hip ahead of the edge at the start, m.
    pub start_hip_m: f64,
    /// Leg length the other leg gains by toe and knee, m.
    pub reach_m: f64,
    pub hip_moment: HipMoment,
    pub collapse_deg: f64,
    pub stall_m_per_s: f64,
    pub longest_s: f64,
    /// Flexion beyond that of the start from which the knee is said to yield.
    pub yields_from_deg: f64,
}

/// Landing on a bent knee.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct Stumble {
    pub speed_m_per_s: f64,
    pub start_shank_deg: f64,
    pub start_flexion_deg: f64,
    pub weight_transfer_s: f64,
    pub hip_moment: HipMoment,
    pub span_s: f64,
    pub collapse_deg: f64,
}

/// Standing straight, half the weight on the prosthesis.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct Stand {
    pub slope_deg: f64,
    pub share: f64,
}

impl HipMoment {
    fn check(&self) -> Result<(), SimError> {
        within("hip_moment.least_n_m_per_kg", self.least_n_m_per_kg, 0.0..=2.0)?;
        within("hip_moment.most_n_m_per_kg", self.most_n_m_per_kg, self.least_n_m_per_kg..=2.0)?;
        within(
            "hip_moment.used_n_m_per_kg",
            self.used_n_m_per_kg,
            self.least_n_m_per_kg..=self.most_n_m_per_kg,
        )?;
        Ok(())
    }
}

impl Scenario {
    /// # Errors
    /// The first value out of range, with its field.
    pub fn check(&self) -> Result<(), SimError> {
        let inside = |key: &'static str| move |e: SimError| e.inside(key).inside("activity");
        match &self.activity {
            Activity::Walk(w) => w.check().map_err(inside("walk"))?,
            Activity::Sit(s) => s.check().map_err(inside("sit"))?,
            Activity::Ramp(r) => r.check().map_err(inside("ramp"))?,
            Activity::Stairs(s) => s.check().map_err(inside("stairs"))?,
            Activity::Stumble(s) => s.check().map_err(inside("stumble"))?,
            Activity::Stand(s) => s.check().map_err(inside("stand"))?,
        }
        for (i, limit) in self.limits.iter().enumerate() {
            limit.check().map_err(|e| e.inside(&format!("limits[{i}]")))?;
        }
        Ok(())
    }
}

impl Walk {
    fn check(&self) -> Result<(), SimError> {
        let clash =
            |field: &str, why: &str| Err(SimError::Inconsistent { field: field.into(), why: why.into() });
        match (self.speed_m_per_s, self.dimensionless_speed) {
            (Some(v), None) => within("speed_m_per_s", v, 0.1..=5.0)?,
            (None, Some(v)) => within("dimensionless_speed", v, 0.03..=1.5)?,
            _ => return clash("speed_m_per_s", "give either speed_m_per_s or dimensionless_speed"),
        };
        if let Some(f) = self.speed_factor {
            within("speed_factor", f, 0.2..=3.0)?;
        }
        if let Some(f) = self.cadence_factor {
            within("cadence_factor", f, 0.3..=2.0)?;
        }
        if let Some(c) = self.cadence_steps_per_min {
            within("cadence_steps_per_min", c, 30.0..=240.0)?;
            if self.cadence_factor.is_some() {
                return clash("cadence_factor", "give either cadence_factor or cadence_steps_per_min");
            }
        }
        within("beyond_heel_contact", self.beyond_heel_contact, 0.0..=0.3)?;
        self.landing.hip_moment.check().map_err(|e| e.inside("landing"))?;
        within("landing.span_s", self.landing.span_s, 0.1..=2.0)?;
        within("landing.collapse_deg", self.landing.collapse_deg, 60.0..=110.0)?;
        Ok(())
    }

    /// The pace of a person of this leg length.
    ///
    /// # Errors
    /// The base speed lies outside the drive.
    pub fn pace(&self, drive: &DriveFile, leg_m: f64, thigh_m: f64) -> Result<Pace, SimError> {
        let unit = (crate::units::GRAVITY_M_PER_S2 * leg_m).sqrt();
        let base = self.speed_m_per_s.unwrap_or_else(|| self.dimensionless_speed.unwrap_or(0.0) * unit);
        let cadence = match (self.cadence_steps_per_min, self.cadence_factor) {
            (Some(c), _) => Some(c),
            (None, Some(f)) => {
                let table = Pace { speed_m_per_s: base, cadence_steps_per_min: None };
                Some(f * 120.0 / Drive::new(drive, leg_m, thigh_m, table)?.stride_time_s)
            }
            (None, None) => None,
        };
        Ok(Pace { speed_m_per_s: base * self.speed_factor.unwrap_or(1.0), cadence_steps_per_min: cadence })
    }
}

impl Sit {
    fn check(&self) -> Result<(), SimError> {
        within("share", self.share, 0.05..=1.0)?;
        within("shank_tilt_per_flexion", self.shank_tilt_per_flexion, 0.0..=0.5)?;
        within("centre_of_pressure_m", self.centre_of_pressure_m, -0.06..=0.14)?;
        within("start_flexion_deg", self.start_flexion_deg, 1.0..=60.0)?;
        within("seat_height_m", self.seat_height_m, 0.2..=0.8)?;
        within("hip_above_seat_m", self.hip_above_seat_m, 0.0..=0.2)?;
        within("extra_inertia_kg_m2", self.extra_inertia_kg_m2, 0.01..=2.0)?;
        within("longest_s", self.longest_s, 1.0..=60.0)?;
        Ok(())
    }
}

impl Ramp {
    fn check(&self) -> Result<(), SimError> {
        within("slope_deg", self.slope_deg, 0.0..=20.0)?;
        within("speed_m_per_s", self.speed_m_per_s, 0.2..=2.0)?;
        within("start_shank_deg", self.start_shank_deg, 0.0..=30.0)?;
        within("start_flexion_deg", self.start_flexion_deg, 0.0..=40.0)?;
        within("other_leg_ahead_deg", self.other_leg_ahead_deg, 0.0..=30.0)?;
        within("weight_transfer_s", self.weight_transfer_s, 0.02..=1.0)?;
        self.hip_moment.check()?;
        within("other_foot_from_m", self.other_foot_from_m, -0.2..=0.5)?;
        within("rate_from_s", self.rate_from_s, 0.0..=1.0)?;
        within("collapse_deg", self.collapse_deg, 60.0..=110.0)?;
        within("stall_m_per_s", self.stall_m_per_s, 0.0..=0.5)?;
        within("longest_s", self.longest_s, 0.5..=10.0)?;
        within("yields_from_deg", self.yields_from_deg, 0.0..=60.0)?;
        Ok(())
    }
}

impl Stairs {
    fn check(&self) -> Result<(), SimError> {
        within("riser_m", self.riser_m, 0.05..=0.30)?;
        within("speed_m_per_s", self.speed_m_per_s, 0.1..=1.5)?;
        within("start_flexion_deg", self.start_flexion_deg, 0.0..=40.0)?;
        within("start_hip_m", self.start_hip_m, -0.3..=0.1)?;
        within("reach_m", self.reach_m, 0.0..=0.1)?;
        self.hip_moment.check()?;
        within("collapse_deg", self.collapse_deg, 60.0..=120.0)?;
        within("stall_m_per_s", self.stall_m_per_s, 0.0..=0.5)?;
        within("longest_s", self.longest_s, 0.5..=10.0)?;
        within("yields_from_deg", self.yields_from_deg, 0.0..=60.0)?;
        Ok(())
    }
}

impl Stumble {
    fn check(&self) -> Result<(), SimError> {
        within("speed_m_per_s", self.speed_m_per_s, 0.2..=2.5)?;
        within("start_shank_deg", self.start_shank_deg, -10.0..=30.0)?;
        within("start_flexion_deg", self.start_flexion_deg, 0.0..=45.0)?;
        within("weight_transfer_s", self.weight_transfer_s, 0.02..=1.0)?;
        self.hip_moment.check()?;
        within("span_s", self.span_s, 0.1..=2.0)?;
        within("collapse_deg", self.collapse_deg, 60.0..=110.0)?;
        Ok(())
    }
}

impl Stand {
    fn check(&self) -> Result<(), SimError> {
        within("slope_deg", self.slope_deg, -20.0..=20.0)?;
        within("share", self.share, 0.05..=1.0)?;
        Ok(())
    }
}

/// Kinds of activity.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ActivityKind {
    /// Level walking.
    Walk,
    /// Sitting down.
    Sit,
    /// Ramp.
    Ramp,
    /// Stairs.
    Stairs,
    /// Stumble.
    Stumble,
    /// Standing.
    Stand,
}

impl Activity {
    /// Its kind.
    #[must_use]
    pub fn kind(&self) -> ActivityKind {
        match self {
            Self::Walk(_) => ActivityKind::Walk,
            Self::Sit(_) => ActivityKind::Sit,
            Self::Ramp(_) => ActivityKind::Ramp,
            Self::Stairs(_) => ActivityKind::Stairs,
            Self::Stumble(_) => ActivityKind::Stumble,
            Self::Stand(_) => ActivityKind::Stand,
        }
    }
}
