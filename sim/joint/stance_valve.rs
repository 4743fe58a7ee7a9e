//! The load-triggered stance valve: the load it senses, when it closes, how fast.
//!
//! ```text
//! S = N [ w(x) + (1 − w(x)) A H(φ − φ_stop) ]
//! w(x) = clamp[(x_rel − x)/(x_rel − x_full), 0, 1]        H = smoothstep((φ − φ_stop − 4°)/6°)
//! z' = (u − z)/τ_v,   u = σ((S − S_on + h z)/ε_v)
//! ```
//! N vertical ground load and S sensed load (shares of body weight), x centre of pressure ahead of
//! the shank line (m; of the ankle, unless the foot is shifted), A armed (1 from landing, 0 once z has
//! fallen through ½ while the foot carries load), z 0 open to 1 closed, S_on catch load: a force in the
//! joint, so the same spring is a larger share of the weight of a light person. w: heel load counts fully,
//! forefoot load on a straight knee hardly, because the load line passes well ahead of the knee. H: once the
//! knee is bent under load, the load line is behind it and the valve senses the whole load; with the
//! published ground force the load line crosses the knee at 2-13°. x_rel 0.16 m, x_full −0.04 m (the heel at heel contact), the edges of H, τ_v 25 ms,
//! h 5 % and ε_v 1 % of body weight are engineering judgement \[J\]. σ is a regularised switch: for S more
//! than 4.6 ε_v from the threshold u is within 1 % of 0 or 1. It also reduces the hysteresis: with h/ε_v = 5
//! the loads at which a valve at rest jumps shut and open lie 0.32 % of body weight apart, not 5 %.
//! Checked in tests/closed_form/stance_valve.rs (lag step response).
//!
//! ```
//! use kneedamp::joint::StanceValve;
//! let valve = StanceValve::default();
//! assert_eq!(valve.heel_weight(-0.04), 1.0);
//! assert!(valve.heel_weight(0.14) < 0.11);
//! assert!(valve.command(1.0, 0.0, 0.23) > 0.99);
//! ```

use serde::{Deserialize, Serialize};

use super::damper::Orifice;
use crate::numerics::simd::{Lane, LaneMask};
use crate::numerics::smooth::smooth_cubic;
use crate::units::DEG;

/// What closes the stance valve.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Trigger {
    /// Load above the catch load.
    #[default]
    Load,
    /// Always closed, in swing too.
    Always,
    /// Never closed.
    None,
}

/// A stance valve as it acts on one person's joint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StanceValve<T = f64> {
    /// What closes it.
    pub trigger: Trigger,
    /// Flexion resistance when closed.
    pub yielding: Orifice<T>,
    /// Catch load S_on, N.
    pub catch_load_n: T,
    /// Lag τ_v, s.
    pub lag_s: T,
    /// Hysteresis h, share of body weight.
    pub hysteresis_bw: T,
    /// Width of the regularised switch ε_v, share of body weight.
    pub width_bw: T,
    /// Centre of pressure beyond which a straight knee senses no load, x_rel, m ahead of the ankle.
    pub release_distance_m: T,
    /// Centre of pressure up to which the valve senses all of the load, x_full, m ahead of the shank line.
    pub full_distance_m: T,
    /// Flexion from the stop at which bending begins to count, rad.
    pub bend_start_rad: T,
    /// Flexion from there to where it counts fully, rad.
    pub bend_span_rad: T,
}

/// Where a quantity lies relative to the two ends of a ramp: before, on or beyond it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RampBranch<M = bool> {
    past_start: M,
    past_end: M,
}

impl<M: LaneMask> RampBranch<M> {
    /// From whether the quantity is past the start and past the end of the ramp.
    #[must_use]
    #[inline(always)]
    pub fn new(past_start: M, past_end: M) -> Self {
        Self { past_start, past_end }
    }

    /// Whether past the start, and past the end.
    #[must_use]
    pub fn past(self) -> [M; 2] {
        [self.past_start, self.past_end]
    }

    /// One of three values: `before` the ramp, `on` it, `beyond` it.
    #[inline(always)]
    fn select<T: Lane<Mask = M>>(self, before: T, on: T, beyond: T) -> T {
        T::choose(self.past_end, beyond, T::choose(self.past_start, on, before))
    }
}

/// Smooth branch of the sensed load; integration keeps it fixed between events.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SensorBranch<M = bool> {
    /// Centre of pressure on the way from the heel to x_rel.
    pub pressure: RampBranch<M>,
    /// Flexion on the way from where it begins to count to where it counts fully.
    pub bend: RampBranch<M>,
}

/// The passage that other swing laws leave open beside them while the stance valve is open \[J\].
pub const OPEN_PASSAGE: Orifice = Orifice { a: 0.1, b: 0.1 };

impl Default for StanceValve {
    fn default() -> Self {
        Self {
            trigger: Trigger::Load,
            yielding: Orifice { a: 3.0, b: 30.0 },
            catch_load_n: 170.0,
            lag_s: 0.025,
            hysteresis_bw: 0.05,
            width_bw: 0.01,
            release_distance_m: 0.16,
            full_distance_m: -0.04,
            bend_start_rad: 4.0 * DEG,
            bend_span_rad: 6.0 * DEG,
        }
    }
}

impl StanceValve {
    /// The branch of a centre of pressure and a flexion from the extension stop.
    #[must_use]
    pub fn sensor_branch(&self, centre_of_pressure_m: f64, bend: f64) -> SensorBranch {
        let x = bend - self.bend_start_rad;
        SensorBranch {
            pressure: RampBranch::new(
                centre_of_pressure_m > self.full_distance_m,
                centre_of_pressure_m > self.release_distance_m,
            ),
            bend: RampBranch::new(x > 0.0, x > self.bend_span_rad),
        }
    }

    /// Weight w of the load on a straight knee, by centre of pressure (m ahead of the ankle).
    #[must_use]
    pub fn heel_weight(&self, centre_of_pressure_m: f64) -> f64 {
        self.heel_weight_on(self.sensor_branch(centre_of_pressure_m, 0.0).pressure, centre_of_pressure_m)
    }

    /// Weight H that bending adds; `bend` is flexion from the extension stop, rad.
    #[must_use]
    pub fn bend_weight(&self, bend: f64) -> f64 {
        self.bend_weight_on(self.sensor_branch(0.0, bend).bend, bend)
    }

    /// Sensed load S, in the unit of `load`.
    #[must_use]
    pub fn sensed(&self, load: f64, centre_of_pressure_m: f64, bend: f64, armed: bool) -> f64 {
        self.sensed_on(
            self.sensor_branch(centre_of_pressure_m, bend),
            load,
            centre_of_pressure_m,
            bend,
            armed,
        )
    }

    /// Steady state under a constant sensed load, reached from closed (`from_closed`) or from open.
    #[must_use]
    pub fn steady_state(&self, sensed_bw: f64, catch_bw: f64, from_closed: bool) -> f64 {
        // u grows with z, so fixed-point iteration converges monotonically to the nearest steady state, which
        // a root finder need not find
        let mut z = if from_closed { 1.0 } else { 0.0 };
        for _ in 0..10_000 {
            let next = self.command(sensed_bw, z, catch_bw);
            if (next - z).abs() < 1e-15 {
                break;
            }
            z = next;
        }
        z
    }

    /// State under lasting load: 1, or 0 for a valve that never closes.
    #[must_use]
    pub fn loaded_state(&self) -> f64 {
        if self.trigger == Trigger::None { 0.0 } else { 1.0 }
    }

    /// State at heel contact, after the foot was in the air: 0, or 1 for a valve that is always closed.
    #[must_use]
    pub fn unloaded_state(&self) -> f64 {
        if self.trigger == Trigger::Always { 1.0 } else { 0.0 }
    }
}

impl<T: Lane> StanceValve<T> {
    #[inline(always)]
    fn heel_weight_on(&self, ramp: RampBranch<T::Mask>, x: T) -> T {
        let falling =
            (self.release_distance_m - x).divided_by(self.release_distance_m - self.full_distance_m);
        ramp.select(x.splat(1.0), falling, x.splat(0.0))
    }

    #[inline(always)]
    fn bend_weight_on(&self, ramp: RampBranch<T::Mask>, bend: T) -> T {
        let (none, all) = (bend.splat(0.0), bend.splat(1.0));
        if !(ramp.past_start | ramp.past_end).any() {
            return none;
        }
        ramp.select(none, smooth_cubic((bend - self.bend_start_rad).divided_by(self.bend_span_rad)), all)
    }

    /// Sensed load S on a given branch, in the unit of `load`.
    #[must_use]
    #[inline(always)]
    pub fn sensed_on(
        &self,
        branch: SensorBranch<T::Mask>,
        load: T,
        centre_of_pressure_m: T,
        bend: T,
        armed: T::Mask,
    ) -> T {
        let w = self.heel_weight_on(branch.pressure, centre_of_pressure_m);
        let bent = w.splat(1.0) - w;
        load * T::choose(armed, bent.times_plus(self.bend_weight_on(branch.bend, bend), w), w)
    }

    /// Commanded state u; loads as shares of body weight.
    #[must_use]
    #[inline(always)]
    pub fn command(&self, sensed_bw: T, z: T, catch_bw: T) -> T {
        match self.trigger {
            Trigger::Load => {
                self.hysteresis_bw.times_plus(z, sensed_bw - catch_bw).sigmoid_over(self.width_bw)
            }
            Trigger::Always => z.splat(1.0),
            Trigger::None => z.splat(0.0),
        }
    }

    /// z', 1/s.
    #[must_use]
    #[inline(always)]
    pub fn rate(&self, sensed_bw: T, z: T, catch_bw: T) -> T {
        (self.command(sensed_bw, z, catch_bw) - z) / self.lag_s
    }
}
