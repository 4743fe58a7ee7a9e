//! Inputs by name: what `compare`, `window`, `uncertainty`, `rules`, `recheck` and `sweep` vary.
//!
//! A row says what an input is, its unit, the range the model is meant for, and how a value is put into
//! a [`Case`]. A new input is one row.

use super::setup::Setup;
use crate::body::Part;
use crate::error::SimError;
use crate::joint::{AssistSpring, CushionFile, SettingName};
use crate::motion::Trial;
use crate::motion::trial::Detail;
use crate::numerics::tolerances::Tolerances;
use crate::outcome::Assessment;
use crate::scenario::{Activity, HipMoment, Scenario};
use crate::units::{DEG, Setting, within};

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

    /// Runs it and holds it against its limits.
    ///
    /// # Errors
    /// As [`Assessment::of`].
    pub fn assess(&self, detail: Detail, tolerances: Tolerances) -> Result<Assessment, SimError> {
        Assessment::of(&self.trial(detail, tolerances)?)
    }

    /// Puts a value into a named input.
    ///
    /// # Errors
    /// An unknown name; a value outside the input's range.
    pub fn set(&mut self, key: &str, value: f64) -> Result<(), SimError> {
        let input = input(key)?;
        within(key, value, input.least..=input.most)?;
        (input.put)(self, value);
        Ok(())
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
    /// Puts a value into a case; scenarios that have no such input stay as they are.
    pub put: fn(&mut Case, f64),
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
    put: fn(&mut Case, f64),
) -> Input {
    Input { key, label, unit, least: range.0, most: range.1, judged: false, put }
}

const fn judged(
    key: &'static str,
    label: &'static str,
    unit: &'static str,
    range: (f64, f64),
    put: fn(&mut Case, f64),
) -> Input {
    Input { key, label, unit, least: range.0, most: range.1, judged: true, put }
}

fn position(case: &mut Case, name: SettingName, pct: f64) {
    case.setup.settings.set(name, Setting::clamped(pct / 100.0));
}

/// The hip moment used; the band is widened to hold it.
fn hip_moment(case: &mut Case, v: f64) {
    let set = |h: &mut HipMoment| {
        h.used_n_m_per_kg = v;
        h.least_n_m_per_kg = h.least_n_m_per_kg.min(v);
        h.most_n_m_per_kg = h.most_n_m_per_kg.max(v);
    };
    match &mut case.scenario.activity {
        Activity::Walk(w) => set(&mut w.landing.hip_moment),
        Activity::Ramp(r) => set(&mut r.hip_moment),
        Activity::Stairs(s) => set(&mut s.hip_moment),
        Activity::Stumble(s) => set(&mut s.hip_moment),
        Activity::Sit(_) | Activity::Stand(_) => {}
    }
}

/// Mass added at the foot, as a boot would: 0.43 m down, 0.04 m ahead, radius of gyration 0.09 m.
/// A prosthesis given by measured totals becomes one part with the same mass, centre and inertia.
fn foot_mass(case: &mut Case, kg: f64) {
    if kg > 0.0 {
        if let Some(t) = case.setup.prosthesis.totals.take() {
            let own = t.inertia_kg_m2 / t.mass_kg - t.com_distance_m.powi(2);
            case.setup.prosthesis.parts.push(Part {
                part: "as measured".into(),
                mass_kg: t.mass_kg,
                down_m: t.com_distance_m * (t.com_angle_deg * DEG).cos(),
                ahead_m: t.com_distance_m * (t.com_angle_deg * DEG).sin(),
                gyration_radius_m: own.sqrt(),
            });
        }
        case.setup.prosthesis.parts.push(Part {
            part: "added at the foot".into(),
            mass_kg: kg,
            down_m: 0.43,
            ahead_m: 0.04,
            gyration_radius_m: 0.09,
        });
    }
}

fn cushion(case: &mut Case, change: impl Fn(&mut CushionFile)) {
    let file = case.setup.knee.cushion.get_or_insert(CushionFile { start_deg: 15.0, factor: 1.0 });
    change(file);
}

fn walking_speed(case: &mut Case, v: f64) {
    if matches!(case.scenario.activity, Activity::Walk(_)) {
        case.setup.speed_m_per_s = Some(v);
    }
}

fn walking_cadence(case: &mut Case, v: f64) {
    if matches!(case.scenario.activity, Activity::Walk(_)) {
        case.setup.cadence_steps_per_min = Some(v);
    }
}

/// All inputs that can be varied.
pub static INPUTS: &[Input] = &[
    row("swing-flexion", "swing resistance against flexion", "%", (0.0, 100.0), |c, v| {
        position(c, SettingName::SwingFlexion, v);
    }),
    row("swing-extension", "swing resistance against extension", "%", (0.0, 100.0), |c, v| {
        position(c, SettingName::SwingExtension, v);
    }),
    row("stance-yield", "stance resistance against flexion", "%", (0.0, 100.0), |c, v| {
        position(c, SettingName::StanceYield, v);
    }),
    row("catch-load", "load at which stance resistance engages", "%", (0.0, 100.0), |c, v| {
        position(c, SettingName::CatchLoad, v);
    }),
    row("mass_kg", "body mass with prosthesis", "kg", (30.0, 200.0), |c, v| c.setup.person.mass_kg = v),
    row("stature_m", "stature", "m", (1.2, 2.2), |c, v| c.setup.person.stature_given_m = Some(v)),
    row("speed_m_per_s", "walking speed", "m/s", (0.1, 5.0), walking_speed),
    row("cadence_steps_per_min", "cadence", "1/min", (30.0, 240.0), walking_cadence),
    row("temperature_c", "oil temperature", "°C", (-30.0, 100.0), |c, v| c.setup.temperature_c = Some(v)),
    row("foot_extra_mass_kg", "mass added at the foot", "kg", (0.0, 3.0), foot_mass),
    row("stumble_flexion_deg", "flexion at landing when stumbling", "°", (0.0, 45.0), |c, v| {
        if let Activity::Stumble(s) = &mut c.scenario.activity {
            s.start_flexion_deg = v;
        }
    }),
    row("stand_slope_deg", "downward slope when standing", "°", (-20.0, 20.0), |c, v| {
        if let Activity::Stand(s) = &mut c.scenario.activity {
            s.slope_deg = v;
        }
    }),
    row("foot_shift_m", "foot further forward under the knee axis", "m", (-0.06, 0.06), |c, v| {
        c.setup.alignment.foot_shift_m = v;
    }),
    row("assist_n_m", "preload of the assist spring", "N m", (0.0, 20.0), |c, v| {
        let rate_n_m_per_rad = c.setup.knee.assist.rate_n_m_per_rad;
        c.setup.knee.assist = AssistSpring { torque_n_m: v, rate_n_m_per_rad };
    }),
    row("assist_rate_n_m_per_rad", "rate of the assist spring", "N m/rad", (0.0, 20.0), |c, v| {
        c.setup.knee.assist.rate_n_m_per_rad = v;
    }),
    row("extension_stop_deg", "angle of the extension stop", "°", (-5.0, 20.0), |c, v| {
        c.setup.knee.extension_stop.angle_deg = v;
    }),
    row("cushion_start_deg", "start of the end-of-travel cushion", "°", (1.0, 40.0), |c, v| {
        cushion(c, |f| f.start_deg = v);
    }),
    row("cushion_factor", "factor of the end-of-travel cushion", "", (1.0, 100.0), |c, v| {
        cushion(c, |f| f.factor = v);
    }),
    judged(
        "user_effort_n_m_per_kg",
        "corrective effort of the user in pre-swing",
        "N m/kg",
        (0.0, 1.0),
        |c, v| {
            c.setup.person.user_effort_n_m_per_kg = v;
        },
    ),
    judged("hip_moment_n_m_per_kg", "hip extension moment under load", "N m/kg", (0.0, 2.0), hip_moment),
    // not judged: its range is published (Highsmith et al. 2011)
    row(
        "sitting_share",
        "share of the weight on the prosthesis when sitting down",
        "",
        (0.05, 1.0),
        |c, v| {
            if let Activity::Sit(s) = &mut c.scenario.activity {
                s.share = v;
            }
        },
    ),
    judged(
        "release_distance_m",
        "centre of pressure at which a straight knee feels nothing",
        "m",
        (0.0, 0.5),
        |c, v| {
            c.setup.knee.stance.release_distance_m = v;
        },
    ),
    judged("valve_lag_ms", "lag of the stance valve", "ms", (2.0, 500.0), |c, v| {
        c.setup.knee.stance.lag_ms = v
    }),
    judged("valve_hysteresis_bw", "hysteresis of the stance valve", "BW", (0.0, 0.5), |c, v| {
        c.setup.knee.stance.hysteresis_bw = v;
    }),
    judged("bend_start_deg", "flexion from which bending is felt as load", "°", (0.0, 30.0), |c, v| {
        c.setup.knee.stance.bend_start_deg = v;
    }),
    judged(
        "bend_span_deg",
        "flexion over which bending comes to be felt fully",
        "°",
        (0.5, 40.0),
        |c, v| {
            c.setup.knee.stance.bend_span_deg = v;
        },
    ),
    judged(
        "stop_stiffness_n_m_per_rad",
        "stiffness of the extension stop",
        "N m/rad",
        (100.0, 50_000.0),
        |c, v| {
            c.setup.knee.extension_stop.stiffness_n_m_per_rad = v;
        },
    ),
    judged("stop_damping_s_per_rad", "damping of the extension stop", "s/rad", (0.0, 20.0), |c, v| {
        c.setup.knee.extension_stop.damping_s_per_rad = v;
    }),
    judged("seal_friction_n_m", "seal friction", "N m", (0.0, 20.0), |c, v| {
        c.setup.knee.seal_friction.torque_n_m = v;
    }),
];
