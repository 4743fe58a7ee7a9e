//! The steps against another code: ode_solvers 0.6.2 (`numerics::second_integrator`), the same method with the same
//! control. Coefficients, error estimate, step control and continuous output all decide where the steps end and what
//! lies between. Then the events: each code with its own search.

use kneedamp::joint::SettingName;
use kneedamp::numerics::events::{EventAction, Mode};
use kneedamp::numerics::hybrid::{FrozenMode, HybridSystem, State, Trajectory};
use kneedamp::numerics::tolerances::{Method, Tolerances};
use kneedamp::study::survey::{Survey, survey};
use kneedamp::study::verify::{RecordedRun, VerifyStudy};
use kneedamp::units::Setting;

use crate::common::{library, setup};
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

fn run<F: HybridSystem<N>, const N: usize>(
    system: &F,
    start: State<N>,
    end: f64,
    tolerances: &Tolerances,
) -> Trajectory<N> {
    let mut trajectory = Trajectory::begin(system, 0.0, start, Mode::default());
    trajectory.run(system, "test", end, tolerances).expect("runs");
    trajectory
}

#[test]
fn cross_code_steps_are_those_of_another_dormand_prince() {
    let (start, end) = (State::<3>::new(0.7, 0.0, 0.0), 3.0);
    for tolerances in [Tolerances::default(), Tolerances::scan()] {
        let own = run(&Kicked, start, end, &tolerances);
        let other = run(&Kicked, start, end, &Tolerances { method: Method::Second, ..tolerances });

        assert_eq!(own.stats.accepted_steps, other.stats.accepted_steps);
        assert_eq!(own.stats.rejected_steps, other.stats.rejected_steps);
        assert!(own.stats.rejected_steps > 0, "the kick makes steps be taken again");
        assert_eq!(own.nodes().count(), other.nodes().count());
        // rounding of the error estimate is amplified by the choice of the next step
        let ends = greatest(own.nodes().zip(other.nodes()).map(|(a, b)| (a - b).abs()));
        assert!(ends < 1e-6, "ends of steps differ by {ends:e} s");
        assert!(ends > 0.0, "the same code twice");
        let between = greatest((1..3000).map(|i| {
            let t = 1e-3 * f64::from(i);
            (own.at(t) - other.at(t)).amax()
        }));
        assert!(between < 1e-9, "states differ by {between:e}");
    }
}

/// x'' = −sign(x): parabolas, whose zeros are known. With `dip`, also a function that is negative for an instant only.
struct Parabolas {
    dip: Option<f64>,
}

/// [`Parabolas`] on one side of zero.
struct Parabola {
    sign: f64,
    dip: Option<f64>,
}

impl FrozenMode<2> for Parabola {
    fn rate(&self, _: f64, y: &State<2>, dy: &mut State<2>) {
        *dy = State::<2>::new(y[1], -self.sign);
    }

    fn event_function(&self, i: usize, t: f64, y: &State<2>) -> Option<f64> {
        match i {
            0 => Some(y[0]),
            // below zero for 2 ms
            _ => self.dip.map(|at| (t - at).powi(2) - 1e-6),
        }
    }
}

impl HybridSystem<2> for Parabolas {
    const EVENT_FUNCTIONS: usize = 2;

    type FrozenMode<'a> = Parabola;

    fn freeze(&self, mode: Mode) -> Parabola {
        Parabola { sign: if mode.positive(0) { 1.0 } else { -1.0 }, dip: self.dip }
    }

    fn on_event(&self, _: usize, _: &mut Mode, _: f64, _: &State<2>) -> EventAction {
        EventAction::Continue
    }
}

/// From rest at x = ½ the zeros lie at t = 1, 3, 5, …
#[test]
fn cross_code_both_searches_find_every_event() {
    let start = State::<2>::new(0.5, 0.0);
    for tolerances in [Tolerances::tight(), Tolerances::second()] {
        let trajectory = run(&Parabolas { dip: None }, start, 20.0, &tolerances);
        let instants: Vec<f64> = trajectory.events.iter().map(|e| e.t_s).collect();
        assert_eq!(instants.len(), 10, "{:?}", tolerances.method);
        for (k, t) in instants.iter().enumerate() {
            let error = (t - (2 * k + 1) as f64).abs();
            assert!(error < 1e-10, "{:?}: event {k} is off by {error:e} s", tolerances.method);
        }
    }
}

/// Two events of one function within 2 ms: the second search looks closely enough for both.
#[test]
fn cross_code_the_second_search_looks_between_the_ends_of_its_steps() {
    let start = State::<2>::new(0.5, 0.0);
    // as long as the second integrator may step, and checked four times within
    let tolerances = Tolerances { longest_step_s: 4e-3, ..Tolerances::second() };
    let trajectory = run(&Parabolas { dip: Some(0.3) }, start, 0.9, &tolerances);
    let instants: Vec<f64> = trajectory.events_of(1).map(|e| e.t_s).collect();
    assert_eq!(instants.len(), 2, "{instants:?}");
    for (t, exact) in instants.iter().zip([0.299, 0.301]) {
        assert!((t - exact).abs() < 1e-12, "{t} in place of {exact}");
    }
}

/// What `verify` asks of the second integrator can fail: one that integrates another motion is told from the first.
#[test]
fn cross_code_another_motion_is_told_apart() {
    let scenario = library().scenario("sit-down").expect("shipped scenario");
    let mut found = survey(setup("75-kg", "built-in"), vec![scenario]).expect("runs");
    let result = found.runs[0].result.as_ref().expect("runs");
    let outcomes = result.assessment.outcomes.iter().map(|(m, v)| (m.key.to_owned(), v.into())).collect();
    let recorded = vec![RecordedRun { outcomes, verdict: result.assessment.verdict().as_str().into() }];
    let verify = |survey: &Survey| {
        let found = VerifyStudy { survey, recorded: recorded.clone() }.run(&|| ()).expect("runs");
        found.beyond().map(|o| (o.key.clone(), o.differences())).collect::<Vec<_>>()
    };
    assert!(verify(&found).is_empty());
    // what the first integrator found stays; the second runs a valve that is 0.1 points further open
    found.setup.settings.set(SettingName::StanceYield, Setting::clamped(0.401));
    let beyond = verify(&found);
    assert!(beyond.iter().any(|(key, _)| key == "sit_time_s"), "{beyond:?}");
    assert!(beyond.iter().all(|(_, [rerun, second])| *rerun == 0.0 && *second > 0.0), "{beyond:?}");
}
