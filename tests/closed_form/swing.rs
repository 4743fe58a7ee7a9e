//! The shank as a pendulum: periods, the assist spring, the hip moment.

use std::f64::consts::TAU;

use kneedamp::joint::AssistSpring;
use kneedamp::motion::swing::{Thigh, state};
use kneedamp::numerics::events::Mode;
use kneedamp::scenario::Kinematics;
use kneedamp::units::GRAVITY_M_PER_S2 as G;

use super::fixtures::{
    bare_knee, elliptic_k, flywheel, limb, plumb, relative, reversals, row, swing, system,
};
use crate::common::person;
use crate::evidence::{Check, greatest};

/// Small enough that the period differs from 2π/ω₀ by 6e-12 of it (φ²/16).
const SMALL_RAD: f64 = 1e-5;

/// Period, amplitude 1e-5 rad, against 2π √(I/(m g r)).
fn small_period() -> f64 {
    let (knee, p) = (bare_knee(), limb());
    let trajectory = swing(&system(&knee, p, None), p.com_angle + SMALL_RAD, 0.0, 4.0);
    let period = TAU * (p.inertia / (p.mass_moment * G)).sqrt();
    greatest(
        reversals(&trajectory).iter().zip(1..).map(|((t, _), n)| relative(*t, 0.5 * period * f64::from(n))),
    )
}

/// Periods at 30° to 170°, against 4 K(sin(A/2))/ω₀.
fn large_period() -> f64 {
    let (knee, p) = (bare_knee(), limb());
    let natural = (p.mass_moment * G / p.inertia).sqrt();
    greatest([30.0, 90.0, 150.0, 170.0].map(|amplitude_deg: f64| {
        let amplitude = amplitude_deg.to_radians();
        let trajectory = swing(&system(&knee, p, None), p.com_angle + amplitude, 0.0, 8.0);
        relative(reversals(&trajectory)[1].0, 4.0 * elliptic_k((0.5 * amplitude).sin()) / natural)
    }))
}

/// Instant at which the assist spring has straightened a flywheel bent by 1 rad.
fn assist() -> f64 {
    let (p, start) = (flywheel(), 1.0);
    greatest([(1.5, 2.0), (0.5, 8.0), (3.0, 0.0)].map(|(torque, rate): (f64, f64)| {
        let mut knee = bare_knee();
        knee.assist = AssistSpring { torque_n_m: torque, rate_n_m_per_rad: rate };
        knee.extension_stop.angle_rad = 0.0;
        let time = if rate > 0.0 {
            ((torque / rate) / (start + torque / rate)).acos() / (rate / p.inertia).sqrt()
        } else {
            (2.0 * p.inertia * start / torque).sqrt()
        };
        let trajectory = swing(&system(&knee, p, None), start, 0.0, 2.0);
        let straight = trajectory.first_root(0.0, 2.0, [state::PHI], |_, [phi]| phi).expect("straightens");
        relative(straight, time)
    }))
}

/// Hip moment against the power balance dE/dt = M θ' + τ φ' of thigh and shank on a fixed hip.
fn hip_moment() -> f64 {
    let (p, thigh) = (limb(), Thigh::of(&person(75.0, 1.75)));
    let central = p.inertia - p.mass_moment * p.mass_moment / p.mass;
    let energy = |theta: f64, phi: f64, theta_rate: f64, omega: f64| {
        let (psi, psi_rate) = (theta - phi + p.com_angle, theta_rate - omega);
        let (d, r) = (thigh.length - thigh.com_above_knee, p.mass_moment / p.mass);
        let (st, ct) = theta.sin_cos();
        let (ss, cs) = psi.sin_cos();
        let v = [
            thigh.length * ct * theta_rate + r * cs * psi_rate,
            thigh.length * st * theta_rate + r * ss * psi_rate,
        ];
        0.5 * (thigh.inertia + thigh.mass * d * d) * theta_rate * theta_rate
            + 0.5 * central * psi_rate * psi_rate
            + 0.5 * p.mass * (v[0] * v[0] + v[1] * v[1])
            - thigh.mass * G * d * ct
            - p.mass * G * (thigh.length * ct + r * cs)
    };
    let states = [(0.3, 0.9, 2.0, -3.0), (-0.4, 0.2, 3.0, 5.0), (0.1, 1.2, -1.5, 0.5)];
    greatest(states.map(|(theta, phi, theta_rate, omega)| {
        let (theta_acc, torque) = (-11.0, 4.0);
        let (st, ct) = f64::sin_cos(theta);
        let lt = thigh.length;
        let k = Kinematics {
            thigh: theta,
            thigh_sin_cos: (st, ct),
            thigh_rate: theta_rate,
            thigh_acc: theta_acc,
            hip_acc_x: 0.0,
            hip_acc_z: 0.0,
            knee_acc_x: lt * (theta_acc * ct - theta_rate * theta_rate * st),
            knee_acc_z: lt * (theta_acc * st + theta_rate * theta_rate * ct),
        };
        let acc = (p.driving_torque(&k, phi) + torque) / p.inertia;
        let at = |t: f64| {
            energy(
                theta + theta_rate * t + 0.5 * theta_acc * t * t,
                phi + omega * t + 0.5 * acc * t * t,
                theta_rate + theta_acc * t,
                omega + acc * t,
            )
        };
        let h = 1e-3;
        let power = (8.0 * (at(h) - at(-h)) - (at(2.0 * h) - at(-2.0 * h))) / (12.0 * h);
        let moment = thigh.hip_moment(&p, &k, phi, omega, acc, torque);
        relative(moment * theta_rate + torque * omega, power)
    }))
}

pub fn checks() -> Vec<Check> {
    vec![
        row("A1", "pendulum, small angle: period", "2π √(I/(m g r))", 1e-9, small_period(), "of it"),
        row(
            "A2",
            "pendulum, 30° to 170°: period",
            "4 K(sin(A/2))/ω₀, K by the arithmetic-geometric mean",
            1e-9,
            large_period(),
            "of it",
        ),
        row(
            "A16",
            "assist spring on a flywheel: time to straight",
            "harmonic motion about −τ₀/k; free fall for k = 0",
            1e-9,
            assist(),
            "of it",
        ),
        row(
            "A17",
            "hip moment in swing",
            "power balance of thigh and shank",
            1e-9,
            hip_moment(),
            "of the power",
        ),
    ]
}

#[test]
fn closed_form_swing_agrees() {
    for check in checks() {
        check.assert();
    }
}

/// Gravity alone: the equation of motion at rest in closed form, with the sign conventions.
#[test]
fn closed_form_gravity_straightens_a_bent_knee() {
    use kneedamp::numerics::hybrid::{FrozenMode, HybridSystem, State};
    let (knee, p) = (bare_knee(), plumb());
    let f = system(&knee, p, None);
    let mut y = State::<{ state::COUNT }>::zeros();
    y[state::PHI] = 0.5;
    let mut dy = y;
    f.freeze(Mode::default()).rate(0.0, &y, &mut dy);
    let expected = -p.mass_moment * G * 0.5f64.sin() / p.inertia;
    assert!(relative(dy[state::OMEGA], expected) < 1e-14);
}
