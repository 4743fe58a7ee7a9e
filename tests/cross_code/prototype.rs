//! Against the recorded figures of an earlier, independent SciPy prototype (LSODA/RK45, no event
//! detection), at the precision that `run` uses.

use approx::assert_abs_diff_eq;
use serde_json::Value;

use super::scipy::{cases, leg_on, num, sit, stride};
use crate::common::fixture;
use crate::evidence::{Check, Kind, greatest};
use kneedamp::joint::damper::{DamperLaw, Orifice};
use kneedamp::motion::sitting;
use kneedamp::motion::sitting::SitRun;
use kneedamp::motion::stance_leg::state;
use kneedamp::motion::stance_tasks::LegRun;
use kneedamp::motion::stride::Stride;
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::outcome::OutcomeWord;
use kneedamp::scenario::Footing;
use kneedamp::units::DEG;

/// Ours by the fixture's name; `None` if it did not happen.
pub fn of_stride(s: &Stride, key: &str) -> Option<f64> {
    let period = s.drive.stride_time_s;
    match key {
        "toe_off_flexion_deg" => Some(s.flexion(s.drive.toe_off_s) / DEG),
        "peak_flexion_deg" => Some(s.peak().1 / DEG),
        "peak_flexion_pct" => Some(100.0 * s.peak().0 / period),
        "heel_contact_flexion_deg" => Some(s.flexion(period) / DEG),
        "release_pct" => s.release_s.map(|t| 100.0 * t / period),
        "full_extension_pct" => s.full_extension_s().map(|t| 100.0 * t / period),
        "extension_margin_ms" => s.full_extension_s().map(|t| 1e3 * (period - t)),
        "terminal_speed_deg_per_s" => s.terminal_rate().map(|w| -w / DEG),
        "terminal_energy_j" => s.terminal_rate().map(|w| 0.5 * s.pendulum.inertia * w * w),
        "rebound_deg" => s.rebound().map(|r| r / DEG),
        other => panic!("unknown outcome {other}"),
    }
}

fn of_leg(r: &LegRun, key: &str) -> Option<f64> {
    let end = r.trajectory.end;
    Some(match key {
        "end_flexion_deg" => end.1[state::PHI] / DEG,
        "end_time_s" => end.0,
        "end_rate_rad_per_s" => end.1[state::OMEGA],
        "end_rate_deg_per_s" => end.1[state::OMEGA] / DEG,
        "max_flexion_deg" => r.max_flexion_rad() / DEG,
        "max_rate_deg_per_s" => r.max_rate_from(0.0)? / DEG,
        "drop_speed_m_per_s" => r.drop_speed_m_per_s(),
        "hip_forward_m" => r.hip_end_m()[0],
        "step_length_m" => r.hip_end_m()[0] + r.system.segments.leg_m() * (10.0 * DEG).sin(),
        other => panic!("unknown outcome {other}"),
    })
}

fn of_sit(r: &SitRun, key: &str) -> Option<f64> {
    let end = r.trajectory.end;
    let y = end.1;
    Some(match key {
        "sit_time_s" => end.0,
        "seat_speed_m_per_s" => -r.system.hip_height(y[sitting::state::PHI]).first * y[sitting::state::OMEGA],
        "peak_rate_deg_per_s" => {
            r.trajectory.greatest(0.0, end.0, [sitting::state::OMEGA], |_, [omega]| omega).0 / DEG
        }
        other => panic!("unknown outcome {other}"),
    })
}

/// The prototype's figures, each with the case of the same name; (case, outcomes, kind).
fn joined(group: &str) -> Vec<(Value, Value, String)> {
    let recorded = fixture("prototype_cases.json");
    let ours = cases(group);
    let rows = recorded[group].as_array().expect("cases").iter();
    rows.map(|p| {
        let mut case = ours.iter().find(|c| c["name"] == p["name"]).expect("every name joins").clone();
        for (key, v) in p["start"].as_object().into_iter().flatten() {
            case["inputs"][key] = v.clone();
        }
        (case, p["outcomes"].clone(), p["kind"].as_str().unwrap_or(group).to_owned())
    })
    .collect()
}

/// Deviation, beyond half of the last printed digit where that is given; relative where asked.
fn deviation(ours: Option<f64>, theirs: &Value, printed_to: f64, relative: bool) -> f64 {
    match (ours, theirs.as_f64()) {
        (None, None) => 0.0,
        (Some(a), Some(b)) => {
            let beyond = ((a - b).abs() - 0.5 * printed_to * 1.000_001).max(0.0);
            if relative { beyond / b.abs().max(printed_to) } else { beyond }
        }
        _ => f64::INFINITY,
    }
}

/// Greatest deviation of the walking outcomes whose name ends in one of `units`.
fn walking(units: &[&str]) -> f64 {
    greatest(joined("walking").iter().flat_map(|(case, theirs, _)| {
        let s = stride(case, &Tolerances::default());
        let rows = theirs.as_object().expect("outcomes").clone();
        rows.into_iter()
            .filter(|(key, _)| units.iter().any(|u| key.ends_with(u)))
            .map(|(key, v)| deviation(of_stride(&s, &key), &v, 0.0, false))
            .collect::<Vec<_>>()
    }))
}

/// The prototype's foot: the same for every stature but for its radius.
fn foot_of(recorded: &Value, case: &Value) -> Footing {
    if case["kind"] == "stairs" {
        return Footing::Edge { ahead_m: num(recorded, "edge_m") };
    }
    Footing::Rolling {
        radius_m: num(&case["inputs"]["foot"], "roll_radius_m"),
        offset_m: num(recorded, "offset_m"),
        heel_m: num(recorded, "heel_m"),
        toe_m: num(recorded, "toe_m"),
    }
}

/// Greatest deviation over the outcomes of the loaded tasks of some kinds, but those which the
/// prototype took at solver points without locating the instant.
fn leg_tasks(kinds: &[&str], relative: bool, only: Option<&str>) -> f64 {
    let recorded = fixture("prototype_cases.json");
    greatest(joined("leg").iter().filter(|(.., kind)| kinds.contains(&kind.as_str())).flat_map(
        |(case, theirs, kind)| {
            let run = leg_on(case, foot_of(&recorded["foot"], case), &Tolerances::default());
            let taken = recorded["taken_at_solver_points"]["outcomes"][kind].as_array().cloned();
            let taken = taken.unwrap_or_default();
            let rows = theirs.as_object().expect("outcomes").clone();
            rows.into_iter()
                .filter(|(key, v)| v.is_number() && !taken.iter().any(|t| t == key.as_str()))
                .filter(|(key, _)| key != "heel_contact_flexion_deg")
                .filter(|(key, _)| only.is_none_or(|unit| key.ends_with(unit)))
                .map(|(key, v)| {
                    let digit = if relative { num(&recorded["printed_to"][kind], &key) } else { 0.0 };
                    deviation(of_leg(&run, &key), &v, digit, relative)
                })
                .collect::<Vec<_>>()
        },
    ))
}

fn sitting_tasks() -> f64 {
    let recorded = fixture("prototype_cases.json");
    greatest(joined("sitting").iter().flat_map(|(case, theirs, _)| {
        let run = sit(case, &Tolerances::default());
        let rows = theirs.as_object().expect("outcomes").clone();
        rows.into_iter()
            .map(|(key, v)| {
                let digit = num(&recorded["printed_to"]["sitting"], &key);
                deviation(of_sit(&run, &key), &v, digit, true)
            })
            .collect::<Vec<_>>()
    }))
}

const PROTOTYPE: &str = "earlier SciPy prototype, figures as printed (tests/reference)";

pub fn checks() -> Vec<Check> {
    let row = |id, what, criterion, figure, unit| Check {
        id,
        kind: Kind::Verification,
        what,
        source: PROTOTYPE,
        criterion,
        figure,
        unit,
    };
    vec![
        row("B8", "walking, 22 strides: angles", 0.02, walking(&["_deg"]), "deg"),
        row("B9", "walking: margin before heel contact", 0.1, walking(&["_ms"]), "ms"),
        row("B10", "walking: instants", 0.02, walking(&["_pct"]), "% of stride"),
        row("B11", "sitting, 18 cases, beyond the printed digits", 1e-3, sitting_tasks(), "relative"),
        row(
            "B12",
            "ramp, stairs, stumble, 81 cases, beyond the printed digits",
            1e-3,
            leg_tasks(&["ramp", "stairs", "stumble"], true, None),
            "relative",
        ),
        row("B13", "landing, 108 cases: angles", 0.1, leg_tasks(&["landing"], false, Some("_deg")), "deg"),
    ]
}

#[test]
fn cross_code_prototype_agrees() {
    for check in checks() {
        check.assert();
    }
}

/// The figures that the specification names, printed by this test.
#[test]
fn cross_code_named_figures() {
    let named: [(&str, [f64; 5]); 3] = [
        ("reference joint, balanced, v* 0.29", [56.14, 72.63, 46.0, 0.86, 164.5]),
        ("reference joint, balanced, v* 0.43", [59.31, 72.31, 2.2, 0.71, 132.9]),
        ("reference joint, balanced, v* 0.56", [60.60, 72.30, -30.4, 5.12, 125.0]),
    ];
    for (name, [peak, pct, margin, contact, terminal]) in named {
        let all = cases("walking");
        let case = all.iter().find(|c| c["name"] == name).expect(name);
        let s = stride(case, &Tolerances::default());
        let get = |key| of_stride(&s, key).expect("happens");
        println!(
            "{name}: peak {:.2}° at {:.2} %, margin {:.1} ms, heel contact {:.2}°, terminal {:.1} °/s",
            get("peak_flexion_deg"),
            get("peak_flexion_pct"),
            get("extension_margin_ms"),
            get("heel_contact_flexion_deg"),
            get("terminal_speed_deg_per_s"),
        );
        assert_abs_diff_eq!(get("peak_flexion_deg"), peak, epsilon = 0.02);
        assert_abs_diff_eq!(get("peak_flexion_pct"), pct, epsilon = 0.02);
        assert_abs_diff_eq!(get("extension_margin_ms"), margin, epsilon = 0.1);
        assert_abs_diff_eq!(get("heel_contact_flexion_deg"), contact, epsilon = 0.02);
        assert_abs_diff_eq!(get("terminal_speed_deg_per_s"), terminal, epsilon = 0.1);
    }
}

/// Landing words of the built-in joint as it was then, with the shipped prosthesis.
#[test]
fn cross_code_built_in_joint_named_figures() {
    let named = [
        ("walk-slow", 47.3, 118.0, OutcomeWord::Straight),
        ("walk-comfortable", 49.1, 94.0, OutcomeWord::Caught),
        ("walk-fast", 49.4, 76.0, OutcomeWord::Caught),
        ("walk-hurried", 42.0, 26.0, OutcomeWord::Straight),
    ];
    for (scenario, peak, margin, landing) in named {
        let mut trial = crate::common::trial(scenario);
        trial.drive = Some(crate::common::drive_file().as_ref().clone().into());
        trial.knee.swing_flexion = DamperLaw::Orifice(Orifice { a: 0.2, b: 0.5 });
        trial.knee.extension_stop.damping_s_per_rad = 0.3;
        let found = kneedamp::outcome::Assessment::of(&trial).expect("runs").outcomes;
        let number = |key| found.number(key).expect("happens");
        println!(
            "{scenario}: peak {:.2}°, margin {:.2} ms, landing {:?}",
            number("peak_flexion_deg"),
            number("extension_margin_ms"),
            found.get("landing")
        );
        assert!((number("peak_flexion_deg") - peak).abs() <= 0.06, "{scenario}");
        assert!((number("extension_margin_ms") - margin).abs() <= 0.6, "{scenario}");
        assert_eq!(found.get("landing").and_then(|v| v.as_word()), Some(landing), "{scenario}");
    }
}
