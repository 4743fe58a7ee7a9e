//! Damper laws against the motions that they give in closed form.

use approx::assert_abs_diff_eq;
use std::f64::consts::TAU;

use kneedamp::joint::damper::{ConstantFriction, DamperLaw, Linear, Orifice, Table, Taper};
use kneedamp::joint::{AssistSpring, Knee, Relief};
use kneedamp::motion::swing::state;
use kneedamp::units::GRAVITY_M_PER_S2 as G;

use super::fixtures::{
    bare_knee, flywheel, greatest_deviation, knee_with, limb, orifice, relative, reversals, row, swing,
    system,
};
use crate::common::knee;
use crate::evidence::{Check, greatest};

/// Logarithmic decrement of successive maxima at 1e-5 rad, c 0.05 to 0.8.
fn decrement() -> f64 {
    let p = limb();
    let natural = (p.mass_moment * G / p.inertia).sqrt();
    greatest([0.05, 0.2, 0.8].map(|c| {
        let knee = knee_with(DamperLaw::Linear(Linear { c }));
        let trajectory = swing(&system(&knee, p, None), p.com_angle + 1e-5, 0.0, 3.0);
        let decay = 0.5 * c / p.inertia;
        let expected = decay * TAU / (natural * natural - decay * decay).sqrt();
        let seen = reversals(&trajectory);
        let maxima: Vec<f64> =
            std::iter::once(1e-5).chain(seen.chunks_exact(2).map(|t| t[1].1 - p.com_angle)).collect();
        assert!(maxima.len() > 2);
        greatest(maxima.windows(2).map(|m| relative((m[0] / m[1]).ln(), expected)))
    }))
}

/// Flywheel on orifice and laminar passage, both directions; a = 0 is the orifice alone.
fn coasting(a: f64) -> f64 {
    let p = flywheel();
    let mut knee = bare_knee();
    (knee.swing_flexion, knee.swing_extension) = (orifice(a, 0.5), orifice(a, 0.08));
    greatest([(8.0, 0.5), (-8.0, 0.08)].map(|(start, b): (f64, f64)| {
        let trajectory = swing(&system(&knee, p, None), 0.3, start, 3.0);
        greatest_deviation(&trajectory, 30, |t, y| {
            // time that the orifice sees: stretched by the laminar part
            let grown = if a > 0.0 { (1.0 - (-a * t / p.inertia).exp()) / a } else { t / p.inertia };
            let decay = if a > 0.0 { (-a * t / p.inertia).exp() } else { 1.0 };
            let omega = start * decay / (1.0 + b * start.abs() * grown);
            let turned = p.inertia / b * (b * start.abs() * grown).ln_1p();
            greatest([
                relative(y[state::OMEGA], omega),
                relative(y[state::PHI] - 0.3, turned * start.signum()),
            ])
        })
    }))
}

/// ω² of a pendulum with an orifice, half swing by half swing, relative to its greatest value there:
/// y' = ∓λ y − p sin χ,  λ = 2b/I,  p = 2 m g r/I,  χ = φ − ε.
fn squared_rate() -> f64 {
    let limb = limb();
    let (flexion, extension) = (0.2, 0.08);
    let mut knee = bare_knee();
    (knee.swing_flexion, knee.swing_extension) = (orifice(0.0, flexion), orifice(0.0, extension));
    let trajectory = swing(&system(&knee, limb, None), limb.com_angle + 2.5, 0.0, 6.0);
    let push = 2.0 * limb.mass_moment * G / limb.inertia;
    let mut from = (0.0, limb.com_angle + 2.5);
    greatest(reversals(&trajectory).into_iter().map(|to| {
        let flexing = to.1 > from.1;
        let lambda = 2.0 * if flexing { flexion } else { -extension } / limb.inertia;
        let (first, last) = (from.1 - limb.com_angle, to.1 - limb.com_angle);
        let particular = |x: f64| push * (x.cos() - lambda * x.sin()) / (1.0 + lambda * lambda);
        let square = |x: f64| particular(x) - particular(first) * (-lambda * (x - first)).exp();
        let scale = greatest((0..200).map(|i| square(first + (last - first) * f64::from(i) / 200.0)));
        let worst = greatest((0..=40).map(|i| {
            let y = trajectory.at(from.0 + (to.0 - from.0) * f64::from(i) / 40.0);
            (y[state::OMEGA].powi(2) - square(y[state::PHI] - limb.com_angle)).abs() / scale
        }));
        from = to;
        worst
    }))
}

const FRICTION: ConstantFriction = ConstantFriction { torque_n_m: 0.3, smoothing_rad_per_s: 0.05 };

/// Flywheel on smoothed friction, as the law of the joint and as its seals.
fn braked() -> [Knee; 2] {
    [knee_with(DamperLaw::ConstantFriction(FRICTION)), Knee { friction: FRICTION, ..bare_knee() }]
}

/// sinh(ω/ω_s) = sinh(ω₀/ω_s) exp(−τ t/(I ω_s)), relative to the greater of ω and ω_s.
fn friction() -> f64 {
    let (p, start, ws) = (flywheel(), 4.0, FRICTION.smoothing_rad_per_s);
    greatest(braked().map(|knee| {
        let trajectory = swing(&system(&knee, p, None), 0.0, start, 3.2);
        greatest_deviation(&trajectory, 200, |t, y| {
            // the logarithm of sinh(ω/ω_s) far from zero, sinh itself near it
            let grown = start / ws - FRICTION.torque_n_m * t / (p.inertia * ws);
            let omega = ws * (0.5 * grown.exp() * (1.0 - (-2.0 * start / ws).exp())).asinh();
            (y[state::OMEGA] - omega).abs() / omega.max(ws)
        })
    }))
}

/// Greatest deviation from dry friction is asinh(½) = 0.481 of ω_s, at the instant dry friction stops it.
fn against_dry_friction() -> f64 {
    let (p, start, ws) = (flywheel(), 4.0, FRICTION.smoothing_rad_per_s);
    let stop = p.inertia * start / FRICTION.torque_n_m;
    greatest(braked().map(|knee| {
        let trajectory = swing(&system(&knee, p, None), 0.0, start, stop + 0.2);
        let dry = |t: f64| (start - FRICTION.torque_n_m * t / p.inertia).max(0.0);
        let at_stop = trajectory.at(stop)[state::OMEGA] / ws;
        let elsewhere = greatest_deviation(&trajectory, 999, |t, y| (y[state::OMEGA] - dry(t)).abs()) / ws;
        greatest([relative(at_stop, 0.5f64.asinh()), (elsewhere / at_stop - 1.0).max(0.0)])
    }))
}

/// Rates under a constant torque: ∓√(τ/b) tanh(t √(τ b)/I) at all times, and the end of it.
fn terminal() -> [f64; 2] {
    let p = flywheel();
    let mut worst = [Vec::new(), Vec::new()];
    for (torque, b) in [(1.5, 0.2), (5.0, 0.08), (-2.0, 0.5), (-40.0, 10.0)] {
        let mut knee = bare_knee();
        (knee.swing_flexion, knee.swing_extension) = (orifice(0.0, b), orifice(0.0, b));
        // a spring that bends the knee instead of straightening it gives the other direction
        knee.assist = AssistSpring { torque_n_m: torque, rate_n_m_per_rad: 0.0 };
        let span = 20.0 * p.inertia / (f64::abs(torque) * b).sqrt();
        let end = -(f64::abs(torque) / b).sqrt() * torque.signum();
        let trajectory = swing(&system(&knee, p, None), 0.0, 0.0, span.min(12.0 / end.abs()));
        worst[0].push(greatest_deviation(&trajectory, 40, |t, y| {
            relative(y[state::OMEGA], end * (t * (f64::abs(torque) * b).sqrt() / p.inertia).tanh())
        }));
        // started at twice the rate it comes down to the same
        let fast = swing(&system(&knee, p, None), -10.0 * end.signum(), 2.0 * end, 15.0 / end.abs());
        let x = fast.end.0 * (f64::abs(torque) * b).sqrt() / p.inertia;
        let reached = end / (x + 0.5f64.atanh()).tanh();
        worst[1].push(relative(fast.end.1[state::OMEGA], reached));
    }
    worst.map(greatest)
}

/// Measured curve with two slopes: exponential on each, from 3 rad/s down.
fn table() -> f64 {
    let p = flywheel();
    let knee = knee_with(DamperLaw::Table(Table::new(vec![1.0, 2.0], vec![0.5, 2.0]).expect("a table")));
    let trajectory = swing(&system(&knee, p, None), 0.0, 3.0, 1.0);
    // slopes 1.5 through 1 rad/s · 0.5 N m (zero at 2/3 rad/s), then 0.5 through the origin
    let zero: f64 = 2.0 / 3.0;
    let knot = p.inertia / 1.5 * ((3.0 - zero) / (1.0 - zero)).ln();
    greatest_deviation(&trajectory, 50, |t, y| {
        let omega = if t < knot {
            zero + (3.0 - zero) * (-1.5 * t / p.inertia).exp()
        } else {
            (-0.5 * (t - knot) / p.inertia).exp()
        };
        relative(y[state::OMEGA], omega)
    })
}

/// Area of the stance valve: its ends, linear between them, b ∝ 1/A².
fn stance_area() -> f64 {
    let (swing, stance) = (Orifice { a: 0.2, b: 0.5 }, Orifice { a: 3.0, b: 30.0 });
    let area = |b: f64| 1.0 / b.sqrt();
    let between = (0..=20).map(|i| {
        let z = f64::from(i) / 20.0;
        let o = Orifice::between(swing, stance, z);
        let expected = (1.0 - z) * area(swing.b) + z * area(stance.b);
        let share = (o.b - swing.b) / (stance.b - swing.b);
        greatest([relative(area(o.b), expected), relative(o.a, swing.a + share * (stance.a - swing.a))])
    });
    let ends = [(0.0, swing), (1.0, stance)].map(|(z, end)| {
        let o = Orifice::between(swing, stance, z);
        greatest([relative(o.a, end.a), relative(o.b, end.b)])
    });
    let squares = [0.5, 2.0, 10.0].map(|factor| {
        let b = |mm2: f64| Orifice::b_of_area(mm2 * 1e-6, 9e-6, 860.0, 0.61);
        let back = Orifice::area_m2(b(1.3), 9e-6, 860.0, 0.61);
        greatest([relative(b(1.3 * factor) * factor * factor, b(1.3)), relative(back, 1.3e-6)])
    });
    greatest(between.chain(ends).chain(squares))
}

/// Linear and friction joints with a stance valve: the law, and what closing a passage beside it adds; worst deviation
/// from areas on paper, N m.
fn valve_beside_another_law() -> f64 {
    let (passage, stance): (Orifice, Orifice) = (Orifice { a: 0.1, b: 0.1 }, Orifice { a: 3.0, b: 30.0 });
    greatest(["linear", "constant-friction"].into_iter().flat_map(|name| {
        let mut joint = knee(name);
        joint.stance.yielding = stance;
        (joint.relief, joint.friction.torque_n_m) = (None, 0.0);
        [0.0, 0.03, 0.1, 0.4, 0.8, 1.0].into_iter().flat_map(move |z| {
            let joint = joint.clone();
            [0.3, 1.5, 5.0].map(|rate: f64| {
                let root = (1.0 - z) / passage.b.sqrt() + z / stance.b.sqrt();
                let b = 1.0 / (root * root);
                let share = (b - passage.b) / (stance.b - passage.b);
                let a = passage.a + share * (stance.a - passage.a);
                let added = (a - passage.a) * rate + (b - passage.b) * rate * rate;
                let law = -joint.swing_flexion.torque(rate, 1.0);
                (-joint.torque(0.6, rate, z).damper - (law + added)).abs()
            })
        })
    }))
}

pub fn checks() -> Vec<Check> {
    let [approach, end] = terminal();
    let r = |id, what, source, figure| row(id, what, source, 1e-9, figure, "of it");
    let beside = "linear and friction joints: torque with the stance valve part closed";
    vec![
        row("A25", beside, "areas on paper", 1e-12, valve_beside_another_law(), "N m"),
        r("A3", "linear damper: logarithmic decrement", "ζ ω₀ T_d", decrement()),
        r(
            "A4",
            "orifice on a flywheel: rate and angle",
            "ω₀/(1 + b ω₀ t/I), (I/b) ln(1 + b ω₀ t/I)",
            coasting(0.0),
        ),
        r(
            "A5",
            "pendulum with an orifice: rate at every angle",
            "ω² as a linear equation in φ",
            squared_rate(),
        ),
        r(
            "A6",
            "laminar passage and orifice on a flywheel: rate and angle",
            "separable; exp(−a t/I)",
            coasting(0.2),
        ),
        r(
            "A7a",
            "smoothed friction on a flywheel: rate",
            "sinh(ω/ω_s) = sinh(ω₀/ω_s) exp(−τ t/(I ω_s))",
            friction(),
        ),
        r(
            "A7b",
            "the same: greatest deviation from dry friction",
            "asinh(½) ω_s, where dry friction stops",
            against_dry_friction(),
        ),
        r("A8a", "constant torque on an orifice: approach", "√(τ/b) tanh(t √(τ b)/I)", approach),
        r("A8b", "the same: terminal rate, from above", "√(τ/b) coth", end),
        r("A14", "stance valve: area linear, b by 1/A²", "b = ρ V³/(2 C_d² A²)", stance_area()),
        r("A14t", "measured curve on a flywheel: rate", "an exponential on each slope", table()),
    ]
}

#[test]
fn closed_form_damper_agrees() {
    for check in checks() {
        check.assert();
    }
}

/// Relief: |τ| = T + 0.05 (|τ| − T), oil torque in flexion only, friction not included.
#[test]
fn closed_form_relief_opens_on_the_oil_torque_in_flexion() {
    let mut knee = Knee::reference();
    knee.relief = Some(Relief { torque_n_m: 150.0, slope: 0.05 });
    let torque = |omega: f64, z: f64| knee.torque(0.5, omega, z).damper;
    // a 3, b 30 closed: 4 rad/s gives 492 N m, of which 342 are over
    assert!(relative(torque(4.0, 1.0), -(150.0 + 0.05 * 342.0)) < 1e-14);
    assert!(relative(torque(2.0, 1.0), -126.0) < 1e-14);
    assert!(relative(torque(-60.0, 1.0), 0.2 * 60.0 + 0.08 * 3600.0) < 1e-14);
    // continuous where it opens: 3 ω + 30 ω² = 150
    let opens = (-3.0 + (9.0f64 + 18000.0).sqrt()) / 60.0;
    assert_abs_diff_eq!(
        torque(opens * (1.0 + 1e-12), 1.0),
        torque(opens * (1.0 - 1e-12), 1.0),
        epsilon = 1e-8
    );
}

/// Both tapers meet their ends and their inverses.
#[test]
fn closed_form_tapers_run_between_their_ends() {
    for taper in [Taper::Geometric, Taper::LinearArea] {
        assert!(relative(taper.b(0.02, 2.0, 0.0), 0.02) < 1e-14);
        assert!(relative(taper.b(0.02, 2.0, 1.0), 2.0) < 1e-12);
        for s in [0.1, 0.5, 0.9] {
            assert_abs_diff_eq!(taper.setting(0.02, 2.0, taper.b(0.02, 2.0, s)), s, epsilon = 1e-12);
        }
    }
    assert!(relative(Taper::Geometric.b(0.02, 2.0, 0.5), 0.2) < 1e-14);
    // half way in area: 1/√b is the mean of 1/√0.02 and 1/√2
    let mean = 0.5 * (1.0 / 0.02f64.sqrt() + 1.0 / 2f64.sqrt());
    assert!(relative(Taper::LinearArea.b(0.02, 2.0, 0.5), 1.0 / (mean * mean)) < 1e-14);
}
