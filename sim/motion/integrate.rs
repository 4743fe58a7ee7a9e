//! Integration: Dormand-Prince 5(4) in phases between located switches. The only file that names
//! the ODE crate.
//!
//! ode_solvers has no events, so each phase runs until a step ends with a surface on the wrong side;
//! the crossing is found on the continuous output (order 4, see `events`) and the phase restarted
//! from there. Its Dop853 is not used (two wrong nodes for time-dependent systems in 0.6.2).
//! Observed order across every switch: tests/closed_form/convergence.rs.

use nalgebra::SVector;
use ode_solvers::continuous_output_model::ContinuousOutputModel;
use ode_solvers::{Dopri5, OutputType, System};

use super::events::{Sides, Then, locate};
use crate::error::SimError;

/// State vector.
pub type State<const N: usize> = SVector<f64, N>;

/// Crossings are located to this, s.
const LOCATED_TO_S: f64 = 1e-12;
/// More switches than this in one motion mean that it chatters.
const MOST_SWITCHES: usize = 2000;
/// Sides at the start are read this much later, so that a state on a surface takes the side it goes to.
const LOOK_AHEAD_S: f64 = 1e-9;

/// A motion: right-hand side on fixed sides, and its surfaces.
pub trait Flow<const N: usize> {
    /// Number of surfaces.
    const SURFACES: usize;

    /// y' on the branch of `sides`.
    fn rate(&self, sides: Sides, t: f64, y: &State<N>, dy: &mut State<N>);

    /// Value of surface `i`, `None` while dormant.
    fn surface(&self, i: usize, sides: Sides, t: f64, y: &State<N>) -> Option<f64>;

    /// Called at a crossing, after the side has been flipped.
    fn crossed(&self, i: usize, sides: &mut Sides, t: f64, y: &State<N>) -> Then;
}

/// Error tolerances and step limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Precision {
    /// Relative tolerance per step.
    pub relative: f64,
    /// Absolute tolerance per step, in units of each state.
    pub absolute: f64,
    /// Greatest step, s: two crossings of a surface must not hide in one step.
    pub longest_step_s: f64,
    /// Take steps of exactly this length (but for the last of a phase) whatever the error: for
    /// measuring the order of convergence.
    pub fixed_step_s: Option<f64>,
}

impl Default for Precision {
    fn default() -> Self {
        Self { relative: 1e-9, absolute: 1e-11, longest_step_s: 4e-3, fixed_step_s: None }
    }
}

impl Precision {
    /// Looser, for scans in which thousands of runs are compared; peak flexion to about 1e-6 rad
    /// (`tests/closed_form/convergence.rs`).
    #[must_use]
    pub fn scan() -> Self {
        Self { relative: 1e-7, absolute: 1e-9, longest_step_s: 10e-3, fixed_step_s: None }
    }

    /// Tight, for comparisons with other codes.
    #[must_use]
    pub fn tight() -> Self {
        Self { relative: 1e-12, absolute: 1e-14, ..Self::default() }
    }
}

/// First step of a motion, s; the error control takes it from there. The ODE crate's own guess divides the
/// size of the state by that of its rate and fails where a motion starts all but at rest.
const FIRST_STEP_S: f64 = 1e-4;

/// A crossing of a surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossing<const N: usize> {
    /// Instant, s.
    pub t_s: f64,
    /// Surface.
    pub surface: usize,
    /// Whether it went to the positive side.
    pub upwards: bool,
    /// State there.
    pub state: State<N>,
}

struct Piece<const N: usize> {
    from: f64,
    to: f64,
    sides: Sides,
    /// Ends of the accepted steps, the last one cut at `to`.
    nodes: Vec<f64>,
    output: ContinuousOutputModel<f64, State<N>>,
}

/// A motion as it ran: continuous output over all phases, crossings, last state.
pub struct Course<const N: usize> {
    pieces: Vec<Piece<N>>,
    /// Crossings in order of time.
    pub crossings: Vec<Crossing<N>>,
    /// Start and state there.
    pub start: (f64, State<N>),
    /// End reached and state there.
    pub end: (f64, State<N>),
    /// Sides at the end.
    pub sides: Sides,
    /// Surface whose crossing stopped the motion.
    pub stopped_by: Option<usize>,
    step: f64,
}

impl<const N: usize> Course<N> {
    /// A course that has not moved yet.
    #[must_use]
    pub fn begin<F: Flow<N>>(flow: &F, t: f64, state: State<N>, modes: Sides) -> Self {
        let mut sides = modes;
        let mut slope = State::<N>::zeros();
        // twice, so that surfaces woken by the first pass find their side too
        for _ in 0..2 {
            flow.rate(sides, t, &state, &mut slope);
            let ahead = state + slope * LOOK_AHEAD_S;
            for i in 0..F::SURFACES {
                if let Some(g) = flow.surface(i, sides, t + LOOK_AHEAD_S, &ahead) {
                    sides.set(i, g > 0.0);
                }
            }
        }
        Self {
            pieces: Vec::new(),
            crossings: Vec::new(),
            start: (t, state),
            end: (t, state),
            sides,
            stopped_by: None,
            step: FIRST_STEP_S,
        }
    }

    /// Goes on to `until`, or to the crossing that stops the motion.
    ///
    /// # Errors
    /// The integrator gives up, the state stops being finite, or the motion chatters.
    pub fn run<F: Flow<N>>(
        &mut self,
        flow: &F,
        phase: &'static str,
        until: f64,
        precision: &Precision,
    ) -> Result<(), SimError> {
        while self.stopped_by.is_none() && until - self.end.0 > LOCATED_TO_S {
            self.advance(flow, phase, until, precision)?;
            if self.crossings.len() > MOST_SWITCHES {
                return Err(SimError::Integration {
                    phase,
                    t_s: self.end.0,
                    why: format!("more than {MOST_SWITCHES} switches"),
                });
            }
        }
        Ok(())
    }

    /// One phase: to `until` or to the first crossing.
    fn advance<F: Flow<N>>(
        &mut self,
        flow: &F,
        phase: &'static str,
        until: f64,
        precision: &Precision,
    ) -> Result<(), SimError> {
        let (from, state) = self.end;
        let failed = |t_s: f64, why: String| SimError::Integration { phase, t_s, why };
        let (rtol, atol, first, longest) = match precision.fixed_step_s {
            Some(h) => (1e300, 1e300, h, h),
            None => (precision.relative, precision.absolute, self.step, precision.longest_step_s),
        };
        let system = Phase { flow, sides: self.sides };
        let first = first.min(until - from);
        let mut stepper = Dopri5::from_param(
            system,
            from,
            until,
            0.0,
            state,
            rtol,
            atol,
            0.9,
            0.04,
            0.2,
            10.0,
            longest,
            first,
            200_000,
            u32::MAX,
            OutputType::Continuous,
        );
        let mut output = ContinuousOutputModel::new();
        stepper
            .integrate_with_continuous_output_model(&mut output)
            .map_err(|e| failed(from, e.to_string()))?;
        let mut nodes = stepper.x_out().clone();
        let reached = nodes.last().copied().unwrap_or(from);
        let last = stepper.y_out().last().copied().unwrap_or(state);
        if !last.iter().all(|v| v.is_finite()) {
            return Err(failed(reached, "the state is no longer finite".into()));
        }
        let before = if nodes.len() > 1 { nodes[nodes.len() - 2] } else { from };
        self.step = (reached - before).max(1e-7);

        let crossing = self.first_crossing(flow, &output, before, reached, &last);
        let to = crossing.map_or(reached, |(_, t)| t);
        let state_there = if crossing.is_some() { output.evaluate(to).unwrap_or(last) } else { last };
        if let Some(n) = nodes.last_mut() {
            *n = to;
        }
        self.pieces.push(Piece { from, to, sides: self.sides, nodes, output });
        self.end = (to, state_there);
        if let Some((i, _)) = crossing {
            self.flip(flow, i);
        }
        Ok(())
    }

    fn first_crossing<F: Flow<N>>(
        &self,
        flow: &F,
        output: &ContinuousOutputModel<f64, State<N>>,
        before: f64,
        reached: f64,
        last: &State<N>,
    ) -> Option<(usize, f64)> {
        (0..F::SURFACES)
            .filter(|&i| !on_side(flow, i, self.sides, reached, last))
            .map(|i| {
                let sign = if self.sides.positive(i) { 1.0 } else { -1.0 };
                let value = |t: f64| {
                    let y = output.evaluate(t).unwrap_or(*last);
                    sign * flow.surface(i, self.sides, t, &y).unwrap_or(1.0)
                };
                // just after a restart the value may be wrong by a rounding error: the first
                // point of the step that is right opens the bracket, else the crossing is here
                let opens = (0..8).map(|k| before + (reached - before) * f64::from(k) / 8.0);
                let from = opens.into_iter().find(|&t| value(t) >= 0.0);
                (i, from.map_or(before, |a| locate(value, a, reached, LOCATED_TO_S)))
            })
            .min_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// Sets a mode bit at the instant reached; surfaces that wake take the side they are on.
    pub fn set_mode<F: Flow<N>>(&mut self, flow: &F, mode: usize, on: bool) {
        let before = self.sides;
        self.sides.set(mode, on);
        self.wake(flow, before, None);
    }

    fn flip<F: Flow<N>>(&mut self, flow: &F, i: usize) {
        let (t, y) = self.end;
        let before = self.sides;
        let upwards = !before.positive(i);
        self.sides.set(i, upwards);
        self.crossings.push(Crossing { t_s: t, surface: i, upwards, state: y });
        if flow.crossed(i, &mut self.sides, t, &y) == Then::Stop {
            self.stopped_by = Some(i);
        }
        self.wake(flow, before, Some(i));
    }

    /// Surfaces that were dormant on the sides `before` and no longer are take the side they are on.
    fn wake<F: Flow<N>>(&mut self, flow: &F, before: Sides, but: Option<usize>) {
        let (t, y) = self.end;
        for j in (0..F::SURFACES).filter(|&j| Some(j) != but) {
            if flow.surface(j, before, t, &y).is_none()
                && let Some(g) = flow.surface(j, self.sides, t, &y)
            {
                self.sides.set(j, g > 0.0);
            }
        }
    }

    /// State at an instant of the course (held at its ends).
    #[must_use]
    pub fn at(&self, t: f64) -> State<N> {
        if t <= self.start.0 {
            return self.start.1;
        }
        if t >= self.end.0 {
            return self.end.1;
        }
        let piece = &self.pieces[self.piece_index(t)];
        piece.output.evaluate(t).unwrap_or(self.end.1)
    }

    /// Sides that held at an instant.
    #[must_use]
    pub fn sides_at(&self, t: f64) -> Sides {
        self.pieces.get(self.piece_index(t)).map_or(self.sides, |p| p.sides)
    }

    fn piece_index(&self, t: f64) -> usize {
        self.pieces.partition_point(|p| p.to < t).min(self.pieces.len().saturating_sub(1))
    }

    /// Ends of all steps, with the start: where the course can be looked at cheaply.
    pub fn nodes(&self) -> impl Iterator<Item = f64> + '_ {
        std::iter::once(self.start.0).chain(self.pieces.iter().flat_map(|p| {
            debug_assert!(p.from <= p.to);
            p.nodes.iter().copied()
        }))
    }

    /// First instant in \[from, to\] at which `f` becomes zero or changes sign, to 1e-12 s. Sign
    /// changes closer together than a step are not seen.
    pub fn first_root(&self, from: f64, to: f64, mut f: impl FnMut(f64, &State<N>) -> f64) -> Option<f64> {
        let mut left = (from, f(from, &self.at(from)));
        if left.1 == 0.0 {
            return Some(from);
        }
        let inner = self.nodes().filter(|&t| t > from && t < to).chain(std::iter::once(to));
        for t in inner.collect::<Vec<_>>() {
            let value = f(t, &self.at(t));
            if value == 0.0 {
                return Some(t);
            }
            if value.signum() != left.1.signum() {
                return Some(locate(|x| f(x, &self.at(x)), left.0, t, LOCATED_TO_S));
            }
            left = (t, value);
        }
        None
    }

    /// Greatest value of `f` over \[from, to\] and where, looked for at the ends of steps and three
    /// points between.
    pub fn greatest(&self, from: f64, to: f64, mut f: impl FnMut(f64, &State<N>) -> f64) -> (f64, f64) {
        let mut best = (f64::NEG_INFINITY, from);
        let mut left = from;
        let ends = self.nodes().filter(|&t| t > from && t < to).chain(std::iter::once(to));
        for t in ends.collect::<Vec<_>>() {
            for k in 0..4 {
                let x = left + (t - left) * f64::from(k) / 4.0;
                let value = f(x, &self.at(x));
                if value > best.0 {
                    best = (value, x);
                }
            }
            left = t;
        }
        let value = f(to, &self.at(to));
        if value > best.0 { (value, to) } else { best }
    }

    /// Crossings of one surface.
    pub fn crossings_of(&self, surface: usize) -> impl Iterator<Item = &Crossing<N>> {
        self.crossings.iter().filter(move |c| c.surface == surface)
    }
}

fn on_side<const N: usize, F: Flow<N>>(flow: &F, i: usize, sides: Sides, t: f64, y: &State<N>) -> bool {
    flow.surface(i, sides, t, y).is_none_or(|g| sides.agrees(i, g))
}

/// One phase as the ODE crate wants it.
struct Phase<'a, F> {
    flow: &'a F,
    sides: Sides,
}

impl<const N: usize, F: Flow<N>> System<f64, State<N>> for Phase<'_, F> {
    fn system(&self, t: f64, y: &State<N>, dy: &mut State<N>) {
        self.flow.rate(self.sides, t, y, dy);
    }

    fn solout(&mut self, t: f64, y: &State<N>, _dy: &State<N>) -> bool {
        !(0..F::SURFACES).all(|i| on_side(self.flow, i, self.sides, t, y))
    }
}
