//! The leg on the ground: energy, accelerations, ground load, pace.

use kneedamp::joint::Knee;
use kneedamp::motion::stance_leg::{LegSystem, OtherFoot, Segments, state};
use kneedamp::numerics::events::Mode;
use kneedamp::numerics::hybrid::{State, Trajectory};
use kneedamp::scenario::Footing;
use kneedamp::units::GRAVITY_M_PER_S2 as G;

use super::fixtures::{curvature, relative, row, slope};
use crate::common::{person, reference_shank};
use crate::evidence::{Check, greatest};

type Leg = State<{ state::COUNT }>;

fn segments() -> Segments {
    Segments::of(&person(75.0, 1.75), &reference_shank())
}

/// A leg on the ground with the reference joint.
pub fn leg(segments: Segments, footing: Footing, slope_rad: f64) -> LegSystem {
    LegSystem {
        segments,
        knee: Knee::reference().under_load(),
        footing,
        slope_rad,
        speed_m_per_s: 0.9,
        weight_transfer_s: 0.12,
        hip_moment_n_m: 15.0,
        other_foot: OtherFoot::None,
        collapse_rad: 2.0,
        stall_m_per_s: None,
    }
}

/// (footing, slope, β, φ, β', ω): every region, both directions of the knee, on a slope and on the level.
const STATES: [(bool, f64, [f64; 4]); 6] = [
    (true, 0.14, [-0.5, 0.2, 1.5, 2.0]),
    (true, 0.14, [0.1, 0.6, 2.0, 3.0]),
    (true, 0.0, [0.0, 0.3, 1.0, -2.5]),
    (true, 0.08, [0.6, 1.0, -1.0, 4.0]),
    (false, 0.0, [0.2, 0.8, 1.2, 1.0]),
    (false, 0.0, [-0.3, 1.3, 0.7, -1.0]),
];

/// The leg at one of the states, 0.03 s after contact, with its mode.
fn legs() -> Vec<(LegSystem, Mode, Leg)> {
    let legs = STATES.iter().map(|&(rolling, slope_rad, q)| {
        let footing = if rolling { Footing::rolling(1.75) } else { Footing::edge(1.75) };
        let system = leg(segments(), footing, slope_rad);
        let mut y = Leg::zeros();
        (0..4).for_each(|i| y[i] = q[i]);
        y[state::VALVE] = 0.7;
        let mode = Trajectory::begin(&system, 0.03, y, Mode::default()).mode;
        (system, mode, y)
    });
    legs.collect()
}

fn with(y: &Leg, q: [f64; 4]) -> Leg {
    let mut other = *y;
    (0..4).for_each(|i| other[i] = q[i]);
    other
}

/// Kinetic and potential energy against the bodies' places by hand and their speeds by differences.
fn energy() -> f64 {
    let s = segments();
    let rest = s.mass_kg - s.lower_mass_kg - s.upper_mass_kg;
    let masses = [s.lower_mass_kg, s.upper_mass_kg, rest];
    greatest(legs().into_iter().map(|(system, mode, y)| {
        let region = system.footing.region(y[0]);
        // (x, z) of shank, thigh and hip in the surface frame after a time
        let place = |time: f64| {
            let (beta, phi) = (y[0] + y[2] * time, y[1] + y[3] * time);
            let k = system.footing.knee(region, beta, s.knee_to_sole_m).at;
            let (sb, cb) = beta.sin_cos();
            let (sd, cd) = (beta - phi).sin_cos();
            let (down, ahead) = (s.lower_com_down_m, s.lower_com_ahead_m);
            let thigh = |l: f64| [k[0] + l * sd, k[1] + l * cd];
            let shank = [k[0] - down * sb + ahead * cb, k[1] - down * cb - ahead * sb];
            [shank, thigh(s.upper_com_above_knee_m), thigh(s.thigh_m)]
        };
        let turning = s.lower_inertia_kg_m2 * y[2] * y[2] + s.upper_inertia_kg_m2 * (y[2] - y[3]).powi(2);
        let mut expected = 0.5 * turning;
        for (i, mass) in masses.into_iter().enumerate() {
            let [x, z] = place(0.0)[i];
            let speed = [0, 1].map(|way| slope(|time| place(time)[i][way], 1e-3));
            expected += 0.5 * mass * (speed[0] * speed[0] + speed[1] * speed[1]);
            expected += mass * G * (z * system.slope_rad.cos() - x * system.slope_rad.sin());
        }
        relative(system.energy(mode, &y), expected)
    }))
}

/// β'' and φ'' against Lagrange's equations, whose mass matrix, its change and the potential come
/// from the energy alone; rad/s² over 10.
fn lagrange() -> f64 {
    let t = 0.03;
    greatest(legs().into_iter().map(|(system, mode, y)| {
        let q = [y[0], y[1]];
        let v = [y[2], y[3]];
        let at = |b: f64, p: f64, br: f64, o: f64| system.energy(mode, &with(&y, [b, p, br, o]));
        let mass = |b: f64, p: f64| {
            let rest = at(b, p, 0.0, 0.0);
            let (m11, m22) = (2.0 * (at(b, p, 1.0, 0.0) - rest), 2.0 * (at(b, p, 0.0, 1.0) - rest));
            [m11, at(b, p, 1.0, 1.0) - rest - 0.5 * (m11 + m22), m22]
        };
        let [m11, m12, m22] = mass(q[0], q[1]);
        let change = |by: usize, entry: usize| {
            slope(|x| if by == 0 { mass(q[0] + x, q[1]) } else { mass(q[0], q[1] + x) }[entry], 2e-3)
        };
        let hip = |b: f64, p: f64| system.hip_on(mode, &with(&y, [b, p, 0.0, 0.0]));
        let hip_by = |by: usize, way: usize| {
            slope(|x| if by == 0 { hip(q[0] + x, q[1]) } else { hip(q[0], q[1] + x) }[way], 2e-3)
        };
        // world axes: weight still on the other leg up, pace-holding force forward
        let share = 1.0 - (t / 0.12) * (t / 0.12) * (3.0 - 2.0 * t / 0.12);
        let speed = hip_by(0, 0) * v[0] + hip_by(1, 0) * v[1];
        let force = [-200.0 * (speed - 0.9), share * 75.0 * G];
        let hip_moment = 15.0 * 0.6 * 0.6 * (3.0 - 1.2);
        let joint = system.knee.torque(q[1], v[1], 0.7);
        let knee = joint.damper + joint.friction + joint.stop;
        let mut push = [hip_moment, knee - hip_moment];
        for (by, push) in push.iter_mut().enumerate() {
            *push += hip_by(by, 0) * force[0] + hip_by(by, 1) * force[1];
            *push -= slope(
                |x| if by == 0 { at(q[0] + x, q[1], 0.0, 0.0) } else { at(q[0], q[1] + x, 0.0, 0.0) },
                2e-3,
            );
            // −M' q' + ½ q'ᵀ (∂M/∂q) q'
            let row = if by == 0 { [0, 1] } else { [1, 2] };
            for k in 0..2 {
                *push -= v[k] * (change(k, row[0]) * v[0] + change(k, row[1]) * v[1]);
            }
            *push += 0.5
                * (change(by, 0) * v[0] * v[0]
                    + 2.0 * change(by, 1) * v[0] * v[1]
                    + change(by, 2) * v[1] * v[1]);
        }
        let det = m11 * m22 - m12 * m12;
        let acc = [(m22 * push[0] - m12 * push[1]) / det, (m11 * push[1] - m12 * push[0]) / det];
        let found = system.forces(mode, t, &y).acc;
        greatest([0, 1].map(|i| (found[i] - acc[i]).abs() / 10.0))
    }))
}

/// Ground load against the acceleration of the mass centre, whose height is the potential over M g;
/// share of body weight.
fn ground_load() -> f64 {
    let t = 0.03;
    greatest(legs().into_iter().map(|(system, mode, y)| {
        let found = system.forces(mode, t, &y);
        let height = |s: f64| {
            let ahead = |i: usize, acc: f64| y[i] + y[i + 2] * s + 0.5 * acc * s * s;
            let q = [ahead(0, found.acc[0]), ahead(1, found.acc[1]), 0.0, 0.0];
            system.energy(mode, &with(&y, q)) / (75.0 * G)
        };
        let share = 1.0 - (t / 0.12) * (t / 0.12) * (3.0 - 2.0 * t / 0.12);
        // accelerations reach hundreds of rad/s²: the stencil needs short steps in time
        let expected = 1.0 + curvature(height, 5e-4) / G - share;
        (found.load_bw - expected).abs()
    }))
}

/// Forward speed of the hip with the tilt rate that `tilt_rate_at_pace` gives, by differences.
fn pace() -> f64 {
    greatest(legs().into_iter().map(|(system, mode, y)| {
        let omega = y[state::OMEGA];
        let rate = system.tilt_rate_at_pace(y[0], y[1], omega);
        let forward =
            |s: f64| system.hip_on(mode, &with(&y, [y[0] + rate * s, y[1] + omega * s, 0.0, 0.0]))[0];
        relative(slope(forward, 1e-3), 0.9)
    }))
}

pub fn checks() -> Vec<Check> {
    vec![
        row(
            "A19a",
            "leg on the ground: accelerations",
            "Lagrange's equations from the energy",
            1e-9,
            lagrange(),
            "10 rad/s²",
        ),
        row(
            "A19b",
            "leg on the ground: ground load",
            "acceleration of the mass centre",
            1e-9,
            ground_load(),
            "BW",
        ),
        row(
            "A19c",
            "leg on the ground: energy",
            "places by hand, speeds by differences",
            1e-9,
            energy(),
            "of it",
        ),
        row(
            "A20",
            "tilt rate at pace: forward speed of the hip",
            "differences of fourth order",
            1e-9,
            pace(),
            "of it",
        ),
    ]
}

#[test]
fn closed_form_loaded_agrees() {
    for check in checks() {
        check.assert();
    }
}
