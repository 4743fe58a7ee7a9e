//! Against general multibody codes, whose dynamics and integrators are their own: MuJoCo (mujoco_cases.json in
//! tests/reference), whole strides and loaded tasks, with the laws of the joint of tests/reference; OpenSim
//! (opensim_cases.json), whole strides, with the laws written once more in its language.
//!
//! The criterion, 1e-4 rad, was fixed before the first comparison: what steps of 0.1 ms may cost, and less than any
//! outcome is printed to.

use serde_json::Value;

use super::scipy::{cases_of, leg, sit, stride};
use crate::evidence::{Check, Kind, greatest};
use kneedamp::motion::joint_events::joint_event;
use kneedamp::motion::{sitting, stance_leg};
use kneedamp::numerics::tolerances::Tolerances;

const CRITERION_RAD: f64 = 1e-4;

/// The case with the inputs of a case of an engine.
fn case_of(engine: &Value) -> Value {
    let text = |key: &str| engine[key].as_str().expect("text");
    let same = |c: &Value| c["name"] == engine["name"];
    cases_of(text("file"), text("kind")).into_iter().find(same).expect("a case of this name")
}

/// Instant and flexion of every sample.
fn samples(engine: &Value) -> Vec<(f64, f64)> {
    let pair = |s: &Value| (s[0].as_f64().expect("time"), s[1].as_f64().expect("flexion"));
    engine["samples"].as_array().expect("samples").iter().map(pair).collect()
}

/// Greatest deviation of flexion over the samples, rad.
fn apart(samples: &[(f64, f64)], flexion: impl Fn(f64) -> f64) -> f64 {
    greatest(samples.iter().map(|&(t, phi)| (flexion(t) - phi).abs()))
}

/// Deviation of strides before the knee meets its extension stop again, and from there to heel contact, rad.
fn strides(file: &str) -> [f64; 2] {
    strides_of(file, |_| ())
}

/// The same after a change of the inputs of each stride.
fn strides_of(file: &str, change: impl Fn(&mut Value)) -> [f64; 2] {
    let both: Vec<[f64; 2]> = cases_of(file, "walking")
        .iter()
        .map(|engine| {
            let mut case = case_of(engine);
            change(&mut case["inputs"]);
            let s = stride(&case, &Tolerances::tight());
            // the knee leaves the stop in pre-swing; the contact meant is that after the peak
            let contact = s.trajectory.events_of(joint_event::EXTENSION_DEPTH).find(|e| e.t_s > s.peak().0);
            let contact_s = contact.map_or(f64::INFINITY, |e| e.t_s);
            let (before, after): (Vec<_>, Vec<_>) =
                samples(engine).into_iter().partition(|x| x.0 < contact_s);
            let found = [before, after].map(|part| apart(&part, |t| s.flexion(t)));
            println!("{}: {:.1e} rad, past the contact {:.1e}", engine["name"], found[0], found[1]);
            found
        })
        .collect();
    assert!(both.len() >= 3, "{} strides", both.len());
    // a stride may end before the contact
    [0, 1].map(|k| greatest(both.iter().map(|b| b[k]).filter(|d| k == 0 || !d.is_nan())))
}

/// Deviation over the loaded tasks on the ground, and in sitting, rad.
fn loaded(file: &str) -> [f64; 2] {
    let legs = cases_of(file, "leg").into_iter().map(|engine| {
        let run = leg(&case_of(&engine), &Tolerances::tight());
        let found = apart(&samples(&engine), |t| run.trajectory.at(t)[stance_leg::state::PHI]);
        println!("{}: {found:.1e} rad", engine["name"]);
        found
    });
    let seats = cases_of(file, "sitting").into_iter().map(|engine| {
        let run = sit(&case_of(&engine), &Tolerances::tight());
        let found = apart(&samples(&engine), |t| run.trajectory.at(t)[sitting::state::PHI]);
        println!("{}: {found:.1e} rad", engine["name"]);
        found
    });
    [greatest(legs), greatest(seats)]
}

pub fn checks() -> Vec<Check> {
    let row = |id, what, source, figure| Check {
        id,
        kind: Kind::Verification,
        what,
        source,
        criterion: CRITERION_RAD,
        figure,
        unit: "rad",
    };
    const MUJOCO: &str = "MuJoCo 4.0.0, its RK4 with 0.1 ms steps (tests/reference)";
    const OPENSIM: &str = "OpenSim 4.6, its Runge-Kutta-Merson, accuracy 1e-10 (tests/reference)";
    let [before, after] = strides("mujoco_cases.json");
    let [before_too, after_too] = strides("opensim_cases.json");
    let [legs, seats] = loaded("mujoco_cases.json");
    vec![
        row("B32", "ten whole strides: flexion before contact with the extension stop", MUJOCO, before),
        row("B33", "the same: from that contact to heel contact", MUJOCO, after),
        row("B34", "ten ramps, stairs, stumbles and a landing: flexion", MUJOCO, legs),
        row("B35", "three times sitting down: flexion", MUJOCO, seats),
        row("B36", "six whole strides: flexion before contact with the extension stop", OPENSIM, before_too),
        row("B37", "the same: from that contact to heel contact", OPENSIM, after_too),
    ]
}

#[test]
fn cross_code_engines_agree() {
    for check in checks() {
        check.assert();
    }
}

/// A shank whose centre of mass is 1 % lower than that of the engines is not taken for the same.
#[test]
fn cross_code_engines_notice_another_shank() {
    for file in ["mujoco_cases.json", "opensim_cases.json"] {
        let [before, _] = strides_of(file, |inputs| {
            let lower = 1.01 * inputs["shank"]["com_distance_m"].as_f64().expect("a distance");
            inputs["shank"]["com_distance_m"] = lower.into();
        });
        assert!(before > 10.0 * CRITERION_RAD, "{file}: {before}");
    }
}
