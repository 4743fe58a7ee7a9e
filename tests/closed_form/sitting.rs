//! Sitting down: height of the hip, and the quasi-static rate on an orifice.

use approx::assert_abs_diff_eq;
use kneedamp::joint::Trigger;
use kneedamp::joint::damper::Orifice;
use kneedamp::motion::sitting::{SitRun, SitSystem, state};
use kneedamp::motion::stance_leg::Segments;
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::scenario::Sit;
use kneedamp::units::{DEG, GRAVITY_M_PER_S2 as G};

use super::fixtures::{bare_knee, curvature, orifice, relative, row, slope};
use crate::common::{person, reference_shank};
use crate::evidence::{Check, greatest};

fn segments() -> Segments {
    Segments::of(&person(75.0, 1.75), &reference_shank())
}

fn sit() -> Sit {
    Sit {
        share: 0.38,
        shank_tilt_per_flexion: 0.12,
        centre_of_pressure_m: -0.04,
        start_flexion_deg: 10.0,
        seat_height_m: 0.45,
        hip_above_seat_m: 0.09,
        extra_inertia_kg_m2: 0.12,
        longest_s: 6.0,
    }
}

/// Height of the hip by hand, and its derivatives by differences, m.
fn sitting_height() -> f64 {
    let system = SitSystem { knee: bare_knee(), segments: segments(), sit: sit() };
    greatest([0.1, 0.5, 1.0, 1.6].map(|phi: f64| {
        let h = system.hip_height(phi);
        let height = |x: f64| 0.49875 * (0.12 * (phi + x)).cos() + 0.42875 * (0.88 * (phi + x)).cos();
        greatest([
            (h.height - height(0.0)).abs(),
            (h.first - slope(height, 2e-3)).abs(),
            (h.second - curvature(height, 5e-3)).abs(),
        ])
    }))
}

/// (moment of gravity about the knee M, effective inertia J) of sitting at φ, by hand.
fn sitting_terms(phi: f64) -> [f64; 2] {
    let s = segments();
    let ms = 0.38 * 75.0;
    let first = -0.12 * 0.49875 * (0.12 * phi).sin() - 0.88 * 0.42875 * (0.88 * phi).sin();
    let central = 0.215 - 2.2 * 0.26 * 0.26;
    assert_abs_diff_eq!(s.lower_inertia_kg_m2, central, epsilon = 1e-12);
    [ms * G * (0.49875 * (0.12 * phi).sin() + 0.04), ms * first * first + central + 0.12]
}

/// Rate of sitting on an orifice b over √(M/b) at the angle it has: (greatest deviation from 1 times
/// b, greatest deviation from the next order of the expansion in 1/b).
fn quasi_static(b: f64) -> [f64; 2] {
    let mut knee = bare_knee();
    knee.stance.trigger = Trigger::Always;
    knee.stance.yielding = Orifice { a: 0.0, b };
    knee.swing_flexion = orifice(0.0, 0.1);
    let run = SitRun::run(&sit(), segments(), &knee, Some(1.0), &Tolerances::tight()).expect("runs");
    let mut worst = [Vec::new(), Vec::new()];
    for i in 1..=10 {
        // by 10° + 0.1° to 11°, long after the start has died away
        let phi = (10.0 + 0.1 * f64::from(i)) * DEG;
        let passed = run.trajectory.first_root(0.0, 6.0, [state::PHI], |_, [y]| y - phi).expect("bends");
        let omega = run.trajectory.at(passed)[state::OMEGA];
        let moment = sitting_terms(phi)[0];
        // d(½ J ω²)/dφ = M − b ω², so ω² = M/b − (J M)'/(2 b²) + O(1/b³)
        let product = slope(|x| sitting_terms(phi + x).iter().product(), 2e-3);
        let square = moment / b - product / (2.0 * b * b);
        worst[0].push(relative(omega, (moment / b).sqrt()) * b);
        worst[1].push(relative(omega, square.sqrt()));
    }
    worst.map(greatest)
}

/// The deviation from √(M/b) falls as 1/b: ratio of deviation · b at b 1e5 and 1e6, less 1.
fn quasi_static_limit() -> f64 {
    relative(quasi_static(1e6)[0], quasi_static(1e5)[0])
}

pub fn checks() -> Vec<Check> {
    vec![
        row(
            "A12a",
            "sitting, b 1e6: rate at the angle it has",
            "ω² = M/b − (J M)'/(2 b²)",
            1e-9,
            quasi_static(1e6)[1],
            "of it",
        ),
        row(
            "A12b",
            "sitting: deviation from √(M/b) falls as 1/b",
            "b 1e5 and 1e6; the next order changes the ratio by less than 1e-3",
            1e-3,
            quasi_static_limit(),
            "-",
        ),
        row(
            "A22",
            "sitting: height of the hip and its derivatives",
            "by hand; differences",
            1e-9,
            sitting_height(),
            "m",
        ),
    ]
}

#[test]
fn closed_form_sitting_agrees() {
    for check in checks() {
        check.assert();
    }
}
