//! The users' drive and its share, a moved foot, pre-swing values and other damper laws: against SciPy
//! (tests/reference/users_cases.json) and the recorded strides of an earlier program (users_walk.json).

use serde_json::Value;

use super::prototype::of_stride;
use super::scipy::{
    SCIPY, cases_of, joint, leg, loaded_leg, num, shank, sitting, stride, switched_instants,
    switched_strides, walker,
};
use super::users_drive::converted;
use crate::common::fixture;
use crate::evidence::{Check, Kind, greatest};
use kneedamp::body::Alignment;
use kneedamp::motion::stride::Stride;
use kneedamp::motion::swing::state;
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::scenario::{Drive, DriveFile, Footing, Pace};
use kneedamp::units::DEG;

fn cases(kind: &str) -> Vec<Value> {
    cases_of("users_cases.json", kind)
}

/// Works of the ledger by the fixture's names.
const WORKS: [(&str, usize); 7] = [
    ("passive_j", state::PASSIVE),
    ("drive_j", state::DRIVE),
    ("damper_j", state::DAMPER),
    ("friction_j", state::FRICTION),
    ("stop_j", state::STOP),
    ("assist_j", state::ASSIST),
    ("load_line_j", state::LOAD_LINE),
];

/// Greatest deviation of a term of the ledger from the start of pre-swing to the end of the run, J.
fn ledger() -> f64 {
    greatest(cases("walking").iter().flat_map(|case| {
        let end = stride(case, &Tolerances::tight()).trajectory.end.1;
        WORKS.map(|(key, i)| (end[i] - num(&case["energy"], key)).abs())
    }))
}

/// Greatest deviation of the valve over the samples, and of its state at the start of pre-swing.
fn valve() -> f64 {
    greatest(cases("walking").iter().map(|case| {
        let s = stride(case, &Tolerances::tight());
        let start = (s.valve_at(s.drive.preswing_start_s) - num(&case["outcomes"], "valve_at_start")).abs();
        let samples = case["samples"].as_array().expect("samples");
        greatest(samples.iter().map(|x| (s.valve_at(num(x, "t_s")) - num(x, "z")).abs()).chain([start]))
    }))
}

/// Least toe height over the mean height of the hip, and the flexion 40 ms before heel contact; m, rad.
fn late_swing() -> [f64; 2] {
    let both = cases("walking").into_iter().map(|case| {
        let (s, i, o) = (stride(&case, &Tolerances::tight()), &case["inputs"], &case["outcomes"]);
        let foot = Alignment {
            foot_shift_m: num(&i["foot"], "shift_m"),
            foot_tilt_deg: num(&i["foot"], "tilt_deg"),
        };
        let toe = s.least_toe_height_m(foot.toe_m(&walker(i))) - num(o, "least_toe_height_m");
        let flexion = s.flexion(s.drive.stride_time_s - 0.040);
        [toe.abs(), (flexion - num(o, "flexion_40ms_before_contact_deg") * DEG).abs()]
    });
    let both: Vec<[f64; 2]> = both.collect();
    [0, 1].map(|k| greatest(both.iter().map(|b| b[k])))
}

/// Greatest deviation from the recorded strides over the outcomes whose name ends in `unit`; ms in % of the
/// stride.
fn recorded(unit: &str) -> f64 {
    let plain = converted(&[]).file;
    let record = fixture("users_walk.json");
    let joints = record["joints"].as_array().expect("joints");
    greatest(joints.iter().flat_map(|j| {
        let strides = j["strides"].as_array().expect("strides");
        strides.iter().map(|theirs| recorded_stride(&plain, j, theirs, unit)).collect::<Vec<_>>()
    }))
}

fn recorded_stride(plain: &DriveFile, joint_record: &Value, theirs: &Value, unit: &str) -> f64 {
    let i = &joint_record["inputs"];
    let who = walker(i);
    let pace = Pace { speed_m_per_s: num(theirs, "speed_m_per_s"), cadence_steps_per_min: None };
    let drive = Drive::new(plain, who.leg_length_m(), who.thigh_length_m(), pace).expect("in the table");
    let s =
        Stride::run(drive, joint(i), &who, shank(&i["shank"]), 0.15, &Tolerances::default()).expect("runs");
    let per_stride = if unit == "_ms" { 0.1 / s.drive.stride_time_s } else { 1.0 };
    let outcomes = theirs["outcomes"].as_object().expect("outcomes");
    greatest(outcomes.iter().filter(|(key, _)| key.ends_with(unit)).map(|(key, theirs)| {
        let ours = of_stride(&s, key);
        println!("{}, {:.1} m/s, {key}: {ours:.3?} and {theirs}", joint_record["name"], pace.speed_m_per_s);
        match (ours, theirs.as_f64()) {
            (Some(a), Some(b)) => per_stride * (a - b).abs(),
            (None, None) => 0.0,
            _ => f64::INFINITY,
        }
    }))
}

const EARLIER: &str = "earlier SciPy program, figures as printed (tests/reference)";

pub fn checks() -> Vec<Check> {
    let row = |id, what, source, criterion, figure, unit| Check {
        id,
        kind: Kind::Verification,
        what,
        source,
        criterion,
        figure,
        unit,
    };
    let walking = cases("walking");
    let [phi, end, load] = loaded_leg(&cases("leg"));
    let [toe, late] = late_swing();
    vec![
        row(
            "B19",
            "users' drive, moved foot, other laws: flexion",
            SCIPY,
            1e-6,
            switched_strides(&walking),
            "rad",
        ),
        row("B20", "the same: instants", SCIPY, 1e-6, switched_instants(&walking), "s"),
        row("B21", "the same: stance valve", SCIPY, 1e-6, valve(), "of 1"),
        row("B22", "the same: every work of the ledger", SCIPY, 1e-6, ledger(), "J"),
        row("B23", "the same: least toe height", SCIPY, 1e-6, toe, "m"),
        row("B24", "the same: flexion 40 ms before heel contact", SCIPY, 1e-6, late, "rad"),
        row("B25", "loaded tasks on a moved foot: flexion", SCIPY, 1e-6, phi, "rad"),
        row("B26", "the same: instant of the end", SCIPY, 1e-6, end, "s"),
        row("B27", "the same: greatest ground load", SCIPY, 1e-4, load, "BW"),
        row("B28", "sitting on a moved foot: time to the seat", SCIPY, 1e-6, sitting(&cases("sitting")), "s"),
        row("B29", "users' plain mean, 27 strides: angles", EARLIER, 0.05, recorded("_deg"), "deg"),
        row("B30", "the same: instants of the peak", EARLIER, 0.1, recorded("_pct"), "% of stride"),
        row("B31", "the same: margins", EARLIER, 0.1, recorded("_ms"), "% of stride"),
    ]
}

#[test]
fn cross_code_users_stride_agrees() {
    for check in checks() {
        check.assert();
    }
}

/// The fixture's foot is the crate's, not only the motion on it.
#[test]
fn cross_code_users_stride_foot_is_the_same() {
    for case in cases("leg") {
        let (run, foot) = (leg(&case, &Tolerances::default()), &case["inputs"]["foot"]);
        let pairs = match run.system.footing {
            Footing::Rolling { radius_m, offset_m, heel_m, toe_m } => vec![
                ("roll_radius_m", radius_m),
                ("offset_m", offset_m),
                ("heel_m", heel_m),
                ("toe_m", toe_m),
            ],
            Footing::Edge { ahead_m } => vec![("edge_m", ahead_m)],
        };
        for (key, ours) in pairs {
            assert!((ours - num(foot, key)).abs() < 1e-12, "{}, {key}: {ours}", case["name"]);
        }
    }
}
