//! Joints side by side: the laws of a vector of joints, each on its branch. Only joints whose laws are orifices and whose
//! displacement is constant have lanes.

use super::damper::{ConstantFriction, DamperLaw, Orifice, ValveOpening};
use super::{
    AssistSpring, Cushion, EndStop, Knee, Lever, RampBranch, SensorBranch, StanceValve, TorqueParts, Trigger,
};
use crate::joint::Branch;
use crate::numerics::lanes::{Lanes, lane_numbers};
use crate::numerics::simd::{Lane, LaneMask};
use crate::numerics::vector::Row;

/// A catch load, in shares of body weight, that no load and no hysteresis reaches.
const NEVER_BW: f64 = 1e6;
/// A torque that no oil reaches, N m.
const NEVER_N_M: f64 = 1e12;

lane_numbers! {
    /// Numbers of the joint, and 1 for every branch that it is on.
    JointNumbers {
        flexing, in_cushion, bent, relieved, on_extension_stop, on_flexion_stop,
        swing_a, swing_b, stance_a, stance_b, narrowing, a_per_b,
        extension_a, extension_b, cushion_start, cushion_factor,
        relief_n_m, relief_slope,
        extension_stop_rad, extension_stiffness, extension_damping,
        flexion_stop_rad, flexion_stiffness, flexion_damping,
        assist_n_m, assist_rate, friction_n_m, friction_rate,
        lag_s, hysteresis_bw, width_bw, release_distance_m, full_distance_m, bend_start_rad, bend_span_rad, catch_bw,
        past_full, past_release, past_bend_start, past_bend_end,
    }
}

/// A vector of joints, each on its branch.
#[derive(Debug, Clone, Copy)]
pub(crate) struct JointLanes<T: Lane> {
    /// The branch.
    flexing: T::Mask,
    in_cushion: T::Mask,
    bent: T::Mask,
    relieved: T::Mask,
    on_extension_stop: T::Mask,
    on_flexion_stop: T::Mask,
    opening: ValveOpening<T>,
    extension: Orifice<T>,
    cushion: Cushion<T>,
    relief_n_m: T,
    relief_slope: T,
    /// Stops.
    pub extension_stop: EndStop<T>,
    pub flexion_stop: EndStop<T>,
    assist: AssistSpring<T>,
    friction: ConstantFriction<T>,
    /// Stance valve.
    pub valve: StanceValve<T>,
    /// Its catch load, share of body weight.
    pub catch_bw: T,
    /// Branch of its sensor.
    pub sensor: SensorBranch<T::Mask>,
}

impl Knee {
    /// Whether its laws have lanes.
    #[must_use]
    pub fn has_lanes(&self) -> bool {
        let orifice = |law: &DamperLaw| matches!(law, DamperLaw::Orifice(_));
        orifice(&self.swing_flexion) && orifice(&self.swing_extension) && self.lever == Lever::default()
    }
}

impl JointLanes<f64> {
    /// Number of rows of a joint.
    pub const ROWS: usize = JointNumbers::<f64>::COUNT;

    /// Writes a joint that [has lanes](Knee::has_lanes) on its branch into a lane of the rows from `first` on; returns
    /// the row behind them.
    pub fn put(
        knee: &Knee,
        (branch, sensor): (Branch, SensorBranch),
        weight_n: f64,
        (rows, first, lane): (&mut [Lanes], usize, usize),
    ) -> usize {
        let orifice = |law: &DamperLaw| law.coefficients().unwrap_or(Orifice { a: f64::NAN, b: f64::NAN });
        let (swing, extension) = (orifice(&knee.swing_flexion), orifice(&knee.swing_extension));
        let opening = ValveOpening::new(swing, knee.stance.yielding);
        let is = |on: bool| f64::from(u8::from(on));
        let cushion = knee.cushion.unwrap_or(Cushion { start_rad: 1.0, factor: 1.0 });
        let valve = &knee.stance;
        let [past_full, past_release] = sensor.pressure.past();
        let [past_bend_start, past_bend_end] = sensor.bend.past();
        JointNumbers {
            flexing: is(branch.flexing),
            in_cushion: is(branch.in_cushion && knee.cushion.is_some()),
            bent: is(branch.bent),
            relieved: is(branch.relieved && knee.relief.is_some()),
            on_extension_stop: is(branch.on_extension_stop),
            on_flexion_stop: is(branch.on_flexion_stop),
            swing_a: swing.a,
            swing_b: swing.b,
            stance_a: opening.stance.a,
            stance_b: opening.stance.b,
            narrowing: opening.narrowing,
            a_per_b: opening.a_per_b,
            extension_a: extension.a,
            extension_b: extension.b,
            cushion_start: cushion.start_rad,
            cushion_factor: cushion.factor,
            relief_n_m: knee.relief.map_or(NEVER_N_M, |r| r.torque_n_m),
            relief_slope: knee.relief.map_or(1.0, |r| r.slope),
            extension_stop_rad: knee.extension_stop.angle_rad,
            extension_stiffness: knee.extension_stop.stiffness_n_m_per_rad,
            extension_damping: knee.extension_stop.damping_s_per_rad,
            flexion_stop_rad: knee.flexion_stop.angle_rad,
            flexion_stiffness: knee.flexion_stop.stiffness_n_m_per_rad,
            flexion_damping: knee.flexion_stop.damping_s_per_rad,
            assist_n_m: knee.assist.torque_n_m,
            assist_rate: knee.assist.rate_n_m_per_rad,
            friction_n_m: knee.friction.torque_n_m,
            friction_rate: knee.friction.smoothing_rad_per_s,
            lag_s: valve.lag_s,
            hysteresis_bw: valve.hysteresis_bw,
            width_bw: valve.width_bw,
            release_distance_m: valve.release_distance_m,
            full_distance_m: valve.full_distance_m,
            bend_start_rad: valve.bend_start_rad,
            bend_span_rad: valve.bend_span_rad,
            catch_bw: match valve.trigger {
                Trigger::Load => valve.catch_load_n / weight_n,
                Trigger::Always => -NEVER_BW,
                Trigger::None => NEVER_BW,
            },
            past_full: is(past_full),
            past_release: is(past_release),
            past_bend_start: is(past_bend_start),
            past_bend_end: is(past_bend_end),
        }
        .put(rows, first, lane)
    }
}

impl<T: Row> JointLanes<T> {
    /// From the rows from `row` on, which is moved behind them.
    #[inline(always)]
    pub fn get(zero: T, rows: &[Lanes], row: &mut usize) -> Self {
        let n = JointNumbers::<T>::get(zero, rows, row);
        Self {
            flexing: n.flexing.above(zero),
            in_cushion: n.in_cushion.above(zero),
            bent: n.bent.above(zero),
            relieved: n.relieved.above(zero),
            on_extension_stop: n.on_extension_stop.above(zero),
            on_flexion_stop: n.on_flexion_stop.above(zero),
            opening: ValveOpening {
                swing: Orifice { a: n.swing_a, b: n.swing_b },
                stance: Orifice { a: n.stance_a, b: n.stance_b },
                narrowing: n.narrowing,
                a_per_b: n.a_per_b,
            },
            extension: Orifice { a: n.extension_a, b: n.extension_b },
            cushion: Cushion { start_rad: n.cushion_start, factor: n.cushion_factor },
            relief_n_m: n.relief_n_m,
            relief_slope: n.relief_slope,
            extension_stop: EndStop {
                angle_rad: n.extension_stop_rad,
                stiffness_n_m_per_rad: n.extension_stiffness,
                damping_s_per_rad: n.extension_damping,
            },
            flexion_stop: EndStop {
                angle_rad: n.flexion_stop_rad,
                stiffness_n_m_per_rad: n.flexion_stiffness,
                damping_s_per_rad: n.flexion_damping,
            },
            assist: AssistSpring { torque_n_m: n.assist_n_m, rate_n_m_per_rad: n.assist_rate },
            friction: ConstantFriction { torque_n_m: n.friction_n_m, smoothing_rad_per_s: n.friction_rate },
            valve: StanceValve {
                // one that never closes, and one that always is, have a catch load beyond reach
                trigger: Trigger::Load,
                yielding: Orifice { a: n.stance_a, b: n.stance_b },
                catch_load_n: n.catch_bw,
                lag_s: n.lag_s,
                hysteresis_bw: n.hysteresis_bw,
                width_bw: n.width_bw,
                release_distance_m: n.release_distance_m,
                full_distance_m: n.full_distance_m,
                bend_start_rad: n.bend_start_rad,
                bend_span_rad: n.bend_span_rad,
            },
            catch_bw: n.catch_bw,
            sensor: SensorBranch {
                pressure: RampBranch::new(n.past_full.above(zero), n.past_release.above(zero)),
                bend: RampBranch::new(n.past_bend_start.above(zero), n.past_bend_end.above(zero)),
            },
        }
    }

    /// Flexion from the extension stop, rad.
    #[inline(always)]
    pub fn bend(&self, phi: T) -> T {
        phi - self.extension_stop.angle_rad
    }

    /// Flexion from the stop at which the cushion begins, rad.
    #[inline(always)]
    pub fn cushion_start(&self) -> T {
        self.cushion.start_rad
    }

    /// Oil torque in flexion beyond the relief torque, N m; negative while the relief is closed.
    #[inline(always)]
    pub fn relief_excess(&self, omega: T, z: T) -> T {
        self.opening.at(z).resistance(omega) - self.relief_n_m
    }

    /// Torque parts at a state, as [`super::JointBranch::torque`].
    #[inline(always)]
    pub fn torque(&self, phi: T, omega: T, z: T) -> TorqueParts<T> {
        let zero = phi.splat(0.0);
        let bend = self.bend(phi);
        let mut extension = self.extension.for_extension();
        if self.in_cushion.any() {
            let factor = T::choose(self.in_cushion, self.cushion.factor_on(self.bent, bend), zero + 1.0);
            extension.b = extension.b * factor;
        }
        let mut resistance = extension.resistance(omega);
        if self.flexing.any() {
            let mut oil = self.opening.at(z).resistance(omega);
            if self.relieved.any() {
                let beyond = self.relief_slope.times_plus(oil - self.relief_n_m, self.relief_n_m);
                oil = T::choose(self.relieved, beyond, oil);
            }
            resistance = T::choose(self.flexing, oil, resistance);
        }
        let mut stop = zero;
        if (self.on_extension_stop | self.on_flexion_stop).any() {
            let pushed = self.extension_stop.contact_torque(-bend, -omega);
            let held = self.flexion_stop.contact_torque(phi - self.flexion_stop.angle_rad, omega);
            stop =
                T::choose(self.on_extension_stop, pushed, zero) - T::choose(self.on_flexion_stop, held, zero);
        }
        TorqueParts {
            damper: -resistance,
            friction: self.friction.torque(omega),
            stop,
            assist: self.assist.torque_on(self.bent, bend),
        }
    }

    /// z' from the load on the foot and its centre.
    #[inline(always)]
    pub fn valve_rate(&self, load_bw: T, centre_of_pressure_m: T, phi: T, z: T, armed: T::Mask) -> T {
        let sensed = self.valve.sensed_on(self.sensor, load_bw, centre_of_pressure_m, self.bend(phi), armed);
        self.valve.rate(sensed, z, self.catch_bw)
    }
}
