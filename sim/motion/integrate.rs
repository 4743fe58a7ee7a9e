//! Integration: steps of Dormand and Prince (`dormand_prince`) in phases between located switches.
//!
//! A phase holds its sides and runs until a step ends with a surface on the wrong side; the crossing is
//! found on the continuous output (order 4, see `events`) and the next phase started from there. Observed
//! order across every switch: tests/closed_form/convergence.rs. What a motion costs is counted (`Tally`);
//! `cargo bench --bench tally` prints it.

use nalgebra::SVector;

use super::dormand_prince::{Control, Slopes, within};
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

/// More steps than this in one phase mean that it does not get through.
const MOST_STEPS: usize = 200_000;

/// A motion.
pub trait Flow<const N: usize> {
    /// Number of surfaces.
    const SURFACES: usize;
    /// Rates depend on so many states, which come first; those behind are sums over time (works).
    const LEADING: usize = N;

    /// The motion on fixed sides: what they decide is worked out once per phase.
    type Held<'a>: Held<N>
    where
        Self: 'a;

    /// Held on these sides.
    fn held(&self, sides: Sides) -> Self::Held<'_>;

    /// Called at a crossing, after the side has been flipped.
    fn crossed(&self, i: usize, sides: &mut Sides, t: f64, y: &State<N>) -> Then;
}

/// A motion on fixed sides: smooth right-hand side and the surfaces.
pub trait Held<const N: usize> {
    /// y' on the branch of the sides.
    fn rate(&self, t: f64, y: &State<N>, dy: &mut State<N>);

    /// Value of surface `i`, `None` while dormant.
    fn surface(&self, i: usize, t: f64, y: &State<N>) -> Option<f64>;
}

/// Error tolerances and step limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Precision {
    /// Relative tolerance per step.
    pub relative: f64,
    /// Absolute tolerance per step, in units of each state.
    pub absolute: f64,
    /// Greatest step, s.
    pub longest_step_s: f64,
    /// Surfaces are looked at this often at least, s, also within longer steps: two crossings of a surface must
    /// not hide between two looks.
    pub look_s: f64,
    /// Take steps of exactly this length (but for the last of a phase) whatever the error: for
    /// measuring the order of convergence.
    pub fixed_step_s: Option<f64>,
}

impl Default for Precision {
    fn default() -> Self {
        Self { relative: 1e-9, absolute: 1e-11, longest_step_s: 4e-3, look_s: 4e-3, fixed_step_s: None }
    }
}

impl Precision {
    /// Looser, for scans in which thousands of runs are compared; peak flexion to about 1e-6 rad
    /// (`tests/closed_form/convergence.rs`).
    #[must_use]
    pub fn scan() -> Self {
        Self { relative: 1e-7, absolute: 1e-9, longest_step_s: 10e-3, look_s: 10e-3, fixed_step_s: None }
    }

    /// Tight, for comparisons with other codes.
    #[must_use]
    pub fn tight() -> Self {
        Self { relative: 1e-12, absolute: 1e-14, ..Self::default() }
    }

    /// The same with steps of up to four looks, for a motion that is slow enough to allow for them.
    #[must_use]
    pub fn slow(self) -> Self {
        Self { longest_step_s: 4.0 * self.look_s, ..self }
    }
}

/// First step of a motion, s; the error control takes it from there. The usual guess divides the size of the
/// state by that of its rate and fails where a motion starts all but at rest.
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

/// A step as it was taken.
struct Step<const N: usize> {
    from: f64,
    length: f64,
    /// Its end, or the switch that cut it.
    to: f64,
    sides: Sides,
    /// Coefficients of the continuous output over all of `length`.
    output: [State<N>; 5],
    /// Equal parts at whose ends it is looked at.
    parts: u32,
}

impl<const N: usize> Step<N> {
    fn at(&self, t: f64) -> State<N> {
        within(&self.output, (t - self.from) / self.length)
    }

    /// Ends of the parts from the first to the last, which is where the step ends.
    fn looks(&self) -> impl Iterator<Item = f64> {
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
pub struct Course<const N: usize> {
    steps: Vec<Step<N>>,
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
    /// What it cost.
    pub tally: Tally,
    next_step: f64,
}

impl<const N: usize> Course<N> {
    /// A course that has not moved yet.
    #[must_use]
    pub fn begin<F: Flow<N>>(flow: &F, t: f64, state: State<N>, modes: Sides) -> Self {
        let mut sides = modes;
        let mut slope = State::<N>::zeros();
        // twice, so that surfaces woken by the first pass find their side too
        for _ in 0..2 {
            flow.held(sides).rate(t, &state, &mut slope);
            let ahead = state + slope * LOOK_AHEAD_S;
            for i in 0..F::SURFACES {
                // a side that has just been set may wake the surfaces behind it
                if let Some(g) = flow.held(sides).surface(i, t + LOOK_AHEAD_S, &ahead) {
                    sides.set(i, g > 0.0);
                }
            }
        }
        Self {
            steps: Vec::new(),
            crossings: Vec::new(),
            start: (t, state),
            end: (t, state),
            sides,
            stopped_by: None,
            tally: Tally { rates: 2, ..Tally::default() },
            next_step: FIRST_STEP_S,
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
        let held = flow.held(self.sides);
        let (mut t, mut y) = self.end;
        let longest = precision.fixed_step_s.unwrap_or(precision.longest_step_s);
        let mut next = precision.fixed_step_s.unwrap_or(self.next_step);
        self.steps.reserve(((until - t) / longest) as usize + 8);
        let mut first = State::<N>::zeros();
        held.rate(t, &y, &mut first);
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
            let end = slopes.step(F::LEADING, |t, y, dy| held.rate(t, y, dy), t, &y, h);
            self.tally.rates += 6;
            let error = slopes.error(precision, &y, &end, h);
            let (holds, after) = match precision.fixed_step_s {
                Some(fixed) => (true, fixed),
                None => control.judge(error, h, longest),
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
            let parts = if h > 1.01 * precision.look_s { (h / precision.look_s).ceil() as u32 } else { 1 };
            self.steps.push(Step { from: t, length: h, to, sides: self.sides, output, parts });
            self.end = (to, end);
            // the next phase begins with a step as long as this one
            self.next_step = h.max(1e-7);
            if let Some(found) = self.wrong_side_found::<F>(&held, &end) {
                self.switch(flow, &held, found);
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
    fn wrong_side_found<F: Flow<N>>(&self, held: &F::Held<'_>, end: &State<N>) -> Option<f64> {
        let step = self.steps.last()?;
        let off = |t: f64, y: &State<N>| (0..F::SURFACES).any(|i| off_side(held, i, self.sides, t, y));
        let inner = if step.parts > 1 {
            step.looks().take(step.parts as usize - 1).find(|&t| off(t, &step.at(t)))
        } else {
            None
        };
        inner.or_else(|| off(step.to, end).then_some(step.to))
    }

    /// Cuts the last step at its first crossing, which lies before the look `found`, and goes over to the other
    /// side.
    fn switch<F: Flow<N>>(&mut self, flow: &F, held: &F::Held<'_>, found: f64) {
        let end = self.end;
        let Some(step) = self.steps.last_mut() else { return };
        let from = step.looks().take_while(|&t| t < found).last().unwrap_or(step.from);
        let at = |t: f64| if t < end.0 { step.at(t) } else { end.1 };
        let state = at(found);
        let crossings = (0..F::SURFACES).filter(|&i| off_side(held, i, self.sides, found, &state)).map(|i| {
            let sign = if self.sides.positive(i) { 1.0 } else { -1.0 };
            let value = |t: f64| sign * held.surface(i, t, &at(t)).unwrap_or(1.0);
            // just after a restart the value may be wrong by a rounding error: the first
            // point that is right opens the bracket, else the crossing is here
            let opens = (0..8).map(|k| from + (found - from) * f64::from(k) / 8.0);
            let open = opens.into_iter().find(|&t| value(t) >= 0.0);
            (i, open.map_or(from, |a| locate(value, a, found, LOCATED_TO_S)))
        });
        if let Some((i, to)) = crossings.min_by(|a, b| a.1.total_cmp(&b.1)) {
            let state = step.at(to);
            step.parts = if to > step.from { ((to - step.from) / (found - from)).ceil() as u32 } else { 1 };
            step.to = to;
            self.end = (to, state);
            self.flip(flow, i);
        }
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
        let slept = flow.held(before);
        for j in (0..F::SURFACES).filter(|&j| Some(j) != but) {
            if slept.surface(j, t, &y).is_none()
                && let Some(g) = flow.held(self.sides).surface(j, t, &y)
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
        self.steps[self.step_index(t)].at(t)
    }

    /// Sides that held at an instant.
    #[must_use]
    pub fn sides_at(&self, t: f64) -> Sides {
        self.steps.get(self.step_index(t)).map_or(self.sides, |s| s.sides)
    }

    fn step_index(&self, t: f64) -> usize {
        self.steps.partition_point(|s| s.to < t).min(self.steps.len().saturating_sub(1))
    }

    /// Ends of all steps and looks within them, with the start: where the course can be looked at cheaply.
    pub fn nodes(&self) -> impl Iterator<Item = f64> + '_ {
        self.states().map(|(t, ..)| t)
    }

    /// The same with the sides that held up to there, and the state.
    pub fn states(&self) -> impl Iterator<Item = (f64, Sides, State<N>)> + '_ {
        let start = (self.start.0, self.steps.first().map_or(self.sides, |s| s.sides), self.start.1);
        let looks = self.steps.iter().flat_map(|s| s.looks().map(|t| (t, s.sides, s.at(t))));
        std::iter::once(start).chain(looks)
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

#[inline(always)]
fn off_side<const N: usize>(held: &impl Held<N>, i: usize, sides: Sides, t: f64, y: &State<N>) -> bool {
    held.surface(i, t, y).is_some_and(|g| !sides.agrees(i, g))
}
