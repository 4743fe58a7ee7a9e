//! Standing: the statics of a straight leg, in the loaded engine and in the formulas.

use kneedamp::body::Shank;
use kneedamp::joint::EndStop;
use kneedamp::motion::stance_leg::Segments;
use kneedamp::motion::stance_leg::state;
use kneedamp::motion::standing::stand;
use kneedamp::numerics::events::Mode;
use kneedamp::numerics::hybrid::{State, Trajectory};
use kneedamp::scenario::{Footing, Stand};
use kneedamp::units::{DEG, GRAVITY_M_PER_S2 as G};

use super::fixtures::{relative, row};
use super::loaded::leg;
use crate::common::person;
use crate::evidence::{Check, greatest};

/// Angle of the hip ahead of the contact line at which a straight leg stands, (L − R) sin B = e cos B − R sin γ.
fn standing_angle(slope_rad: f64) -> f64 {
    let (reach, r, e) = (0.595f64, 0.3325, 0.05f64);
    (e / reach).atan() - (r * slope_rad.sin() / reach.hypot(e)).asin()
}

/// A straight massless leg under a point mass, hip over the contact point: a knee torque N d,
/// d = Lt sin B, holds it; accelerations over g/Lt, and the load.
fn static_hold() -> f64 {
    greatest([-0.10f64, 0.0, 0.05, 0.12].map(|slope_rad| {
        let weightless = Shank { mass_kg: 0.0, com_distance_m: 0.2, com_angle_rad: 0.0, inertia_kg_m2: 0.0 };
        let mut s = Segments::of(&person(75.0, 1.75), &weightless);
        (s.upper_mass_kg, s.upper_inertia_kg_m2) = (0.0, 0.0);
        let mut system = leg(s, Footing::rolling(1.75), slope_rad);
        (system.speed_m_per_s, system.weight_transfer_s, system.hip_moment_n_m) = (0.0, 0.0, 0.0);
        let lean = standing_angle(slope_rad);
        // the stop is set so that it pushes with N d on the straight knee
        let stiffness = 2000.0;
        let angle_rad = 75.0 * G * 0.42875 * lean.sin() / stiffness;
        system.knee.extension_stop =
            EndStop { angle_rad, stiffness_n_m_per_rad: stiffness, damping_s_per_rad: 0.3 };
        let mut y = State::<{ state::COUNT }>::zeros();
        y[state::BETA] = lean - slope_rad;
        let mode = Trajectory::begin(&system, 0.0, y, Mode::default()).mode;
        let f = system.forces(mode, 0.0, &y);
        let hip = system.hip_on(mode, &y);
        let contact = 0.3325 * y[state::BETA] * slope_rad.cos();
        greatest([
            f.acc[0].abs() * 0.42875 / G,
            f.acc[1].abs() * 0.42875 / G,
            (f.load_bw - 1.0).abs(),
            (hip[0] - contact).abs(),
        ])
    }))
}

pub fn checks() -> Vec<Check> {
    vec![row(
        "A21",
        "standing: a knee torque N d holds the leg",
        "statics, d = Lt sin B",
        1e-9,
        static_hold(),
        "g/Lt, BW, m",
    )]
}

#[test]
fn closed_form_standing_agrees() {
    for check in checks() {
        check.assert();
    }
}

/// Standing at 75 kg, 1.75 m on paper: R 0.3325, e 0.05, Lt 0.42875, L1 0.49875 m.
#[test]
fn closed_form_standing_by_hand() {
    let who = person(75.0, 1.75);
    let level = stand(&Stand { slope_deg: 0.0, share: 0.5 }, &who);
    assert!(relative(level.load_n, 367.875) < 1e-12);
    assert!(relative(level.load_line_ahead_m, 0.42875 * 0.05 / 0.595) < 1e-12);
    assert!(relative(level.extension_moment_n_m, 367.875 * 0.42875 * 0.05 / 0.595) < 1e-12);
    assert!(relative(level.slope_limit_rad, 0.05 / 0.3325) < 1e-12);
    let to_bend = 367.875 * 0.42875 * 0.05 / 0.595 * 0.9275 / 0.49875;
    assert!(relative(level.hip_moment_to_bend_n_m, to_bend) < 1e-12);
    let at_limit = stand(&Stand { slope_deg: level.slope_limit_rad / DEG, share: 0.5 }, &who);
    assert!(at_limit.extension_moment_n_m.abs() < 1e-12);
}

/// The formula of standing is the exact statics for small angles: it is off by (e B²/2 + R γ³/6)/(e − R γ)
/// at most, 0.4 % on the level.
#[test]
fn closed_form_standing_against_exact_statics() {
    let who = person(75.0, 1.75);
    for slope_deg in [-5.0f64, -2.0, 0.0, 2.0, 5.0] {
        let (slope_rad, shown) = (slope_deg * DEG, stand(&Stand { slope_deg, share: 0.5 }, &who));
        let lean = standing_angle(slope_rad);
        let bound =
            (0.05 * lean * lean / 2.0 + 0.3325 * slope_rad.abs().powi(3) / 6.0) / (0.05 - 0.3325 * slope_rad);
        let off = relative(0.42875 * lean.sin(), shown.load_line_ahead_m);
        assert!(off <= bound, "{slope_deg}°: {off} exceeds {bound}");
    }
}
