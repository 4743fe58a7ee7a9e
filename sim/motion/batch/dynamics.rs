//! The equation of motion of a vector of strides.
//!
//! The laws are those of the joint, the pendulum and the pre-swing moment, called with vectors; only their sum is
//! here. Flexion counts from the extension stop, time in stride times, and torques are divided by the moment of
//! inertia, which is then 1: no slope has to convert anything.

use super::drive_table::{DrivePoint, STAGE_FRACTIONS, TimeCell};
use super::switches::{Mode, STANCE, SWING, SWING_OPEN, decays, is_preswing, on_ground, switch};
use crate::joint::damper::{ConstantFriction, Orifice, ValveOpening};
use crate::joint::{AssistSpring, Cushion, EndStop, RampBranch, SensorBranch, StanceValve};
use crate::motion::preswing::Preswing;
use crate::motion::swing::{Pendulum, PivotAcceleration};
use crate::numerics::simd::{Lane, LaneMask};
use crate::numerics::vector::{SATURATED, TANH_SATURATED};

/// One over the tolerated error of the valve, however early: the instant of its release is an outcome.
const RELEASE_PER_VALVE: f64 = 1.0 / 1e-5;
/// Weight of an error of ω in swing, where nothing damps it: the errors of many steps add up.
pub const SWING_WEIGHT: f64 = 3.0;

/// Joint, shank and person of a vector of strides. Flexion counts from the extension stop, time in stride
/// times; torques are divided by the moment of inertia.
#[derive(Clone, Copy)]
pub struct Joint<T> {
    /// Oil in flexion, between the swing setting and the stance valve.
    pub opening: ValveOpening<T>,
    /// Oil in extension.
    pub extension: Orifice<T>,
    /// Cushion; where there is none, its range begins far beyond reach.
    pub cushion: Cushion<T>,
    /// Extension stop.
    pub stop: EndStop<T>,
    /// Assist spring.
    pub assist: AssistSpring<T>,
    /// Seals.
    pub friction: ConstantFriction<T>,
    /// Stance valve, its catch load as a share of body weight.
    pub valve: StanceValve<T>,
    /// 1/τ_v.
    pub per_lag: T,
    /// Forward shift of the foot, m.
    pub shift: T,
    /// Stature, m.
    pub stature: T,
    /// Body weight: a torque per arm in m.
    pub weight: T,
    /// Least weight of an error of ω in pre-swing.
    pub least_weight: T,
    /// Shank.
    pub pendulum: Pendulum<T>,
    /// Sine and cosine of φ − ε at the stop.
    pub rest: (T, T),
    /// Pre-swing.
    pub preswing: Preswing<T>,
    /// 1/T, 1/s.
    pub per_period: T,
    /// Oil torque at which the relief opens: the batch ends there.
    pub relief_n_m: T,
    /// Flexion stop: the batch ends there.
    pub flexion_stop_rad: T,
}

/// State with its slope.
#[derive(Clone, Copy)]
pub struct State<T> {
    /// Flexion from the extension stop.
    pub bend: T,
    /// ω.
    pub omega: T,
    /// Valve.
    pub z: T,
    /// sin(φ − ε).
    pub sin: T,
    /// cos(φ − ε).
    pub cos: T,
    /// φ''.
    pub acc: T,
    /// z'.
    pub z_rate: T,
}

impl<T: Lane> State<T> {
    /// `yes` where `mask` holds, `no` elsewhere.
    #[inline(always)]
    pub fn choose(mask: T::Mask, yes: &Self, no: &Self) -> Self {
        Self {
            bend: T::choose(mask, yes.bend, no.bend),
            omega: T::choose(mask, yes.omega, no.omega),
            z: T::choose(mask, yes.z, no.z),
            sin: T::choose(mask, yes.sin, no.sin),
            cos: T::choose(mask, yes.cos, no.cos),
            acc: T::choose(mask, yes.acc, no.acc),
            z_rate: T::choose(mask, yes.z_rate, no.z_rate),
        }
    }
}

/// The drive at an instant for each lane, with every term that does not depend on the state.
#[derive(Clone, Copy)]
pub struct DriveSample<T> {
    pivot: PivotAcceleration<T>,
    load_bw: T,
    /// Centre of pressure, m.
    pub pressure_m: T,
    /// Bend of a released knee, and its rate.
    pub released: [T; 2],
    /// Correction (pre-swing) of a knee that is straight and at rest.
    lead: T,
}

/// The drive at the stages of a step.
pub type StageDrives<T> = [DriveSample<T>; STAGE_FRACTIONS.len()];

/// The laws of a step, each on the branch that the mode gives, with their constant terms summed.
#[derive(Clone, Copy)]
pub struct FrozenLaws<T: Lane> {
    /// The mode.
    pub mode: Mode<T>,
    armed: T::Mask,
    /// Oil in flexion, with the damping of the correction.
    opening: ValveOpening<T>,
    /// Oil where neither valve nor cushion acts: τ = −(a + b ω) ω, b negative in extension.
    oil: Orifice<T>,
    /// The knee extends within the cushion's range.
    cushioned: T::Mask,
    /// The stop pushes.
    pushed: T::Mask,
    /// The smoothed friction is at ±1 in all lanes, and part of `constant`.
    saturated: bool,
    constant: T,
    per_bend: T,
    /// Share of the correction that acts.
    share: T,
}

impl<T: Lane> Joint<T> {
    /// Effect of the drive on these strides at an instant.
    #[inline(always)]
    pub fn drive_sample<const KIND: usize>(&self, point: &DrivePoint<T>) -> DriveSample<T> {
        let zero = self.shift.splat(0.0);
        let pivot =
            PivotAcceleration { thigh_acc: point.thigh_acc, across: point.across, along: point.along };
        let pressure_m = self.stature.times_plus(point.pressure, self.shift);
        let at = DriveSample { pivot, load_bw: point.load_bw, pressure_m, released: [zero; 2], lead: zero };
        if !is_preswing(KIND) {
            return at;
        }
        let released = [point.bend, point.bend_rate];
        // θ'' acts on the released knee as on this one, and cancels
        let still = PivotAcceleration { thigh_acc: zero, ..pivot };
        let pulled = self.pendulum.pivot_torque(&still, rotated(self.rest, (point.bend_sin, point.bend_cos)));
        let ordinary = self.preswing.ordinary(&self.pendulum, pulled, point.bend_rate, point.bend_acc);
        let arm_m = self.stature.times_plus(point.pressure_shift, self.shift);
        let ordinary = ordinary - self.weight * point.load_bw * arm_m;
        DriveSample {
            pivot: PivotAcceleration { thigh_acc: ordinary, ..pivot },
            released,
            lead: self.preswing.correction(&self.pendulum, zero, zero, released),
            ..at
        }
    }

    /// Effect of the drive at the stages of a step.
    #[inline(always)]
    pub fn stage_drives<const KIND: usize>(
        &self,
        points: &[DrivePoint; STAGE_FRACTIONS.len()],
    ) -> StageDrives<T> {
        let zero = self.shift.splat(0.0);
        [
            self.drive_sample::<KIND>(&points[0].splat(zero)),
            self.drive_sample::<KIND>(&points[1].splat(zero)),
            self.drive_sample::<KIND>(&points[2].splat(zero)),
            self.drive_sample::<KIND>(&points[3].splat(zero)),
            self.drive_sample::<KIND>(&points[4].splat(zero)),
            self.drive_sample::<KIND>(&points[5].splat(zero)),
        ]
    }

    /// One over the tolerated error of the valve, `left` strides before the knee begins to move. An error decays as
    /// e^(−t/τ_v) while the valve is at one end; three lags, in which it may be half-way, do not count.
    #[inline(always)]
    pub fn per_valve<const KIND: usize>(&self, full: f64, left: f64) -> T {
        let one = self.shift.splat(1.0);
        if KIND != STANCE {
            return one * full;
        }
        let lags = (self.per_lag * left - 3.0).greater(one * 0.0);
        // e^(−x) ≤ (1 + x/8)^−8
        let e = lags * 0.125 + 1.0;
        let e = e * e * (e * e);
        (one * full / (e * e)).greater(one * RELEASE_PER_VALVE.min(full))
    }

    /// One over the tolerated error of ω, `left` strides before toe-off. In swing an error stays; in pre-swing the
    /// correction reduces it as (1 + x) e^(−x), x = ω₀ t, while the effort suffices. Its weight is at least
    /// [`Member::least_weight`](super::Member): the effort may not suffice later.
    #[inline(always)]
    pub fn per_omega<const KIND: usize>(&self, full: f64, left: f64, mode: &Mode<T>) -> T {
        let one = self.shift.splat(1.0);
        let weight = self.per_period * full;
        if !is_preswing(KIND) {
            return weight * SWING_WEIGHT;
        }
        let x = self.preswing.tracking.per_rate * (0.5 * left);
        let e = x * 0.125 + 1.0;
        let e = e * e * (e * e);
        let fade = ((x + 1.0) / (e * e)).greater(self.least_weight);
        let lasting = one.greater(self.least_weight);
        T::choose(mode[switch::LOW] & !mode[switch::HIGH], fade, lasting) * weight
    }

    /// Freezes the laws for a step of `h` that begins at `s` in `mode`.
    #[inline(always)]
    pub fn freeze<const KIND: usize>(
        &self,
        mode: Mode<T>,
        armed: T::Mask,
        s: &State<T>,
        h: T,
    ) -> FrozenLaws<T> {
        let zero = h.splat(0.0);
        let (flexing, bent) = (mode[switch::RATE], !mode[switch::DEPTH]);
        let mut opening = self.opening;
        let mut oil = self.extension.for_extension();
        let assist = self.assist.line_on(bent);
        let (mut constant, mut per_bend, mut share) = (assist.preload, assist.per_bend, zero);
        if is_preswing(KIND) {
            // either the correction acts, or the greatest effort, one way or the other
            let effort = self.preswing.effort_n_m;
            let within = mode[switch::LOW] & !mode[switch::HIGH];
            share = T::choose(within, zero.splat(1.0), zero);
            constant = constant + T::choose(within, zero, T::choose(mode[switch::HIGH], effort, -effort));
            per_bend = per_bend - share * self.preswing.tracking.per_rad;
            let per_rate = share * self.preswing.tracking.per_rate;
            opening.swing.a = opening.swing.a + per_rate;
            oil.a = oil.a + per_rate;
        }
        if KIND == SWING_OPEN {
            oil = Orifice {
                a: T::choose(flexing, opening.swing.a, oil.a),
                b: T::choose(flexing, opening.swing.b, oil.b),
            };
        }
        // friction is at ±1 at the start and, by φ'', up to twice as far as the end
        let slowest = s.omega.abs() - (s.acc * h).abs() * 2.0;
        let sliding = slowest.above(self.friction.smoothing_rad_per_s * TANH_SATURATED) & bent;
        let saturated = !(!sliding).any();
        if saturated {
            constant = constant + T::choose(flexing, -self.friction.torque_n_m, self.friction.torque_n_m);
        }
        FrozenLaws {
            mode,
            armed,
            opening,
            oil,
            cushioned: mode[switch::CUSHION] & !flexing,
            pushed: mode[switch::DEPTH] & mode[switch::PUSH],
            saturated,
            constant,
            per_bend,
            share,
        }
    }

    /// Slope of ω and valve.
    #[inline(always)]
    pub fn slope<const KIND: usize>(
        &self,
        laws: &FrozenLaws<T>,
        at: &DriveSample<T>,
        s: &State<T>,
    ) -> (T, T) {
        let zero = s.bend.splat(0.0);
        let acc = if KIND == STANCE { zero } else { self.acceleration::<KIND>(laws, at, s) };
        if KIND == SWING_OPEN {
            return (acc, zero);
        }
        if decays(KIND) {
            return (acc, -(s.z * self.per_lag));
        }
        let sensed = self.sensed::<KIND>(laws, at, s.bend);
        (acc, (self.valve.command(sensed, s.z, self.valve.catch_load_n) - s.z) * self.per_lag)
    }

    /// Load on the foot as the stance valve senses it, share of body weight.
    #[inline(always)]
    fn sensed<const KIND: usize>(&self, laws: &FrozenLaws<T>, at: &DriveSample<T>, bend: T) -> T {
        let zero = bend.splat(0.0);
        if KIND == SWING {
            return zero;
        }
        let (mode, armed) = (&laws.mode, laws.armed);
        let never = zero.above(zero);
        let (begun, full) =
            if KIND == STANCE { (never, never) } else { (mode[switch::BEGUN], mode[switch::FULL]) };
        // in late stance the centre of pressure has long passed the heel
        let heel = if KIND == STANCE { mode[switch::HEEL] } else { !never };
        let felt = SensorBranch {
            pressure: RampBranch::new(heel, mode[switch::RELEASED]),
            bend: RampBranch::new(begun & armed, full & armed),
        };
        self.valve.sensed_on(felt, at.load_bw, at.pressure_m, bend, armed)
    }

    /// Whether all valves of a vector open undisturbed to the end of the phase: released, less than half closed and
    /// so far below the catch load, even with the greatest load still to come at its rearmost place, that none begins
    /// to close.
    #[inline(always)]
    pub fn has_released<const KIND: usize>(&self, armed: T::Mask, z: T, cell: &TimeCell) -> bool {
        let zero = z.splat(0.0);
        if !on_ground(KIND) {
            return self.stays_open(zero, z);
        }
        if (armed | z.above(z.splat(0.5))).any() {
            return false;
        }
        let never = zero.above(zero);
        let pressure_m = self.stature * cell.least_pressure + self.shift;
        let released = pressure_m.above(self.valve.release_distance_m);
        let felt =
            SensorBranch { pressure: RampBranch::new(!never, released), bend: RampBranch::new(never, never) };
        let load_bw = z.splat(cell.most_load_bw);
        self.stays_open(self.valve.sensed_on(felt, load_bw, pressure_m, zero, never), z)
    }

    /// Whether no valve begins to close at the `sensed` load.
    #[inline(always)]
    fn stays_open(&self, sensed: T, z: T) -> bool {
        let valve = &self.valve;
        let reached =
            valve.hysteresis_bw.times_plus(z, valve.width_bw.times_plus(z.splat(SATURATED), sensed));
        !reached.above(valve.catch_load_n).any()
    }

    /// Torque with which the oil resists flexing.
    #[inline(always)]
    pub fn resists_flexing<const KIND: usize>(&self, omega: T, z: T) -> T {
        let orifice = if KIND == SWING_OPEN { self.opening.swing } else { self.opening.at(z) };
        orifice.resistance(omega)
    }

    #[inline(always)]
    fn acceleration<const KIND: usize>(&self, laws: &FrozenLaws<T>, at: &DriveSample<T>, s: &State<T>) -> T {
        let zero = s.bend.splat(0.0);
        let (flexing, bent) = (laws.mode[switch::RATE], !laws.mode[switch::DEPTH]);
        let mut oil = laws.oil;
        if KIND != SWING_OPEN && flexing.any() {
            let by_valve = laws.opening.at(s.z);
            oil = Orifice {
                a: T::choose(flexing, by_valve.a, oil.a),
                b: T::choose(flexing, by_valve.b, oil.b),
            };
        }
        if laws.cushioned.any() {
            let factor = self.cushion.factor_on(bent, s.bend);
            oil.b = T::choose(laws.cushioned, oil.b * factor, oil.b);
        }
        let mut torque = laws.constant + at.pivot.thigh_acc;
        if is_preswing(KIND) {
            torque = laws.share.times_plus(at.lead, torque);
        }
        torque = laws.per_bend.times_plus(s.bend, torque);
        if !laws.saturated {
            torque = torque + self.friction.torque(s.omega);
        }
        if laws.pushed.any() {
            torque = torque + T::choose(laws.pushed, self.stop.contact_torque(-s.bend, -s.omega), zero);
        }
        torque = oil.net_torque(s.omega, torque);
        // with a moment of inertia of 1 a torque adds to θ''
        self.pendulum.pivot_torque(&PivotAcceleration { thigh_acc: torque, ..at.pivot }, (s.sin, s.cos))
    }
}

/// Sine and cosine of the sum of two angles.
#[inline(always)]
pub fn rotated<T: Lane>((sin, cos): (T, T), (s, c): (T, T)) -> (T, T) {
    (sin.times_plus(c, cos * s), cos.times_plus(c, -(sin * s)))
}
