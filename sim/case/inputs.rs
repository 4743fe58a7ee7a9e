//! Inputs by name: what `compare`, `window`, `uncertainty`, `rules`, `recheck` and `sweep` vary.
//!
//! A row says what an input is, its unit, the range the model is meant for, whether it is a value of
//! judgement, and how its value is read from and put into a [`Case`]. A new input is one row. Checked in
//! tests/studies/inputs.rs.

use super::access::{
    Access, cadence_steps_per_min, foot_extra_mass_kg, has_base_drive, hip_moment, set_foot_extra_mass,
    set_hip_moment, speed_m_per_s, walks,
};
use crate::error::SimError;
use crate::joint::{CushionFile, SettingName};
use crate::scenario::Activity;
use crate::units::{Setting, within};

pub use super::setup::Case;

impl Case {
    /// Puts a value into a named input.
    ///
    /// # Errors
    /// An unknown name; a value outside the input's range.
    pub fn set(&mut self, key: &str, value: f64) -> Result<(), SimError> {
        let input = input(key)?;
        within(key, value, input.least..=input.most)?;
        (input.set)(self, value);
        Ok(())
    }

    /// The value of a named input as it is now; `None` for an unknown name or where this case has no such
    /// input.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<f64> {
        INPUTS.iter().find(|i| i.key == key).and_then(|i| (i.get)(self))
    }
}

/// One row of the registry.
#[derive(Debug)]
pub struct Input {
    /// Name, with its unit.
    pub key: &'static str,
    /// What it is.
    pub label: &'static str,
    /// Unit as printed.
    pub unit: &'static str,
    /// Least value that is taken.
    pub least: f64,
    /// Greatest value that is taken.
    pub most: f64,
    /// A value of judgement.
    pub judged: bool,
    /// Changes nothing but the knee, its settings and its oil: rows of a sweep that differ in such inputs only share
    /// person, leg and drive.
    pub of_knee: bool,
    /// The value in a case; none where the case has no such input.
    pub get: fn(&Case) -> Option<f64>,
    /// Puts a value into a case; scenarios that have no such input stay as they are.
    pub set: fn(&mut Case, f64),
}

/// The row of a key.
///
/// # Errors
/// An unknown name, with those there are.
pub fn input(key: &str) -> Result<&'static Input, SimError> {
    INPUTS.iter().find(|i| i.key == key).ok_or_else(|| SimError::Unknown {
        kind: "input",
        name: key.to_owned(),
        known: INPUTS.iter().map(|i| i.key).collect::<Vec<_>>().join(", "),
    })
}

const fn row(
    key: &'static str,
    label: &'static str,
    unit: &'static str,
    range: (f64, f64),
    access: Access,
) -> Input {
    let (get, set) = (access.get, access.set);
    Input { key, label, unit, least: range.0, most: range.1, judged: false, of_knee: false, get, set }
}

impl Input {
    /// The same row as a value of judgement.
    const fn judged(self) -> Self {
        Self { judged: true, ..self }
    }

    /// The same row as one of the knee alone.
    const fn of_knee(self) -> Self {
        Self { of_knee: true, ..self }
    }
}

/// A field that every case has.
macro_rules! field {
    ($($path:ident).+) => {
        Access { get: |c| Some(c.$($path).+), set: |c, v| c.$($path).+ = v }
    };
}

/// A position of the knee, percent of its range; none where the knee has no such setting.
macro_rules! setting {
    ($name:ident) => {
        Access {
            get: |c| c.setup.resolve().ok()?.knee.settings.get(SettingName::$name).map(|s| s.pct()),
            set: |c, v| c.setup.settings.set(SettingName::$name, Setting::clamped(v / 100.0)),
        }
    };
}

/// A field of one activity.
macro_rules! of_activity {
    ($activity:ident, $field:ident) => {
        Access {
            get: |c| match &c.scenario.activity {
                Activity::$activity(a) => Some(a.$field),
                _ => None,
            },
            set: |c, v| {
                if let Activity::$activity(a) = &mut c.scenario.activity {
                    a.$field = v;
                }
            },
        }
    };
}

/// A field of the end-of-travel cushion; a knee without one gets one.
macro_rules! cushion {
    ($field:ident) => {
        Access {
            get: |c| c.setup.knee.cushion.as_ref().map(|f| f.$field),
            set: |c, v| {
                let none = CushionFile { start_deg: 15.0, factor: 1.0 };
                c.setup.knee.cushion.get_or_insert(none).$field = v;
            },
        }
    };
}

/// All inputs that can be varied.
pub static INPUTS: &[Input] = &[
    row("swing-flexion", "swing resistance against flexion", "%", (0.0, 100.0), setting!(SwingFlexion))
        .of_knee(),
    row("swing-extension", "swing resistance against extension", "%", (0.0, 100.0), setting!(SwingExtension))
        .of_knee(),
    row("stance-yield", "stance resistance against flexion", "%", (0.0, 100.0), setting!(StanceYield))
        .of_knee(),
    row("catch-load", "load at which stance resistance engages", "%", (0.0, 100.0), setting!(CatchLoad))
        .of_knee(),
    row("mass_kg", "body mass with prosthesis", "kg", (30.0, 200.0), field!(setup.person.mass_kg)),
    row(
        "stature_m",
        "stature",
        "m",
        (1.2, 2.2),
        Access {
            get: |c| Some(c.setup.person.stature_m()),
            set: |c, v| c.setup.person.stature_given_m = Some(v),
        },
    ),
    row(
        "speed_m_per_s",
        "walking speed",
        "m/s",
        (0.1, 5.0),
        Access {
            get: speed_m_per_s,
            set: |c, v| {
                if walks(c) {
                    c.setup.speed_m_per_s = Some(v);
                }
            },
        },
    ),
    row(
        "cadence_steps_per_min",
        "cadence",
        "1/min",
        (30.0, 240.0),
        Access {
            get: cadence_steps_per_min,
            set: |c, v| {
                if walks(c) {
                    c.setup.cadence_steps_per_min = Some(v);
                }
            },
        },
    ),
    row(
        "temperature_c",
        "oil temperature",
        "°C",
        (-30.0, 100.0),
        Access {
            get: |c| Some(c.setup.temperature_c.unwrap_or(c.setup.knee.reference_temperature_c)),
            set: |c, v| c.setup.temperature_c = Some(v),
        },
    )
    .of_knee(),
    row(
        "foot_extra_mass_kg",
        "mass added at the foot",
        "kg",
        (0.0, 3.0),
        Access { get: |c| Some(foot_extra_mass_kg(&c.setup)), set: set_foot_extra_mass },
    ),
    row(
        "stumble_flexion_deg",
        "flexion at landing when stumbling",
        "°",
        (0.0, 45.0),
        of_activity!(Stumble, start_flexion_deg),
    ),
    row(
        "stand_slope_deg",
        "downward slope when standing",
        "°",
        (-20.0, 20.0),
        of_activity!(Stand, slope_deg),
    ),
    row(
        "foot_shift_m",
        "foot further forward under the knee axis",
        "m",
        (-0.06, 0.06),
        field!(setup.alignment.foot_shift_m),
    ),
    row("foot_tilt_deg", "foot tilted toes down", "°", (-8.0, 8.0), field!(setup.alignment.foot_tilt_deg)),
    row(
        "drive_share",
        "share of the walking drive against the able-bodied one that it was shifted from",
        "",
        (0.0, 1.0),
        Access {
            get: |c| has_base_drive(c).then(|| c.setup.drive_share.unwrap_or(1.0)),
            set: |c, v| {
                if has_base_drive(c) {
                    c.setup.drive_share = Some(v);
                }
            },
        },
    )
    .judged(),
    row(
        "assist_n_m",
        "preload of the assist spring",
        "N m",
        (0.0, 20.0),
        field!(setup.knee.assist.torque_n_m),
    )
    .of_knee(),
    row(
        "assist_rate_n_m_per_rad",
        "rate of the assist spring",
        "N m/rad",
        (0.0, 20.0),
        field!(setup.knee.assist.rate_n_m_per_rad),
    )
    .of_knee(),
    row(
        "extension_stop_deg",
        "angle of the extension stop",
        "°",
        (-5.0, 20.0),
        field!(setup.knee.extension_stop.angle_deg),
    )
    .of_knee(),
    row("cushion_start_deg", "start of the end-of-travel cushion", "°", (1.0, 40.0), cushion!(start_deg))
        .of_knee(),
    row("cushion_factor", "factor of the end-of-travel cushion", "", (1.0, 100.0), cushion!(factor))
        .of_knee(),
    row(
        "user_effort_n_m_per_kg",
        "corrective effort of the user in pre-swing",
        "N m/kg",
        (0.0, 1.0),
        field!(setup.person.user_effort_n_m_per_kg),
    )
    .judged(),
    row(
        "preswing_tracking_hz",
        "bandwidth of the user's correction in pre-swing",
        "Hz",
        (2.0, 50.0),
        field!(setup.person.preswing.tracking_hz),
    )
    .judged(),
    row(
        "preswing_light_a_n_m_s_per_rad",
        "damping assumed in ordinary pre-swing, a",
        "N m s/rad",
        (0.0, 5.0),
        field!(setup.person.preswing.light_a_n_m_s_per_rad),
    )
    .judged(),
    row(
        "preswing_light_b_n_m_s2_per_rad2",
        "damping assumed in ordinary pre-swing, b",
        "N m s²/rad²",
        (0.0, 5.0),
        field!(setup.person.preswing.light_b_n_m_s2_per_rad2),
    )
    .judged(),
    row(
        "hip_moment_n_m_per_kg",
        "hip extension moment under load",
        "N m/kg",
        (0.0, 2.0),
        Access { get: |c| hip_moment(&c.scenario.activity).map(|h| h.used_n_m_per_kg), set: set_hip_moment },
    )
    .judged(),
    // not judged: its range is published (Highsmith et al. 2011)
    row(
        "sitting_share",
        "share of the weight on the prosthesis when sitting down",
        "",
        (0.05, 1.0),
        of_activity!(Sit, share),
    ),
    row(
        "release_distance_m",
        "centre of pressure at which a straight knee feels nothing",
        "m",
        (0.0, 0.5),
        field!(setup.knee.stance.release_distance_m),
    )
    .of_knee()
    .judged(),
    row("valve_lag_ms", "lag of the stance valve", "ms", (2.0, 500.0), field!(setup.knee.stance.lag_ms))
        .of_knee()
        .judged(),
    row(
        "valve_hysteresis_bw",
        "hysteresis of the stance valve",
        "BW",
        (0.0, 0.5),
        field!(setup.knee.stance.hysteresis_bw),
    )
    .of_knee()
    .judged(),
    row(
        "bend_start_deg",
        "flexion from which bending is felt as load",
        "°",
        (0.0, 30.0),
        field!(setup.knee.stance.bend_start_deg),
    )
    .of_knee()
    .judged(),
    row(
        "bend_span_deg",
        "flexion over which bending comes to be felt fully",
        "°",
        (0.5, 40.0),
        field!(setup.knee.stance.bend_span_deg),
    )
    .of_knee()
    .judged(),
    row(
        "stop_stiffness_n_m_per_rad",
        "stiffness of the extension stop",
        "N m/rad",
        (100.0, 50_000.0),
        field!(setup.knee.extension_stop.stiffness_n_m_per_rad),
    )
    .of_knee()
    .judged(),
    row(
        "stop_damping_s_per_rad",
        "damping of the extension stop",
        "s/rad",
        (0.0, 20.0),
        field!(setup.knee.extension_stop.damping_s_per_rad),
    )
    .of_knee()
    .judged(),
    row(
        "seal_friction_n_m",
        "seal friction",
        "N m",
        (0.0, 20.0),
        field!(setup.knee.seal_friction.torque_n_m),
    )
    .of_knee()
    .judged(),
];
