//! A trajectory: a motion as it ran, with its state at any instant, its events, its extremes.

use super::dormand_prince::dense_output;
use super::events::Mode;
use super::quadrature::positive_part;
use super::roots::{find_greatest, find_root};
use super::system::{AcceptedStep, IntegrationStats, State};

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
    /// An accepted step in `mode`, with event checks at least every `event_check_s`.
    #[inline]
    pub(super) fn new(step: AcceptedStep<N>, mode: Mode, event_check_s: f64) -> Self {
        let h = step.length;
        // up to a hundredth more than the interval of the checks needs no check of its own
        let checks = if h > 1.01 * event_check_s { (h / event_check_s).ceil() as u32 } else { 1 };
        Self { from: step.from, length: h, to: step.to, mode, output: step.output, checks }
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

/// A motion as it ran: dense output over all phases, events, last state.
pub struct Trajectory<const N: usize> {
    pub(super) steps: Vec<Step<N>>,
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
                return Some(find_root(|x| f(x, &self.at(x)), left.0, t, TIME_TOLERANCE_S));
            }
            left = (t, value);
        }
        None
    }

    /// Greatest value of `f` over \[from, to\] and its instant, searched at the nodes and three points
    /// between each two, then between the neighbours of the best.
    pub fn greatest(&self, from: f64, to: f64, mut f: impl FnMut(f64, &State<N>) -> f64) -> (f64, f64) {
        let ends = self.nodes().filter(|&t| t > from && t < to).chain(std::iter::once(to));
        let (mut grid, mut left) = (vec![from], from);
        for t in ends {
            grid.extend((1..=4).map(|k| left + (t - left) * f64::from(k) / 4.0));
            left = t;
        }
        let mut value = |t: f64| f(t, &self.at(t));
        let values: Vec<f64> = grid.iter().map(|&t| value(t)).collect();
        let best = (0..grid.len()).reduce(|a, b| if values[b] > values[a] { b } else { a }).unwrap_or(0);
        let around = [grid[best.saturating_sub(1)], grid[(best + 1).min(grid.len() - 1)]];
        let refined = find_greatest(value, around[0], around[1], GREATEST_TOLERANCE_S);
        if refined.0 > values[best] { refined } else { (values[best], grid[best]) }
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
