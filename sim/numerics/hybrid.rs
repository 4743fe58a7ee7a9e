//! Integration of a hybrid system: phases in one mode each, between events.
//!
//! An integrator advances a phase until a step ends with an event function whose sign is not that of the mode.
//! The event is found on the dense output (order 4, see `events`), the sign flipped in the mode, and the next
//! phase starts there. Observed order across every event: tests/closed_form/convergence.rs. What a motion costs
//! is counted ([`IntegrationStats`]); `cargo bench --bench tally` prints it.
//!
//! Motions run with [`DormandPrince`], or for comparison with [`SecondIntegrator`], as [`Tolerances::method`] says.
//! A method implements [`Integrator`]: one function that hands over each accepted step with the coefficients of its
//! dense output. It may look for events itself.

use super::dormand_prince::DormandPrince;
use super::events::{EventAction, Mode};
use super::roots::find_root;
#[cfg(feature = "app")]
use super::second_integrator::SecondIntegrator;
use super::system::{AcceptedStep, Phase};
pub use super::system::{FrozenMode, HybridSystem, IntegrationStats, Integrator, State};
use super::tolerances::{Method, Tolerances};
pub use super::trajectory::{Event, Trajectory};
use super::trajectory::{Step, Steps, TIME_TOLERANCE_S};
use crate::error::SimError;

/// More events than this in one motion mean that it chatters.
pub(super) const MOST_EVENTS: usize = 2000;
/// The mode at the start is read this much later, so that an event function of zero takes the sign it goes to.
const LOOK_AHEAD_S: f64 = 1e-9;
/// First step of a motion, s; the error control takes it from there. The usual guess divides the size of the
/// state by that of its rate and fails where a motion starts all but at rest.
const FIRST_STEP_S: f64 = 1e-4;
/// First step of a phase after an event at the very start of a step, s.
pub(super) const SHORTEST_FIRST_STEP_S: f64 = 1e-7;

impl<const N: usize> Trajectory<N> {
    /// A trajectory at its start; the signs of the event functions are added to the mode bits of `mode`.
    #[must_use]
    pub fn begin<F: HybridSystem<N>>(system: &F, t: f64, state: State<N>, mut mode: Mode) -> Self {
        let mut slope = State::<N>::zeros();
        // twice, so that event functions activated by the first pass get their sign too
        for _ in 0..2 {
            system.freeze(mode).rate(t, &state, &mut slope);
            let ahead = state + slope * LOOK_AHEAD_S;
            for i in 0..F::EVENT_FUNCTIONS {
                // a sign that has just been set may activate later event functions
                if let Some(g) = system.freeze(mode).event_function(i, t + LOOK_AHEAD_S, &ahead) {
                    mode.set(i, g > 0.0);
                }
            }
        }
        Self {
            steps: Steps::new(),
            events: Vec::new(),
            start: (t, state),
            end: (t, state),
            mode,
            stopped_by: None,
            stats: IntegrationStats { evaluations: 2, ..IntegrationStats::default() },
            next_step_s: FIRST_STEP_S,
        }
    }

    /// Continues to `until`, or to the event that stops the motion.
    ///
    /// # Errors
    /// The integrator fails, the state stops being finite, or the motion chatters.
    pub fn run<F: HybridSystem<N>>(
        &mut self,
        system: &F,
        phase: &'static str,
        until: f64,
        tolerances: &Tolerances,
    ) -> Result<(), SimError> {
        match tolerances.method {
            Method::Reference => self.run_with::<DormandPrince, F>(system, phase, until, tolerances),
            #[cfg(feature = "app")]
            Method::Second => self.run_with::<SecondIntegrator, F>(system, phase, until, tolerances),
        }
    }

    fn run_with<I: Integrator, F: HybridSystem<N>>(
        &mut self,
        system: &F,
        phase: &'static str,
        until: f64,
        tolerances: &Tolerances,
    ) -> Result<(), SimError> {
        while self.stopped_by.is_none() && until - self.end.0 > TIME_TOLERANCE_S {
            self.advance::<I, F>(system, phase, until, tolerances)?;
            if self.events.len() > MOST_EVENTS {
                return Err(SimError::Integration {
                    phase,
                    t_s: self.end.0,
                    why: format!("more than {MOST_EVENTS} events"),
                });
            }
        }
        Ok(())
    }

    /// One phase: to `until` or to the first event.
    fn advance<I: Integrator, F: HybridSystem<N>>(
        &mut self,
        system: &F,
        name: &'static str,
        until: f64,
        tolerances: &Tolerances,
    ) -> Result<(), SimError> {
        let (frozen, mode) = (system.freeze(self.mode), self.mode);
        let longest = tolerances.fixed_step_s.unwrap_or(tolerances.longest_step_s);
        self.steps.reserve(((until - self.end.0) / longest) as usize + 8);
        let phase = Phase {
            frozen: &frozen,
            mode,
            event_functions: F::EVENT_FUNCTIONS,
            dynamic_states: F::DYNAMIC_STATES,
            name,
            start: self.end,
            until,
            first_step_s: self.next_step_s,
            tolerances,
        };
        let mut stats = self.stats;
        stats.phases += 1;
        let mut failed_check = None;
        let found = I::advance(&phase, &mut stats, |accepted: AcceptedStep<N>| {
            self.end = (accepted.to, accepted.end);
            // the next phase begins with a step as long as this one
            self.next_step_s = accepted.length.max(SHORTEST_FIRST_STEP_S);
            let AcceptedStep { from, length, to, output, .. } = accepted;
            self.steps.push(Step::new([from, length, to], output, mode, tolerances.event_check_s));
            if I::FINDS_EVENTS {
                return true;
            }
            failed_check = self.failed_check::<F>(&frozen);
            failed_check.is_none()
        })?;
        self.stats = stats;
        if let Some(i) = found {
            self.flip(system, i);
        }
        if let Some(check) = failed_check {
            self.cut_at_event(system, &frozen, check);
        }
        Ok(())
    }

    /// The first event check of the last step at which an event function has left the mode.
    #[inline(always)]
    pub(super) fn failed_check<F: HybridSystem<N>>(&self, frozen: &F::FrozenMode<'_>) -> Option<f64> {
        let mode = self.mode;
        self.steps.last().and_then(|step| {
            step.first_check(&self.end.1, |t, y| {
                (0..F::EVENT_FUNCTIONS).any(|i| leaves_mode(frozen, i, mode, t, y))
            })
        })
    }

    /// Cuts the last step at its first event, which lies before the event check `check`, and changes the mode.
    pub(super) fn cut_at_event<F: HybridSystem<N>>(
        &mut self,
        system: &F,
        frozen: &F::FrozenMode<'_>,
        check: f64,
    ) {
        let end = self.end;
        let Some(step) = self.steps.last_mut() else { return };
        let from = step.check_before(check);
        // event functions read the states that slopes depend on
        let at = |t: f64| if t < end.0 { step.first_states(t, F::DYNAMIC_STATES) } else { end.1 };
        let state = at(check);
        let events =
            (0..F::EVENT_FUNCTIONS).filter(|&i| leaves_mode(frozen, i, self.mode, check, &state)).map(|i| {
                let sign = if self.mode.positive(i) { 1.0 } else { -1.0 };
                let value = |t: f64| sign * frozen.event_function(i, t, &at(t)).unwrap_or(1.0);
                // just after a restart the value may have the wrong sign by a rounding error: the first
                // point with the right one opens the bracket, else the event is here
                let candidates = (0..8).map(|k| from + (check - from) * f64::from(k) / 8.0);
                let open = candidates.into_iter().find(|&t| value(t) >= 0.0);
                (i, open.map_or(from, |a| find_root(value, a, check, TIME_TOLERANCE_S)))
            });
        if let Some((i, to)) = events.min_by(|a, b| a.1.total_cmp(&b.1)) {
            let state = step.at(to);
            step.cut(to, from, check);
            self.end = (to, state);
            self.flip(system, i);
        }
    }

    /// Sets a mode bit at the instant reached; event functions that become active take the sign they have.
    pub fn set_mode<F: HybridSystem<N>>(&mut self, system: &F, bit: usize, on: bool) {
        let before = self.mode;
        self.mode.set(bit, on);
        self.activate(system, before, None);
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
        self.activate(system, before, Some(i));
    }

    /// Event functions that were inactive in the mode `before` and are active now take the sign they have.
    fn activate<F: HybridSystem<N>>(&mut self, system: &F, before: Mode, except: Option<usize>) {
        let (t, y) = self.end;
        let frozen_before = system.freeze(before);
        for j in (0..F::EVENT_FUNCTIONS).filter(|&j| Some(j) != except) {
            if frozen_before.event_function(j, t, &y).is_none()
                && let Some(g) = system.freeze(self.mode).event_function(j, t, &y)
            {
                self.mode.set(j, g > 0.0);
            }
        }
    }
}

#[inline(always)]
fn leaves_mode<const N: usize>(
    frozen: &impl FrozenMode<N>,
    i: usize,
    mode: Mode,
    t: f64,
    y: &State<N>,
) -> bool {
    frozen.event_function(i, t, y).is_some_and(|g| !mode.agrees(i, g) && g.abs() > frozen.least_beyond(i))
}
