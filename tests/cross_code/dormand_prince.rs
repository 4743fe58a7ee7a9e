//! The steps against another code: ode_solvers 0.6.2, the same method with the same control. Coefficients,
//! error estimate, step control and continuous output all decide where the steps end and what lies between.

use kneedamp::numerics::events::{EventAction, Mode};
use kneedamp::numerics::hybrid::{FrozenMode, HybridSystem, State, Trajectory};
use kneedamp::numerics::tolerances::Tolerances;
use ode_solvers::continuous_output_model::ContinuousOutputModel;
use ode_solvers::{Dopri5, OutputType, System};

use crate::evidence::greatest;

/// A driven pendulum with a kick that makes the control reject steps, and the work of its damping.
#[derive(Clone, Copy)]
struct Kicked;

impl Kicked {
    fn slope(t: f64, y: &State<3>, dy: &mut State<3>) {
        let kick = 40.0 * (-((t - 1.0) / 0.01).powi(2)).exp();
        dy[0] = y[1];
        dy[1] = -9.0 * y[0].sin() - 0.3 * y[1] * y[1].abs() + (2.0 * t).cos() + kick;
        dy[2] = 0.3 * y[1] * y[1] * y[1].abs();
    }
}

impl System<f64, State<3>> for Kicked {
    fn system(&self, t: f64, y: &State<3>, dy: &mut State<3>) {
        Self::slope(t, y, dy);
    }
}

impl FrozenMode<3> for Kicked {
    fn rate(&self, t: f64, y: &State<3>, dy: &mut State<3>) {
        Self::slope(t, y, dy);
    }

    fn event_function(&self, _: usize, _: f64, _: &State<3>) -> Option<f64> {
        None
    }
}

impl HybridSystem<3> for Kicked {
    const EVENT_FUNCTIONS: usize = 0;
    const DYNAMIC_STATES: usize = 2;

    type FrozenMode<'a> = Self;

    fn freeze(&self, _: Mode) -> Self {
        *self
    }

    fn on_event(&self, _: usize, _: &mut Mode, _: f64, _: &State<3>) -> EventAction {
        EventAction::Continue
    }
}

#[test]
fn cross_code_steps_are_those_of_another_dormand_prince() {
    let (start, end) = (State::<3>::new(0.7, 0.0, 0.0), 3.0);
    for tolerances in [Tolerances::default(), Tolerances::scan()] {
        let mut trajectory = Trajectory::begin(&Kicked, 0.0, start, Mode::default());
        trajectory.run(&Kicked, "kicked", end, &tolerances).expect("runs");

        let (rtol, atol, longest) = (tolerances.relative, tolerances.absolute, tolerances.longest_step_s);
        let mut other = Dopri5::from_param(
            Kicked,
            0.0,
            end,
            0.0,
            start,
            rtol,
            atol,
            0.9,
            0.04,
            0.2,
            10.0,
            longest,
            1e-4,
            200_000,
            u32::MAX,
            OutputType::Continuous,
        );
        let mut output = ContinuousOutputModel::new();
        let stats = other.integrate_with_continuous_output_model(&mut output).expect("runs");

        let nodes: Vec<f64> = trajectory.nodes().collect();
        assert_eq!(trajectory.stats.accepted_steps, stats.accepted_steps as usize);
        assert_eq!(trajectory.stats.rejected_steps, stats.rejected_steps as usize);
        assert!(trajectory.stats.rejected_steps > 0, "the kick makes steps be taken again");
        assert_eq!(nodes.len() - 1, other.x_out().len());
        // rounding of the error estimate is amplified by the choice of the next step
        let ends = greatest(nodes[1..].iter().zip(other.x_out()).map(|(a, b)| (a - b).abs()));
        assert!(ends < 1e-6, "ends of steps differ by {ends:e} s");
        let between = greatest((1..3000).map(|i| {
            let t = 1e-3 * f64::from(i);
            (trajectory.at(t) - output.evaluate(t).expect("within")).amax()
        }));
        assert!(between < 1e-9, "states differ by {between:e}");
    }
}
