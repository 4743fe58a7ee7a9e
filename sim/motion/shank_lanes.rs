//! Strides side by side: the equations of `swing` and of the valve under a straight knee (`stride`), with their event
//! functions, for a vector of strides.

use super::joint_events::{STILL_RAD_PER_S, joint_branch, joint_event};
use super::pendulum::{Pendulum, PivotAcceleration};
use super::preswing::{Preswing, Tracking};
use super::stride::{FrozenValve, ValveSystem};
use super::swing::{ARMED, FrozenShank, LOADED, ShankSystem, event, state};
use crate::joint::damper::{ConstantFriction, Orifice};
use crate::joint::{Branch, JointLanes};
use crate::numerics::events::Mode;
use crate::numerics::lanes::{LaneSystem, Lanes, NOTES, flips, lane_numbers, leaves};
use crate::numerics::simd::{Lane, LaneMask};
use crate::numerics::vector::Row;
use crate::scenario::DriveLanes;

lane_numbers! {
    /// Shank, pre-swing and what the mode decides.
    ShankNumbers {
        inertia, mass_moment, com_angle, mass,
        effort_n_m, stop_rad, friction_n_m, friction_rate, light_a, light_b, per_rad, per_rate,
        weight_n, armed, loaded,
        /// 1 where the correction acts; the effort that acts elsewhere.
        corrects, effort,
    }
}

/// A vector of strides, each in its mode.
#[derive(Clone, Copy)]
pub struct ShankLaws<T: Lane> {
    flips: [T; event::COUNT],
    joint: JointLanes<T>,
    numbers: ShankNumbers<T>,
    pendulum: Pendulum<T>,
    preswing: Preswing<T>,
    drive: DriveLanes<T>,
}

impl LaneSystem<{ state::COUNT }> for ShankSystem<'_> {
    const ROWS: usize = event::COUNT + JointLanes::ROWS + ShankNumbers::COUNT + DriveLanes::ROWS;

    type Laws<T: Row> = ShankLaws<T>;

    fn put(&self, frozen: &FrozenShank<'_>, mode: Mode, rows: &mut [Lanes], lane: usize) {
        let mut flip = [0.0; event::COUNT];
        flips::<{ state::COUNT }, Self>(frozen, mode, &mut flip);
        for (row, flip) in rows.iter_mut().zip(flip) {
            row.0[lane] = flip;
        }
        let is = |on: bool| f64::from(u8::from(on));
        let (high, low) = (mode.positive(event::EFFORT_HIGH), mode.positive(event::EFFORT_LOW));
        let Preswing { effort_n_m, stop_rad, friction, light, tracking } = self.preswing;
        let numbers = ShankNumbers {
            inertia: self.pendulum.inertia,
            mass_moment: self.pendulum.mass_moment,
            com_angle: self.pendulum.com_angle,
            mass: self.pendulum.mass,
            effort_n_m,
            stop_rad,
            friction_n_m: friction.torque_n_m,
            friction_rate: friction.smoothing_rad_per_s,
            light_a: light.a,
            light_b: light.b,
            per_rad: tracking.per_rad,
            per_rate: tracking.per_rate,
            weight_n: self.weight_n,
            armed: is(mode.positive(ARMED)),
            loaded: is(mode.positive(LOADED) && self.drive.is_some()),
            corrects: is(low && !high),
            effort: if high { effort_n_m } else { -effort_n_m },
        };
        let on = (joint_branch(mode), frozen.sensor());
        let next = JointLanes::put(self.knee, on, self.weight_n, (rows, event::COUNT, lane));
        let next = numbers.put(rows, next, lane);
        if let Some(drive) = self.drive {
            DriveLanes::put(drive, rows, next, lane);
        }
    }

    #[inline(always)]
    fn laws<T: Row>(zero: T, rows: &[Lanes]) -> ShankLaws<T> {
        let mut flips = [zero; event::COUNT];
        for i in 0..event::COUNT {
            flips[i] = zero.load(&rows[i].0);
        }
        let mut row = event::COUNT;
        let joint = JointLanes::get(zero, rows, &mut row);
        let n = ShankNumbers::<T>::get(zero, rows, &mut row);
        ShankLaws {
            flips,
            joint,
            numbers: n,
            pendulum: Pendulum {
                inertia: n.inertia,
                mass_moment: n.mass_moment,
                com_angle: n.com_angle,
                mass: n.mass,
            },
            preswing: Preswing {
                effort_n_m: n.effort_n_m,
                stop_rad: n.stop_rad,
                friction: ConstantFriction {
                    torque_n_m: n.friction_n_m,
                    smoothing_rad_per_s: n.friction_rate,
                },
                light: Orifice { a: n.light_a, b: n.light_b },
                tracking: Tracking { per_rad: n.per_rad, per_rate: n.per_rate },
            },
            drive: DriveLanes::get(zero, rows, &mut row),
        }
    }

    #[inline(always)]
    fn rate<T: Row>(
        laws: &ShankLaws<T>,
        t: T,
        y: &[T; state::COUNT],
        dy: &mut [T; state::COUNT],
    ) -> [T; NOTES] {
        let zero = t.splat(0.0);
        let (phi, omega, z) = (y[state::PHI], y[state::OMEGA], y[state::VALVE]);
        let ShankLaws { joint, numbers: n, pendulum, preswing, drive, .. } = laws;
        let loaded = n.loaded.above(zero);
        let any_loaded = loaded.any();
        let (kinematics, [bend, rate, acc]) = drive.kinematics(t, any_loaded);
        let pivot = PivotAcceleration::of(&kinematics);
        let parts = joint.torque(phi, omega, z);
        let passive = pendulum.pivot_torque(&pivot, (phi - pendulum.com_angle).sin_cos());
        let (mut added, mut load_line, mut load_bw, mut pressure_m) = (zero, zero, zero, zero);
        if any_loaded {
            let q = preswing.stop_rad + bend;
            let pulled = pendulum.pivot_torque(&pivot, (q - pendulum.com_angle).sin_cos());
            let correction = preswing.correction(pendulum, phi, omega, [q, rate]);
            let clamped = T::choose(n.corrects.above(zero), correction, n.effort);
            let moment = preswing.ordinary(pendulum, pulled, rate, acc) + clamped;
            let [pressure, shift] = drive.pressure_m(t);
            load_bw = T::choose(loaded, drive.load_bw(t), zero);
            (added, pressure_m) = (T::choose(loaded, moment, zero), pressure);
            load_line = -(n.weight_n * load_bw * shift);
        }
        dy[state::PHI] = omega;
        dy[state::OMEGA] = (passive + (parts.sum() + added + load_line)) / pendulum.inertia;
        dy[state::VALVE] = joint.valve_rate(load_bw, pressure_m, phi, z, n.armed.above(zero));
        dy[state::PASSIVE] = omega * passive;
        dy[state::DRIVE] = omega * added;
        dy[state::DAMPER] = omega * parts.damper;
        dy[state::FRICTION] = omega * parts.friction;
        dy[state::STOP] = omega * parts.stop;
        dy[state::ASSIST] = omega * parts.assist;
        dy[state::LOAD_LINE] = omega * load_line;
        [zero; NOTES]
    }

    #[inline(always)]
    fn leaves<T: Row>(laws: &ShankLaws<T>, t: T, y: &[T; state::COUNT]) -> T::Mask {
        use joint_event as j;
        let (flip, joint) = (&laws.flips, &laws.joint);
        let (phi, omega, z) = (y[state::PHI], y[state::OMEGA], y[state::VALVE]);
        let bend = joint.bend(phi);
        let valve = &joint.valve;
        let zero = t.splat(0.0);
        let mut left = leaves(omega, flip[j::RATE], STILL_RAD_PER_S)
            | leaves(bend - joint.cushion_start(), flip[j::CUSHION], 0.0)
            | leaves(joint.relief_excess(omega, z), flip[j::RELIEF], 0.0)
            | leaves(-bend, flip[j::EXTENSION_DEPTH], 0.0)
            | leaves(joint.extension_stop.contact_factor(-omega), flip[j::EXTENSION_PUSH], 0.0)
            | leaves(phi - joint.flexion_stop.angle_rad, flip[j::FLEXION_DEPTH], 0.0)
            | leaves(joint.flexion_stop.contact_factor(omega), flip[j::FLEXION_PUSH], 0.0);
        if laws.numbers.loaded.above(zero).any() {
            let (_, [released, rate, _]) = laws.drive.kinematics(t, true);
            let q = laws.preswing.stop_rad + released;
            let correction = laws.preswing.correction(&laws.pendulum, phi, omega, [q, rate]);
            let effort = laws.preswing.effort_n_m;
            let begun = bend - valve.bend_start_rad;
            let [pressure, _] = laws.drive.pressure_m(t);
            left = left
                | leaves(correction - effort, flip[event::EFFORT_HIGH], 0.0)
                | leaves(correction + effort, flip[event::EFFORT_LOW], 0.0)
                | leaves(z - 0.5, flip[event::VALVE_HALF], 0.0)
                | leaves(begun, flip[event::BEND_BEGINS], 0.0)
                | leaves(begun - valve.bend_span_rad, flip[event::BEND_FULL], 0.0)
                | leaves(pressure - valve.release_distance_m, flip[event::RELEASE_POINT], 0.0);
        }
        left
    }
}

/// Number of event functions of the valve under a straight knee.
const VALVE_EVENTS: usize = 3;

/// A vector of valves under a straight knee.
#[derive(Clone, Copy)]
pub struct ValveLaws<T: Lane> {
    flips: [T; VALVE_EVENTS],
    joint: JointLanes<T>,
    drive: DriveLanes<T>,
}

impl LaneSystem<1> for ValveSystem<'_> {
    const ROWS: usize = VALVE_EVENTS + JointLanes::ROWS + DriveLanes::ROWS;

    type Laws<T: Row> = ValveLaws<T>;

    fn put(&self, frozen: &FrozenValve<'_>, mode: Mode, rows: &mut [Lanes], lane: usize) {
        let mut flip = [0.0; VALVE_EVENTS];
        flips::<1, Self>(frozen, mode, &mut flip);
        for (row, flip) in rows.iter_mut().zip(flip) {
            row.0[lane] = flip;
        }
        let on = (Branch::default(), frozen.sensor());
        let next = JointLanes::put(self.knee, on, self.weight_n, (rows, VALVE_EVENTS, lane));
        DriveLanes::put(self.drive, rows, next, lane);
    }

    #[inline(always)]
    fn laws<T: Row>(zero: T, rows: &[Lanes]) -> ValveLaws<T> {
        let mut flips = [zero; VALVE_EVENTS];
        for i in 0..VALVE_EVENTS {
            flips[i] = zero.load(&rows[i].0);
        }
        let mut row = VALVE_EVENTS;
        let joint = JointLanes::get(zero, rows, &mut row);
        ValveLaws { flips, joint, drive: DriveLanes::get(zero, rows, &mut row) }
    }

    #[inline(always)]
    fn rate<T: Row>(laws: &ValveLaws<T>, t: T, y: &[T; 1], dy: &mut [T; 1]) -> [T; NOTES] {
        let zero = t.splat(0.0);
        let [pressure_m, _] = laws.drive.pressure_m(t);
        let straight = laws.joint.extension_stop.angle_rad;
        let armed = !zero.above(zero);
        dy[0] = laws.joint.valve_rate(laws.drive.load_bw(t), pressure_m, straight, y[0], armed);
        [zero; NOTES]
    }

    #[inline(always)]
    fn leaves<T: Row>(laws: &ValveLaws<T>, t: T, y: &[T; 1]) -> T::Mask {
        let [pressure_m, _] = laws.drive.pressure_m(t);
        let valve = &laws.joint.valve;
        leaves(y[0] - 0.5, laws.flips[0], 0.0)
            | leaves(pressure_m - valve.release_distance_m, laws.flips[1], 0.0)
            | leaves(pressure_m - valve.full_distance_m, laws.flips[2], 0.0)
    }
}
