//! The observed order of convergence of a motion with fixed steps.
//!
//! It is the slope of log error over log step by least squares over four halvings. The position of an event
//! within its step changes the error at a given step by a factor, so each error is the root mean square over
//! sixteen positions of the step grid: first steps of different length, and steps up to 6 % longer, the same
//! set at every halving. Steps are powers of two times small whole numbers: time then adds up without
//! rounding, which leaves a floor of about 3e-15 instead of 1e-13.

use kneedamp::numerics::events::Mode;
use kneedamp::numerics::hybrid::{HybridSystem, State, Trajectory};
use kneedamp::numerics::tolerances::Tolerances;

const POSITIONS: u32 = 16;
const HALVINGS: i32 = 4;

/// A motion with fixed steps: parts end at known instants, a part may end with a mode bit going off.
pub struct Motion<'a, const N: usize, F> {
    pub system: &'a F,
    pub begin_s: f64,
    pub start: State<N>,
    pub mode: Mode,
    /// Instants at which parts end, and the mode bit that goes off there.
    pub parts: Vec<(f64, Option<usize>)>,
    /// Components of the error and the size of their unit.
    pub error_of: &'static [(usize, f64)],
    /// Event functions whose events must happen, in this order, in every run.
    pub events: &'static [usize],
}

impl<const N: usize, F: HybridSystem<N>> Motion<'_, N, F> {
    /// The end of a run whose parts each begin with a step of `lead`.
    fn end(&self, step: f64, lead: f64) -> State<N> {
        let tolerances = Tolerances { fixed_step_s: Some(step), ..Tolerances::default() };
        let mut trajectory = Trajectory::begin(self.system, self.begin_s, self.start, self.mode);
        for &(until, bit) in &self.parts {
            let first = (trajectory.end.0 + lead).min(until);
            trajectory.run(self.system, "first step", first, &tolerances).expect("runs");
            trajectory.run(self.system, "part", until, &tolerances).expect("runs");
            if let Some(bit) = bit {
                trajectory.set_mode(self.system, bit, false);
            }
        }
        let events: Vec<usize> = trajectory.events.iter().map(|e| e.event_function).collect();
        assert_eq!(events, self.events, "events at a step of {step}");
        trajectory.end.1
    }

    fn error(&self, exact: &State<N>, longest: f64) -> f64 {
        let square: f64 = (0..POSITIONS)
            .map(|i| {
                let step = longest * (1.0 + f64::from(i) / 256.0);
                let end = self.end(step, step * (f64::from(5 * i % POSITIONS) + 0.5) / f64::from(POSITIONS));
                self.error_of.iter().map(|&(k, unit)| ((end[k] - exact[k]) / unit).powi(2)).sum::<f64>()
            })
            .sum();
        (square / f64::from(POSITIONS)).sqrt()
    }

    /// Observed order from a longest step of 2^−`exponent` s on. The reference has steps four times
    /// shorter than the shortest: its own error is a thousandth of the least one measured.
    pub fn order(&self, name: &str, exponent: i32) -> f64 {
        let finest = 2f64.powi(-exponent - HALVINGS - 2);
        self.order_to(name, exponent, &self.end(finest, 0.5 * finest))
    }

    /// The same against an end that is known.
    pub fn order_to(&self, name: &str, exponent: i32, exact: &State<N>) -> f64 {
        let errors: Vec<f64> = (0..=HALVINGS).map(|k| self.error(exact, 2f64.powi(-exponent - k))).collect();
        let middle = f64::from(HALVINGS) / 2.0;
        let (mut above, mut below) = (0.0, 0.0);
        for (k, e) in (0..).zip(&errors) {
            let x = middle - f64::from(k);
            above += x * e.log2();
            below += x * x;
        }
        let shown: Vec<String> = errors.iter().map(|e| format!("{e:.1e}")).collect();
        println!("{name}: order {:.3} from errors {}", above / below, shown.join(", "));
        above / below
    }
}
