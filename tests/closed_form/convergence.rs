//! Observed order of convergence, nominal 5: a smooth motion, and one motion across each kind of event. An
//! event that is not found, or a branch that changes before it, shows as a lower order, which the energy
//! balance does not notice. How it is measured: `order`.

use kneedamp::joint::damper::Orifice;
use kneedamp::joint::{AssistSpring, Cushion, EndStop, Knee, Relief, Trigger};
use kneedamp::motion::joint_events::joint_event as joint;
use kneedamp::motion::stance_leg;
use kneedamp::motion::stance_leg::Segments;
use kneedamp::motion::stance_leg::{LegSystem, OtherFoot, event as on_ground};
use kneedamp::motion::swing::{ARMED, LOADED, event, state};
use kneedamp::numerics::events::Mode;
use kneedamp::numerics::hybrid::State;
use kneedamp::scenario::Footing;
use kneedamp::units::DEG;

use super::fixtures::{Shanked, bare_knee, limb, orifice, row, system};
use super::order::Motion;
use crate::common::{drive, person, reference_shank};
use crate::evidence::Check;

const NOMINAL: f64 = 5.0;

/// Flexion, and rate in units of 10 rad/s.
const SWUNG: &[(usize, f64)] = &[(state::PHI, 1.0), (state::OMEGA, 10.0)];

/// A shank on a still thigh.
fn free(knee: &Knee, from: [f64; 2], span_s: f64, events: &'static [usize], exponent: i32) -> f64 {
    let f = system(knee, limb(), None);
    let mut start = Shanked::zeros();
    (start[state::PHI], start[state::OMEGA]) = (from[0], from[1]);
    let parts = vec![(span_s, None)];
    Motion { system: &f, begin_s: 0.0, start, mode: Mode::default(), parts, error_of: SWUNG, events }
        .order(&format!("free, events {events:?}"), exponent)
}

fn with(flexion: (f64, f64), extension: (f64, f64)) -> Knee {
    Knee {
        swing_flexion: orifice(flexion.0, flexion.1),
        swing_extension: orifice(extension.0, extension.1),
        ..bare_knee()
    }
}

/// Over the top and round again, the knee flexing all the time.
fn smooth() -> f64 {
    free(&with((0.001, 0.001), (0.0, 0.0)), [-2.0, 8.0], 0.6, &[], 5)
}

/// Swinging to and fro with different coefficients of flexion and extension.
fn across_rest() -> f64 {
    free(&with((0.01, 0.02), (0.03, 0.005)), [0.9, 3.0], 4.0, &[joint::RATE; 7], 5)
}

/// The relief opens and closes as gravity brakes and drives the shank over the top.
fn relief() -> f64 {
    let mut knee = with((0.001, 0.01), (0.0, 0.0));
    knee.relief = Some(Relief { torque_n_m: 1.6, slope: 0.05 });
    free(&knee, [-15.0, 15.0], 1.5, &[joint::RELIEF; 3], 5)
}

const BOUNCE: &[usize] = &[joint::EXTENSION_DEPTH, joint::RATE, joint::EXTENSION_DEPTH];

fn against_stop() -> Knee {
    let mut knee = with((0.1, 0.02), (0.3, 0.05));
    knee.extension_stop = EndStop { angle_rad: 0.0, stiffness_n_m_per_rad: 100.0, damping_s_per_rad: 0.05 };
    knee
}

/// Contact and release of the stop.
fn stop() -> f64 {
    free(&against_stop(), [0.4, -10.0], 0.35, BOUNCE, 7)
}

/// The same with an assist spring whose rate ends at the stop.
fn assist() -> f64 {
    let assist = AssistSpring { torque_n_m: 1.0, rate_n_m_per_rad: 10.0 };
    free(&Knee { assist, ..against_stop() }, [0.4, -10.0], 0.35, BOUNCE, 7)
}

/// Into the cushion, and on to the stop where it ends.
fn cushion() -> f64 {
    let cushion = Some(Cushion { start_rad: 15.0 * DEG, factor: 8.0 });
    let events = &[joint::CUSHION, joint::EXTENSION_DEPTH, joint::RATE, joint::EXTENSION_DEPTH];
    free(&Knee { cushion, ..against_stop() }, [0.8, -10.0], 0.35, events, 7)
}

/// Pre-swing from flexion `phi` and valve `z` on, to `until` (share of the stride).
fn stride(
    knee: &Knee,
    effort_n_m: f64,
    [phi, z]: [f64; 2],
    until: f64,
    events: &'static [usize],
    exponent: i32,
) -> f64 {
    let d = drive(&person(75.0, 1.75), 1.1, None);
    let mut f = system(knee, limb(), Some(&d));
    f.preswing.effort_n_m = effort_n_m;
    let mut start = Shanked::zeros();
    (start[state::PHI], start[state::VALVE]) = (phi, z);
    let mut mode = Mode::default();
    mode.set(ARMED, true);
    mode.set(LOADED, true);
    // known instants: kink of the centre of pressure, toe-off
    let end = until * d.stride_time_s;
    let mut parts = vec![(0.5 * d.stride_time_s, None)];
    if end > d.toe_off_s {
        parts.push((d.toe_off_s, Some(LOADED)));
    }
    parts.push((end, None));
    let error_of = &[(state::PHI, 1.0), (state::OMEGA, 10.0), (state::VALVE, 1.0)];
    Motion { system: &f, begin_s: d.preswing_start_s, start, mode, parts, error_of, events }
        .order(&format!("stride, events {events:?}"), exponent)
}

/// A joint with no events in pre-swing besides those under test: its stop is 20 rad away, so that "bend"
/// counts from there, and the valve acts over a wide range of load.
fn loaded_joint(bend_deg: [f64; 2], catch_load_n: f64, width_bw: f64) -> Knee {
    let mut knee = with((0.1, 0.1), (0.05, 0.02));
    let away = -knee.extension_stop.angle_rad;
    knee.stance.trigger = Trigger::Load;
    (knee.stance.catch_load_n, knee.stance.width_bw) = (catch_load_n, width_bw);
    knee.stance.bend_start_rad = away + bend_deg[0] * DEG;
    knee.stance.bend_span_rad = (bend_deg[1] - bend_deg[0]) * DEG;
    knee
}

/// Toe-off: the moment of ground and hip ends.
fn toe_off() -> f64 {
    stride(&with((0.1, 0.1), (0.05, 0.02)), 1e3, [0.0, 0.0], 0.66, &[], 8)
}

/// The valve falls through ½ and stays open.
fn release() -> f64 {
    stride(&loaded_joint([-60.0, 170.0], 350.0, 0.05), 1e3, [0.0, 1.0], 0.66, &[event::VALVE_HALF], 8)
}

/// The user's effort ends at its greatest, which a knee that starts behind leaves and comes back to.
fn effort() -> f64 {
    let mut knee = with((0.1, 0.1), (0.05, 0.02));
    knee.stance.trigger = Trigger::Always;
    knee.stance.yielding = Orifice { a: 1.0, b: 2.0 };
    stride(&knee, 10.0, [-0.03, 1.0], 0.66, &[event::EFFORT_HIGH; 2], 8)
}

/// Bending begins to count, and counts fully, while the valve is between open and closed.
fn bend() -> f64 {
    let events = &[event::BEND_BEGINS, event::VALVE_HALF, event::BEND_FULL];
    stride(&loaded_joint([4.0, 10.0], 225.0, 0.3), 1e3, [0.0, 0.5], 0.56, events, 8)
}

/// The centre of pressure passes the point beyond which a straight knee senses no load.
fn release_point() -> f64 {
    let mut knee = loaded_joint([-60.0, 170.0], 100.0, 0.3);
    knee.stance.release_distance_m = 0.13;
    stride(&knee, 1e3, [0.0, 0.5], 0.56, &[event::RELEASE_POINT], 8)
}

/// A leg that rolls from heel to arc or from arc to toe during the weight transfer.
fn rolling(from: [f64; 2], until_s: f64, events: &'static [usize], exponent: i32) -> f64 {
    let mut knee = with((0.1, 0.1), (0.05, 0.02));
    knee.extension_stop.angle_rad = -1.0;
    knee.stance.trigger = Trigger::Load;
    knee.stance.yielding = Orifice { a: 0.5, b: 6.0 };
    (knee.stance.width_bw, knee.stance.release_distance_m) = (0.3, 0.12);
    (knee.stance.bend_start_rad, knee.stance.bend_span_rad) = (-1.0, 4.0);
    let f = LegSystem {
        segments: Segments::of(&person(75.0, 1.75), &reference_shank()),
        knee,
        footing: Footing::rolling(1.75),
        slope_rad: 0.0,
        speed_m_per_s: 1.6,
        weight_transfer_s: 0.125,
        hip_moment_n_m: 15.0,
        other_foot: OtherFoot::None,
        collapse_rad: 3.0,
        stall_m_per_s: None,
    };
    use stance_leg::state as s;
    let mut start = State::<{ s::COUNT }>::zeros();
    (start[s::BETA], start[s::PHI]) = (from[0], from[1]);
    start[s::BETA_RATE] = f.tilt_rate_at_pace(from[0], from[1], 0.5);
    start[s::OMEGA] = 0.5;
    start[s::VALVE] = 0.5;
    let parts = vec![(stance_leg::HIP_MOMENT_RISE_S, None), (0.125, None), (until_s, None)];
    let error_of = &[(s::BETA, 1.0), (s::PHI, 1.0), (s::BETA_RATE, 10.0), (s::OMEGA, 10.0), (s::VALVE, 1.0)];
    Motion { system: &f, begin_s: 0.0, start, mode: Mode::default(), parts, error_of, events }
        .order(&format!("leg, events {events:?}"), exponent)
}

/// From the heel end on to the arc, with the valve closing on the way.
const ON_HEEL: &[usize] = &[
    joint::RATE,
    on_ground::HEEL_END,
    on_ground::WEIGHT_FULL,
    on_ground::VALVE_HALF,
    joint::RATE,
    on_ground::WEIGHT_NONE,
];

/// From the arc over its toe end, beyond the point where a straight knee senses no load.
const ON_TOE: &[usize] = &[on_ground::WEIGHT_NONE, on_ground::TOE_END, joint::RATE];

pub fn checks() -> Vec<Check> {
    let heel = rolling([-0.40, 0.3], 0.25, ON_HEEL, 6);
    let toe = rolling([0.19, 0.05], 0.15, ON_TOE, 6);
    let r = |id, what, order: f64| {
        let off = (order / NOMINAL - 1.0).abs();
        row(id, what, "slope of log error over log step, four halvings; nominal 5", 0.05, off, "of 5")
    };
    vec![
        r("ACONV-a", "order, smooth motion", smooth()),
        r("ACONV-b", "order across ω = 0", across_rest()),
        r("ACONV-c", "order across contact and release of a stop", stop()),
        r("ACONV-d", "order across toe-off", toe_off()),
        r("ACONV-e", "order across the valve letting go", release()),
        r("ACONV-f", "order across the end of the user's effort", effort()),
        r("ACONV-g", "order across the relief", relief()),
        r("ACONV-h", "order across the assist spring's end at the stop", assist()),
        r("ACONV-i", "order across the cushion and its end at the stop", cushion()),
        r("ACONV-j", "order across the ends of the bend that the valve feels", bend()),
        r("ACONV-k", "order across the release point", release_point()),
        r("ACONV-l", "order across heel end of the arc, leg on the ground", heel),
        r("ACONV-m", "order across toe end of the arc, leg on the ground", toe),
    ]
}

#[test]
fn closed_form_convergence_has_its_order() {
    for check in checks() {
        check.assert();
    }
}
