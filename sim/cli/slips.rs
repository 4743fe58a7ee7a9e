//! Values that are legal but look like a slip of the unit: named on stderr and used as they are. The edges are
//! judgement \[J\].

use super::output::message;
use crate::case::setup::{Case, Setup};
use crate::joint::damper::DamperLaw;
use crate::joint::{SettingName, Settings};
use crate::scenario::Scenario;

/// Warmer oil than this was meant in another unit, °C.
const WARMEST_C: f64 = 60.0;
/// A foot is not moved by less than this, m.
const LEAST_FOOT_SHIFT_M: f64 = 0.5e-3;
/// Faster than this is running, m/s.
const FASTEST_WALK_M_PER_S: f64 = 2.5;

/// Names the slips of a set-up.
pub fn name(setup: &Setup, scenarios: &[Scenario]) {
    name_settings(&setup.settings);
    let paces = scenarios.iter().filter_map(|s| step(setup, s));
    let mut notes: Vec<String> = [temperature(setup), table_law(setup), foot_shift(setup), speed(setup)]
        .into_iter()
        .flatten()
        .chain(paces)
        .collect();
    // several scenarios can have one pace
    notes.dedup();
    notes.iter().for_each(|n| message(&format!("Note: {n}.")));
}

/// Names the settings that look like fractions.
pub fn name_settings(settings: &Settings) {
    for name in SettingName::ALL {
        if let Some(s) = settings.get(name) {
            name_setting(name, s.pct());
        }
    }
}

/// Names a setting that looks like a fraction.
pub fn name_setting(name: SettingName, pct: f64) {
    if 0.0 < pct && pct < 1.0 {
        message(&format!(
            "Note: {name}={pct} is {pct} percent, almost open; did you mean {name}={}?",
            (1e4 * pct).round() / 1e2
        ));
    }
}

fn temperature(setup: &Setup) -> Option<String> {
    let t = setup.temperature_c.filter(|t| *t > WARMEST_C)?;
    let c = (t - 32.0) / 1.8;
    Some(format!("--temperature {t} is in °C, hot for oil; if {t} °F was meant, that is {c:.0} °C"))
}

/// A measured law holds at the temperature of its measurement.
fn table_law(setup: &Setup) -> Option<String> {
    setup.temperature_c?;
    let knee = setup.resolve().ok()?.knee;
    let laws = [
        (SettingName::SwingFlexion, &knee.swing_flexion),
        (SettingName::SwingExtension, &knee.swing_extension),
    ];
    let tables: Vec<&str> =
        laws.iter().filter(|(_, l)| matches!(l, DamperLaw::Table(_))).map(|(n, _)| n.as_str()).collect();
    (!tables.is_empty())
        .then(|| format!("the measured table of {} ignores --temperature", tables.join(" and of ")))
}

fn foot_shift(setup: &Setup) -> Option<String> {
    let m = setup.alignment.foot_shift_m;
    let small = m.abs() > 0.0 && m.abs() < LEAST_FOOT_SHIFT_M;
    let mm = (1e6 * m).round() / 1e3;
    small
        .then(|| format!("--foot-shift {mm} is in mm; if {mm} m was meant, that is {} mm", (1e6 * m).round()))
}

fn speed(setup: &Setup) -> Option<String> {
    let v = setup.speed_m_per_s.filter(|v| *v > FASTEST_WALK_M_PER_S)?;
    Some(format!("--speed {v} is in m/s, faster than walking; {v} km/h is {:.2} m/s", v / 3.6))
}

/// A step at the given cadence that is longer than the leg.
fn step(setup: &Setup, scenario: &Scenario) -> Option<String> {
    let cadence = setup.cadence_steps_per_min?;
    let case = Case { setup: setup.clone(), scenario: scenario.clone() };
    let speed = case.get("speed_m_per_s")?;
    let (step_m, leg_m) = (speed * 60.0 / cadence, setup.person.leg_length_m());
    (step_m > leg_m).then(|| {
        format!("{cadence} steps a minute at {speed:.2} m/s are steps of {step_m:.2} m, longer than the leg ({leg_m:.2} m)")
    })
}
