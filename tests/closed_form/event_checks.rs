//! Event checks within a step: y' = 1 lets the integrator take steps of any length, and an event function is
//! negative only for a moment in the middle of one.

use kneedamp::numerics::events::{EventAction, Mode};
use kneedamp::numerics::hybrid::{FrozenMode, HybridSystem, State, Trajectory};
use kneedamp::numerics::tolerances::Tolerances;

/// y = t, and a smooth event function that is negative for |y − 0.5| < 0.02.
#[derive(Clone, Copy)]
struct Dip;

const HALF_WIDTH_S: f64 = 0.02;

impl FrozenMode<1> for Dip {
    fn rate(&self, _: f64, _: &State<1>, dy: &mut State<1>) {
        dy[0] = 1.0;
    }

    fn event_function(&self, _: usize, _: f64, y: &State<1>) -> Option<f64> {
        Some((y[0] - 0.5).powi(2) - HALF_WIDTH_S.powi(2))
    }
}

impl HybridSystem<1> for Dip {
    const EVENT_FUNCTIONS: usize = 1;

    type FrozenMode<'a> = Self;

    fn freeze(&self, _: Mode) -> Self {
        *self
    }

    fn on_event(&self, _: usize, _: &mut Mode, _: f64, _: &State<1>) -> EventAction {
        EventAction::Continue
    }
}

fn run(event_check_s: f64) -> Trajectory<1> {
    let tolerances = Tolerances { longest_step_s: 10.0, event_check_s, ..Tolerances::default() };
    let mut trajectory = Trajectory::begin(&Dip, 0.0, State::<1>::new(0.0), Mode::default());
    trajectory.run(&Dip, "dip", 2.0, &tolerances).expect("runs");
    trajectory
}

#[test]
fn closed_form_event_checks_find_two_events_within_one_step() {
    let trajectory = run(0.03);
    let found: Vec<f64> = trajectory.events.iter().map(|e| e.t_s).collect();
    assert_eq!(found.len(), 2, "{found:?}");
    for (t, expected) in found.iter().zip([0.5 - HALF_WIDTH_S, 0.5 + HALF_WIDTH_S]) {
        assert!((t - expected).abs() < 1e-11, "{t} for {expected}");
    }
    let nodes: Vec<f64> = trajectory.nodes().collect();
    assert!(
        trajectory.stats.accepted_steps < 20,
        "steps are longer than the interval of the checks: {:?}",
        trajectory.stats
    );
    assert!(nodes.windows(2).all(|w| w[1] - w[0] <= 1.01 * 0.03), "checks are nodes: {nodes:?}");
}

/// With checks at the ends of steps only, both are missed.
#[test]
fn closed_form_event_checks_are_needed() {
    assert!(run(10.0).events.is_empty());
}
