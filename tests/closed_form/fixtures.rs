//! Fixtures of the closed forms: a joint without friction, stops or valve, a shank hanging from it, and a
//! drive of one harmonic.

use approx::assert_abs_diff_eq;
use kneedamp::body::Shank;
use kneedamp::joint::damper::{ConstantFriction, DamperLaw, Linear, Orifice};
use kneedamp::joint::{Knee, Trigger};
use kneedamp::motion::joint_events::joint_event;
use kneedamp::motion::preswing::Preswing;
use kneedamp::motion::swing::{Pendulum, ShankSystem, Thigh, state};
use kneedamp::numerics::events::Mode;
use kneedamp::numerics::hybrid::{State, Trajectory};
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::scenario::harmonics::Harmonics;
use kneedamp::scenario::{Drive, DriveFile, DriveKind, DriveRow, Pace};
use kneedamp::units::{DEG, GRAVITY_M_PER_S2 as G};

use crate::common::{person, reference_shank};
use crate::evidence::{Check, Kind, greatest};

/// State of the shank.
pub type Shanked = State<{ state::COUNT }>;

/// A verification check.
pub fn row(
    id: &'static str,
    what: &'static str,
    source: &'static str,
    criterion: f64,
    figure: f64,
    unit: &'static str,
) -> Check {
    Check { id, kind: Kind::Verification, what, source, criterion, figure, unit }
}

/// Deviation as a share of what is expected.
pub fn relative(found: f64, expected: f64) -> f64 {
    (found / expected - 1.0).abs()
}

/// A joint without any torque between −20 and 20 rad.
pub fn bare_knee() -> Knee {
    let mut knee = Knee::reference();
    knee.swing_flexion = DamperLaw::Linear(Linear { c: 0.0 });
    knee.swing_extension = DamperLaw::Linear(Linear { c: 0.0 });
    knee.friction = ConstantFriction { torque_n_m: 0.0, smoothing_rad_per_s: 1.0 };
    knee.relief = None;
    knee.stance.trigger = Trigger::None;
    knee.extension_stop.angle_rad = -20.0;
    knee.flexion_stop.angle_rad = 20.0;
    knee
}

/// The bare joint with the same law in both directions.
pub fn knee_with(law: DamperLaw) -> Knee {
    Knee { swing_flexion: law.clone(), swing_extension: law, ..bare_knee() }
}

/// An orifice law.
pub fn orifice(a: f64, b: f64) -> DamperLaw {
    DamperLaw::Orifice(Orifice { a, b })
}

/// The reference limb of the checks.
pub fn limb() -> Pendulum {
    Pendulum::from(reference_shank())
}

/// The reference limb balanced on the axis: gravity has no moment on it.
pub fn flywheel() -> Pendulum {
    Pendulum { mass_moment: 0.0, ..limb() }
}

/// The reference limb with its centre of mass on the shank line.
pub fn plumb() -> Pendulum {
    Pendulum::from(Shank { com_angle_rad: 0.0, ..reference_shank() })
}

/// The shank on its joint.
pub fn system<'a>(knee: &'a Knee, pendulum: Pendulum, drive: Option<&'a Drive>) -> ShankSystem<'a> {
    let who = person(75.0, 1.75);
    ShankSystem {
        drive,
        knee,
        pendulum,
        thigh: Thigh::of(&who),
        preswing: Preswing::new(&who.preswing, 0.0, 0.0, knee.friction),
        weight_n: who.weight_n(),
    }
}

/// The motion from a flexion and a rate.
pub fn swing(system: &ShankSystem<'_>, phi: f64, omega: f64, span_s: f64) -> Trajectory<{ state::COUNT }> {
    let mut start = Shanked::zeros();
    start[state::PHI] = phi;
    start[state::OMEGA] = omega;
    let mut trajectory = Trajectory::begin(system, 0.0, start, Mode::default());
    trajectory.run(system, "swing", span_s, &Tolerances::tight()).expect("runs");
    trajectory
}

/// Instants and flexions at which the knee reverses.
pub fn reversals(trajectory: &Trajectory<{ state::COUNT }>) -> Vec<(f64, f64)> {
    trajectory.events_of(joint_event::RATE).map(|e| (e.t_s, e.state[state::PHI])).collect()
}

/// Greatest deviation at `n` equally spaced instants of a trajectory, without its start.
pub fn greatest_deviation(
    trajectory: &Trajectory<{ state::COUNT }>,
    n: u32,
    deviation: impl Fn(f64, &Shanked) -> f64,
) -> f64 {
    greatest((1..=n).map(|i| {
        let t = trajectory.end.0 * f64::from(i) / f64::from(n);
        deviation(t, &trajectory.at(t))
    }))
}

/// Complete elliptic integral of the first kind of modulus k, by the arithmetic-geometric mean.
pub fn elliptic_k(k: f64) -> f64 {
    let (mut a, mut g) = (1.0, (1.0 - k * k).sqrt());
    for _ in 0..60 {
        (a, g) = (0.5 * (a + g), (a * g).sqrt());
    }
    std::f64::consts::FRAC_PI_2 / a
}

/// A motion of thigh and hip with one harmonic.
#[derive(Clone, Copy, Default)]
pub struct Shake {
    pub period_s: f64,
    /// θ = this · sin ωt, rad.
    pub thigh_rad: f64,
    /// Forward hip acceleration, m/s²: constant part, and the factor of sin ωt.
    pub forward: (f64, f64),
    /// Constant upward hip acceleration, m/s².
    pub upward: f64,
}

/// The drive of this motion.
pub fn drive(shake: Shake) -> Drive {
    let leg_m = 0.9275;
    let series = |mean: f64, sin: f64| Harmonics { mean, cos: vec![0.0], sin: vec![sin] };
    let row = DriveRow {
        label: "one harmonic".into(),
        dimensionless_speed: 0.4,
        dimensionless_cadence: 2.0 / shake.period_s * (leg_m / G).sqrt(),
        dimensionless_step: 0.7,
        toe_off_fraction: 0.6,
        opposite_contact_fraction: 0.5,
        thigh_angle_deg: series(0.0, shake.thigh_rad / DEG),
        knee_flexion_deg: Harmonics { mean: 20.0, cos: vec![0.0], sin: vec![-20.0] },
        hip_vertical_acceleration_g: series(shake.upward / G, 0.0),
        hip_forward_acceleration_g: series(shake.forward.0 / G, shake.forward.1 / G),
        vertical_load_bw: vec![1.0],
        forward_load_bw: vec![0.0],
    };
    let file = DriveFile {
        kind: DriveKind::Drive,
        name: "one harmonic".into(),
        about: String::new(),
        source: String::new(),
        licence: String::new(),
        knee_flexion_sd_deg: None,
        measured: None,
        speeds: vec![row],
    };
    let pace = Pace { speed_m_per_s: 0.4 * (G * leg_m).sqrt(), cadence_steps_per_min: None };
    let drive = Drive::new(&file, leg_m, 0.42875, pace).expect("a drive");
    assert_abs_diff_eq!(drive.stride_time_s / shake.period_s, 1.0, epsilon = 1e-14);
    drive
}

/// Derivative at 0 by the stencil of fourth order.
pub fn slope(f: impl Fn(f64) -> f64, h: f64) -> f64 {
    (8.0 * (f(h) - f(-h)) - (f(2.0 * h) - f(-2.0 * h))) / (12.0 * h)
}

/// Second derivative at 0 likewise.
pub fn curvature(f: impl Fn(f64) -> f64, h: f64) -> f64 {
    (16.0 * (f(h) + f(-h)) - (f(2.0 * h) + f(-2.0 * h)) - 30.0 * f(0.0)) / (12.0 * h * h)
}
