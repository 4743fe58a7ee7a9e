//! The shank on a moving thigh: steady state under one harmonic, and a pivot at constant acceleration.

use std::f64::consts::{PI, TAU};

use kneedamp::joint::damper::{DamperLaw, Linear};
use kneedamp::motion::swing::{Pendulum, state};
use kneedamp::scenario::Drive;
use kneedamp::units::GRAVITY_M_PER_S2 as G;

use super::fixtures::{
    Shake, bare_knee, drive, elliptic_k, knee_with, limb, plumb, relative, reversals, row, swing, system,
};
use crate::evidence::{Check, greatest};

/// Complex amplitude of φ − ε − θ by projection on the last whole period; e^{iωt} with sin as the
/// imaginary part, so that sin ωt has amplitude 1.
fn steady(p: Pendulum, c: f64, shake: Shake) -> [f64; 2] {
    let (knee, d) = (knee_with(DamperLaw::Linear(Linear { c })), drive(shake));
    // transients die with exp(−c t/2I): 60 of their time constants
    let periods = (120.0 * p.inertia / (c * shake.period_s)).ceil();
    let trajectory = swing(&system(&knee, p, Some(&d)), p.com_angle, 0.0, (periods + 1.0) * shake.period_s);
    let n = 64;
    let mut amplitude = [0.0; 2];
    for i in 0..n {
        let phase = f64::from(i) / f64::from(n);
        let t = (periods + phase) * shake.period_s;
        let value = trajectory.at(t)[state::PHI] - p.com_angle - d.kinematics(t).thigh;
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
        let trajectory = swing(&system(&knee, p, Some(&d)), 0.3, 0.0, 25.0);
        (trajectory.end.1[state::PHI] - (p.com_angle + tilt)).abs()
    }))
}

/// Period about the tilted rest at 1e-5 rad and at 2 rad.
fn tilted_period() -> f64 {
    let (knee, p) = (bare_knee(), limb());
    greatest(PIVOTS.iter().flat_map(|pivot| {
        let (d, tilt, apparent) = accelerated(*pivot);
        let natural = (p.mass_moment * apparent / p.inertia).sqrt();
        [1e-5, 2.0].map(|amplitude: f64| {
            let trajectory = swing(&system(&knee, p, Some(&d)), p.com_angle + tilt + amplitude, 0.0, 4.0);
            relative(reversals(&trajectory)[1].0, 4.0 * elliptic_k((0.5 * amplitude).sin()) / natural)
        })
    }))
}

pub fn checks() -> Vec<Check> {
    let [amplitude, phase] = resonance();
    vec![
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
    ]
}

#[test]
fn closed_form_driven_pendulum_agrees() {
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
