//! One step of the method of Dormand and Prince, order 5(4), its continuous output and its step control.
//!
//! ```text
//! k_s = f(t + c_s h, y + h Σ a_sj k_j)      y₁ = y + h Σ a_7j k_j      e = h Σ e_j k_j
//! y(t + ϑh) = r₀ + ϑ{r₁ + (1−ϑ)[r₂ + ϑ(r₃ + (1−ϑ) r₄)]}   r₀ = y, r₁ = y₁ − y, r₂ = h k₁ − r₁, r₃ = r₁ − h k₇ − r₂
//! next h = h / clamp(ε^0.17 ε_before^−0.04 / 0.9, 1/10, 5),   ε = rms of e over the tolerance of each state
//! ```
//! The seventh slope is the first of the next step. r₄ = h Σ d_j k_j makes the continuous output of order 4
//! (local error h⁵). Dormand & Prince 1980, J Comput Appl Math 6:19, doi 10.1016/0771-050X(80)90013-3;
//! continuous output and control as in Hairer, Nørsett & Wanner, Solving Ordinary Differential Equations I,
//! 1993, II.4-II.6 (from memory; both are tested against another code in tests/cross_code/dormand_prince.rs).
//!
//! States that no slope depends on (works) are summed up at the end of a step only.

use super::hybrid::State;
use super::tolerances::Tolerances;

/// Instants of the stages, shares of a step; the last two are its end. The batch takes the same weights.
pub(crate) const C: [f64; 4] = [1.0 / 5.0, 3.0 / 10.0, 4.0 / 5.0, 8.0 / 9.0];
pub(crate) const A2: [f64; 1] = [1.0 / 5.0];
pub(crate) const A3: [f64; 2] = [3.0 / 40.0, 9.0 / 40.0];
pub(crate) const A4: [f64; 3] = [44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0];
pub(crate) const A5: [f64; 4] = [19372.0 / 6561.0, -25360.0 / 2187.0, 64448.0 / 6561.0, -212.0 / 729.0];
pub(crate) const A6: [f64; 5] =
    [9017.0 / 3168.0, -355.0 / 33.0, 46732.0 / 5247.0, 49.0 / 176.0, -5103.0 / 18656.0];
// from here on the second slope has no weight
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
pub(crate) struct Slopes<const N: usize> {
    /// At its start.
    pub first: State<N>,
    /// At its end.
    pub last: State<N>,
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
    pub fn begin(first: State<N>) -> Self {
        let none = State::<N>::zeros();
        Self { first, last: none, second: none, inner: [none; 4] }
    }

    /// One step of `h` from `y` at `t`; slopes depend on the first `leading` states.
    #[inline(always)]
    pub fn step(
        &mut self,
        leading: usize,
        rate: impl Fn(f64, &State<N>, &mut State<N>),
        t: f64,
        y: &State<N>,
        h: f64,
    ) -> State<N> {
        let mut at = *y;
        let k1 = &self.first;
        for i in 0..leading {
            at[i] = y[i] + h * sum(&A2, [k1], i);
        }
        rate(t + C[0] * h, &at, &mut self.second);
        let k2 = &self.second;
        for i in 0..leading {
            at[i] = y[i] + h * sum(&A3, [k1, k2], i);
        }
        let [k3, k4, k5, k6] = &mut self.inner;
        rate(t + C[1] * h, &at, k3);
        for i in 0..leading {
            at[i] = y[i] + h * sum(&A4, [k1, k2, k3], i);
        }
        rate(t + C[2] * h, &at, k4);
        for i in 0..leading {
            at[i] = y[i] + h * sum(&A5, [k1, k2, k3, k4], i);
        }
        rate(t + C[3] * h, &at, k5);
        for i in 0..leading {
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

    /// Error of the step from `y` to `end` over what is allowed: above 1 it has to be taken again.
    #[inline]
    pub fn error(&self, tolerances: &Tolerances, y: &State<N>, end: &State<N>, h: f64) -> f64 {
        let slopes = self.weighted();
        let mut square = 0.0;
        for i in 0..N {
            let allowed = tolerances.absolute + tolerances.relative * y[i].abs().max(end[i].abs());
            let off = h * sum(&E, slopes, i) / allowed;
            square += off * off;
        }
        (square / N as f64).sqrt()
    }

    /// Coefficients r₀ to r₄ of the continuous output.
    #[inline]
    pub fn output(&self, y: &State<N>, end: &State<N>, h: f64) -> [State<N>; 5] {
        let slopes = self.weighted();
        let mut r = [*y; 5];
        for i in 0..N {
            let moved = end[i] - y[i];
            let bent = h * self.first[i] - moved;
            r[1][i] = moved;
            r[2][i] = bent;
            r[3][i] = moved - h * self.last[i] - bent;
            r[4][i] = h * sum(&D, slopes, i);
        }
        r
    }
}

/// The continuous output at a share ϑ of the step.
#[inline]
pub(crate) fn dense_output<const N: usize>(r: &[State<N>; 5], share: f64) -> State<N> {
    let rest = 1.0 - share;
    let mut y = r[0];
    for i in 0..N {
        y[i] += share * (r[1][i] + rest * (r[2][i] + share * (r[3][i] + rest * r[4][i])));
    }
    y
}

/// How long the next step may be, from the errors of this one and the one before (PI control).
pub(crate) struct Control {
    /// ln of the error before.
    log_before: f64,
    rejected: bool,
}

/// Powers of the error of this step and of the one before.
const NOW: f64 = 0.2 - 0.75 * BEFORE;
const BEFORE: f64 = 0.04;
const SAFETY: f64 = 0.9;
/// Least and greatest factor from one step to the next.
const SHRINKS: f64 = 0.2;
const GROWS: f64 = 10.0;
/// Errors below this count as this much for the step after the next.
const LEAST_ERROR: f64 = 1e-4;

impl Control {
    pub fn begin() -> Self {
        Self { log_before: LEAST_ERROR.ln(), rejected: false }
    }

    /// Whether a step of `h` with this error holds, and how long the next one may be.
    #[inline]
    pub fn accept_step(&mut self, error: f64, h: f64, longest: f64) -> (bool, f64) {
        let log = error.ln();
        if error <= 1.0 {
            let shorter =
                ((NOW * log - BEFORE * self.log_before).exp() / SAFETY).clamp(1.0 / GROWS, 1.0 / SHRINKS);
            let most = if self.rejected { longest.min(h) } else { longest };
            self.log_before = log.max(LEAST_ERROR.ln());
            self.rejected = false;
            (true, (h / shorter).min(most))
        } else {
            self.rejected = true;
            (false, h / ((NOW * log).exp() / SAFETY).min(1.0 / SHRINKS))
        }
    }
}
