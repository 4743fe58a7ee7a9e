//! Against the SciPy implementation in tests/reference (DOP853, rtol 1e-12, with event detection) and the
//! recorded figures of an earlier independent prototype (without).

use serde_json::Value;

use crate::common::{drive, fixture, person, walking_drive};
use crate::evidence::{Check, Kind, greatest};
use kneedamp::body::{Alignment, Person, PreswingHabit, Shank};
use kneedamp::joint::damper::{ConstantFriction, DamperLaw, Linear, Orifice};
use kneedamp::joint::{AssistSpring, Cushion, Knee, StanceValve, Trigger};
use kneedamp::motion::preswing::Preswing;
use kneedamp::motion::sitting::SitRun;
use kneedamp::motion::stance_leg::{self, LegSystem, OtherFoot, Segments};
use kneedamp::motion::stance_tasks::{LegEnd, LegPlan, LegRun};
use kneedamp::motion::stride::Stride;
use kneedamp::motion::swing::{Pendulum, ShankSystem, Thigh, state};
use kneedamp::numerics::events::Mode;
use kneedamp::numerics::hybrid::{State, Trajectory};
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::scenario::{Drive, Footing, Pace, Sit};
use kneedamp::units::DEG;

pub fn num(v: &Value, key: &str) -> f64 {
    v[key].as_f64().unwrap_or_else(|| panic!("{key} is a number in {v}"))
}

fn orifice(v: &Value) -> Orifice {
    Orifice { a: num(v, "a"), b: num(v, "b") }
}

fn friction(v: &Value) -> ConstantFriction {
    ConstantFriction { torque_n_m: num(v, "torque"), smoothing_rad_per_s: num(v, "speed") }
}

fn law(v: &Value) -> DamperLaw {
    match v["law"].as_str() {
        None => DamperLaw::Orifice(orifice(v)),
        Some("linear") => DamperLaw::Linear(Linear { c: num(v, "coefficient") }),
        Some("friction") => DamperLaw::ConstantFriction(friction(v)),
        Some(other) => panic!("unknown law {other}"),
    }
}

/// The joint that a case describes.
pub fn joint(i: &Value) -> Knee {
    let mut knee = Knee::reference();
    knee.swing_flexion = law(&i["swing_flexion"]);
    knee.swing_extension = law(&i["swing_extension"]);
    knee.friction = friction(&i["friction"]);
    knee.extension_stop.angle_rad = num(i, "extension_stop_deg") * DEG;
    if i.get("stop").is_some() {
        knee.extension_stop.stiffness_n_m_per_rad = num(&i["stop"], "stiffness");
        knee.extension_stop.damping_s_per_rad = num(&i["stop"], "damping");
    }
    if i.get("stance").is_some() {
        knee.stance = StanceValve {
            trigger: if i["trigger"] == "none" { Trigger::None } else { Trigger::Load },
            yielding: orifice(&i["stance"]),
            catch_load_n: num(i, "catch_load_n"),
            lag_s: num(i, "lag_s"),
            hysteresis_bw: num(i, "hysteresis_bw"),
            width_bw: num(i, "width_bw"),
            release_distance_m: num(i, "x_release_m"),
            ..StanceValve::default()
        };
    }
    if i.get("cushion").is_some_and(|c| !c.is_null()) {
        let c = &i["cushion"];
        knee.cushion = Some(Cushion { start_rad: num(c, "start_deg") * DEG, factor: num(c, "factor") });
    }
    if i.get("assist").is_some() {
        let a = &i["assist"];
        knee.assist = AssistSpring {
            torque_n_m: num(a, "torque_n_m"),
            rate_n_m_per_rad: num(a, "stiffness_n_m_per_rad"),
        };
    }
    knee
}

pub fn shank(v: &Value) -> Shank {
    Shank {
        mass_kg: num(v, "mass_kg"),
        com_distance_m: num(v, "com_distance_m"),
        com_angle_rad: num(v, "com_angle_deg") * DEG,
        inertia_kg_m2: num(v, "inertia_kg_m2"),
    }
}

fn alignment(v: &Value) -> Alignment {
    let number = |key| v[key].as_f64().unwrap_or(0.0);
    Alignment { foot_shift_m: number("shift_m"), foot_tilt_deg: number("tilt_deg") }
}

pub fn cases_of(file: &str, kind: &str) -> Vec<Value> {
    fixture(file)[kind].as_array().expect("cases").clone()
}

pub fn cases(kind: &str) -> Vec<Value> {
    cases_of("scipy_cases.json", kind)
}

/// Greatest deviation of flexion over the samples of all smooth cases, rad.
fn smooth_swing() -> f64 {
    greatest(cases("swing").iter().map(|case| {
        let i = &case["inputs"];
        let (knee, who) = (joint(i), person(75.0, i["drive"]["stature_m"].as_f64().unwrap_or(1.75)));
        let motion = i["drive"].as_object().map(|d| {
            let speed = d["speed_m_per_s"].as_f64().expect("speed");
            drive(&who, speed, d["cadence_steps_per_min"].as_f64())
        });
        let limb = shank(&i["shank"]);
        let system = ShankSystem {
            drive: motion.as_ref(),
            knee: &knee,
            pendulum: Pendulum::from(limb),
            thigh: Thigh::of(&who),
            preswing: Preswing::new(&who.preswing, 0.0, 0.0, knee.friction),
            weight_n: who.weight_n(),
        };
        let mut start = State::<{ state::COUNT }>::zeros();
        start[state::PHI] = num(i, "phi_rad");
        start[state::OMEGA] = num(i, "omega_rad_per_s");
        let t = num(i, "t_start_s");
        let mut trajectory = Trajectory::begin(&system, t, start, Mode::default());
        trajectory.run(&system, "swing", t + num(i, "duration_s"), &Tolerances::tight()).expect("runs");
        let samples = case["samples"].as_array().expect("samples");
        greatest(samples.iter().map(|s| (trajectory.at(num(s, "t_s"))[state::PHI] - num(s, "phi_rad")).abs()))
    }))
}

/// The person of a walking case; pre-swing values where the case gives them.
pub fn walker(i: &Value) -> Person {
    let who = person(num(i, "mass_kg"), num(i, "stature_m"));
    let preswing = i.get("preswing").map_or(who.preswing, |p| PreswingHabit {
        light_a_n_m_s_per_rad: num(&p["light_damping"], "a"),
        light_b_n_m_s2_per_rad2: num(&p["light_damping"], "b"),
        tracking_hz: num(p, "tracking_hz"),
    });
    Person { user_effort_n_m_per_kg: num(i, "effort_n_m_per_kg"), preswing, ..who }
}

/// The drive of a walking case: able-bodied, or the share of the users' drive that the case gives.
fn driven(i: &Value, who: &Person) -> Drive {
    let (speed, cadence) = (num(i, "speed_m_per_s"), i["cadence_steps_per_min"].as_f64());
    if i["drive"].is_null() {
        return drive(who, speed, cadence);
    }
    let shared = walking_drive().at_share(num(&i["drive"], "share"));
    let pace = Pace { speed_m_per_s: speed, cadence_steps_per_min: cadence };
    Drive::new(&shared.file, who.leg_length_m(), who.thigh_length_m(), pace).expect("in the table")
}

pub fn stride(case: &Value, tolerances: &Tolerances) -> Stride {
    let i = &case["inputs"];
    let who = walker(i);
    let d = driven(i, &who).aligned(alignment(&i["foot"]));
    Stride::run(d, joint(i), &who, shank(&i["shank"]), 0.15, tolerances).expect("runs")
}

/// Flexion of switched strides over all samples, rad.
pub fn switched_strides(cases: &[Value]) -> f64 {
    greatest(cases.iter().map(|case| {
        let s = stride(case, &Tolerances::tight());
        let samples = case["samples"].as_array().expect("samples");
        greatest(samples.iter().map(|x| (s.flexion(num(x, "t_s")) - num(x, "phi_rad")).abs()))
    }))
}

/// Instants of peak, full extension and release, s.
pub fn switched_instants(cases: &[Value]) -> f64 {
    greatest(cases.iter().flat_map(|case| {
        let (s, o) = (stride(case, &Tolerances::tight()), &case["outcomes"]);
        let pair = |ours: Option<f64>, theirs: Option<f64>| match (ours, theirs) {
            (Some(a), Some(b)) => (a - b).abs(),
            (None, None) => 0.0,
            _ => f64::INFINITY,
        };
        let release = o["release_pct"].as_f64().map(|p| p / 100.0 * s.drive.stride_time_s);
        [
            pair(Some(s.peak().0), o["peak_time_s"].as_f64()),
            pair(s.full_extension_s(), o["full_extension_time_s"].as_f64()),
            pair(s.release_s, release),
        ]
    }))
}

fn segments(i: &Value) -> Segments {
    Segments {
        mass_kg: num(i, "mass_kg"),
        lower_mass_kg: num(i, "lower_mass_kg"),
        lower_com_down_m: num(i, "lower_com_m"),
        lower_com_ahead_m: 0.0,
        lower_inertia_kg_m2: num(i, "lower_inertia_kg_m2"),
        upper_mass_kg: num(i, "upper_mass_kg"),
        upper_com_above_knee_m: num(i, "upper_com_m"),
        upper_inertia_kg_m2: num(i, "upper_inertia_kg_m2"),
        thigh_m: num(i, "thigh_length_m"),
        knee_to_sole_m: num(i, "knee_height_m"),
        stature_m: num(i, "stature_m"),
        alignment: alignment(&i["moved"]),
    }
}

/// A loaded case on the foot of its person.
pub fn leg(case: &Value, tolerances: &Tolerances) -> LegRun {
    let s = segments(&case["inputs"]);
    leg_on(case, if case["kind"] == "stairs" { s.stair_edge() } else { s.rolling_foot() }, tolerances)
}

/// A loaded case on a given foot.
pub fn leg_on(case: &Value, footing: Footing, tolerances: &Tolerances) -> LegRun {
    let i = &case["inputs"];
    let s = segments(i);
    let kind = case["kind"].as_str().expect("kind");
    let system = LegSystem {
        segments: s,
        knee: joint(i).under_load(),
        footing,
        slope_rad: num(i, "slope_deg") * DEG,
        speed_m_per_s: num(i, "speed_m_per_s"),
        weight_transfer_s: i["unload_s"].as_f64().unwrap_or(0.0),
        hip_moment_n_m: num(i, "hip_moment_n_m_per_kg") * s.mass_kg,
        other_foot: match kind {
            "ramp" => OtherFoot::Slope { ahead_rad: 10.0 * DEG, from_m: 0.05 },
            "stairs" => OtherFoot::Height { hip_m: s.leg_m() + 0.04 - 0.17 },
            _ => OtherFoot::None,
        },
        collapse_rad: num(i, "collapse_deg") * DEG,
        stall_m_per_s: i["stall_m_per_s"].as_f64(),
    };
    let start = [
        num(i, "beta_rad"),
        num(i, "phi_rad"),
        num(i, "beta_rate_rad_per_s"),
        num(i, "omega_rad_per_s"),
        num(i, "z_start"),
    ];
    LegPlan { system, start, longest_s: num(i, "limit_s"), phase: "leg" }.run(tolerances).expect("runs")
}

/// (greatest deviation of flexion over the samples in rad, of the end in s, of the ground load in BW).
pub fn loaded_leg(cases: &[Value]) -> [f64; 3] {
    let mut worst = [f64::NAN; 3];
    for case in cases {
        let (run, o) = (leg(case, &Tolerances::tight()), &case["outcomes"]);
        let ended = match run.ended() {
            LegEnd::OtherFoot => ("contact", false),
            LegEnd::OtherFootLate => ("contact", true),
            LegEnd::Collapse => ("collapse", false),
            LegEnd::Stall => ("stall", false),
            LegEnd::Time => ("time", false),
        };
        assert_eq!(ended.0, o["end"], "{}", case["name"]);
        assert_eq!(ended.1, o["late"] == true, "{}", case["name"]);
        let samples = case["samples"].as_array().expect("samples");
        let phi =
            greatest(samples.iter().map(|x| {
                (run.trajectory.at(num(x, "t_s"))[stance_leg::state::PHI] - num(x, "phi_rad")).abs()
            }));
        let end = (run.trajectory.end.0 - num(o, "end_time_s")).abs();
        let load = (run.greatest_load_bw - num(o, "greatest_load_bw")).abs();
        for (w, d) in worst.iter_mut().zip([phi, end, load]) {
            assert!(!d.is_nan(), "{}", case["name"]);
            *w = if w.is_nan() { d } else { w.max(d) };
        }
    }
    worst
}

pub fn sit(case: &Value, tolerances: &Tolerances) -> SitRun {
    let i = &case["inputs"];
    let s = segments(i);
    let sit = Sit {
        share: num(i, "share"),
        shank_tilt_per_flexion: num(i, "kappa"),
        centre_of_pressure_m: num(i, "pressure_point_m"),
        start_flexion_deg: num(i, "phi_rad") / DEG,
        seat_height_m: num(i, "end_height_m") - 0.09,
        hip_above_seat_m: 0.09,
        extra_inertia_kg_m2: num(i, "extra_inertia_kg_m2"),
        longest_s: 12.0,
    };
    SitRun::run(&sit, s, &joint(i), Some(num(i, "z_start")), tolerances).expect("runs")
}

/// Time to the seat, s.
pub fn sitting(cases: &[Value]) -> f64 {
    greatest(cases.iter().map(|case| {
        let (run, o) = (sit(case, &Tolerances::tight()), &case["outcomes"]);
        match (run.reached_seat(), o["sit_time_s"].as_f64()) {
            (true, Some(t)) => (run.trajectory.end.0 - t).abs(),
            (false, None) => 0.0,
            _ => f64::INFINITY,
        }
    }))
}

pub const SCIPY: &str = "SciPy DOP853, rtol 1e-12, own script (tests/reference)";

pub fn checks() -> Vec<Check> {
    let row = |id, what, criterion, figure, unit| Check {
        id,
        kind: Kind::Verification,
        what,
        source: SCIPY,
        criterion,
        figure,
        unit,
    };
    let [phi, end, load] = loaded_leg(&cases("leg"));
    vec![
        row("B1", "swing without a switch, flexion", 1e-8, smooth_swing(), "rad"),
        row(
            "B2",
            "whole strides across all switches, flexion",
            1e-6,
            switched_strides(&cases("walking")),
            "rad",
        ),
        row(
            "B3",
            "instants of peak, full extension and release",
            1e-6,
            switched_instants(&cases("walking")),
            "s",
        ),
        row("B4", "ramp, stairs, stumble, landing: flexion", 1e-6, phi, "rad"),
        row("B5", "the same: instant of the end", 1e-6, end, "s"),
        row("B6", "the same: greatest ground load", 1e-4, load, "BW"),
        row("B7", "sitting: time to the seat", 1e-6, sitting(&cases("sitting")), "s"),
    ]
}

#[test]
fn cross_code_scipy_agrees() {
    for check in checks() {
        check.assert();
    }
}
