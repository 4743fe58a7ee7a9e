//! The equation of motion of strides side by side.
//!
//! The laws are those of the joint, the pendulum and the pre-swing moment, at work on vectors; only
//! their sum stands here. Flexion is counted from the extension stop, time in stride times, and torques per
//! moment of inertia, which is then 1: nothing of it has to be worked out again in every slope.

use super::drive_table::{DrivePoint, STAGE_FRACTIONS, TimeCell};
use super::switches::{Mode, OPEN, STANCE, SWING, decays, is_preswing, on_ground, switch};
use super::vector::{TANH_THROWN, THROWN};
use crate::joint::damper::{ConstantFriction, Orifice, ValveOpening};
use crate::joint::{AssistSpring, Cushion, EndStop, SensorBranch, Span, StanceValve};
use crate::motion::preswing::Preswing;
use crate::motion::swing::{Pendulum, PivotAcceleration};
use crate::numerics::simd::{Lane, LaneMask};

/// One over the error of the valve that a step may make, however early: its release is an instant to be found.
const RELEASE_PER_VALVE: f64 = 1.0 / 1e-5;
/// What an error of ω counts in swing, where nothing takes it back: many steps add up.
const SWING_WEIGHT: f64 = 3.0;
/// What an error of ω counts at least in pre-swing.
const LEAST_WEIGHT: f64 = 1.0 / 8.0;

/// Joint, shank and person of a vector of strides. Angles of flexion are counted from the extension
/// stop, time in stride times; torques are divided by the moment of inertia.
#[derive(Clone, Copy)]
pub struct Joint<T> {
    /// Flexion, between swing and stance.
    pub opening: ValveOpening<T>,
    /// Extension.
    pub extension: Orifice<T>,
    /// Cushion; begins far beyond reach where there is none.
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
    /// Foot further forward by this.
    pub shift: T,
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

/// The drive at an instant, for the lanes: with what does not depend on the state.
#[derive(Clone, Copy)]
pub struct DriveSample<T> {
    pull: PivotAcceleration<T>,
    load_bw: T,
    /// Centre of pressure.
    pub pressure_m: T,
    /// Bend of a released knee, and its rate.
    pub released: [T; 2],
    /// The correction of a knee that is straight and at rest.
    lead: T,
}

/// The drive at the start of a step and at its instants.
pub type StageDrives<T> = [DriveSample<T>; STAGE_FRACTIONS.len()];

/// A step's equation: the laws on the branch of its mode, with what stays the same there worked out.
#[derive(Clone, Copy)]
pub struct FrozenLaws<T: Lane> {
    /// The mode.
    pub mode: Mode<T>,
    armed: T::Mask,
    /// Flexion, with what the correction adds to it.
    opening: ValveOpening<T>,
    /// The oil where neither valve nor cushion acts: τ = −(a + b ω) ω, b negative in extension.
    oil: Orifice<T>,
    /// In extension within the cushion's range.
    cushioned: T::Mask,
    /// The stop pushes.
    pushed: T::Mask,
    /// Friction is thrown in all lanes, and part of the constant.
    thrown: bool,
    constant: T,
    per_bend: T,
    /// Share of the correction that acts.
    share: T,
}

impl<T: Lane> Joint<T> {
    /// What the drive does to these strides at an instant.
    #[inline(always)]
    pub fn drive_sample<const KIND: usize>(&self, point: &DrivePoint<T>) -> DriveSample<T> {
        let zero = self.shift.splat(0.0);
        let pull = PivotAcceleration { thigh_acc: point.thigh_acc, across: point.across, along: point.along };
        let pressure_m = point.pressure_m + self.shift;
        let at = DriveSample { pull, load_bw: point.load_bw, pressure_m, released: [zero; 2], lead: zero };
        if !is_preswing(KIND) {
            return at;
        }
        let released = [point.bend, point.bend_rate];
        // θ'' acts on the released knee as on this one, and cancels
        let still = PivotAcceleration { thigh_acc: zero, ..pull };
        let pulled = self.pendulum.pulled(&still, turned(self.rest, (point.bend_sin, point.bend_cos)));
        let ordinary = self.preswing.ordinary(&self.pendulum, pulled, point.bend_rate, point.bend_acc);
        DriveSample {
            pull: PivotAcceleration { thigh_acc: ordinary, ..pull },
            released,
            lead: self.preswing.correction(&self.pendulum, zero, zero, released),
            ..at
        }
    }

    /// The same at the start of a step and at its instants.
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

    /// What an error of the valve counts, `left` strides before the knee begins to move: while the valve
    /// is thrown it fades as e^(−t/τ_v), of which three lags are left out, in which it may be half-way.
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

    /// What an error of ω counts, `left` strides before toe-off: in swing it stays; in pre-swing the
    /// correction takes it back as (1 + x) e^(−x), x = ω₀ t, while it is within the effort. Not less than
    /// [`LEAST_WEIGHT`]: later on it may be out of it.
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
        let fade = ((x + 1.0) / (e * e)).greater(one * LEAST_WEIGHT);
        T::choose(mode[switch::LOW] & !mode[switch::HIGH], fade, one) * weight
    }

    /// The equation of a step of `h` that begins at `s` on `mode`.
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
        let mut oil = self.extension.extending();
        let assist = self.assist.line_on(bent);
        let (mut constant, mut per_bend, mut share) = (assist.preload, assist.per_bend, zero);
        if is_preswing(KIND) {
            // share of the correction and what is added to it stay the same while the mode do
            let effort = self.preswing.effort_n_m;
            let within = mode[switch::LOW] & !mode[switch::HIGH];
            share = T::choose(within, zero.splat(1.0), zero);
            constant = constant + T::choose(within, zero, T::choose(mode[switch::HIGH], effort, -effort));
            per_bend = per_bend - share * self.preswing.tracking.per_rad;
            let per_rate = share * self.preswing.tracking.per_rate;
            opening.swing.a = opening.swing.a + per_rate;
            oil.a = oil.a + per_rate;
        }
        if KIND == OPEN {
            oil = Orifice {
                a: T::choose(flexing, opening.swing.a, oil.a),
                b: T::choose(flexing, opening.swing.b, oil.b),
            };
        }
        // thrown at the start and, as φ'' has it, twice as far as the end
        let slowest = s.omega.abs() - (s.acc * h).abs() * 2.0;
        let sliding = slowest.above(self.friction.smoothing_rad_per_s * TANH_THROWN) & bent;
        let thrown = !(!sliding).any();
        if thrown {
            constant = constant + T::choose(flexing, -self.friction.torque_n_m, self.friction.torque_n_m);
        }
        FrozenLaws {
            mode,
            armed,
            opening,
            oil,
            cushioned: mode[switch::CUSHION] & !flexing,
            pushed: mode[switch::DEPTH] & mode[switch::PUSH],
            thrown,
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
        if KIND == OPEN {
            return (acc, zero);
        }
        if decays(KIND) {
            return (acc, -(s.z * self.per_lag));
        }
        let sensed = self.sensed::<KIND>(laws, at, s.bend);
        (acc, (self.valve.command(sensed, s.z, self.valve.catch_load_n) - s.z) * self.per_lag)
    }

    /// Load on the foot as the valve senses it, share of body weight.
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
            pressure: Span::past(heel, mode[switch::RELEASED]),
            bend: Span::past(begun & armed, full & armed),
        };
        self.valve.sensed_on(felt, at.load_bw, at.pressure_m, bend, armed)
    }

    /// Whether no valve of a vector is driven any more to the end of a part: disarmed, less than half closed
    /// and, with the most load that is to come furthest behind, so far below the catch load that it does not
    /// begin to close.
    #[inline(always)]
    pub fn has_let_go<const KIND: usize>(&self, armed: T::Mask, z: T, cell: &TimeCell) -> bool {
        let zero = z.splat(0.0);
        if !on_ground(KIND) {
            return self.stays_open(zero, z);
        }
        if (armed | z.above(z.splat(0.5))).any() {
            return false;
        }
        let never = zero.above(zero);
        let pressure_m = self.shift + cell.least_pressure_m;
        let released = pressure_m.above(self.valve.release_distance_m);
        let felt = SensorBranch { pressure: Span::past(!never, released), bend: Span::past(never, never) };
        let load_bw = z.splat(cell.most_load_bw);
        self.stays_open(self.valve.sensed_on(felt, load_bw, pressure_m, zero, never), z)
    }

    /// Whether valves do not begin to close by what is `sensed`.
    #[inline(always)]
    fn stays_open(&self, sensed: T, z: T) -> bool {
        let valve = &self.valve;
        let reached = valve.hysteresis_bw.times_plus(z, valve.width_bw.times_plus(z.splat(THROWN), sensed));
        !reached.above(valve.catch_load_n).any()
    }

    /// Torque with which the oil resists flexing.
    #[inline(always)]
    pub fn resists_flexing<const KIND: usize>(&self, omega: T, z: T) -> T {
        let orifice = if KIND == OPEN { self.opening.swing } else { self.opening.at(z) };
        orifice.resists(omega)
    }

    #[inline(always)]
    fn acceleration<const KIND: usize>(&self, laws: &FrozenLaws<T>, at: &DriveSample<T>, s: &State<T>) -> T {
        let zero = s.bend.splat(0.0);
        let (flexing, bent) = (laws.mode[switch::RATE], !laws.mode[switch::DEPTH]);
        let mut oil = laws.oil;
        if KIND != OPEN && flexing.any() {
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
        let mut torque = laws.constant + at.pull.thigh_acc;
        if is_preswing(KIND) {
            torque = laws.share.times_plus(at.lead, torque);
        }
        torque = laws.per_bend.times_plus(s.bend, torque);
        if !laws.thrown {
            torque = torque + self.friction.torque(s.omega);
        }
        if laws.pushed.any() {
            torque = torque + T::choose(laws.pushed, self.stop.raw_push(-s.bend, -s.omega), zero);
        }
        torque = oil.leaves(s.omega, torque);
        // with a moment of inertia of 1 a torque adds to θ''
        self.pendulum.pulled(&PivotAcceleration { thigh_acc: torque, ..at.pull }, (s.sin, s.cos))
    }
}

/// Sine and cosine of the sum of two angles.
#[inline(always)]
pub fn turned<T: Lane>((sin, cos): (T, T), (s, c): (T, T)) -> (T, T) {
    (sin.times_plus(c, cos * s), cos.times_plus(c, -(sin * s)))
}
