//! The shank as a pendulum: periods, a driven steady state, a pivot under constant acceleration, the
//! assist spring and the hip moment.

use std::f64::consts::{PI, TAU};

use kneedamp::joint::AssistSpring;
use kneedamp::joint::damper::{DamperLaw, Linear};
use kneedamp::motion::events::Sides;
use kneedamp::motion::swing::{Pendulum, Thigh, state};
use kneedamp::quantity::GRAVITY_M_PER_S2 as G;
use kneedamp::scenario::{Drive, Kinematics};

use super::rig::{
    Shake, bare_knee, drive, elliptic_k, flow, flywheel, knee_with, limb, plumb, relative, row, swing, turns,
};
use crate::common::person;
use crate::evidence::{Check, greatest};

/// Small enough that the period differs from 2π/ω₀ by 6e-12 of it (φ²/16).
const SMALL_RAD: f64 = 1e-5;

/// Period, amplitude 1e-5 rad, against 2π √(I/(m g r)).
fn small_period() -> f64 {
    let (knee, p) = (bare_knee(), limb());
    let course = swing(&flow(&knee, p, None), p.com_angle + SMALL_RAD, 0.0, 4.0);
    let period = TAU * (p.inertia / (p.mass_moment * G)).sqrt();
    greatest(turns(&course).iter().zip(1..).map(|((t, _), n)| relative(*t, 0.5 * period * f64::from(n))))
}

/// Periods at 30° to 170°, against 4 K(sin(A/2))/ω₀.
fn large_period() -> f64 {
    let (knee, p) = (bare_knee(), limb());
    let natural = (p.mass_moment * G / p.inertia).sqrt();
    greatest([30.0, 90.0, 150.0, 170.0].map(|amplitude_deg: f64| {
        let amplitude = amplitude_deg.to_radians();
        let course = swing(&flow(&knee, p, None), p.com_angle + amplitude, 0.0, 8.0);
        relative(turns(&course)[1].0, 4.0 * elliptic_k((0.5 * amplitude).sin()) / natural)
    }))
}

/// Complex amplitude of φ − ε − θ by projection on the last whole period; e^{iωt} with sin as the
/// imaginary part, so that sin ωt has amplitude 1.
fn steady(p: Pendulum, c: f64, shake: Shake) -> [f64; 2] {
    let (knee, d) = (knee_with(DamperLaw::Linear(Linear { c })), drive(shake));
    // transients die with exp(−c t/2I): 60 of their time constants
    let periods = (120.0 * p.inertia / (c * shake.period_s)).ceil();
    let course = swing(&flow(&knee, p, Some(&d)), p.com_angle, 0.0, (periods + 1.0) * shake.period_s);
    let n = 64;
    let mut amplitude = [0.0; 2];
    for i in 0..n {
        let phase = f64::from(i) / f64::from(n);
        let t = (periods + phase) * shake.period_s;
        let value = course.at(t)[state::PHI] - p.com_angle - d.kinematics(t).thigh;
        amplitude[0] += value * (TAU * phase).sin() * 2.0 / f64::from(n);
        amplitude[1] += value * (TAU * phase).cos() * 2.0 / f64::from(n);
    }
    amplitude
}

/// (x + iy)/(u + iv).
fn quotient([x, y]: [f64; 2], [u, v]: [f64; 2]) -> [f64; 2] {
    let square = u * u + v * v;
    [(x * u + y * v) / square, (y * u - x * v) / square]
}

/// Greatest (amplitude, phase) deviation below, at and above resonance, driven by thigh and by hip.
fn resonance() -> [f64; 2] {
    let (p, c, lt) = (plumb(), 0.2, 0.42875);
    let natural = (p.mass_moment * G / p.inertia).sqrt();
    let mut worst = [Vec::new(), Vec::new()];
    for ratio in [0.5, 1.0, 1.0 - 0.25 / 5.5, 2.0] {
        let w = ratio * natural;
        let stiffness = [p.mass_moment * G - p.inertia * w * w, c * w];
        // χ = ψ + ε = −(φ − ε − θ):  I χ'' + c χ' + m g r χ = −m r x_k'' + c θ'
        let (thigh, hip) = (1e-6, 1e-6 * lt * w * w);
        let by_thigh = Shake { period_s: TAU / w, thigh_rad: thigh, ..Shake::default() };
        let by_hip = Shake { period_s: TAU / w, forward: (0.0, hip), ..Shake::default() };
        let push = [p.mass_moment * lt * w * w * thigh, c * w * thigh];
        for (shake, push) in [(by_thigh, push), (by_hip, [-p.mass_moment * hip, 0.0])] {
            let expected = quotient(push, stiffness);
            let found = steady(p, c, shake).map(|v| -v);
            let [real, imaginary] = quotient(found, expected);
            worst[0].push((real.hypot(imaginary) - 1.0).abs());
            worst[1].push(imaginary.atan2(real).abs());
        }
    }
    worst.map(greatest)
}

/// Forward and upward accelerations of a pivot, m/s².
const PIVOTS: [(f64, f64); 4] = [(3.0, 0.0), (-6.0, 2.0), (0.0, -4.0), (9.0, 9.0)];

fn accelerated((forward, upward): (f64, f64)) -> (Drive, f64, f64) {
    let d = drive(Shake { period_s: 1.2, forward: (forward, 0.0), upward, ..Shake::default() });
    // the shank hangs along the apparent gravity: behind a pivot that is pushed forward
    (d, (forward / (G + upward)).atan(), forward.hypot(G + upward))
}

/// Flexion at which a damped shank comes to rest, rad.
fn tilted_rest() -> f64 {
    let (knee, p) = (knee_with(DamperLaw::Linear(Linear { c: 1.0 })), limb());
    greatest(PIVOTS.map(|pivot| {
        let (d, tilt, _) = accelerated(pivot);
        let course = swing(&flow(&knee, p, Some(&d)), 0.3, 0.0, 25.0);
        (course.end.1[state::PHI] - (p.com_angle + tilt)).abs()
    }))
}

/// Period about the tilted rest at 1e-5 rad and at 2 rad.
fn tilted_period() -> f64 {
    let (knee, p) = (bare_knee(), limb());
    greatest(PIVOTS.iter().flat_map(|pivot| {
        let (d, tilt, apparent) = accelerated(*pivot);
        let natural = (p.mass_moment * apparent / p.inertia).sqrt();
        [1e-5, 2.0].map(|amplitude: f64| {
            let course = swing(&flow(&knee, p, Some(&d)), p.com_angle + tilt + amplitude, 0.0, 4.0);
            relative(turns(&course)[1].0, 4.0 * elliptic_k((0.5 * amplitude).sin()) / natural)
        })
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
        let course = swing(&flow(&knee, p, None), start, 0.0, 2.0);
        let straight = course.first_root(0.0, 2.0, |_, y| y[state::PHI]).expect("straightens");
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
    let [amplitude, phase] = resonance();
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
            "A9a",
            "driven pendulum below, at and above resonance: amplitude",
            "linear steady state; cubic term of gravity below 3e-10 here",
            1e-9,
            amplitude,
            "of it",
        ),
        row("A9b", "the same: phase", "linear steady state", 1e-9, phase, "rad"),
        row(
            "A13a",
            "pivot at constant acceleration: tilted rest",
            "ε + atan(x''/(g + z''))",
            1e-9,
            tilted_rest(),
            "rad",
        ),
        row(
            "A13b",
            "the same: period at 1e-5 and 2 rad",
            "4 K/ω₀ with the apparent gravity",
            1e-9,
            tilted_period(),
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

/// At resonance of the linear pendulum the motion lags a quarter period behind the push of the hip.
#[test]
fn closed_form_hip_driven_resonance_lags_by_a_quarter() {
    let p = plumb();
    let w = (p.mass_moment * G / p.inertia).sqrt();
    let shake = Shake { period_s: TAU / w, forward: (0.0, 1e-5), ..Shake::default() };
    let [real, imaginary] = steady(p, 0.2, shake);
    assert!((imaginary.atan2(real) + PI / 2.0).abs() < 1e-9);
}

/// Gravity alone: the equation of motion at rest in closed form, with the sign conventions.
#[test]
fn closed_form_gravity_straightens_a_bent_knee() {
    use kneedamp::motion::integrate::{Flow, State};
    let (knee, p) = (bare_knee(), plumb());
    let f = flow(&knee, p, None);
    let mut y = State::<{ state::COUNT }>::zeros();
    y[state::PHI] = 0.5;
    let mut dy = y;
    f.rate(Sides::default(), 0.0, &y, &mut dy);
    let expected = -p.mass_moment * G * 0.5f64.sin() / p.inertia;
    assert!(relative(dy[state::OMEGA], expected) < 1e-14);
}
