//! A trajectory: a motion as it ran, with its state at any instant, its events, its extremes.

use std::any::Any;
use std::cell::RefCell;
use std::ops::{Deref, DerefMut};

use super::dormand_prince::{dense_output, dense_value};
use super::events::Mode;
use super::quadrature::positive_part;
use super::roots::{find_greatest, find_root};
use super::system::{IntegrationStats, State};

/// Events and roots are found to this, s.
pub(super) const TIME_TOLERANCE_S: f64 = 1e-12;
/// Instants of greatest values are found to this, s: the value is then off by the square of it.
const GREATEST_TOLERANCE_S: f64 = 1e-7;

/// A change of sign of an event function.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Event<const N: usize> {
    /// Instant, s.
    pub t_s: f64,
    /// Number of the event function.
    pub event_function: usize,
    /// Whether it became positive.
    pub upwards: bool,
    /// State there.
    pub state: State<N>,
}

/// A part of a trajectory between two nodes.
pub struct Stretch<const N: usize> {
    /// Its mode.
    pub mode: Mode,
    /// Start, middle and end, s.
    pub t_s: [f64; 3],
    /// States there.
    pub states: [State<N>; 3],
}

impl<const N: usize> Stretch<N> {
    /// Integral over it of the positive part of a function whose values at the three instants are these.
    #[must_use]
    pub fn positive_integral(&self, values: [f64; 3]) -> f64 {
        positive_part(values, self.t_s[2] - self.t_s[0])
    }
}

/// A step of a trajectory.
pub(super) struct Step<const N: usize> {
    from: f64,
    length: f64,
    /// Its end, or the event that cut it.
    to: f64,
    mode: Mode,
    /// Coefficients of the dense output over all of `length`.
    output: [State<N>; 5],
    /// Number of equal parts at whose ends event functions are checked.
    checks: u32,
}

impl<const N: usize> Step<N> {
    /// An accepted step in `mode`: its start, length and end, and its dense output; with event checks at least every
    /// `event_check_s`.
    #[inline(always)]
    pub(super) fn new(
        [from, h, to]: [f64; 3],
        output: [State<N>; 5],
        mode: Mode,
        event_check_s: f64,
    ) -> Self {
        // up to a hundredth more than the interval of the checks needs no check of its own
        let checks = if h > 1.01 * event_check_s { (h / event_check_s).ceil() as u32 } else { 1 };
        Self { from, length: h, to, mode, output, checks }
    }

    /// Event functions are checked within it too.
    pub(super) fn has_inner_checks(&self) -> bool {
        self.checks > 1
    }

    /// The first `states` states at an instant; the others as at the start.
    #[inline]
    pub(super) fn first_states(&self, t: f64, states: usize) -> State<N> {
        let share = (t - self.from) / self.length;
        let mut y = self.output[0];
        for i in 0..states.min(N) {
            y[i] = dense_value(&self.output, i, share);
        }
        y
    }

    #[inline]
    pub(super) fn at(&self, t: f64) -> State<N> {
        dense_output(&self.output, (t - self.from) / self.length)
    }

    /// Instants at which event functions are checked; the last one is the end of the step.
    #[inline]
    pub(super) fn event_checks(&self) -> impl Iterator<Item = f64> {
        let (from, to, checks) = (self.from, self.to, self.checks);
        (1..=checks).map(
            move |k| {
                if k == checks { to } else { from + (to - from) * f64::from(k) / f64::from(checks) }
            },
        )
    }

    /// The first instant of an event check at which `failed` holds; `end` is the state at the end of the step.
    #[inline]
    pub(super) fn first_check(
        &self,
        end: &State<N>,
        mut failed: impl FnMut(f64, &State<N>) -> bool,
    ) -> Option<f64> {
        let inner = if self.checks > 1 {
            self.event_checks().take(self.checks as usize - 1).find(|&t| failed(t, &self.at(t)))
        } else {
            None
        };
        inner.or_else(|| failed(self.to, end).then_some(self.to))
    }

    /// The last event check before `t`, or the start of the step.
    pub(super) fn check_before(&self, t: f64) -> f64 {
        self.event_checks().take_while(|&check| check < t).last().unwrap_or(self.from)
    }

    /// Ends the step at `to`, which lies between the event checks `before` and `after`.
    pub(super) fn cut(&mut self, to: f64, before: f64, after: f64) {
        self.checks = if to > self.from { ((to - self.from) / (after - before)).ceil() as u32 } else { 1 };
        self.to = to;
    }
}

thread_local! {
    /// Memory of trajectories that are gone, by the number of states: motions come by the thousand, and asking the
    /// system for new memory each time takes as long as a fifth of a motion.
    static SPARE: RefCell<Vec<(usize, Box<dyn Any>)>> = const { RefCell::new(Vec::new()) };
}
/// So many are kept for each thread.
const MOST_SPARE: usize = 256;

/// The steps of a trajectory, in memory that is used again.
pub(super) struct Steps<const N: usize>(Vec<Step<N>>);

impl<const N: usize> Steps<N> {
    pub(super) fn new() -> Self {
        let spare = SPARE.with_borrow_mut(|spare| {
            let place = spare.iter().rposition(|(n, _)| *n == N)?;
            spare.swap_remove(place).1.downcast::<Vec<Step<N>>>().ok()
        });
        Self(spare.map_or_else(Vec::new, |steps| *steps))
    }
}

impl<const N: usize> Drop for Steps<N> {
    fn drop(&mut self) {
        let mut steps = std::mem::take(&mut self.0);
        steps.clear();
        // a thread that ends has no list any more
        let _ = SPARE.try_with(|spare| {
            let mut spare = spare.borrow_mut();
            if spare.len() < MOST_SPARE && steps.capacity() > 0 {
                spare.push((N, Box::new(steps)));
            }
        });
    }
}

impl<const N: usize> Deref for Steps<N> {
    type Target = Vec<Step<N>>;

    fn deref(&self) -> &Vec<Step<N>> {
        &self.0
    }
}

impl<const N: usize> DerefMut for Steps<N> {
    fn deref_mut(&mut self) -> &mut Vec<Step<N>> {
        &mut self.0
    }
}

/// A motion as it ran: dense output over all phases, events, last state.
pub struct Trajectory<const N: usize> {
    pub(super) steps: Steps<N>,
    /// Events in order of time.
    pub events: Vec<Event<N>>,
    /// Start and state there.
    pub start: (f64, State<N>),
    /// End reached and state there.
    pub end: (f64, State<N>),
    /// Mode at the end.
    pub mode: Mode,
    /// Event function whose event stopped the motion.
    pub stopped_by: Option<usize>,
    /// What it cost.
    pub stats: IntegrationStats,
    pub(super) next_step_s: f64,
}

impl<const N: usize> Trajectory<N> {
    /// State at an instant; before the start and after the end, the state there.
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

    /// Mode at an instant.
    #[must_use]
    pub fn mode_at(&self, t: f64) -> Mode {
        self.steps.get(self.step_index(t)).map_or(self.mode, |s| s.mode)
    }

    fn step_index(&self, t: f64) -> usize {
        self.steps.partition_point(|s| s.to < t).min(self.steps.len().saturating_sub(1))
    }

    /// The start, all event checks and the ends of all steps: a grid on which the state is cheap to evaluate.
    pub fn nodes(&self) -> impl Iterator<Item = f64> + '_ {
        std::iter::once(self.start.0).chain(self.steps.iter().flat_map(Step::event_checks))
    }

    /// The state at the start of every step.
    pub fn step_starts(&self) -> impl Iterator<Item = &State<N>> {
        self.steps.iter().map(|s| &s.output[0])
    }

    /// The nodes, with the mode up to there and the state.
    pub fn states(&self) -> impl Iterator<Item = (f64, Mode, State<N>)> + '_ {
        let start = (self.start.0, self.steps.first().map_or(self.mode, |s| s.mode), self.start.1);
        let event_checks = self.steps.iter().flat_map(|s| s.event_checks().map(|t| (t, s.mode, s.at(t))));
        std::iter::once(start).chain(event_checks)
    }

    /// First instant in \[from, to\] at which `f` of these states becomes zero or changes sign, to 1e-12 s. Sign
    /// changes closer together than a step are not seen.
    pub fn first_root<const K: usize>(
        &self,
        from: f64,
        to: f64,
        states: [usize; K],
        f: impl Fn(f64, [f64; K]) -> f64,
    ) -> Option<f64> {
        let mut left = (from, f(from, self.values(from, states)));
        if left.1 == 0.0 {
            return Some(from);
        }
        let inner = self.steps.iter().filter(|s| s.to > from && s.from < to);
        let inner = inner.flat_map(|s| s.event_checks().map(move |t| (t, s)));
        let inner = inner.filter(|(t, _)| *t > from && *t < to).map(|(t, s)| (t, Some(s)));
        for (t, step) in inner.chain(std::iter::once((to, None))) {
            let value = f(t, step.map_or_else(|| self.values(to, states), |s| self.values_in(s, t, states)));
            if value == 0.0 {
                return Some(t);
            }
            if value.signum() != left.1.signum() {
                let at = |x| f(x, self.values(x, states));
                return Some(find_root(at, left.0, t, TIME_TOLERANCE_S));
            }
            left = (t, value);
        }
        None
    }

    /// Greatest value of `f` of these states over \[from, to\] and its instant, searched at the nodes and three points
    /// between each two, then between the neighbours of the best.
    pub fn greatest<const K: usize>(
        &self,
        from: f64,
        to: f64,
        states: [usize; K],
        f: impl Fn(f64, [f64; K]) -> f64,
    ) -> (f64, f64) {
        let mut best = (f(from, self.values(from, states)), from);
        // neighbours of the best, the later one open until it is known
        let (mut around, mut open, mut before) = ([from, from], true, from);
        let mut left = from;
        'steps: for step in self.steps.iter().filter(|s| s.to > from) {
            for node in step.event_checks().map(|t| t.min(to)).filter(|t| *t > from) {
                for k in 1..=4 {
                    let t = left + (node - left) * f64::from(k) / 4.0;
                    let value = f(t, self.values_in(step, t, states));
                    if open {
                        (around[1], open) = (t, false);
                    }
                    if value > best.0 {
                        (best, around, open) = ((value, t), [before, t], true);
                    }
                    before = t;
                }
                left = node;
                if node >= to {
                    break 'steps;
                }
            }
        }
        let at = |t| f(t, self.values(t, states));
        let refined = find_greatest(at, around[0], around[1], GREATEST_TOLERANCE_S);
        if refined.0 > best.0 { refined } else { best }
    }

    /// Some states at an instant.
    fn values<const K: usize>(&self, t: f64, states: [usize; K]) -> [f64; K] {
        let last = self.steps.len().saturating_sub(1);
        match self.steps.get(self.step_index(t).min(last)) {
            Some(step) => self.values_in(step, t, states),
            None => states.map(|i| self.start.1[i]),
        }
    }

    /// The same, in the step that the instant lies in.
    #[inline]
    fn values_in<const K: usize>(&self, step: &Step<N>, t: f64, states: [usize; K]) -> [f64; K] {
        if t <= self.start.0 {
            states.map(|i| self.start.1[i])
        } else if t >= self.end.0 {
            states.map(|i| self.end.1[i])
        } else {
            let share = (t - step.from) / step.length;
            states.map(|i| dense_value(&step.output, i, share))
        }
    }

    /// Greatest value of `f`, which may depend on the mode, between the nodes beside an instant.
    pub fn greatest_beside(&self, t: f64, mut f: impl FnMut(f64, Mode, &State<N>) -> f64) -> f64 {
        let before = self.nodes().take_while(|&node| node < t).last().unwrap_or(self.start.0);
        let after = self.nodes().find(|&node| node > t).unwrap_or(self.end.0);
        let value = |t: f64| f(t, self.mode_at(t), &self.at(t));
        find_greatest(value, before, after, GREATEST_TOLERANCE_S).0
    }

    /// The stretches between the nodes in \[from, to\], each with its mode, its three instants (start, middle, end) and the
    /// states there: for integrals of what depends on the mode.
    pub fn stretches(&self, from: f64, to: f64) -> impl Iterator<Item = Stretch<N>> + '_ {
        self.steps.iter().flat_map(move |step| {
            let mut begin = step.from;
            step.event_checks().filter_map(move |end| {
                let (a, b) = (begin.max(from), end.min(to));
                begin = end;
                let t_s = [a, 0.5 * (a + b), b];
                (b > a).then(|| Stretch { mode: step.mode, t_s, states: t_s.map(|t| step.at(t)) })
            })
        })
    }

    /// Events of one event function.
    pub fn events_of(&self, event_function: usize) -> impl Iterator<Item = &Event<N>> {
        self.events.iter().filter(move |e| e.event_function == event_function)
    }
}
