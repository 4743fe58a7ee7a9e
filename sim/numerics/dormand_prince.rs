//! The method of Dormand and Prince, order 5(4), with its dense output and its step control.
//!
//! ```text
//! k_s = f(t + c_s h, y + h Σ a_sj k_j)      y₁ = y + h Σ a_7j k_j      e = h Σ e_j k_j
//! y(t + ϑh) = r₀ + ϑ{r₁ + (1−ϑ)[r₂ + ϑ(r₃ + (1−ϑ) r₄)]}   r₀ = y, r₁ = y₁ − y, r₂ = h k₁ − r₁, r₃ = r₁ − h k₇ − r₂
//! next h = h / clamp(ε^0.17 ε_before^−0.04 / 0.9, 1/10, 5),   ε = rms of e over the tolerance of each state
//! ```
//! The seventh slope is the first of the next step. r₄ = h Σ d_j k_j gives the dense output order 4 (local
//! error h⁵). Dormand & Prince 1980, J Comput Appl Math 6:19, doi 10.1016/0771-050X(80)90013-3;
//! dense output and control as in Hairer, Nørsett & Wanner, Solving Ordinary Differential Equations I,
//! 1993, II.4-II.6 (from memory; both are tested against another code in tests/cross_code/dormand_prince.rs).
//!
//! States that no slope depends on (works) are computed at the end of a step only, not at its stages.

use super::system::{AcceptedStep, FrozenMode, IntegrationStats, Integrator, Phase, State};
use super::tolerances::Tolerances;
use crate::error::SimError;
use crate::numerics::math;

/// More steps than this in one phase mean that the integration does not come to an end.
const MOST_STEPS: usize = 200_000;

/// Nodes of the stages, shares of a step; the last two stages are at its end. The batch uses the same weights.
pub(crate) const C: [f64; 4] = [1.0 / 5.0, 3.0 / 10.0, 4.0 / 5.0, 8.0 / 9.0];
pub(crate) const A2: [f64; 1] = [1.0 / 5.0];
pub(crate) const A3: [f64; 2] = [3.0 / 40.0, 9.0 / 40.0];
pub(crate) const A4: [f64; 3] = [44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0];
pub(crate) const A5: [f64; 4] = [19372.0 / 6561.0, -25360.0 / 2187.0, 64448.0 / 6561.0, -212.0 / 729.0];
pub(crate) const A6: [f64; 5] =
    [9017.0 / 3168.0, -355.0 / 33.0, 46732.0 / 5247.0, 49.0 / 176.0, -5103.0 / 18656.0];
// the second slope has no weight in A7, E and D
pub(crate) const A7: [f64; 5] = [35.0 / 384.0, 500.0 / 1113.0, 125.0 / 192.0, -2187.0 / 6784.0, 11.0 / 84.0];
pub(crate) const E: [f64; 6] =
    [71.0 / 57600.0, -71.0 / 16695.0, 71.0 / 1920.0, -17253.0 / 339_200.0, 22.0 / 525.0, -1.0 / 40.0];
const D: [f64; 6] = [
    -12_715_105_075.0 / 11_282_082_432.0,
    87_487_479_700.0 / 32_700_410_799.0,
    -10_690_763_975.0 / 1_880_347_072.0,
    701_980_252_875.0 / 199_316_789_632.0,
    -1_453_857_185.0 / 822_651_844.0,
    69_997_945.0 / 29_380_423.0,
];

/// Slopes of one step.
struct Slopes<const N: usize> {
    /// At its start.
    first: State<N>,
    /// At its end.
    last: State<N>,
    second: State<N>,
    inner: [State<N>; 4],
}

/// Σ wⱼ kⱼ of state `i`.
#[inline(always)]
fn sum<const N: usize, const K: usize>(weights: &[f64; K], slopes: [&State<N>; K], i: usize) -> f64 {
    let mut total = weights[0] * slopes[0][i];
    for j in 1..K {
        total += weights[j] * slopes[j][i];
    }
    total
}

impl<const N: usize> Slopes<N> {
    /// Before the first step: only the first slope is known.
    fn new(first: State<N>) -> Self {
        let zero = State::<N>::zeros();
        Self { first, last: zero, second: zero, inner: [zero; 4] }
    }

    /// One step of `h` from `y` at `t`; slopes depend on the first `dynamic` states.
    #[inline(always)]
    fn step(
        &mut self,
        dynamic: usize,
        rate: impl Fn(f64, &State<N>, &mut State<N>),
        t: f64,
        y: &State<N>,
        h: f64,
    ) -> State<N> {
        let mut at = *y;
        let k1 = &self.first;
        for i in 0..dynamic {
            at[i] = y[i] + h * sum(&A2, [k1], i);
        }
        rate(t + C[0] * h, &at, &mut self.second);
        let k2 = &self.second;
        for i in 0..dynamic {
            at[i] = y[i] + h * sum(&A3, [k1, k2], i);
        }
        let [k3, k4, k5, k6] = &mut self.inner;
        rate(t + C[1] * h, &at, k3);
        for i in 0..dynamic {
            at[i] = y[i] + h * sum(&A4, [k1, k2, k3], i);
        }
        rate(t + C[2] * h, &at, k4);
        for i in 0..dynamic {
            at[i] = y[i] + h * sum(&A5, [k1, k2, k3, k4], i);
        }
        rate(t + C[3] * h, &at, k5);
        for i in 0..dynamic {
            at[i] = y[i] + h * sum(&A6, [k1, k2, k3, k4, k5], i);
        }
        rate(t + h, &at, k6);
        for i in 0..N {
            at[i] = y[i] + h * sum(&A7, [k1, k3, k4, k5, k6], i);
        }
        rate(t + h, &at, &mut self.last);
        at
    }

    fn weighted(&self) -> [&State<N>; 6] {
        let [k3, k4, k5, k6] = &self.inner;
        [&self.first, k3, k4, k5, k6, &self.last]
    }

    /// Error of the step from `y` to `end` over its tolerance; above 1 the step is rejected.
    #[inline]
    fn error(&self, tolerances: &Tolerances, y: &State<N>, end: &State<N>, h: f64) -> f64 {
        let slopes = self.weighted();
        let mut square = 0.0;
        for i in 0..N {
            let tolerance = tolerances.absolute + tolerances.relative * y[i].abs().max(end[i].abs());
            let ratio = h * sum(&E, slopes, i) / tolerance;
            square += ratio * ratio;
        }
        (square / N as f64).sqrt()
    }

    /// Coefficients r₀ to r₄ of the dense output.
    #[inline]
    fn output(&self, y: &State<N>, end: &State<N>, h: f64) -> [State<N>; 5] {
        let slopes = self.weighted();
        let mut r = [*y; 5];
        for i in 0..N {
            r[1][i] = end[i] - y[i];
            r[2][i] = h * self.first[i] - r[1][i];
            r[3][i] = r[1][i] - h * self.last[i] - r[2][i];
            r[4][i] = h * sum(&D, slopes, i);
        }
        r
    }
}

/// The dense output at a share ϑ of the step.
#[inline]
pub fn dense_output<const N: usize>(r: &[State<N>; 5], share: f64) -> State<N> {
    let remaining = 1.0 - share;
    let mut y = r[0];
    for i in 0..N {
        y[i] += share * (r[1][i] + remaining * (r[2][i] + share * (r[3][i] + remaining * r[4][i])));
    }
    y
}

/// PI control of the step length, from the errors of this step and of the one before.
struct StepControl {
    /// ln of the error of the step before.
    log_before: f64,
    rejected: bool,
}

/// Exponents of the error of this step and of the one before.
const EXPONENT: f64 = 0.2 - 0.75 * EXPONENT_BEFORE;
const EXPONENT_BEFORE: f64 = 0.04;
const SAFETY: f64 = 0.9;
/// Least and greatest factor from one step to the next.
const LEAST_FACTOR: f64 = 0.2;
const GREATEST_FACTOR: f64 = 10.0;
/// Errors below this count as this much when they are the error before.
const LEAST_ERROR: f64 = 1e-4;

impl StepControl {
    fn new() -> Self {
        Self { log_before: math::ln(LEAST_ERROR), rejected: false }
    }

    /// Whether a step of `h` with this error is accepted, and the length of the next step to try.
    #[inline]
    fn accept_step(&mut self, error: f64, h: f64, longest: f64) -> (bool, f64) {
        let log = math::ln(error);
        if error <= 1.0 {
            let shorter = (math::exp(EXPONENT * log - EXPONENT_BEFORE * self.log_before) / SAFETY)
                .clamp(1.0 / GREATEST_FACTOR, 1.0 / LEAST_FACTOR);
            let most = if self.rejected { longest.min(h) } else { longest };
            self.log_before = log.max(math::ln(LEAST_ERROR));
            self.rejected = false;
            (true, (h / shorter).min(most))
        } else {
            self.rejected = true;
            (false, h / (math::exp(EXPONENT * log) / SAFETY).min(1.0 / LEAST_FACTOR))
        }
    }
}

/// The integrator of all motions.
pub struct DormandPrince;

impl Integrator for DormandPrince {
    fn advance<const N: usize, M: FrozenMode<N>>(
        phase: &Phase<'_, N, M>,
        stats: &mut IntegrationStats,
        mut accept: impl FnMut(AcceptedStep<N>) -> bool,
    ) -> Result<Option<usize>, SimError> {
        let &Phase { frozen, until, tolerances, .. } = phase;
        let (mut t, mut y) = phase.start;
        let longest = tolerances.fixed_step_s.unwrap_or(tolerances.longest_step_s);
        let mut next = tolerances.fixed_step_s.unwrap_or(phase.first_step_s);
        let mut first = State::<N>::zeros();
        frozen.rate(t, &y, &mut first);
        stats.evaluations += 1;
        let mut slopes = Slopes::new(first);
        let mut control = StepControl::new();
        let failed = |t_s: f64, why: String| SimError::Integration { phase: phase.name, t_s, why };
        for _ in 0..MOST_STEPS {
            if 0.1 * next <= f64::EPSILON * t.abs() {
                return Err(failed(t, "the step became too short".into()));
            }
            // a remainder below a hundredth of this step is not worth a step of its own
            let last = t + 1.01 * next > until;
            let h = if last { until - t } else { next };
            let end = slopes.step(phase.dynamic_states, |t, y, dy| frozen.rate(t, y, dy), t, &y, h);
            stats.evaluations += 6;
            let error = slopes.error(tolerances, &y, &end, h);
            let (accepted, after) = match tolerances.fixed_step_s {
                Some(fixed) => (true, fixed),
                None => control.accept_step(error, h, longest),
            };
            if !accepted {
                stats.rejected_steps += 1;
                next = after;
                continue;
            }
            if !end.iter().all(|v| v.is_finite()) {
                return Err(failed(t, "the state is no longer finite".into()));
            }
            stats.accepted_steps += 1;
            let to = if last { until } else { t + h };
            let output = slopes.output(&y, &end, h);
            if !accept(AcceptedStep { from: t, length: h, to, end, output }) || last {
                return Ok(None);
            }
            slopes.first = slopes.last;
            (t, y, next) = (to, end, after);
        }
        Err(failed(t, format!("more than {MOST_STEPS} steps")))
    }
}
