//! The stance valve: its lag, its hysteresis and what it feels.

use approx::assert_abs_diff_eq;
use kneedamp::joint::{StanceValve, Trigger};
use kneedamp::motion::swing::state;
use kneedamp::numerics::events::{EventAction, Mode};
use kneedamp::numerics::hybrid::{FrozenMode, HybridSystem, State, Trajectory};
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::units::DEG;

use super::fixtures::{bare_knee, flywheel, greatest_deviation, relative, row, swing, system};
use crate::evidence::{Check, greatest};

/// A valve alone under a load that is what it is, share of body weight.
#[derive(Clone, Copy)]
struct Valve {
    valve: StanceValve,
    load_bw: f64,
}

const CATCH_BW: f64 = 0.5;

impl FrozenMode<1> for Valve {
    fn rate(&self, _: f64, y: &State<1>, dy: &mut State<1>) {
        dy[0] = self.valve.rate(self.load_bw, y[0], CATCH_BW);
    }

    fn event_function(&self, _: usize, _: f64, y: &State<1>) -> Option<f64> {
        Some(y[0] - 0.5)
    }
}

impl HybridSystem<1> for Valve {
    const EVENT_FUNCTIONS: usize = 1;

    type FrozenMode<'a> = Self;

    fn freeze(&self, _: Mode) -> Self {
        *self
    }

    fn on_event(&self, _: usize, _: &mut Mode, _: f64, _: &State<1>) -> EventAction {
        EventAction::Continue
    }
}

/// A load steps on for 0.1 s and off again, far from the catch load (44 widths and more): the valve
/// follows 1 − exp(−t/τ) up and exp(−t/τ) down, half way at τ ln 2.
fn load_step() -> f64 {
    let valve = StanceValve::default();
    let (on, off) = (Valve { valve, load_bw: 1.0 }, Valve { valve, load_bw: 0.0 });
    let mut trajectory = Trajectory::begin(&on, 0.0, State::<1>::new(0.0), Mode::default());
    trajectory.run(&on, "on", 0.1, &Tolerances::tight()).expect("runs");
    trajectory.run(&off, "off", 0.2, &Tolerances::tight()).expect("runs");
    let full = 1.0 - (-0.1 / valve.lag_s).exp();
    let closing = greatest((1..=20).map(|i| {
        let t = 0.005 * f64::from(i);
        relative(trajectory.at(t)[0], 1.0 - (-t / valve.lag_s).exp())
    }));
    let opening = greatest((1..=20).map(|i| {
        let t = 0.005 * f64::from(i);
        relative(trajectory.at(0.1 + t)[0], full * (-t / valve.lag_s).exp())
    }));
    let half: Vec<f64> = trajectory.events.iter().map(|c| c.t_s).collect();
    assert_eq!(half.len(), 2);
    let halves = [
        relative(half[0], valve.lag_s * 2f64.ln()),
        relative(half[1] - 0.1, valve.lag_s * (2.0 * full).ln()),
    ];
    greatest([closing, opening].into_iter().chain(halves))
}

/// The same inside the swing engine: triggers `always` from open and `none` from closed.
fn in_swing() -> f64 {
    let mut knee = bare_knee();
    knee.stance.lag_s = 0.04;
    knee.stance.trigger = Trigger::Always;
    let closing = greatest_deviation(&swing(&system(&knee, flywheel(), None), 0.0, 0.0, 0.4), 20, |t, y| {
        relative(y[state::VALVE], 1.0 - (-t / 0.04).exp())
    });
    knee.stance.trigger = Trigger::None;
    let f = system(&knee, flywheel(), None);
    let mut start = State::<{ state::COUNT }>::zeros();
    start[state::VALVE] = 1.0;
    let mut trajectory = Trajectory::begin(&f, 0.0, start, Mode::default());
    trajectory.run(&f, "swing", 0.4, &Tolerances::tight()).expect("runs");
    let opening = greatest_deviation(&trajectory, 20, |t, y| relative(y[state::VALVE], (-t / 0.04).exp()));
    greatest([closing, opening])
}

/// Loads at which a resting valve jumps shut and jumps open. Balance z = σ((S − S_on + h z)/ε) folds
/// at z (1 − z) = ε/h; there S = S_on − h z + ε ln(z/(1 − z)). Found by bisection of the settled state.
fn jumps() -> f64 {
    let v = StanceValve::default();
    let root = (1.0 - 4.0 * v.width_bw / v.hysteresis_bw).sqrt();
    let fold = |z: f64| CATCH_BW - v.hysteresis_bw * z + v.width_bw * (z / (1.0 - z)).ln();
    greatest([(false, 0.5 * (1.0 - root)), (true, 0.5 * (1.0 + root))].map(|(from_closed, z)| {
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..50 {
            let mid = 0.5 * (low + high);
            if v.steady_state(mid, CATCH_BW, from_closed) > 0.5 { high = mid } else { low = mid }
        }
        (high - fold(z)).abs()
    }))
}

pub fn checks() -> Vec<Check> {
    vec![
        row(
            "A11a",
            "valve under a step of the load, on and off",
            "1 − exp(−t/τ)",
            1e-9,
            load_step(),
            "of it",
        ),
        row("A11b", "the same within the swing engine", "1 − exp(−t/τ)", 1e-9, in_swing(), "of it"),
        row(
            "A11c",
            "loads at which a resting valve jumps shut and open",
            "fold of z = σ((S − S_on + h z)/ε); 10,000 substitutions pass it 4.4e-9 late",
            1e-8,
            jumps(),
            "BW",
        ),
    ]
}

#[test]
fn closed_form_stance_valve_agrees() {
    for check in checks() {
        check.assert();
    }
}

/// In a steady state the command equals the state.
#[test]
fn closed_form_steady_valve_is_at_rest() {
    let v = StanceValve::default();
    for load in [0.0, 0.4, 0.47, 0.475, 0.48, 0.6, 1.0] {
        for from_closed in [false, true] {
            let z = v.steady_state(load, CATCH_BW, from_closed);
            assert!(v.rate(load, z, CATCH_BW).abs() < 1e-9, "load {load}");
        }
    }
    // between the two jumps, 0.4734 and 0.4766 of body weight, it stays as it was
    assert!(v.steady_state(0.475, CATCH_BW, false) < 0.276 && v.steady_state(0.475, CATCH_BW, true) > 0.723);
}

/// Heel load counts fully; at the release distance a straight knee senses nothing, a bent one the whole load
/// until the valve has opened.
#[test]
fn closed_form_sensed_load() {
    let v = StanceValve::default();
    let sensed = |x: f64, bend_deg: f64, armed: bool| v.sensed(0.8, x, bend_deg * DEG, armed);
    assert_abs_diff_eq!(sensed(-0.04, 0.0, true), 0.8, epsilon = 1e-15);
    assert_abs_diff_eq!(sensed(0.06, 0.0, true), 0.4, epsilon = 1e-12);
    assert!(sensed(0.16, 3.9, true).abs() < 1e-15);
    assert_abs_diff_eq!(sensed(0.16, 7.0, true), 0.4, epsilon = 1e-12);
    assert_abs_diff_eq!(sensed(0.16, 10.1, true), 0.8, epsilon = 1e-12);
    assert_abs_diff_eq!(sensed(0.11, 7.0, true), 0.8 * (0.25 + 0.75 * 0.5), epsilon = 1e-12);
    assert!(sensed(0.16, 60.0, false).abs() < 1e-15);
}
