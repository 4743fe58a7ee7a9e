//! A second integrator, for comparison: Dopri5 of the crate `ode_solvers`, with an event search of its own.
//!
//! It shares with [`DormandPrince`](super::dormand_prince::DormandPrince) the right-hand sides and what an event
//! is, and nothing else: steps, error control, continuous output and event search are other code. A phase is one
//! run of Dopri5, which stops at the end of the first step in which an event function has left the mode. Then
//! every step is checked between its ends too, and the instant of the first event is bisected; each trial instant is
//! reached by integrating from the start of the step, not by interpolation.
//!
//! Held against the reference step by step in tests/cross_code/dormand_prince.rs; used by `study::verify`.

use ode_solvers::continuous_output_model::ContinuousOutputModel;
use ode_solvers::{Dopri5, OutputType, System};

use super::dormand_prince::dense_output;
use super::events::Mode;
use super::system::{AcceptedStep, FrozenMode, IntegrationStats, Integrator, Phase, State};
use super::tolerances::Tolerances;
use crate::error::SimError;

/// More steps than this in one phase are too many.
const MOST_STEPS: u32 = 200_000;
/// Step control of the method, as its authors give it: safety, damping, least and greatest factor of a step.
const CONTROL: [f64; 4] = [0.9, 0.04, 0.2, 10.0];
/// Events are found to this, s.
const RESOLUTION_S: f64 = 1e-14;
/// What is nearer to the start of a step than this, s, is at its start: the method cannot step so little.
const SHORTEST_STEP_S: f64 = 1e-13;
/// Points between two checks at which a sign is sought that an event at the very start has not yet.
const POINTS_AFTER_START: u32 = 16;

/// Dopri5 of `ode_solvers`.
pub struct SecondIntegrator;

impl Integrator for SecondIntegrator {
    const FINDS_EVENTS: bool = true;

    fn advance<const N: usize, M: FrozenMode<N>>(
        phase: &Phase<'_, N, M>,
        stats: &mut IntegrationStats,
        mut accept: impl FnMut(AcceptedStep<N>) -> bool,
    ) -> Result<Option<usize>, SimError> {
        let search = EventSearch { frozen: phase.frozen, mode: phase.mode, functions: phase.event_functions };
        let steps = search.run(phase, phase.start, phase.until, phase.first_step_s, true, stats)?;
        for step in steps {
            let Some(change) = search.first_change(&step, phase.tolerances) else {
                accept(step);
                continue;
            };
            let start = (step.from, step.output[0]);
            let reach = |to: f64| {
                let mut trial = IntegrationStats::default();
                search.run(phase, start, to, to - start.0, false, &mut trial)
            };
            let (i, instant) = search.first_event(&change, start, reach)?;
            if instant - start.0 > SHORTEST_STEP_S {
                for step in reach(instant)? {
                    accept(step);
                }
            }
            return Ok(Some(i));
        }
        Ok(None)
    }
}

/// An event check at which event functions have changed their sign, and the check before it.
struct Change<const N: usize> {
    before: f64,
    at: f64,
    state: State<N>,
}

/// The event functions of a mode.
struct EventSearch<'a, M> {
    frozen: &'a M,
    mode: Mode,
    functions: usize,
}

/// What Dopri5 asks: the rates, and whether to stop.
struct Question<'a, M> {
    search: &'a EventSearch<'a, M>,
    stops_at_events: bool,
}

impl<const N: usize, M: FrozenMode<N>> System<f64, State<N>> for Question<'_, M> {
    fn system(&self, t: f64, y: &State<N>, dy: &mut State<N>) {
        self.search.frozen.rate(t, y, dy);
    }

    fn solout(&mut self, t: f64, y: &State<N>, _: &State<N>) -> bool {
        let search = self.search;
        self.stops_at_events && (0..search.functions).any(|i| search.has_changed(i, t, y))
    }
}

impl<M> EventSearch<'_, M> {
    /// How far event function `i` is on the wrong side of zero; negative on the right one.
    fn beyond<const N: usize>(&self, i: usize, t: f64, y: &State<N>) -> f64
    where
        M: FrozenMode<N>,
    {
        let sign = if self.mode.positive(i) { -1.0 } else { 1.0 };
        self.frozen.event_function(i, t, y).map_or(f64::NEG_INFINITY, |g| sign * g)
    }

    fn has_changed<const N: usize>(&self, i: usize, t: f64, y: &State<N>) -> bool
    where
        M: FrozenMode<N>,
    {
        self.beyond(i, t, y) > self.frozen.least_beyond(i)
    }

    /// One run of Dopri5: its steps up to `until`, or with `stops_at_events` to the end of the first in which an event
    /// function has changed its sign.
    fn run<const N: usize>(
        &self,
        phase: &Phase<'_, N, M>,
        start: (f64, State<N>),
        until: f64,
        first_step_s: f64,
        stops_at_events: bool,
        stats: &mut IntegrationStats,
    ) -> Result<Vec<AcceptedStep<N>>, SimError>
    where
        M: FrozenMode<N>,
    {
        let Tolerances { relative, absolute, longest_step_s, .. } = *phase.tolerances;
        let [safety, beta, least, greatest] = CONTROL;
        let mut method = Dopri5::from_param(
            Question { search: self, stops_at_events },
            start.0,
            until,
            0.0,
            start.1,
            relative,
            absolute,
            safety,
            beta,
            least,
            greatest,
            longest_step_s,
            first_step_s,
            MOST_STEPS,
            u32::MAX,
            OutputType::Continuous,
        );
        let failed = |t_s: f64, why: String| SimError::Integration { phase: phase.name, t_s, why };
        let mut between = ContinuousOutputModel::new();
        let done = method.integrate_with_continuous_output_model(&mut between);
        let done = done.map_err(|e| failed(start.0, format!("ode_solvers: {e}")))?;
        stats.evaluations += done.num_eval as usize;
        stats.accepted_steps += done.accepted_steps as usize;
        stats.rejected_steps += done.rejected_steps as usize;
        let mut from = start;
        let mut steps = Vec::with_capacity(method.x_out().len());
        for (&to, end) in method.x_out().iter().zip(method.y_out()) {
            let middle = between.evaluate(0.5 * (from.0 + to)).unwrap_or(*end);
            if !end.iter().all(|v| v.is_finite()) {
                return Err(failed(to, "the state is no longer finite".into()));
            }
            if to <= from.0 {
                continue;
            }
            steps.push(self.step(from, (to, *end), &middle));
            from = (to, *end);
        }
        Ok(steps)
    }

    /// A step with the polynomial of order 4 through its ends, with the slopes there, and its middle: the one that the
    /// method gives, in the form in which a trajectory keeps it.
    fn step<const N: usize>(
        &self,
        from: (f64, State<N>),
        to: (f64, State<N>),
        middle: &State<N>,
    ) -> AcceptedStep<N>
    where
        M: FrozenMode<N>,
    {
        let length = to.0 - from.0;
        let (mut first, mut last) = (State::<N>::zeros(), State::<N>::zeros());
        self.frozen.rate(from.0, &from.1, &mut first);
        self.frozen.rate(to.0, &to.1, &mut last);
        let rise = to.1 - from.1;
        let bend = first * length - rise;
        let turn = rise - last * length - bend;
        let rest = (((middle - from.1) * 2.0 - rise) * 2.0 - bend) * 2.0 - turn;
        AcceptedStep {
            from: from.0,
            length,
            to: to.0,
            end: to.1,
            output: [from.1, rise, bend, turn, rest * 2.0],
        }
    }

    /// The first event check within a step at which an event function has changed its sign.
    fn first_change<const N: usize>(
        &self,
        step: &AcceptedStep<N>,
        tolerances: &Tolerances,
    ) -> Option<Change<N>>
    where
        M: FrozenMode<N>,
    {
        let checks = (step.length / tolerances.event_check_s).ceil().max(1.0);
        let mut before = step.from;
        for k in 1..=checks as u32 {
            let share = f64::from(k) / checks;
            let last = k == checks as u32;
            let at = if last { step.to } else { step.from + step.length * share };
            let state = if last { step.end } else { dense_output(&step.output, share) };
            if (0..self.functions).any(|i| self.has_changed(i, at, &state)) {
                return Some(Change { before, at, state });
            }
            before = at;
        }
        None
    }

    /// The event function that changes its sign first, and the instant; `reach` integrates from `start` to an instant.
    fn first_event<const N: usize>(
        &self,
        change: &Change<N>,
        start: (f64, State<N>),
        reach: impl Fn(f64) -> Result<Vec<AcceptedStep<N>>, SimError>,
    ) -> Result<(usize, f64), SimError>
    where
        M: FrozenMode<N>,
    {
        let changed = |i: usize, t: f64| -> Result<bool, SimError> {
            let moves = t - start.0 > SHORTEST_STEP_S;
            let end = if moves { reach(t)?.last().map(|step| step.end) } else { None };
            Ok(self.beyond(i, t, &end.unwrap_or(start.1)) > 0.0)
        };
        let mut first = (0, change.at);
        for i in (0..self.functions).filter(|&i| self.has_changed(i, change.at, &change.state)) {
            let instant = bisected(change.before, change.at, |t| changed(i, t))?;
            if instant <= first.1 {
                first = (i, instant);
            }
        }
        Ok(first)
    }
}

/// The least instant known to be behind the change, between one that may be before it and one that is behind.
fn bisected(
    before: f64,
    behind: f64,
    changed: impl Fn(f64) -> Result<bool, SimError>,
) -> Result<f64, SimError> {
    // just after an event its function may be on the wrong side by a rounding error
    let points = (0..POINTS_AFTER_START).map(|k| f64::from(k) / f64::from(POINTS_AFTER_START));
    let mut low = None;
    for t in points.map(|share| before + (behind - before) * share) {
        if !changed(t)? {
            low = Some(t);
            break;
        }
    }
    let Some(mut low) = low else { return Ok(before) };
    let mut high = behind;
    while high - low > RESOLUTION_S {
        let middle = 0.5 * (low + high);
        if changed(middle)? { high = middle } else { low = middle }
    }
    Ok(high)
}
