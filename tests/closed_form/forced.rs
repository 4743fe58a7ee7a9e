//! A system of the crate with a source that makes a chosen motion its exact solution, and how far from that motion the
//! crate's integration ends (`manufactured`).

use kneedamp::numerics::events::{EventAction, Mode};
use kneedamp::numerics::hybrid::{FrozenMode, HybridSystem, State, Trajectory};
use kneedamp::numerics::tolerances::Tolerances;

use super::order::Motion;
use crate::evidence::greatest;

/// A system of the crate with a source added to its rates.
pub struct Forced<'a, F, S> {
    pub system: &'a F,
    pub source: S,
}

pub struct FrozenForced<'a, M, S> {
    frozen: M,
    source: &'a S,
}

impl<const N: usize, F: HybridSystem<N>, S: Fn(f64) -> State<N>> HybridSystem<N> for Forced<'_, F, S> {
    const EVENT_FUNCTIONS: usize = F::EVENT_FUNCTIONS;
    const DYNAMIC_STATES: usize = F::DYNAMIC_STATES;

    type FrozenMode<'b>
        = FrozenForced<'b, F::FrozenMode<'b>, S>
    where
        Self: 'b;

    fn freeze(&self, mode: Mode) -> Self::FrozenMode<'_> {
        FrozenForced { frozen: self.system.freeze(mode), source: &self.source }
    }

    fn on_event(&self, i: usize, mode: &mut Mode, t: f64, y: &State<N>) -> EventAction {
        self.system.on_event(i, mode, t, y)
    }
}

impl<const N: usize, M: FrozenMode<N>, S: Fn(f64) -> State<N>> FrozenMode<N> for FrozenForced<'_, M, S> {
    fn rate(&self, t: f64, y: &State<N>, dy: &mut State<N>) {
        self.frozen.rate(t, y, dy);
        *dy += (self.source)(t);
    }

    fn event_function(&self, i: usize, t: f64, y: &State<N>) -> Option<f64> {
        self.frozen.event_function(i, t, y)
    }

    fn least_beyond(&self, i: usize) -> f64 {
        self.frozen.least_beyond(i)
    }
}

/// mean + slope t + amplitude sin(rate t + phase).
pub struct Wave {
    pub mean: f64,
    pub slope: f64,
    pub amplitude: f64,
    pub rate: f64,
    pub phase: f64,
}

impl Wave {
    /// Value and two derivatives.
    pub fn at(&self, t: f64) -> [f64; 3] {
        let (sin, cos) = (self.rate * t + self.phase).sin_cos();
        let first = self.amplitude * self.rate;
        [
            self.mean + self.slope * t + self.amplitude * sin,
            self.slope + first * cos,
            -first * self.rate * sin,
        ]
    }
}

/// Order and greatest deviation of the motion that a system, forced along `exact`, makes from `begin` to `end`.
pub fn measured<const N: usize, F: HybridSystem<N>>(
    name: &str,
    forced: &F,
    [begin_s, end_s]: [f64; 2],
    exact: impl Fn(f64) -> State<N>,
    error_of: &'static [(usize, f64)],
) -> [f64; 2] {
    let start = exact(begin_s);
    let parts = vec![(end_s, None)];
    let motion =
        Motion { system: forced, begin_s, start, mode: Mode::default(), parts, error_of, events: &[] };
    let order = motion.order_to(name, 6, &exact(end_s));
    let mut trajectory = Trajectory::begin(forced, begin_s, start, Mode::default());
    trajectory.run(forced, "manufactured", end_s, &Tolerances::tight()).expect("runs");
    let deviation = greatest((1..=50).flat_map(|i| {
        let t = begin_s + (end_s - begin_s) * f64::from(i) / 50.0;
        let (found, chosen) = (trajectory.at(t), exact(t));
        error_of.iter().map(move |&(k, unit)| (found[k] - chosen[k]).abs() / unit)
    }));
    println!("{name}: greatest deviation {deviation:.1e}");
    [order, deviation]
}

/// A step of order 5 from the table of Dormand & Prince (1980), J Comput Appl Math 6:19, written apart from the crate.
pub fn dormand_prince<const N: usize>(
    rate: impl Fn(f64, &State<N>) -> State<N>,
    t: f64,
    y: &State<N>,
    h: f64,
) -> State<N> {
    // node of a stage, weights of the slopes before it; the last row is the step
    let table: [(f64, &[f64]); 7] = [
        (0.0, &[]),
        (0.2, &[0.2]),
        (0.3, &[3.0 / 40.0, 9.0 / 40.0]),
        (0.8, &[44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0]),
        (8.0 / 9.0, &[19372.0 / 6561.0, -25360.0 / 2187.0, 64448.0 / 6561.0, -212.0 / 729.0]),
        (1.0, &[9017.0 / 3168.0, -355.0 / 33.0, 46732.0 / 5247.0, 49.0 / 176.0, -5103.0 / 18656.0]),
        (1.0, &[35.0 / 384.0, 0.0, 500.0 / 1113.0, 125.0 / 192.0, -2187.0 / 6784.0, 11.0 / 84.0]),
    ];
    let mut slopes: Vec<State<N>> = Vec::new();
    let mut at = *y;
    for (node, weights) in table {
        at = weights.iter().zip(&slopes).fold(*y, |sum, (w, k)| sum + k * (h * w));
        slopes.push(rate(t + node * h, &at));
    }
    at
}
