//! The stops: restitution of the contact law by its exact relation, and what it does at rest.

use approx::assert_abs_diff_eq;
use kneedamp::joint::{EndStop, Knee};
use kneedamp::motion::joint_events::joint_event;
use kneedamp::motion::swing::state;

use super::fixtures::{bare_knee, flywheel, relative, row, swing, system};
use crate::evidence::{Check, greatest};

/// Dimensionless speed y at which a limb leaves that arrived at x: x − ln(1 + x) = −y − ln(1 − y).
/// Solved for s = −ln(1 − y), in which it is well conditioned at both ends.
fn leaving(x: f64) -> f64 {
    let lost = if x < 1e-2 {
        // series of x − ln(1 + x), which cancels for small x
        (2..30).map(|n| x.powi(n) / f64::from(n) * if n % 2 == 0 { 1.0 } else { -1.0 }).sum()
    } else {
        x - x.ln_1p()
    };
    // s − (1 − e^−s) = lost, rising and convex: Newton from above
    let gained = |s: f64| {
        if s < 1e-2 {
            (2..30).map(|n| (-s).powi(n) / (1..=n).map(f64::from).product::<f64>()).sum()
        } else {
            s + (-s).exp_m1()
        }
    };
    let mut s = (2.0 * lost).sqrt() + lost;
    for _ in 0..100 {
        s -= (gained(s) - lost) / -(-s).exp_m1();
    }
    -(-s).exp_m1()
}

fn knee(stop: EndStop, flexion: bool) -> Knee {
    let mut knee = bare_knee();
    if flexion {
        knee.flexion_stop = stop
    } else {
        knee.extension_stop = stop
    }
    knee
}

/// Speed out over speed in of a flywheel against a stop.
fn restitution(stop: EndStop, flexion: bool, speed: f64) -> f64 {
    let knee = knee(stop, flexion);
    let way = if flexion { 1.0 } else { -1.0 };
    let trajectory =
        swing(&system(&knee, flywheel(), None), stop.angle_rad - way * 0.05 * speed, way * speed, 1.0);
    let depth = if flexion { joint_event::FLEXION_DEPTH } else { joint_event::EXTENSION_DEPTH };
    let contacts: Vec<_> = trajectory.events_of(depth).collect();
    assert_eq!(contacts.len(), 2, "in and out");
    assert!(relative(contacts[0].t_s, 0.05) < 1e-9, "free until the stop");
    -way * trajectory.end.1[state::OMEGA] / speed
}

/// Both stops, from soft to strongly damped.
fn exact() -> f64 {
    let cases = [(4.0, 0.3), (9.0, 0.3), (1.0, 0.05), (4.0, 1.0), (2.0, 3.0), (4.0, 3.0)];
    greatest(cases.iter().flat_map(|&(speed, c)| {
        [false, true].map(|flexion| {
            let stop = EndStop { angle_rad: 0.4, stiffness_n_m_per_rad: 2000.0, damping_s_per_rad: c };
            relative(restitution(stop, flexion, speed), leaving(c * speed) / (c * speed))
        })
    }))
}

/// |e − (1 − ⅔ c v)|/(c v)² for small c v; 4/9 by the next term of the series.
fn first_order() -> f64 {
    greatest([1e-3, 3e-3, 1e-2].map(|x: f64| {
        let stop = EndStop { angle_rad: 0.0, stiffness_n_m_per_rad: 2000.0, damping_s_per_rad: x / 2.0 };
        (restitution(stop, false, 2.0) - (1.0 - 2.0 / 3.0 * x)).abs() / (x * x)
    }))
}

/// Depth of first turning without damping: v √(I/k), and half a period in contact.
fn elastic() -> f64 {
    let stop = EndStop { angle_rad: 0.1, stiffness_n_m_per_rad: 2000.0, damping_s_per_rad: 0.0 };
    let (knee, p, speed) = (knee(stop, false), flywheel(), 4.0);
    let trajectory = swing(&system(&knee, p, None), 0.3, -speed, 0.3);
    let contact: Vec<f64> = trajectory.events_of(joint_event::EXTENSION_DEPTH).map(|c| c.t_s).collect();
    let turn = trajectory.events_of(joint_event::RATE).next().expect("turns back");
    let natural = (stop.stiffness_n_m_per_rad / p.inertia).sqrt();
    greatest([
        relative(stop.angle_rad - turn.state[state::PHI], speed / natural),
        relative(contact[1] - contact[0], std::f64::consts::PI / natural),
        relative(trajectory.end.1[state::OMEGA], speed),
    ])
}

pub fn checks() -> Vec<Check> {
    vec![
        row(
            "A10a",
            "stops, c v 0.05 to 12: restitution",
            "c v₀ − ln(1 + c v₀) = −c v₁ − ln(1 − c v₁) (Hunt & Crossley 1975)",
            1e-9,
            exact(),
            "of it",
        ),
        row(
            "A10b",
            "stop, c v 0.001 to 0.01: e against 1 − ⅔ c v, over (c v)²",
            "first order of that relation; the next term is 4/9",
            0.5,
            first_order(),
            "-",
        ),
        row(
            "A10c",
            "stop without damping: depth, time in contact, speed out",
            "v √(I/k), π √(I/k)",
            1e-9,
            elastic(),
            "of it",
        ),
    ]
}

#[test]
fn closed_form_end_stops_agree() {
    for check in checks() {
        check.assert();
    }
}

/// About 0.55 at 4 rad/s with the stop of the shipped joints, as its documentation says.
#[test]
fn closed_form_restitution_of_the_shipped_stop() {
    let e = leaving(1.2) / 1.2;
    assert!((e - 0.55).abs() < 0.01, "{e}");
}

/// It pushes and never pulls: a limb that leaves faster than 1/c loses contact inside the stop.
#[test]
fn closed_form_stop_never_pulls() {
    let stop = EndStop { angle_rad: 0.0, stiffness_n_m_per_rad: 2000.0, damping_s_per_rad: 0.3 };
    let knee = knee(stop, false);
    // leaves from a depth of 0.1 rad at 5 rad/s, 1/c is 3.33: nothing acts, it keeps its rate
    let trajectory = swing(&system(&knee, flywheel(), None), -0.1, 5.0, 0.1);
    assert_abs_diff_eq!(trajectory.end.1[state::OMEGA], 5.0, epsilon = 1e-12);
    assert!(knee.torque(-0.1, 5.0, 0.0).stop.abs() < 1e-15);
    // slower than that it is pushed
    assert!(relative(knee.torque(-0.1, 2.0, 0.0).stop, 2000.0 * 0.1 * 0.4) < 1e-14);
}

/// A constant torque rests on the stop at a depth τ/k.
#[test]
fn closed_form_depth_at_rest() {
    let stop = EndStop { angle_rad: 0.05, stiffness_n_m_per_rad: 2000.0, damping_s_per_rad: 0.3 };
    let mut knee = knee(stop, false);
    knee.assist.torque_n_m = 6.0;
    knee.friction.torque_n_m = 3.0;
    let trajectory = swing(&system(&knee, flywheel(), None), 0.3, 0.0, 4.0);
    let depth = stop.angle_rad - trajectory.end.1[state::PHI];
    assert!(relative(depth, 6.0 / 2000.0) < 1e-6, "{depth}");
}
