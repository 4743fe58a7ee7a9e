//! What a hybrid system is to the integration, and what an integrator is to a hybrid system.

use nalgebra::SVector;

use super::events::{EventAction, Mode};
use super::tolerances::Tolerances;
use crate::error::SimError;

/// State vector.
pub type State<const N: usize> = SVector<f64, N>;

/// A system whose right-hand side is smooth within a mode and changes at events.
pub trait HybridSystem<const N: usize> {
    /// Number of event functions.
    const EVENT_FUNCTIONS: usize;
    /// The rates depend on the first so many states; the states behind them are integrals over time (works).
    const DYNAMIC_STATES: usize = N;

    /// The system in one mode, with everything that depends on the mode alone already computed.
    type FrozenMode<'a>: FrozenMode<N>
    where
        Self: 'a;

    /// The system in this mode.
    fn freeze(&self, mode: Mode) -> Self::FrozenMode<'_>;

    /// Called at an event of function `i`, after its sign has been flipped in `mode`.
    fn on_event(&self, i: usize, mode: &mut Mode, t: f64, y: &State<N>) -> EventAction;
}

/// A system in one mode: a smooth right-hand side and the event functions.
pub trait FrozenMode<const N: usize> {
    /// y' in this mode.
    fn rate(&self, t: f64, y: &State<N>, dy: &mut State<N>);

    /// Value of event function `i`, `None` while it is inactive.
    fn event_function(&self, i: usize, t: f64, y: &State<N>) -> Option<f64>;

    /// An event of function `i` counts once its value is further than this beyond zero: a smaller one is noise.
    fn least_beyond(&self, _i: usize) -> f64 {
        0.0
    }
}

/// What an integration cost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct IntegrationStats {
    /// Evaluations of the right-hand side.
    pub evaluations: usize,
    /// Accepted steps.
    pub accepted_steps: usize,
    /// Steps rejected for their error.
    pub rejected_steps: usize,
    /// Phases: one more than the events and prescribed instants within.
    pub phases: usize,
}

/// An initial value problem in one mode.
pub struct Phase<'a, const N: usize, M> {
    /// The system in its mode.
    pub frozen: &'a M,
    /// The mode.
    pub mode: Mode,
    /// As [`HybridSystem::EVENT_FUNCTIONS`].
    pub event_functions: usize,
    /// As [`HybridSystem::DYNAMIC_STATES`].
    pub dynamic_states: usize,
    /// Name in error messages.
    pub name: &'static str,
    /// Start and state there.
    pub start: (f64, State<N>),
    /// Latest end.
    pub until: f64,
    /// First step to try, s.
    pub first_step_s: f64,
    /// Error tolerances.
    pub tolerances: &'a Tolerances,
}

/// An accepted step.
pub struct AcceptedStep<const N: usize> {
    /// Its start, s.
    pub from: f64,
    /// Its length, s.
    pub length: f64,
    /// Its end, s.
    pub to: f64,
    /// State at its end.
    pub end: State<N>,
    /// Coefficients of its dense output (see [`dense_output`](super::dormand_prince::dense_output)).
    pub output: [State<N>; 5],
}

/// A method that advances a hybrid system in one mode.
pub trait Integrator {
    /// Whether it looks for events itself; else the trajectory looks for them in every step that is accepted.
    const FINDS_EVENTS: bool = false;

    /// Integrates from the start of the phase until its end, or until `accept` returns false: it is called
    /// with every accepted step, in order. One that finds events ends the last step at the first event, and gives
    /// its function.
    ///
    /// # Errors
    /// The step becomes too short, there are too many steps, or the state stops being finite.
    fn advance<const N: usize, M: FrozenMode<N>>(
        phase: &Phase<'_, N, M>,
        stats: &mut IntegrationStats,
        accept: impl FnMut(AcceptedStep<N>) -> bool,
    ) -> Result<Option<usize>, SimError>;
}
