//! The moved load line in pre-swing, and the tilted foot, by hand.

use kneedamp::body::Alignment;
use kneedamp::motion::stride::Stride;
use kneedamp::motion::swing::{LOADED, state};
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::scenario::{Drive, Pace};
use kneedamp::units::DEG;

use super::fixtures::row;
use crate::common::{knee, person, reference_shank, walking_drive};
use crate::evidence::{Check, greatest};

const STATURE_M: f64 = 1.62;
/// Radius of the sole and height of the ankle, from the tables.
const RADIUS_M: f64 = 0.19 * STATURE_M;
const ANKLE_M: f64 = 0.039 * STATURE_M;

fn drive(alignment: Alignment) -> Drive {
    let who = person(68.0, STATURE_M);
    let pace = Pace { speed_m_per_s: 1.0, cadence_steps_per_min: None };
    Drive::new(&walking_drive().file, who.leg_length_m(), who.thigh_length_m(), pace)
        .expect("in the table")
        .aligned(alignment)
}

fn alignments() -> impl Iterator<Item = Alignment> + Clone {
    [-0.03, 0.0, 0.02].into_iter().flat_map(|foot_shift_m| {
        [-6.0, -2.0, 0.0, 1.5, 5.0].map(|foot_tilt_deg| Alignment { foot_shift_m, foot_tilt_deg })
    })
}

/// Centre of pressure against its line, rolled on by R δ, held between heel and toe, and moved with the sole.
fn pressure() -> f64 {
    greatest(alignments().flat_map(|alignment| {
        let d = drive(alignment);
        let tilt = alignment.foot_tilt_deg * DEG;
        (0..=100).map(move |pct| {
            let t = f64::from(pct) / 100.0 * d.stride_time_s;
            let [heel, toe] = [-0.04, 0.14].map(|x| x * STATURE_M / 1.75);
            let line = heel + (toe - heel) * 2.0 * t / d.stride_time_s + RADIUS_M * tilt;
            let expected = line.max(heel).min(toe) - ANKLE_M * tilt + alignment.foot_shift_m;
            (d.centre_of_pressure_m(t) - expected).abs()
        })
    }))
}

/// Its kinks, and no other instants, are where the curve turns.
fn kinks_missed() -> f64 {
    let missed = alignments().map(|alignment| {
        let d = drive(alignment);
        let h = 1e-3 * d.stride_time_s;
        let bend = |t: f64| {
            let x = |t| d.load_line_shift_m(t);
            (x(t + h) - 2.0 * x(t) + x(t - h)).abs()
        };
        let kinks = d.pressure_kinks_s(0.0, d.stride_time_s);
        let steps = 1..999;
        steps
            .map(|i| f64::from(i) * h)
            .filter(|t| bend(*t) > 1e-9 && !kinks.iter().any(|k| (k - t).abs() < 1.01 * h))
            .count()
    });
    missed.sum::<usize>() as f64
}

/// The torque and its work, against −N(t) x(t) and Simpson's rule over the stride: worst share.
fn work() -> f64 {
    let who = person(68.0, STATURE_M);
    greatest(alignments().filter(|a| *a != Alignment::default()).map(|alignment| {
        let d = drive(alignment);
        let s = Stride::run(d.clone(), knee("reference"), &who, reference_shank(), 0.0, &Tolerances::tight())
            .expect("runs");
        let system = s.system();
        let plain = drive(Alignment::default());
        let power = |t: f64| {
            let (y, mode) = (s.trajectory.at(t), s.trajectory.mode_at(t));
            assert!(mode.positive(LOADED) || t >= d.toe_off_s);
            let arm = d.centre_of_pressure_m(t) - plain.centre_of_pressure_m(t);
            let torque = -who.weight_n() * d.load_bw(t) * arm;
            let own = system.torques(mode, &system.kinematics(t), t, &y).load_line;
            assert!((own - torque).abs() < 1e-9, "{own} {torque}");
            y[state::OMEGA] * torque
        };
        let inner = s.trajectory.nodes().filter(|t| *t < d.toe_off_s);
        let nodes: Vec<f64> = inner.chain([d.toe_off_s * (1.0 - 1e-13)]).collect();
        let by_hand: f64 = nodes
            .windows(2)
            .map(|w| (w[1] - w[0]) / 6.0 * (power(w[0]) + 4.0 * power(0.5 * (w[0] + w[1])) + power(w[1])))
            .sum();
        let found = s.trajectory.at(d.toe_off_s)[state::LOAD_LINE];
        (found - by_hand).abs() / by_hand.abs().max(0.1)
    }))
}

pub fn checks() -> Vec<Check> {
    vec![
        row(
            "A23a",
            "centre of pressure of a moved, tilted foot",
            "the formula on paper",
            1e-14,
            pressure(),
            "m",
        ),
        row(
            "A23b",
            "kinks of the moved load line that are no restart",
            "its second difference",
            0.0,
            kinks_missed(),
            "of 13,970",
        ),
        row(
            "A23c",
            "work of the moved load line in pre-swing",
            "−∫ N x ω dt, Simpson's rule",
            1e-6,
            work(),
            "of it",
        ),
    ]
}

#[test]
fn closed_form_load_line_agrees() {
    checks().iter().for_each(Check::assert);
}

/// Forward holds the knee straight, back bends it; both beyond what the user can answer, as common practice knows.
#[test]
fn closed_form_load_line_acts_in_its_direction() {
    let who = person(75.0, 1.75);
    let toe_off = |foot_shift_m: f64, effort: f64| {
        let who = kneedamp::body::Person { user_effort_n_m_per_kg: effort, ..who.clone() };
        let pace = Pace { speed_m_per_s: 1.1, cadence_steps_per_min: None };
        let d = Drive::new(&walking_drive().file, who.leg_length_m(), who.thigh_length_m(), pace)
            .expect("in the table")
            .aligned(Alignment { foot_shift_m, foot_tilt_deg: 0.0 });
        let mut joint = knee("reference");
        joint.stance.trigger = kneedamp::joint::Trigger::None;
        let s = Stride::run(d, joint, &who, reference_shank(), 0.0, &Tolerances::default()).expect("runs");
        s.flexion(s.drive.toe_off_s) / DEG
    };
    let [back, level, forward] = [-0.04, 0.0, 0.04].map(|s| toe_off(s, 0.2));
    println!("flexion at toe-off: 40 mm back {back:.1}°, level {level:.1}°, 40 mm forward {forward:.1}°");
    assert!(back > level + 3.0 && forward < level - 3.0);
    // a user who pushes twice as hard brings both nearer to the level foot
    assert!((toe_off(0.04, 0.4) - level).abs() < (forward - level).abs());
    assert!((toe_off(-0.04, 0.4) - level).abs() < (back - level).abs());
}
