//! The equation of motion of strides side by side.
//!
//! The laws are those of the joint, the pendulum and the pre-swing moment, at work on vectors; only
//! their sum stands here. As in the reference path, a step holds the side of every switch that it
//! began on.

use super::table::Point;
use super::vector::THROWN;
use crate::joint::damper::{ConstantFriction, Opening, Orifice};
use crate::joint::{AssistSpring, Cushion, EndStop, Felt, HEEL_M, Span, StanceValve};
use crate::motion::preswing::{Preswing, TRACKING_RAD_PER_S, correction};
use crate::motion::swing::{Pendulum, Pull};
use crate::quantity::{Lane, LaneMask};

/// One over the error of the valve that a step may make, however early: its release is an instant to be found.
const RELEASE_PER_VALVE: f64 = 1.0 / 2e-6;
/// What an error of ω counts in swing, where nothing takes it back: many steps add up.
const SWING_WEIGHT: f64 = 3.0;
/// What an error of ω counts at least in pre-swing.
const LEAST_WEIGHT: f64 = 1.0 / 8.0;

/// The valve alone, under a straight knee.
pub const STANCE: usize = 0;
/// The foot is on the ground and the knee bends.
pub const PRESWING: usize = 1;
/// The foot is in the air.
pub const SWING: usize = 2;
/// The same with an open valve, which nothing closes.
pub const OPEN: usize = 3;

/// The foot is on the ground, the knee bends and the valve has let go for good: it opens as e^(−t/τ_v).
pub const LET_GO: usize = 4;

/// Whether the foot is on the ground.
#[inline(always)]
pub const fn loaded(kind: usize) -> bool {
    kind == STANCE || bends(kind)
}

/// Whether the foot is on the ground and the knee bends.
#[inline(always)]
pub const fn bends(kind: usize) -> bool {
    matches!(kind, PRESWING | LET_GO)
}

/// Switches: where a law changes its branch. Positive sides:
pub mod side {
    /// ω > 0.
    pub const RATE: usize = 0;
    /// Within the cushion's range.
    pub const CUSHION: usize = 1;
    /// In the extension stop.
    pub const DEPTH: usize = 2;
    /// The stop pushes.
    pub const PUSH: usize = 3;
    /// Correction beyond the greatest effort.
    pub const HIGH: usize = 4;
    /// Correction above the least effort.
    pub const LOW: usize = 5;
    /// Valve more than half closed.
    pub const HALF: usize = 6;
    /// Bend past the start of what is felt.
    pub const BEGUN: usize = 7;
    /// Bend past the end of it.
    pub const FULL: usize = 8;
    /// Centre of pressure past the release distance.
    pub const RELEASED: usize = 9;
    /// Centre of pressure past the heel.
    pub const HEEL: usize = 10;
    /// Number of them.
    pub const COUNT: usize = 11;
}

/// Whether a switch acts in a part of the stride.
#[inline(always)]
pub const fn acts(kind: usize, i: usize) -> bool {
    use side::{HALF, HEEL, LOW, PUSH, RELEASED};
    match kind {
        STANCE => matches!(i, HALF | RELEASED | HEEL),
        PRESWING => i != HEEL,
        LET_GO => i <= LOW,
        _ => i <= PUSH,
    }
}

/// Where a switch has a meaning; elsewhere it keeps the side it is on.
#[inline(always)]
pub fn awake<T: Lane>(i: usize, sides: &Sides<T>, armed: T::Mask) -> T::Mask {
    match i {
        side::BEGUN | side::FULL => armed,
        side::CUSHION => !sides[side::RATE],
        side::PUSH => sides[side::DEPTH],
        _ => sides[side::RATE] | !sides[side::RATE],
    }
}

/// Code once for every switch that acts in a part, with its number as a constant.
macro_rules! for_each_switch {
    ($kind:ident, $i:ident => $do:block) => {
        for_each_switch!(@ $kind, $i, $do, 0 1 2 3 4 5 6 7 8 9 10)
    };
    (@ $kind:ident, $i:ident, $do:block, $($number:literal)*) => {$(
        if crate::motion::batch::flow::acts($kind, $number) {
            const $i: usize = $number;
            $do
        }
    )*};
}
pub(super) use for_each_switch;

/// Sides held.
pub type Sides<T> = [<T as Lane>::Mask; side::COUNT];

/// Joint, shank and person of a vector of strides.
#[derive(Clone, Copy)]
pub struct Joint<T> {
    /// Flexion, between swing and stance.
    pub opening: Opening<T>,
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
    /// 1/I.
    pub per_inertia: T,
    /// Sine and cosine of φ − ε at the stop.
    pub rest: (T, T),
    /// Pre-swing.
    pub preswing: Preswing<T>,
    /// T.
    pub period: T,
    /// 1/T.
    pub per_period: T,
    /// Flexion below which the knee counts as straight.
    pub straight_rad: T,
    /// Oil torque at which the relief opens: the batch ends there.
    pub relief_n_m: T,
    /// Flexion stop: the batch ends there.
    pub flexion_stop_rad: T,
}

/// State with its slope.
#[derive(Clone, Copy)]
pub struct State<T> {
    /// φ.
    pub phi: T,
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

/// The drive at an instant, for the lanes: with what does not depend on the state.
#[derive(Clone, Copy)]
pub struct Instant<T> {
    pull: Pull<T>,
    load_bw: T,
    pressure_m: T,
    q: T,
    q_rate: T,
    ordinary: T,
}

impl<T: Lane> Joint<T> {
    /// What the drive does to these strides at an instant.
    #[inline(always)]
    pub fn instant<const KIND: usize>(&self, point: &Point<T>) -> Instant<T> {
        let zero = self.period.same(0.0);
        let squared = self.per_period * self.per_period;
        let pull = Pull { thigh_acc: point.thigh_acc * squared, across: point.across, along: point.along };
        if !bends(KIND) {
            let pressure_m = point.pressure_m + self.shift;
            return Instant {
                pull,
                load_bw: point.load_bw,
                pressure_m,
                q: zero,
                q_rate: zero,
                ordinary: zero,
            };
        }
        let (rate, acc) = (point.bend_rate * self.per_period, point.bend_acc * squared);
        let at_q = turned(self.rest, (point.bend_sin, point.bend_cos));
        let pulled = self.pendulum.pulled(&pull, at_q);
        Instant {
            pull,
            load_bw: point.load_bw,
            pressure_m: point.pressure_m + self.shift,
            q: point.bend + self.stop.angle_rad,
            q_rate: rate,
            ordinary: self.preswing.ordinary(&self.pendulum, pulled, rate, acc),
        }
    }

    /// What an error of the valve counts, `left` strides before the knee begins to move: while the valve
    /// is thrown it fades as e^(−t/τ_v), of which three lags are left out, in which it may be half-way.
    #[inline(always)]
    pub fn per_valve<const KIND: usize>(&self, full: f64, left: f64) -> T {
        let one = self.period.same(1.0);
        if KIND != STANCE {
            return one * full;
        }
        let lags = (self.period * self.per_lag * left - 3.0).greater(one * 0.0);
        // e^(−x) ≤ (1 + x/8)^−8
        let e = lags * 0.125 + 1.0;
        let e = e * e * (e * e);
        (one * full / (e * e)).greater(one * RELEASE_PER_VALVE.min(full))
    }

    /// What an error of ω counts, `left` strides before toe-off: in swing it stays; in pre-swing the
    /// correction takes it back as (1 + x) e^(−x), x = ω₀ t, while it is within the effort. Not less than
    /// [`LEAST_WEIGHT`]: later on it may be out of it.
    #[inline(always)]
    pub fn per_omega<const KIND: usize>(&self, full: f64, left: f64, sides: &Sides<T>) -> T {
        let one = self.period.same(1.0);
        if !bends(KIND) {
            return one * (full * SWING_WEIGHT);
        }
        let x = self.period * (left * TRACKING_RAD_PER_S);
        let e = x * 0.125 + 1.0;
        let e = e * e * (e * e);
        let fade = ((x + 1.0) / (e * e)).greater(one * LEAST_WEIGHT);
        T::choose(sides[side::LOW] & !sides[side::HIGH], fade, one) * full
    }

    /// How far a state lies on the positive side of a switch.
    #[inline(always)]
    pub fn surface(&self, i: usize, at: &Instant<T>, phi: T, omega: T, z: T) -> T {
        let bend = phi - self.stop.angle_rad;
        let effort = self.preswing.effort_n_m;
        match i {
            side::RATE => omega,
            side::CUSHION => self.cushion.start_rad - bend,
            side::DEPTH => -bend,
            side::PUSH => self.stop.pushing(-omega),
            side::HIGH => correction(&self.pendulum, phi, omega, [at.q, at.q_rate]) - effort,
            side::LOW => correction(&self.pendulum, phi, omega, [at.q, at.q_rate]) + effort,
            side::HALF => z - 0.5,
            side::BEGUN => bend - self.valve.bend_start_rad,
            side::FULL => bend - self.valve.bend_start_rad - self.valve.bend_span_rad,
            side::RELEASED => at.pressure_m - self.valve.release_distance_m,
            _ => at.pressure_m - HEEL_M,
        }
    }

    /// The sides that a state lies on.
    #[inline(always)]
    pub fn sides<const KIND: usize>(&self, at: &Instant<T>, s: &State<T>) -> Sides<T> {
        let zero = s.phi.same(0.0);
        let mut sides = [zero.above(zero); side::COUNT];
        for_each_switch!(KIND, I => {
            sides[I] = self.surface(I, at, s.phi, s.omega, s.z).above(zero);
        });
        sides
    }

    /// Slope of ω and valve on the sides held.
    #[inline(always)]
    pub fn slope<const KIND: usize>(
        &self,
        sides: &Sides<T>,
        armed: T::Mask,
        at: &Instant<T>,
        s: &State<T>,
    ) -> (T, T) {
        let zero = s.phi.same(0.0);
        let bend = s.phi - self.stop.angle_rad;
        let acc = if KIND == STANCE { zero } else { self.acceleration::<KIND>(sides, at, s, bend) };
        if KIND == OPEN {
            return (acc, zero);
        }
        if KIND == LET_GO {
            return (acc, -(s.z * self.per_lag));
        }
        let sensed = self.sensed::<KIND>(sides, armed, at, bend);
        (acc, (self.valve.command(sensed, s.z, self.valve.catch_load_n) - s.z) * self.per_lag)
    }

    /// Load on the foot as the valve senses it, share of body weight.
    #[inline(always)]
    pub fn sensed<const KIND: usize>(&self, sides: &Sides<T>, armed: T::Mask, at: &Instant<T>, bend: T) -> T {
        let zero = bend.same(0.0);
        if KIND == SWING {
            return zero;
        }
        let never = zero.above(zero);
        let (begun, full) =
            if KIND == STANCE { (never, never) } else { (sides[side::BEGUN], sides[side::FULL]) };
        // in late stance the centre of pressure has long passed the heel
        let heel = if KIND == STANCE { sides[side::HEEL] } else { !never };
        let felt = Felt {
            pressure: Span::past(heel, sides[side::RELEASED]),
            bend: Span::past(begun & armed, full & armed),
        };
        self.valve.sensed_on(felt, at.load_bw, at.pressure_m, bend, armed)
    }

    /// Whether no valve of a vector is driven any more: disarmed, less than half closed, and what is sensed at
    /// two instants so far below the catch load that it does not begin to close.
    #[inline(always)]
    pub fn has_let_go(&self, armed: T::Mask, s: &State<T>, points: [&Point; 2]) -> bool {
        let zero = s.phi.same(0.0);
        if (armed | s.z.above(zero.same(0.5))).any() {
            return false;
        }
        let most = self
            .sensed_when_disarmed(&points[0].same(zero))
            .greater(self.sensed_when_disarmed(&points[1].same(zero)));
        let valve = &self.valve;
        let reached = most + valve.hysteresis_bw * s.z + valve.width_bw * THROWN;
        !reached.above(valve.catch_load_n).any()
    }

    #[inline(always)]
    fn sensed_when_disarmed(&self, point: &Point<T>) -> T {
        let zero = point.load_bw.same(0.0);
        let never = zero.above(zero);
        let pressure_m = point.pressure_m + self.shift;
        let released = pressure_m.above(self.valve.release_distance_m);
        let felt = Felt { pressure: Span::past(!never, released), bend: Span::past(never, never) };
        self.valve.sensed_on(felt, point.load_bw, pressure_m, zero, never)
    }

    /// Torque with which the oil resists flexing.
    #[inline(always)]
    pub fn resists_flexing<const KIND: usize>(&self, omega: T, z: T) -> T {
        let orifice = if KIND == OPEN { self.opening.swing } else { self.opening.at(z) };
        orifice.resists_flexing(omega)
    }

    #[inline(always)]
    fn acceleration<const KIND: usize>(&self, sides: &Sides<T>, at: &Instant<T>, s: &State<T>, bend: T) -> T {
        let zero = bend.same(0.0);
        let (flexing, bent) = (sides[side::RATE], !sides[side::DEPTH]);
        let mut resists = zero;
        if flexing.any() {
            resists = self.resists_flexing::<KIND>(s.omega, s.z);
        }
        if (!flexing).any() {
            let mut extension = self.extension;
            let cushioned = sides[side::CUSHION] & !flexing;
            if cushioned.any() {
                let factor = self.cushion.factor_on(bent, bend);
                extension.b = T::choose(cushioned, extension.b * factor, extension.b);
            }
            resists = T::choose(flexing, resists, extension.resists_extending(s.omega));
        }
        let mut torque = self.friction.torque(s.omega) + self.assist.torque_on(bent, bend) - resists;
        let pushed = sides[side::DEPTH] & sides[side::PUSH];
        if pushed.any() {
            torque = torque + T::choose(pushed, self.stop.raw_push(-bend, -s.omega), zero);
        }
        if bends(KIND) {
            // share of the correction and what is added to it stay the same while the sides do
            let effort = self.preswing.effort_n_m;
            let within = sides[side::LOW] & !sides[side::HIGH];
            let share = T::choose(within, zero.same(1.0), zero);
            let held = T::choose(within, zero, T::choose(sides[side::HIGH], effort, -effort));
            let correction = correction(&self.pendulum, s.phi, s.omega, [at.q, at.q_rate]);
            let added = share.times_plus(correction, held);
            torque = torque + at.ordinary + added;
        }
        (torque + self.pendulum.pulled(&at.pull, (s.sin, s.cos))) * self.per_inertia
    }
}

/// Sine and cosine of the sum of two angles.
#[inline(always)]
pub fn turned<T: Lane>((sin, cos): (T, T), (s, c): (T, T)) -> (T, T) {
    (sin.times_plus(c, cos * s), cos.times_plus(c, -(sin * s)))
}
