//! Integration: steps of Dormand and Prince (`dormand_prince`) in phases between located switches.
//!
//! A phase holds its sides and runs until a step ends with a surface on the wrong side; the crossing is
//! found on the continuous output (order 4, see `events`) and the next phase started from there. Observed
//! order across every switch: tests/closed_form/convergence.rs. What a motion costs is counted (`Tally`);
//! `cargo bench --bench tally` prints it.

use nalgebra::SVector;

use super::dormand_prince::{Control, Slopes, dense_output};
use super::events::{EventAction, Mode};
use super::roots::find_root;
use super::tolerances::Tolerances;
use crate::error::SimError;

/// State vector.
pub type State<const N: usize> = SVector<f64, N>;

/// Crossings are located to this, s.
const LOCATED_TO_S: f64 = 1e-12;
/// More switches than this in one motion mean that it chatters.
const MOST_SWITCHES: usize = 2000;
/// Mode at the start are read this much later, so that a state on a surface takes the side it goes to.
const LOOK_AHEAD_S: f64 = 1e-9;

/// More steps than this in one phase mean that it does not get through.
const MOST_STEPS: usize = 200_000;

/// A motion.
pub trait HybridSystem<const N: usize> {
    /// Number of surfaces.
    const EVENT_FUNCTIONS: usize;
    /// Rates depend on so many states, which come first; those behind are sums over time (works).
    const DYNAMIC_STATES: usize = N;

    /// The motion on fixed sides: what they decide is worked out once per phase.
    type FrozenMode<'a>: FrozenMode<N>
    where
        Self: 'a;

    /// FrozenMode on these sides.
    fn freeze(&self, mode: Mode) -> Self::FrozenMode<'_>;

    /// Called at a crossing, after the side has been flipped.
    fn on_event(&self, i: usize, mode: &mut Mode, t: f64, y: &State<N>) -> EventAction;
}

/// A motion on fixed sides: smooth right-hand side and the surfaces.
pub trait FrozenMode<const N: usize> {
    /// y' on the branch of the sides.
    fn rate(&self, t: f64, y: &State<N>, dy: &mut State<N>);

    /// Value of surface `i`, `None` while dormant.
    fn event_function(&self, i: usize, t: f64, y: &State<N>) -> Option<f64>;
}

/// First step of a motion, s; the error control takes it from there. The usual guess divides the size of the
/// state by that of its rate and fails where a motion starts all but at rest.
const FIRST_STEP_S: f64 = 1e-4;

/// A crossing of a surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Event<const N: usize> {
    /// Instant, s.
    pub t_s: f64,
    /// Surface.
    pub event_function: usize,
    /// Whether it went to the positive side.
    pub upwards: bool,
    /// State there.
    pub state: State<N>,
}

/// A step as it was taken.
struct Step<const N: usize> {
    from: f64,
    length: f64,
    /// Its end, or the switch that cut it.
    to: f64,
    mode: Mode,
    /// Coefficients of the continuous output over all of `length`.
    output: [State<N>; 5],
    /// Equal parts at whose ends it is looked at.
    parts: u32,
}

impl<const N: usize> Step<N> {
    fn at(&self, t: f64) -> State<N> {
        dense_output(&self.output, (t - self.from) / self.length)
    }

    /// Ends of the parts from the first to the last, which is where the step ends.
    fn event_checks(&self) -> impl Iterator<Item = f64> {
        let (from, to, parts) = (self.from, self.to, self.parts);
        (1..=parts)
            .map(move |k| if k == parts { to } else { from + (to - from) * f64::from(k) / f64::from(parts) })
    }
}

/// What an integration cost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// Evaluations of the right-hand side.
    pub rates: usize,
    /// Steps kept.
    pub steps: usize,
    /// Steps taken again for their error.
    pub rejected: usize,
    /// Phases: one more than the switches and known instants within.
    pub phases: usize,
}

/// A motion as it ran: continuous output over all phases, crossings, last state.
pub struct Trajectory<const N: usize> {
    steps: Vec<Step<N>>,
    /// Crossings in order of time.
    pub events: Vec<Event<N>>,
    /// Start and state there.
    pub start: (f64, State<N>),
    /// End reached and state there.
    pub end: (f64, State<N>),
    /// Mode at the end.
    pub mode: Mode,
    /// Surface whose crossing stopped the motion.
    pub stopped_by: Option<usize>,
    /// What it cost.
    pub tally: Tally,
    next_step: f64,
}

impl<const N: usize> Trajectory<N> {
    /// A course that has not moved yet.
    #[must_use]
    pub fn begin<F: HybridSystem<N>>(system: &F, t: f64, state: State<N>, modes: Mode) -> Self {
        let mut mode = modes;
        let mut slope = State::<N>::zeros();
        // twice, so that surfaces woken by the first pass find their side too
        for _ in 0..2 {
            system.freeze(mode).rate(t, &state, &mut slope);
            let ahead = state + slope * LOOK_AHEAD_S;
            for i in 0..F::EVENT_FUNCTIONS {
                // a side that has just been set may wake the surfaces behind it
                if let Some(g) = system.freeze(mode).event_function(i, t + LOOK_AHEAD_S, &ahead) {
                    mode.set(i, g > 0.0);
                }
            }
        }
        Self {
            steps: Vec::new(),
            events: Vec::new(),
            start: (t, state),
            end: (t, state),
            mode,
            stopped_by: None,
            tally: Tally { rates: 2, ..Tally::default() },
            next_step: FIRST_STEP_S,
        }
    }

    /// Goes on to `until`, or to the crossing that stops the motion.
    ///
    /// # Errors
    /// The integrator gives up, the state stops being finite, or the motion chatters.
    pub fn run<F: HybridSystem<N>>(
        &mut self,
        system: &F,
        phase: &'static str,
        until: f64,
        tolerances: &Tolerances,
    ) -> Result<(), SimError> {
        while self.stopped_by.is_none() && until - self.end.0 > LOCATED_TO_S {
            self.advance(system, phase, until, tolerances)?;
            if self.events.len() > MOST_SWITCHES {
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
    fn advance<F: HybridSystem<N>>(
        &mut self,
        system: &F,
        phase: &'static str,
        until: f64,
        tolerances: &Tolerances,
    ) -> Result<(), SimError> {
        let frozen = system.freeze(self.mode);
        let (mut t, mut y) = self.end;
        let longest = tolerances.fixed_step_s.unwrap_or(tolerances.longest_step_s);
        let mut next = tolerances.fixed_step_s.unwrap_or(self.next_step);
        self.steps.reserve(((until - t) / longest) as usize + 8);
        let mut first = State::<N>::zeros();
        frozen.rate(t, &y, &mut first);
        let mut slopes = Slopes::begin(first);
        let mut control = Control::begin();
        self.tally.phases += 1;
        self.tally.rates += 1;
        for _ in 0..MOST_STEPS {
            let failed = |why: &str| SimError::Integration { phase, t_s: t, why: why.into() };
            if 0.1 * next <= f64::EPSILON * t.abs() {
                return Err(failed("the step became too short"));
            }
            // what is left over is not worth a step of its own below a hundredth of this one
            let last = t + 1.01 * next > until;
            let h = if last { until - t } else { next };
            let end = slopes.step(F::DYNAMIC_STATES, |t, y, dy| frozen.rate(t, y, dy), t, &y, h);
            self.tally.rates += 6;
            let error = slopes.error(tolerances, &y, &end, h);
            let (holds, after) = match tolerances.fixed_step_s {
                Some(fixed) => (true, fixed),
                None => control.accept_step(error, h, longest),
            };
            if !holds {
                self.tally.rejected += 1;
                next = after;
                continue;
            }
            if !end.iter().all(|v| v.is_finite()) {
                return Err(failed("the state is no longer finite"));
            }
            self.tally.steps += 1;
            let to = if last { until } else { t + h };
            let output = slopes.output(&y, &end, h);
            // a hundredth more than a look counts as one
            let parts = if h > 1.01 * tolerances.event_check_s {
                (h / tolerances.event_check_s).ceil() as u32
            } else {
                1
            };
            self.steps.push(Step { from: t, length: h, to, mode: self.mode, output, parts });
            self.end = (to, end);
            // the next phase begins with a step as long as this one
            self.next_step = h.max(1e-7);
            if let Some(found) = self.wrong_side_found::<F>(&frozen, &end) {
                self.switch(system, &frozen, found);
                return Ok(());
            }
            if last {
                return Ok(());
            }
            slopes.first = slopes.last;
            (t, y, next) = (to, end, after);
        }
        Err(SimError::Integration { phase, t_s: t, why: format!("more than {MOST_STEPS} steps") })
    }

    /// The first look at the last step, up to its `end`, that finds a surface on its wrong side.
    #[inline]
    fn wrong_side_found<F: HybridSystem<N>>(
        &self,
        frozen: &F::FrozenMode<'_>,
        end: &State<N>,
    ) -> Option<f64> {
        let step = self.steps.last()?;
        let off =
            |t: f64, y: &State<N>| (0..F::EVENT_FUNCTIONS).any(|i| off_mode(frozen, i, self.mode, t, y));
        let inner = if step.parts > 1 {
            step.event_checks().take(step.parts as usize - 1).find(|&t| off(t, &step.at(t)))
        } else {
            None
        };
        inner.or_else(|| off(step.to, end).then_some(step.to))
    }

    /// Cuts the last step at its first crossing, which lies before the look `found`, and goes over to the other
    /// side.
    fn switch<F: HybridSystem<N>>(&mut self, system: &F, frozen: &F::FrozenMode<'_>, found: f64) {
        let end = self.end;
        let Some(step) = self.steps.last_mut() else { return };
        let from = step.event_checks().take_while(|&t| t < found).last().unwrap_or(step.from);
        let at = |t: f64| if t < end.0 { step.at(t) } else { end.1 };
        let state = at(found);
        let events =
            (0..F::EVENT_FUNCTIONS).filter(|&i| off_mode(frozen, i, self.mode, found, &state)).map(|i| {
                let sign = if self.mode.positive(i) { 1.0 } else { -1.0 };
                let value = |t: f64| sign * frozen.event_function(i, t, &at(t)).unwrap_or(1.0);
                // just after a restart the value may be wrong by a rounding error: the first
                // point that is right opens the bracket, else the crossing is here
                let opens = (0..8).map(|k| from + (found - from) * f64::from(k) / 8.0);
                let open = opens.into_iter().find(|&t| value(t) >= 0.0);
                (i, open.map_or(from, |a| find_root(value, a, found, LOCATED_TO_S)))
            });
        if let Some((i, to)) = events.min_by(|a, b| a.1.total_cmp(&b.1)) {
            let state = step.at(to);
            step.parts = if to > step.from { ((to - step.from) / (found - from)).ceil() as u32 } else { 1 };
            step.to = to;
            self.end = (to, state);
            self.flip(system, i);
        }
    }

    /// Sets a mode bit at the instant reached; surfaces that wake take the side they are on.
    pub fn set_mode<F: HybridSystem<N>>(&mut self, system: &F, mode: usize, on: bool) {
        let before = self.mode;
        self.mode.set(mode, on);
        self.wake(system, before, None);
    }

    fn flip<F: HybridSystem<N>>(&mut self, system: &F, i: usize) {
        let (t, y) = self.end;
        let before = self.mode;
        let upwards = !before.positive(i);
        self.mode.set(i, upwards);
        self.events.push(Event { t_s: t, event_function: i, upwards, state: y });
        if system.on_event(i, &mut self.mode, t, &y) == EventAction::Stop {
            self.stopped_by = Some(i);
        }
        self.wake(system, before, Some(i));
    }

    /// Surfaces that were dormant on the sides `before` and no longer are take the side they are on.
    fn wake<F: HybridSystem<N>>(&mut self, system: &F, before: Mode, but: Option<usize>) {
        let (t, y) = self.end;
        let slept = system.freeze(before);
        for j in (0..F::EVENT_FUNCTIONS).filter(|&j| Some(j) != but) {
            if slept.event_function(j, t, &y).is_none()
                && let Some(g) = system.freeze(self.mode).event_function(j, t, &y)
            {
                self.mode.set(j, g > 0.0);
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
        self.steps[self.step_index(t)].at(t)
    }

    /// Mode that held at an instant.
    #[must_use]
    pub fn mode_at(&self, t: f64) -> Mode {
        self.steps.get(self.step_index(t)).map_or(self.mode, |s| s.mode)
    }

    fn step_index(&self, t: f64) -> usize {
        self.steps.partition_point(|s| s.to < t).min(self.steps.len().saturating_sub(1))
    }

    /// Ends of all steps and looks within them, with the start: where the course can be looked at cheaply.
    pub fn nodes(&self) -> impl Iterator<Item = f64> + '_ {
        self.states().map(|(t, ..)| t)
    }

    /// The same with the sides that held up to there, and the state.
    pub fn states(&self) -> impl Iterator<Item = (f64, Mode, State<N>)> + '_ {
        let start = (self.start.0, self.steps.first().map_or(self.mode, |s| s.mode), self.start.1);
        let event_checks = self.steps.iter().flat_map(|s| s.event_checks().map(|t| (t, s.mode, s.at(t))));
        std::iter::once(start).chain(event_checks)
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
                return Some(find_root(|x| f(x, &self.at(x)), left.0, t, LOCATED_TO_S));
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
    pub fn events_of(&self, event_function: usize) -> impl Iterator<Item = &Event<N>> {
        self.events.iter().filter(move |c| c.event_function == event_function)
    }
}

#[inline(always)]
fn off_mode<const N: usize>(frozen: &impl FrozenMode<N>, i: usize, mode: Mode, t: f64, y: &State<N>) -> bool {
    frozen.event_function(i, t, y).is_some_and(|g| !mode.agrees(i, g))
}
