//! Manufactured solutions (Roache 2002, J Fluids Eng 124:4): a smooth motion is chosen, and what the equations on
//! paper leave over on it is added to the rates of the crate's own equations. The chosen motion is then their exact
//! solution. A wrong term in the crate leaves a deviation that no shorter step removes; a wrong step, a lower order.
//!
//! The source is a torque over the inertia, and a rate of the valve; the ground load that the valve senses is that
//! without it. The paper is here: nothing of `sim/motion` or `sim/joint` computes a source.
//!
//! The order of the leg comes out at 5.4, above what was allowed before the first run, and its row stays failed. It
//! is the method's: written once more from its table, on the equations on paper, it makes the same errors (last test).
//! Where a source drives the motion its error of order 5 is small (Σ bᵢ cᵢ⁵ is 1/6 − 1.9e-4), and the next order covers
//! it down to rounding; where nothing is forced the leg shows 5.0 (ACONV-l and ACONV-m).

use kneedamp::joint::damper::{ConstantFriction, Orifice};
use kneedamp::joint::{AssistSpring, Knee, Trigger};
use kneedamp::motion::stance_leg::{LegSystem, OtherFoot, Segments, state as on_ground};
use kneedamp::motion::swing::{Pendulum, ShankSystem, state};
use kneedamp::numerics::events::Mode;
use kneedamp::numerics::hybrid::{State, Trajectory};
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::scenario::Footing;
use kneedamp::units::GRAVITY_M_PER_S2 as G;

use super::fixtures::{Shake, bare_knee, drive, limb, orifice, row, system};
use super::forced::{Forced, Wave, dormand_prince, measured};
use crate::common::{person, reference_shank};
use crate::evidence::Check;

/// A joint whose laws are all smooth on the motions chosen: flexing all the time, far from its stops.
fn knee() -> Knee {
    let mut knee = Knee {
        swing_flexion: orifice(0.2, 0.3),
        friction: ConstantFriction { torque_n_m: 0.3, smoothing_rad_per_s: 2.0 },
        assist: AssistSpring { torque_n_m: 1.0, rate_n_m_per_rad: 0.02 },
        ..bare_knee()
    };
    knee.stance.trigger = Trigger::Load;
    knee.stance.yielding = Orifice { a: 1.0, b: 6.0 };
    (knee.stance.catch_load_n, knee.stance.width_bw) = (100.0, 0.3);
    (knee.stance.bend_start_rad, knee.stance.bend_span_rad) = (19.0, 4.0);
    knee
}

/// Torque of oil and friction of that joint, N m.
fn resistance(omega: f64, z: f64) -> f64 {
    let (a_open, b_open, a_closed, b_closed) = (0.2, 0.3, 1.0, 6.0);
    let b: f64 = b_closed / (1.0 + (f64::sqrt(b_closed / b_open) - 1.0) * (1.0 - z)).powi(2);
    let a = a_open + (a_closed - a_open) * (b - b_open) / (b_closed - b_open);
    -(a * omega + b * omega * omega) - 0.3 * (omega / 2.0).tanh()
}

/// z' of its valve, by the load that it senses in body weights.
fn valve_rate(sensed_bw: f64, z: f64, knee: &Knee, weight_n: f64) -> f64 {
    let v = &knee.stance;
    let x = (sensed_bw - v.catch_load_n / weight_n + v.hysteresis_bw * z) / v.width_bw;
    (1.0 / (1.0 + (-x).exp()) - z) / v.lag_s
}

/// The shank on a hip and thigh that move, its valve opening and closing.
fn swing() -> [f64; 2] {
    let (thigh, forward, upward, period) = (0.35, (0.4, 2.5), 1.5, 1.2);
    let shaken = drive(Shake { period_s: period, thigh_rad: thigh, forward, upward });
    let knee = knee();
    let system: ShankSystem<'_> = system(&knee, limb(), Some(&shaken));
    let flexion = Wave { mean: 0.7, slope: 2.0, amplitude: 0.3, rate: 5.0, phase: 0.4 };
    let valve = Wave { mean: 0.5, slope: 0.0, amplitude: 0.3, rate: 4.0, phase: 0.0 };
    let Pendulum { inertia, mass_moment, com_angle, .. } = limb();
    let thigh_m = 0.42875;
    let exact = |t: f64| {
        let mut y = State::<{ state::COUNT }>::zeros();
        [y[state::PHI], y[state::OMEGA], _] = flexion.at(t);
        y[state::VALVE] = valve.at(t)[0];
        y
    };
    let source = |t: f64| {
        let [phi, omega, acc] = flexion.at(t);
        let [z, z_rate, _] = valve.at(t);
        let w = 2.0 * std::f64::consts::PI / period;
        let (sin, cos) = (w * t).sin_cos();
        let (theta, rate, theta_acc) = (thigh * sin, thigh * w * cos, -thigh * w * w * sin);
        // the knee axis hangs below the hip: (sin θ, −cos θ) of the thigh's length
        let x = forward.0 + forward.1 * sin + thigh_m * (theta_acc * theta.cos() - rate * rate * theta.sin());
        let up = upward + thigh_m * (theta_acc * theta.sin() + rate * rate * theta.cos());
        let lean = theta - phi + com_angle;
        let moment = inertia * theta_acc
            + mass_moment * (x * lean.cos() + (up + G) * lean.sin())
            + resistance(omega, z)
            - 1.0
            - 0.02 * (phi + 20.0);
        let mut s = State::<{ state::COUNT }>::zeros();
        s[state::OMEGA] = acc - moment / inertia;
        s[state::VALVE] = z_rate - valve_rate(0.0, z, &knee, 75.0 * G);
        s
    };
    let error_of = &[(state::PHI, 1.0), (state::OMEGA, 10.0), (state::VALVE, 1.0)];
    measured("manufactured swing", &Forced { system: &system, source }, [0.0, 1.2], exact, error_of)
}

/// The leg rolling on its arc down a slope, while it takes over the weight.
fn leg_system() -> LegSystem {
    LegSystem {
        segments: Segments::of(&person(75.0, 1.75), &reference_shank()),
        knee: knee().under_load(),
        footing: Footing::rolling(1.75),
        slope_rad: 0.1,
        speed_m_per_s: 0.9,
        weight_transfer_s: 0.9,
        hip_moment_n_m: 15.0,
        other_foot: OtherFoot::None,
        collapse_rad: 3.0,
        stall_m_per_s: None,
    }
}

fn dot(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

/// β'', φ'' and z' of that leg by virtual work over its three bodies.
fn leg_on_paper(
    system: &LegSystem,
    t: f64,
    [beta, beta_rate]: [f64; 2],
    [phi, omega]: [f64; 2],
    z: f64,
) -> [f64; 3] {
    let s = &system.segments;
    let Footing::Rolling { radius_m: r, offset_m: e, .. } = system.footing else { panic!("a rolling foot") };
    let weight = s.mass_kg * G;
    let (sin_slope, cos_slope) = system.slope_rad.sin_cos();
    let (up, ahead) = ([-sin_slope, cos_slope], [cos_slope, sin_slope]);
    let (sb, cb) = beta.sin_cos();
    let (sd, cd) = (beta - phi).sin_cos();
    let rise = s.knee_to_sole_m - r;
    // K = (R β − e cos β + (L1 − R) sin β, R + e sin β + (L1 − R) cos β)
    let by_beta = [r + e * sb + rise * cb, e * cb - rise * sb];
    let again = [e * cb - rise * sb, -e * sb - rise * cb];
    let thigh = |mass: f64, l: f64| {
        let turn = (beta_rate - omega).powi(2) * l;
        let curve =
            [again[0] * beta_rate * beta_rate - turn * sd, again[1] * beta_rate * beta_rate - turn * cd];
        (mass, [by_beta[0] + l * cd, by_beta[1] - l * sd], [-l * cd, l * sd], curve)
    };
    let (down, front) = (s.lower_com_down_m, s.lower_com_ahead_m);
    let lower_curve = [again[0] + down * sb - front * cb, again[1] + down * cb + front * sb];
    let lower = (
        s.lower_mass_kg,
        [by_beta[0] - down * cb - front * sb, by_beta[1] + down * sb - front * cb],
        [0.0, 0.0],
        lower_curve.map(|c| c * beta_rate * beta_rate),
    );
    let hip = thigh(s.mass_kg - s.lower_mass_kg - s.upper_mass_kg, s.thigh_m);
    let bodies = [lower, thigh(s.upper_mass_kg, s.upper_com_above_knee_m), hip];

    let share = t / system.weight_transfer_s;
    let carried = (1.0 - share * share * (3.0 - 2.0 * share)) * weight;
    let speed = [0, 1].map(|x| hip.1[x] * beta_rate + hip.2[x] * omega);
    let hold = -200.0 * s.mass_kg / 75.0 * (dot(speed, ahead) - system.speed_m_per_s);
    let push = [0, 1].map(|x| carried * up[x] + hold * ahead[x]);
    let (i1, i2) = (s.lower_inertia_kg_m2, s.upper_inertia_kg_m2);
    let (mut a, mut b, mut c) = (i1 + i2, -i2, i2);
    let mut turning = dot(hip.1, push) + system.hip_moment_n_m;
    let mut bending = dot(hip.2, push) - system.hip_moment_n_m + resistance(omega, z);
    for (mass, first, second, curve) in bodies {
        a += mass * dot(first, first);
        b += mass * dot(first, second);
        c += mass * dot(second, second);
        let free = [0, 1].map(|x| mass * (-G * up[x] - curve[x]));
        turning += dot(first, free);
        bending += dot(second, free);
    }
    let det = a * c - b * b;
    let acc = [(c * turning - b * bending) / det, (a * bending - b * turning) / det];
    let mut ground = -dot(push, up);
    for (mass, first, second, curve) in bodies {
        let moved = [0, 1].map(|x| first[x] * acc[0] + second[x] * acc[1] + curve[x] + G * up[x]);
        ground += mass * dot(moved, up);
    }
    let v = &system.knee.stance;
    let heel = (v.release_distance_m - (e + r * beta)) / (v.release_distance_m - v.full_distance_m);
    let x = (phi + 20.0 - v.bend_start_rad) / v.bend_span_rad;
    let felt = heel + (1.0 - heel) * x * x * (3.0 - 2.0 * x);
    [acc[0], acc[1], valve_rate(ground / weight * felt, z, &system.knee, weight)]
}

type Leg = State<{ on_ground::COUNT }>;

const LEG_SPAN_S: [f64; 2] = [0.2, 0.8];

/// The motion chosen for the leg, and what the equations on paper leave over on it; the hip moment has built up.
fn leg_chosen(t: f64) -> [Leg; 2] {
    use on_ground as s;
    let tilt = Wave { mean: 0.02, slope: 0.0, amplitude: 0.2, rate: 3.0, phase: -0.4 };
    let flexion = Wave { mean: 0.35, slope: 0.9, amplitude: 0.1, rate: 6.0, phase: 0.0 };
    let valve = Wave { mean: 0.72, slope: 0.0, amplitude: 0.15, rate: 4.0, phase: 0.0 };
    let ([beta, beta_rate, beta_acc], [phi, omega, acc], [z, z_rate, _]) =
        (tilt.at(t), flexion.at(t), valve.at(t));
    let [mut y, mut source] = [Leg::zeros(); 2];
    (y[s::BETA], y[s::BETA_RATE], y[s::PHI], y[s::OMEGA], y[s::VALVE]) = (beta, beta_rate, phi, omega, z);
    let paper = leg_on_paper(&leg_system(), t, [beta, beta_rate], [phi, omega], z);
    source[s::BETA_RATE] = beta_acc - paper[0];
    source[s::OMEGA] = acc - paper[1];
    source[s::VALVE] = z_rate - paper[2];
    [y, source]
}

/// A leg moved along by the sources for the leg as it is.
fn leg(system: &LegSystem) -> [f64; 2] {
    use on_ground as s;
    let error_of = &[(s::BETA, 1.0), (s::PHI, 1.0), (s::BETA_RATE, 10.0), (s::OMEGA, 10.0), (s::VALVE, 1.0)];
    let forced = Forced { system, source: |t| leg_chosen(t)[1] };
    measured("manufactured leg", &forced, LEG_SPAN_S, |t| leg_chosen(t)[0], error_of)
}

pub fn checks() -> Vec<Check> {
    const SLOPE: &str = "chosen motion; slope of log error over log step, four halvings; nominal 5";
    const CHOSEN: &str = "chosen motion, source from the equations on paper";
    let off = |order: f64| (order / 5.0 - 1.0).abs();
    let ([swing_order, swing_off], [leg_order, leg_off]) = (swing(), leg(&leg_system()));
    vec![
        row("A26a", "manufactured swing: order", SLOPE, 0.05, off(swing_order), "of 5"),
        row(
            "A26b",
            "the same, controlled steps: angle, valve, rate over 10",
            CHOSEN,
            1e-9,
            swing_off,
            "rad, 1",
        ),
        row(
            "A26c",
            "manufactured motion of the leg on the ground: order",
            SLOPE,
            0.05,
            off(leg_order),
            "of 5",
        ),
        row(
            "A26d",
            "the same, controlled steps: angles, valve, rates over 10",
            CHOSEN,
            1e-9,
            leg_off,
            "rad, 1",
        ),
    ]
}

/// What must hold; the two-sided criterion of the orders is in the accuracy table, held or failed.
#[test]
fn closed_form_manufactured_solutions_are_met() {
    for [order, deviation] in [swing(), leg(&leg_system())] {
        assert!(order > 4.75, "order {order}");
        assert!(deviation < 1e-9, "{deviation}");
    }
}

/// A leg whose inertia is a ten thousandth off is not taken for the same.
#[test]
fn closed_form_manufactured_solutions_notice_a_wrong_term() {
    let mut wrong = leg_system();
    wrong.segments.lower_inertia_kg_m2 *= 1.0001;
    let [order, deviation] = leg(&wrong);
    assert!(deviation > 1e-8 && order < 1.0, "order {order}, {deviation}");
}

/// The order above 5 is that of the method along this motion: its table again, on the equations on paper.
#[test]
fn closed_form_manufactured_errors_are_those_of_the_method() {
    use on_ground as s;
    let system = leg_system();
    let [begin_s, end_s] = LEG_SPAN_S;
    let on_paper = |t: f64, y: &Leg| {
        let acc =
            leg_on_paper(&system, t, [y[s::BETA], y[s::BETA_RATE]], [y[s::PHI], y[s::OMEGA]], y[s::VALVE]);
        let mut slope = leg_chosen(t)[1];
        slope[s::BETA] = y[s::BETA_RATE];
        slope[s::PHI] = y[s::OMEGA];
        slope[s::BETA_RATE] += acc[0];
        slope[s::OMEGA] += acc[1];
        slope[s::VALVE] += acc[2];
        slope
    };
    let forced = Forced { system: &system, source: |t| leg_chosen(t)[1] };
    let [start, end] = LEG_SPAN_S.map(|t| leg_chosen(t)[0]);
    let errors = [32, 64, 128].map(|steps| {
        let h = (end_s - begin_s) / f64::from(steps);
        let tolerances = Tolerances { fixed_step_s: Some(h), ..Tolerances::default() };
        let mut own = Trajectory::begin(&forced, begin_s, start, Mode::default());
        own.run(&forced, "own", end_s, &tolerances).expect("runs");
        let by_table =
            (0..steps).fold(start, |y, i| dormand_prince(on_paper, begin_s + f64::from(i) * h, &y, h));
        let error = |y: &Leg| [s::BETA, s::PHI, s::BETA_RATE, s::OMEGA, s::VALVE].map(|k| y[k] - end[k]);
        let (own, by_table) = (error(&own.end.1), error(&by_table));
        println!("{steps} steps: errors {own:?}, by the table {by_table:?}");
        let size = by_table.map(f64::abs).into_iter().fold(0.0, f64::max);
        for (a, b) in own.iter().zip(by_table) {
            assert!((a - b).abs() < 1e-2 * size + 1e-14, "{a:e} and {b:e}");
        }
        size
    });
    // an order of at least 4.75, as for the solutions themselves
    let least = 2_f64.powf(4.75);
    assert!(errors[0] > least * errors[1] && errors[1] > least * errors[2], "{errors:?}");
}
