//! Looks within a step: y' = 1 lets the integrator take steps of any length, and a surface is on its other
//! side only for a moment in the middle of one.

use kneedamp::motion::Precision;
use kneedamp::motion::events::{Sides, Then};
use kneedamp::motion::integrate::{Course, Flow, Held, State};

/// y = t, and |y − 0.5| − 0.02 as a smooth surface.
#[derive(Clone, Copy)]
struct Dip;

const HALF_WIDTH_S: f64 = 0.02;

impl Held<1> for Dip {
    fn rate(&self, _: f64, _: &State<1>, dy: &mut State<1>) {
        dy[0] = 1.0;
    }

    fn surface(&self, _: usize, _: f64, y: &State<1>) -> Option<f64> {
        Some((y[0] - 0.5).powi(2) - HALF_WIDTH_S.powi(2))
    }
}

impl Flow<1> for Dip {
    const SURFACES: usize = 1;

    type Held<'a> = Self;

    fn held(&self, _: Sides) -> Self {
        *self
    }

    fn crossed(&self, _: usize, _: &mut Sides, _: f64, _: &State<1>) -> Then {
        Then::GoOn
    }
}

fn run(look_s: f64) -> Course<1> {
    let precision = Precision { longest_step_s: 10.0, look_s, ..Precision::default() };
    let mut course = Course::begin(&Dip, 0.0, State::<1>::new(0.0), Sides::default());
    course.run(&Dip, "dip", 2.0, &precision).expect("runs");
    course
}

#[test]
fn closed_form_looks_find_two_crossings_within_one_step() {
    let course = run(0.03);
    let found: Vec<f64> = course.crossings.iter().map(|c| c.t_s).collect();
    assert_eq!(found.len(), 2, "{found:?}");
    for (t, expected) in found.iter().zip([0.5 - HALF_WIDTH_S, 0.5 + HALF_WIDTH_S]) {
        assert!((t - expected).abs() < 1e-11, "{t} for {expected}");
    }
    let nodes: Vec<f64> = course.nodes().collect();
    assert!(course.tally.steps < 20, "steps are longer than looks: {:?}", course.tally);
    assert!(nodes.windows(2).all(|w| w[1] - w[0] <= 1.01 * 0.03), "looks are nodes: {nodes:?}");
}

/// With looks at the ends of steps only, they are missed: the looks do it, not luck.
#[test]
fn closed_form_looks_are_needed() {
    assert!(run(10.0).crossings.is_empty());
}
