//! A survey as JSON.
//!
//! `{"version", "inputs": {…, "resolved": {…}, "files": {…}}, "runs": [{"scenario", "outcomes", "limits",
//! "verdict", "energy_residual", …}], "caution"}`; outcome keys are those of the registry. With the files of scenarios,
//! drives and comparison joint a result can be run again by itself (`recorded`).

use std::collections::BTreeSet;

use serde_json::{Map, Value as Json, json};

use crate::case::setup::{Resolved, Setup};
use crate::joint::damper::{DamperLaw, Orifice};
use crate::joint::{Knee, SettingName};
use crate::outcome::{LimitVerdict, Value};
use crate::scenario::{Scenario, Severity};
use crate::study::SettingSensitivity;
use crate::study::survey::Survey;
use crate::study::survey::{RunResult, ScenarioRun};
use crate::units::DEG;

/// The survey as one JSON document, ending with a newline.
#[must_use]
pub fn survey(survey: &Survey) -> String {
    pretty(&survey_document(survey))
}

/// The same as a tree.
#[must_use]
pub fn survey_document(survey: &Survey) -> Json {
    let setup = &survey.setup;
    let mut inputs = inputs(setup, &survey.resolved);
    let drives = setup.drives.iter().map(|(name, drive)| {
        let base = drive.base.as_deref();
        (name.clone(), json!({ "file": drive.file.as_ref(), "base": base }))
    });
    inputs["drive_share"] = json!(setup.drive_share);
    inputs["files"] = json!({
        "comparison_knee": setup.comparison,
        "scenarios": survey.runs.iter().map(|r| &r.scenario).collect::<Vec<_>>(),
        "drives": drives.collect::<Map<_, _>>(),
    });
    json!({
        "version": env!("CARGO_PKG_VERSION"),
        "inputs": inputs,
        "runs": survey.runs.iter().map(run).collect::<Vec<_>>(),
        "caution": crate::CAUTION,
    })
}

/// A document as text, ending with a newline; lists of numbers stand on one line.
#[must_use]
pub fn pretty(document: &Json) -> String {
    let mut text = String::new();
    write_pretty(document, "\n", &mut text);
    text.push('\n');
    text
}

/// Writes a value; `line` is what begins a line on its level.
fn write_pretty(value: &Json, line: &str, text: &mut String) {
    let inner = format!("{line}  ");
    let separator = |i: usize| if i == 0 { "" } else { "," };
    match value {
        Json::Object(map) if !map.is_empty() => {
            text.push('{');
            for (i, (key, value)) in map.iter().enumerate() {
                *text += &format!("{}{inner}{}: ", separator(i), json!(key));
                write_pretty(value, &inner, text);
            }
            *text += line;
            text.push('}');
        }
        Json::Array(list) if !list.iter().all(Json::is_number) => {
            text.push('[');
            for (i, value) in list.iter().enumerate() {
                *text += separator(i);
                *text += &inner;
                write_pretty(value, &inner, text);
            }
            *text += line;
            text.push(']');
        }
        other => *text += &other.to_string(),
    }
}

pub(crate) fn inputs(setup: &Setup, resolved: &Resolved) -> Json {
    let knee = &resolved.knee;
    let settings: Map<String, Json> = SettingName::ALL
        .into_iter()
        .map(|name| (name.to_string(), json!(knee.settings.get(name).map(|s| s.pct()))))
        .collect();
    json!({
        "person": setup.person,
        "prosthesis": setup.prosthesis,
        "knee": setup.knee,
        "comparison_knee": setup.comparison.name,
        "settings_pct": settings,
        "temperature_c": setup.temperature_c.unwrap_or(setup.knee.reference_temperature_c),
        "foot_shift_m": setup.alignment.foot_shift_m,
        "foot_tilt_deg": setup.alignment.foot_tilt_deg,
        "speed_m_per_s": setup.speed_m_per_s,
        "cadence_steps_per_min": setup.cadence_steps_per_min,
        "drives": setup.drives.values().map(|d| &d.file.name).collect::<BTreeSet<_>>(),
        "resolved": resolved_numbers(setup, resolved),
    })
}

fn resolved_numbers(setup: &Setup, resolved: &Resolved) -> Json {
    let (person, shank, knee) = (&setup.person, &resolved.shank, &resolved.knee);
    json!({
        "mass_kg": person.mass_kg,
        "stature_m": person.stature_m(),
        "leg_length_m": person.leg_length_m(),
        "thigh_length_m": person.thigh_length_m(),
        "knee_to_sole_m": person.knee_to_sole_m(),
        "user_effort_n_m": person.user_effort_n_m(),
        "shank_mass_kg": shank.mass_kg,
        "shank_com_distance_m": shank.com_distance_m,
        "shank_com_angle_deg": shank.com_angle_rad / DEG,
        "shank_inertia_kg_m2": shank.inertia_kg_m2,
        "seal_friction_n_m": knee.friction.torque_n_m,
        "seal_friction_smoothing_rad_per_s": knee.friction.smoothing_rad_per_s,
        "extension_stop_deg": knee.extension_stop.angle_rad / DEG,
        "stop_stiffness_n_m_per_rad": knee.extension_stop.stiffness_n_m_per_rad,
        "stop_damping_s_per_rad": knee.extension_stop.damping_s_per_rad,
        "assist_n_m": knee.assist.torque_n_m,
        "assist_rate_n_m_per_rad": knee.assist.rate_n_m_per_rad,
        "cushion_start_deg": knee.cushion.map(|c| c.start_rad / DEG),
        "cushion_factor": knee.cushion.map(|c| c.factor),
        "relief_n_m": knee.relief.map(|r| r.torque_n_m),
        "catch_load_n": knee.stance.catch_load_n,
        "valve_lag_s": knee.stance.lag_s,
        "valve_hysteresis_bw": knee.stance.hysteresis_bw,
        "valve_switch_width_bw": knee.stance.width_bw,
        "release_distance_m": knee.stance.release_distance_m,
        "swing_flexion": law(&knee.swing_flexion),
        "swing_extension": law(&knee.swing_extension),
        "stance_yield": coefficients(Some(stance(knee))),
    })
}

/// The closed stance valve as it acts: never below the swing valve.
fn stance(knee: &Knee) -> Orifice {
    match &knee.swing_flexion {
        DamperLaw::Orifice(swing) => Orifice::between(*swing, knee.stance.yielding, 1.0),
        _ => knee.stance.yielding,
    }
}

fn law(law: &DamperLaw) -> Json {
    let mut out = coefficients(law.coefficients());
    let name = match law {
        DamperLaw::Orifice(_) => "orifice",
        DamperLaw::Linear(_) => "linear",
        DamperLaw::ConstantFriction(_) => "constant-friction",
        DamperLaw::Table(_) => "table",
    };
    out["law"] = json!(name);
    if let DamperLaw::ConstantFriction(f) = law {
        out["friction_n_m"] = json!(f.torque_n_m);
    }
    out
}

fn coefficients(o: Option<Orifice>) -> Json {
    json!({
        "a_n_m_s_per_rad": o.map(|o| o.a),
        "b_n_m_s2_per_rad2": o.map(|o| o.b),
    })
}

fn run(run: &ScenarioRun) -> Json {
    let name = &run.scenario.name;
    match &run.result {
        Err(e) => json!({
            "scenario": name,
            "outcomes": {},
            "limits": [],
            "targets": [],
            "verdict": e.in_place_of_verdict(),
            "reason": e.to_string(),
            "energy_residual": null,
        }),
        Ok(r) => ran(name, &run.scenario, r),
    }
}

fn ran(name: &str, scenario: &Scenario, r: &RunResult) -> Json {
    let outcomes: Map<String, Json> =
        r.assessment.outcomes.iter().map(|(m, v)| (m.key.to_owned(), value(v))).collect();
    let kind = scenario.activity.kind();
    let judged: Vec<&str> =
        r.assessment.outcomes.iter().filter(|(m, _)| m.judged.contains(&kind)).map(|(m, _)| m.key).collect();
    let limits = r.assessment.limits.iter().filter(|l| l.limit.severity != Severity::Target);
    let mut out = json!({
        "scenario": name,
        "about": scenario.about,
        "outcomes": outcomes,
        "decided_by_judgement": judged,
        "limits": limits.map(limit).collect::<Vec<_>>(),
        "targets": r.assessment.targets().map(limit).collect::<Vec<_>>(),
        "verdict": r.assessment.verdict().as_str(),
        "limiting": r.assessment.limiting().map(|l| l.limit.outcome.clone()),
        "sentence": r.sentence(),
        "acting": r.acting.as_ref().map(acting),
        "acting_without_loss": r.free.as_ref().map(acting),
        "notes": r.notes,
        "energy_residual": r.assessment.energy_residual,
    });
    if let Some((stride, toe_off)) = r.stride_s {
        out["stride_time_s"] = json!(stride);
        out["toe_off_s"] = json!(toe_off);
    }
    out
}

/// A move of one setting that helps the closest limit.
fn acting(a: &SettingSensitivity) -> Json {
    json!({
        "setting": a.setting.as_str(),
        "moved_pct": a.moved_pct,
        "from": value(a.from),
        "to": value(a.to),
        "breaks": a.breaks,
        "breaks_elsewhere": a.elsewhere.iter().map(|(scenario, label)| json!({ "scenario": scenario, "closest": label })).collect::<Vec<_>>(),
    })
}

fn limit(l: &LimitVerdict) -> Json {
    let mut out = json!({
        "outcome": l.limit.outcome,
        "min": l.limit.min,
        "max": l.limit.max,
        "source": l.limit.source,
        "verdict": l.in_words(),
        "margin": l.margin,
        "severity": l.limit.severity,
    });
    if !l.limit.allowed.is_empty() {
        out["allowed"] = json!(l.limit.allowed);
    }
    if let Some(band) = l.limit.band_pct {
        out["band_pct"] = json!(band);
        out["in_band"] = json!(l.in_band);
    }
    out
}

fn value(v: Value) -> Json {
    match v {
        Value::Number(n) => json!(n),
        Value::Word(w) => json!(w),
        Value::NotReached => Json::Null,
    }
}
