//! The equation of motion of strides side by side, and one Runge-Kutta step of it.
//!
//! The laws are those of the joint, the pendulum and the pre-swing moment, at work on vectors; only
//! their sum stands here. As in the reference path, a step holds the side of every switch that it
//! began on. Sine and cosine of φ − ε are carried along, turned by each step's Δφ: a rotation by a series
//! (exact to rounding for |Δφ| up to [`MOST_TURN_RAD`]), so they do not drift.

use super::table::Point;
use crate::joint::damper::{ConstantFriction, Opening, Orifice};
use crate::joint::{AssistSpring, Cushion, EndStop, Felt, HEEL_M, Span, StanceValve};
use crate::motion::preswing::{Preswing, correction};
use crate::motion::swing::{Pendulum, Pull};
use crate::quantity::{Lane, LaneMask};

/// Greatest turn of a step, rad.
pub const MOST_TURN_RAD: f64 = 0.12;

/// The valve alone, under a straight knee.
pub const STANCE: usize = 0;
/// The foot is on the ground and the knee bends.
pub const PRESWING: usize = 1;
/// The foot is in the air.
pub const SWING: usize = 2;

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
    use side::{HALF, HEEL, PUSH, RELEASED};
    match kind {
        STANCE => matches!(i, HALF | RELEASED | HEEL),
        PRESWING => i != HEEL,
        _ => i <= PUSH,
    }
}

/// Where a switch has a meaning; elsewhere it keeps the side it is on.
#[inline(always)]
pub fn awake<T: Lane>(i: usize, sides: &Sides<T>) -> T::Mask {
    match i {
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

/// One step: where it ends, and by how much its last slope was off.
pub struct Step<T> {
    /// End with slope there.
    pub end: State<T>,
    /// Estimated error of ω, rad/s.
    pub omega_error: T,
    /// Estimated error of the valve: h/6 (k₄ − k₅), of third order, as if the weight of k₄ were given to k₅.
    pub z_error: T,
}

impl<T: Lane> Joint<T> {
    /// What the drive does to these strides at an instant.
    #[inline(always)]
    pub fn instant<const KIND: usize>(&self, point: &Point<T>) -> Instant<T> {
        let zero = self.period.same(0.0);
        let squared = self.per_period * self.per_period;
        let pull = Pull { thigh_acc: point.thigh_acc * squared, across: point.across, along: point.along };
        if KIND != PRESWING {
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
        one * full / (e * e)
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
        open: bool,
    ) -> (T, T) {
        let zero = s.phi.same(0.0);
        let bend = s.phi - self.stop.angle_rad;
        let acc = if KIND == STANCE { zero } else { self.acceleration::<KIND>(sides, at, s, bend, open) };
        if open {
            return (acc, zero);
        }
        let sensed = if KIND == SWING {
            zero
        } else {
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
        };
        (acc, (self.valve.command(sensed, s.z, self.valve.catch_load_n) - s.z) * self.per_lag)
    }

    /// Oil torque in flexion.
    #[inline(always)]
    pub fn flexion(&self, omega: T, z: T, open: bool) -> T {
        let zero = omega.same(0.0);
        let orifice = if open { self.opening.swing } else { self.opening.at(z) };
        orifice.torque_on(!zero.above(zero), omega)
    }

    #[inline(always)]
    fn acceleration<const KIND: usize>(
        &self,
        sides: &Sides<T>,
        at: &Instant<T>,
        s: &State<T>,
        bend: T,
        open: bool,
    ) -> T {
        let zero = bend.same(0.0);
        let (flexing, bent) = (sides[side::RATE], !sides[side::DEPTH]);
        let mut oil = zero;
        if flexing.any() {
            oil = self.flexion(s.omega, s.z, open);
        }
        if (!flexing).any() {
            let mut extension = self.extension;
            let cushioned = sides[side::CUSHION] & !flexing;
            if cushioned.any() {
                let factor = self.cushion.factor_on(bent, bend);
                extension.b = T::choose(cushioned, extension.b * factor, extension.b);
            }
            oil = T::choose(flexing, oil, extension.torque_on(zero.above(zero), s.omega));
        }
        let mut torque = oil + self.friction.torque(s.omega) + self.assist.torque_on(bent, bend);
        let pushed = sides[side::DEPTH] & sides[side::PUSH];
        if pushed.any() {
            torque = torque + T::choose(pushed, self.stop.raw_push(-bend, -s.omega), zero);
        }
        if KIND == PRESWING {
            let effort = self.preswing.effort_n_m;
            let correction = correction(&self.pendulum, s.phi, s.omega, [at.q, at.q_rate]);
            let added =
                T::choose(sides[side::HIGH], effort, T::choose(sides[side::LOW], correction, -effort));
            torque = torque + at.ordinary + added;
        }
        (torque + self.pendulum.pulled(&at.pull, (s.sin, s.cos))) * self.per_inertia
    }

    /// One step of the classical Runge-Kutta method of order 4, `h` in s; the slope at its end is the
    /// first of the next.
    #[inline(always)]
    pub fn step<const KIND: usize>(
        &self,
        sides: &Sides<T>,
        armed: T::Mask,
        [middle, end]: [&Instant<T>; 2],
        s: &State<T>,
        h: T,
        open: bool,
    ) -> Step<T> {
        let half = h * 0.5;
        let second = stage::<KIND, T>(s, half, s.omega, s.acc, s.z_rate);
        let (acc2, z2) = self.slope::<KIND>(sides, armed, middle, &second, open);
        let third = stage::<KIND, T>(s, half, second.omega, acc2, z2);
        let (acc3, z3) = self.slope::<KIND>(sides, armed, middle, &third, open);
        let fourth = stage::<KIND, T>(s, h, third.omega, acc3, z3);
        let (acc4, z4) = self.slope::<KIND>(sides, armed, end, &fourth, open);
        let sixth = h * (1.0 / 6.0);
        // the mean slopes, as one stage over the whole step
        let mut to = stage::<KIND, T>(
            s,
            sixth,
            weighed(s.omega, second.omega, third.omega, fourth.omega),
            weighed(s.acc, acc2, acc3, acc4),
            weighed(s.z_rate, z2, z3, z4),
        );
        (to.acc, to.z_rate) = self.slope::<KIND>(sides, armed, end, &to, open);
        Step {
            omega_error: estimate(acc4 - to.acc, fourth.omega - to.omega, h),
            z_error: ((z4 - to.z_rate) * sixth).size(),
            end: to,
        }
    }
}

/// Error of a step from the slope's change `k` between the last stage and the end, whose states are `y`
/// apart: h/6 |k| is of third order, and h |k/y| is h times the rate λ at which the motion answers. For
/// y' = −λ y the product is 5/3 of the error of the step, x⁵/120 with x = λ h; taken twice, and never
/// beyond the third order.
#[inline(always)]
fn estimate<T: Lane>(k: T, y: T, h: T) -> T {
    let third = (k * h).size();
    third.lesser(third * third * 2.0 / (y.size() + 1e-14)) * (1.0 / 6.0)
}

/// k₁ + 2 k₂ + 2 k₃ + k₄.
#[inline(always)]
fn weighed<T: Lane>(k1: T, k2: T, k3: T, k4: T) -> T {
    (k2 + k3).times_plus(k1.same(2.0), k1 + k4)
}

/// The state after `h` with slopes held.
#[inline(always)]
fn stage<const KIND: usize, T: Lane>(s: &State<T>, h: T, omega: T, acc: T, z_rate: T) -> State<T> {
    let turn = h * omega;
    let (sin, cos) = if KIND == STANCE { (s.sin, s.cos) } else { turned((s.sin, s.cos), small(turn)) };
    State {
        phi: s.phi + turn,
        omega: h.times_plus(acc, s.omega),
        z: h.times_plus(z_rate, s.z),
        sin,
        cos,
        acc,
        z_rate,
    }
}

/// Sine and cosine of a small angle, by series.
#[inline(always)]
fn small<T: Lane>(x: T) -> (T, T) {
    let q = x * x;
    let sin = q.times_plus(x.same(-1.0 / 5_040.0), x.same(1.0 / 120.0));
    let cos = q.times_plus(x.same(-1.0 / 720.0), x.same(1.0 / 24.0));
    let (sin, cos) = (q.times_plus(sin, x.same(-1.0 / 6.0)), q.times_plus(cos, x.same(-0.5)));
    ((q * x).times_plus(sin, x), q.times_plus(cos, x.same(1.0)))
}

/// Sine and cosine of the sum of two angles.
#[inline(always)]
fn turned<T: Lane>((sin, cos): (T, T), (s, c): (T, T)) -> (T, T) {
    (sin.times_plus(c, cos * s), cos.times_plus(c, -(sin * s)))
}
