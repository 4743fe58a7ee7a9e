//! The loaded engines: footing, standing, the two-degree-of-freedom leg, sitting down.

use kneedamp::body::Shank;
use kneedamp::joint::damper::Orifice;
use kneedamp::joint::{EndStop, Knee, Trigger};
use kneedamp::motion::Precision;
use kneedamp::motion::events::Sides;
use kneedamp::motion::integrate::{Course, State};
use kneedamp::motion::loaded::{LegFlow, OtherFoot, Segments, state};
use kneedamp::motion::sitting::{SitFlow, SitRun, state as sit_state};
use kneedamp::motion::standing::stand;
use kneedamp::quantity::{DEG, GRAVITY_M_PER_S2 as G};
use kneedamp::scenario::{Footing, Region, Sit, Stand};

use super::rig::{bare_knee, orifice, relative, row};
use crate::common::{person, reference_shank};
use crate::evidence::{Check, greatest};

type Leg = State<{ state::COUNT }>;

/// Derivative at 0 by the stencil of fourth order.
fn slope(f: impl Fn(f64) -> f64, h: f64) -> f64 {
    (8.0 * (f(h) - f(-h)) - (f(2.0 * h) - f(-2.0 * h))) / (12.0 * h)
}

/// Second derivative at 0 likewise.
fn curvature(f: impl Fn(f64) -> f64, h: f64) -> f64 {
    (16.0 * (f(h) + f(-h)) - (f(2.0 * h) + f(-2.0 * h)) - 30.0 * f(0.0)) / (12.0 * h * h)
}

const L1: f64 = 0.49875;

fn footings() -> [(Footing, Region); 4] {
    let foot = Footing::rolling(1.75);
    [(foot, Region::Heel), (foot, Region::Arc), (foot, Region::Toe), (Footing::edge(), Region::Arc)]
}

/// K' and K'' against differences of K and K', m per rad and rad².
fn footing_derivatives() -> f64 {
    greatest(footings().iter().flat_map(|&(footing, region)| {
        [-0.7, -0.2, 0.1, 0.5].map(|beta| {
            let k = footing.knee(region, beta, L1);
            greatest([0, 1].map(|i| {
                let first = slope(|x| footing.knee(region, beta + x, L1).at[i], 1e-3);
                let second = slope(|x| footing.knee(region, beta + x, L1).first[i], 1e-3);
                (k.first[i] - first).abs().max((k.second[i] - second).abs())
            }))
        })
    }))
}

/// Jumps of K and K' where the arc ends, m.
fn footing_jumps() -> f64 {
    let foot = Footing::rolling(1.75);
    let (heel, toe) = foot.ends_rad().expect("an arc");
    greatest([(heel, Region::Heel), (toe, Region::Toe)].map(|(beta, beyond)| {
        let (on, off) = (foot.knee(Region::Arc, beta, L1), foot.knee(beyond, beta, L1));
        greatest([0, 1].map(|i| (on.at[i] - off.at[i]).abs().max((on.first[i] - off.first[i]).abs())))
    }))
}

/// Speed of the foot's point that touches the ground, per tilt rate: rolling without slip, turning
/// about the ends and about the edge.
fn slip() -> f64 {
    greatest(footings().iter().flat_map(|&(footing, region)| {
        let (heel, toe) = footing.ends_rad().unwrap_or((0.0, 0.0));
        [-0.7, -0.2, 0.1, 0.5].map(|beta| {
            let touches = match (footing, region) {
                (Footing::Edge { .. }, _) => 0.0,
                (Footing::Rolling { radius_m, .. }, Region::Heel) => radius_m * heel,
                (Footing::Rolling { radius_m, .. }, Region::Arc) => radius_m * beta,
                (Footing::Rolling { radius_m, .. }, Region::Toe) => radius_m * toe,
            };
            let k = footing.knee(region, beta, L1);
            // tilting forward by dβ turns (x, z) into (x + z dβ, z − x dβ)
            let arm = [touches - k.at[0], -k.at[1]];
            (k.first[0] + arm[1]).hypot(k.first[1] - arm[0])
        })
    }))
}

fn segments() -> Segments {
    Segments::of(&person(75.0, 1.75), &reference_shank())
}

fn leg(segments: Segments, footing: Footing, slope_rad: f64) -> LegFlow {
    LegFlow {
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

/// The leg at one of the states, 0.03 s after contact, with its sides.
fn legs() -> Vec<(LegFlow, Sides, Leg)> {
    let legs = STATES.iter().map(|&(rolling, slope_rad, q)| {
        let footing = if rolling { Footing::rolling(1.75) } else { Footing::edge() };
        let flow = leg(segments(), footing, slope_rad);
        let mut y = Leg::zeros();
        (0..4).for_each(|i| y[i] = q[i]);
        y[state::VALVE] = 0.7;
        let sides = Course::begin(&flow, 0.03, y, Sides::default()).sides;
        (flow, sides, y)
    });
    legs.collect()
}

fn with(y: &Leg, q: [f64; 4]) -> Leg {
    let mut other = *y;
    (0..4).for_each(|i| other[i] = q[i]);
    other
}

/// β'' and φ'' against Lagrange's equations, whose mass matrix, its change and the potential come
/// from the energy alone; rad/s² over 10.
fn lagrange() -> f64 {
    let t = 0.03;
    greatest(legs().into_iter().map(|(flow, sides, y)| {
        let q = [y[0], y[1]];
        let v = [y[2], y[3]];
        let at = |b: f64, p: f64, br: f64, o: f64| flow.energy(sides, &with(&y, [b, p, br, o]));
        let mass = |b: f64, p: f64| {
            let rest = at(b, p, 0.0, 0.0);
            let (m11, m22) = (2.0 * (at(b, p, 1.0, 0.0) - rest), 2.0 * (at(b, p, 0.0, 1.0) - rest));
            [m11, at(b, p, 1.0, 1.0) - rest - 0.5 * (m11 + m22), m22]
        };
        let [m11, m12, m22] = mass(q[0], q[1]);
        let change = |by: usize, entry: usize| {
            slope(|x| if by == 0 { mass(q[0] + x, q[1]) } else { mass(q[0], q[1] + x) }[entry], 2e-3)
        };
        let hip = |b: f64, p: f64| flow.hip_on(sides, &with(&y, [b, p, 0.0, 0.0]));
        let hip_by = |by: usize, way: usize| {
            slope(|x| if by == 0 { hip(q[0] + x, q[1]) } else { hip(q[0], q[1] + x) }[way], 2e-3)
        };
        // world axes: weight still on the other leg up, pace-holding force forward
        let share = 1.0 - (t / 0.12) * (t / 0.12) * (3.0 - 2.0 * t / 0.12);
        let speed = hip_by(0, 0) * v[0] + hip_by(1, 0) * v[1];
        let force = [-200.0 * (speed - 0.9), share * 75.0 * G];
        let hip_moment = 15.0 * 0.6 * 0.6 * (3.0 - 1.2);
        let joint = flow.knee.torque(q[1], v[1], 0.7);
        let knee = joint.damper + joint.friction + joint.stop;
        let mut push = [hip_moment, knee - hip_moment];
        for by in 0..2 {
            push[by] += hip_by(by, 0) * force[0] + hip_by(by, 1) * force[1];
            push[by] -= slope(
                |x| if by == 0 { at(q[0] + x, q[1], 0.0, 0.0) } else { at(q[0], q[1] + x, 0.0, 0.0) },
                2e-3,
            );
            // −M' q' + ½ q'ᵀ (∂M/∂q) q'
            let row = if by == 0 { [0, 1] } else { [1, 2] };
            for k in 0..2 {
                push[by] -= v[k] * (change(k, row[0]) * v[0] + change(k, row[1]) * v[1]);
            }
            push[by] += 0.5
                * (change(by, 0) * v[0] * v[0]
                    + 2.0 * change(by, 1) * v[0] * v[1]
                    + change(by, 2) * v[1] * v[1]);
        }
        let det = m11 * m22 - m12 * m12;
        let acc = [(m22 * push[0] - m12 * push[1]) / det, (m11 * push[1] - m12 * push[0]) / det];
        let found = flow.forces(sides, t, &y).acc;
        greatest([0, 1].map(|i| (found[i] - acc[i]).abs() / 10.0))
    }))
}

/// Ground load against the acceleration of the mass centre, whose height is the potential over M g;
/// share of body weight.
fn ground_load() -> f64 {
    let t = 0.03;
    greatest(legs().into_iter().map(|(flow, sides, y)| {
        let found = flow.forces(sides, t, &y);
        let height = |s: f64| {
            let ahead = |i: usize, acc: f64| y[i] + y[i + 2] * s + 0.5 * acc * s * s;
            let q = [ahead(0, found.acc[0]), ahead(1, found.acc[1]), 0.0, 0.0];
            flow.energy(sides, &with(&y, q)) / (75.0 * G)
        };
        let share = 1.0 - (t / 0.12) * (t / 0.12) * (3.0 - 2.0 * t / 0.12);
        // accelerations reach hundreds of rad/s²: the stencil needs short steps in time
        let expected = 1.0 + curvature(height, 5e-4) / G - share;
        (found.load_bw - expected).abs()
    }))
}

/// Forward speed of the hip with the tilt rate that `tilt_rate_at_pace` gives, by differences.
fn pace() -> f64 {
    greatest(legs().into_iter().map(|(flow, sides, y)| {
        let omega = y[state::OMEGA];
        let rate = flow.tilt_rate_at_pace(y[0], y[1], omega);
        let forward =
            |s: f64| flow.hip_on(sides, &with(&y, [y[0] + rate * s, y[1] + omega * s, 0.0, 0.0]))[0];
        relative(slope(forward, 1e-3), 0.9)
    }))
}

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
        let mut flow = leg(s, Footing::rolling(1.75), slope_rad);
        (flow.speed_m_per_s, flow.weight_transfer_s, flow.hip_moment_n_m) = (0.0, 0.0, 0.0);
        let lean = standing_angle(slope_rad);
        // the stop is set so that it pushes with N d on the straight knee
        let stiffness = 2000.0;
        let angle_rad = 75.0 * G * 0.42875 * lean.sin() / stiffness;
        flow.knee.extension_stop =
            EndStop { angle_rad, stiffness_n_m_per_rad: stiffness, damping_s_per_rad: 0.3 };
        let mut y = Leg::zeros();
        y[state::BETA] = lean - slope_rad;
        let sides = Course::begin(&flow, 0.0, y, Sides::default()).sides;
        let f = flow.forces(sides, 0.0, &y);
        let hip = flow.hip_on(sides, &y);
        let contact = 0.3325 * y[state::BETA] * slope_rad.cos();
        greatest([
            f.acc[0].abs() * 0.42875 / G,
            f.acc[1].abs() * 0.42875 / G,
            (f.load_bw - 1.0).abs(),
            (hip[0] - contact).abs(),
        ])
    }))
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
    let flow = SitFlow { knee: bare_knee(), segments: segments(), sit: sit() };
    greatest([0.1, 0.5, 1.0, 1.6].map(|phi: f64| {
        let h = flow.hip_height(phi);
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
    assert!((s.lower_inertia_kg_m2 - central).abs() < 1e-12);
    [ms * G * (0.49875 * (0.12 * phi).sin() + 0.04), ms * first * first + central + 0.12]
}

/// Rate of sitting on an orifice b over √(M/b) at the angle it has: (greatest deviation from 1 times
/// b, greatest deviation from the next order of the expansion in 1/b).
fn quasi_static(b: f64) -> [f64; 2] {
    let mut knee = bare_knee();
    knee.stance.trigger = Trigger::Always;
    knee.stance.yielding = Orifice { a: 0.0, b };
    knee.swing_flexion = orifice(0.0, 0.1);
    let run = SitRun::run(&sit(), segments(), &knee, Some(1.0), &Precision::tight()).expect("runs");
    let mut worst = [Vec::new(), Vec::new()];
    for i in 1..=10 {
        // by 10° + 0.1° to 11°, long after the start has died away
        let phi = (10.0 + 0.1 * f64::from(i)) * DEG;
        let passed = run.course.first_root(0.0, 6.0, |_, y| y[sit_state::PHI] - phi).expect("bends");
        let omega = run.course.at(passed)[sit_state::OMEGA];
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
        row("A18a", "footing: K' and K''", "differences of fourth order", 1e-9, footing_derivatives(), "m"),
        row("A18b", "footing: K and K' where the arc ends", "the same point", 1e-12, footing_jumps(), "m"),
        row("A18c", "footing: speed of the touching point", "rolling without slip", 1e-12, slip(), "m"),
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
            "A20",
            "tilt rate at pace: forward speed of the hip",
            "differences of fourth order",
            1e-9,
            pace(),
            "of it",
        ),
        row(
            "A21",
            "standing: a knee torque N d holds the leg",
            "statics, d = Lt sin B",
            1e-9,
            static_hold(),
            "g/Lt, BW, m",
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
fn closed_form_loaded_agrees() {
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
