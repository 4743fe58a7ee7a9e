//! Memory of the strides of a batch: a row for each quantity, a column for each stride. Units are those of the
//! equation (`sim/motion/batch/dynamics.rs`): flexion from the extension stop, time in stride times, torques per moment of
//! inertia.

use crate::numerics::math;
use std::ops::Range;

use super::drive_table::STAGE_FRACTIONS;
use super::dynamics::{Joint, State};
use super::member::Member;
use super::outcomes::StrideOutcomes;
use super::vector::Row;
use crate::joint::damper::{DamperLaw, Orifice, ValveOpening};
use crate::joint::{AssistSpring, Cushion, EndStop, StanceValve, Trigger};
use crate::motion::preswing::{Preswing, Tracking};
use crate::motion::swing::Pendulum;
use crate::units::DEG;

/// The knee counts as fully extended within this angle of the stop, rad.
pub const STRAIGHT_WITHIN_RAD: f64 = DEG;
/// Value of an outcome that has not happened yet.
pub const NOT_YET: f64 = -1e300;

macro_rules! rows {
    ($($name:ident)*) => {
        /// Names of the rows.
        #[allow(clippy::upper_case_acronyms, non_camel_case_types)]
        #[derive(Clone, Copy)]
        enum All { $($name,)* COUNT }
        $(#[allow(missing_docs)] pub const $name: usize = All::$name as usize;)*
        /// Number of rows.
        pub const ROWS: usize = All::COUNT as usize;
    };
}

rows! {
    STOP PERIOD TOE_OFF CONTACT CONTACT_RATE DECAY_1 DECAY_2 DECAY_3 DECAY_4 DECAY_5
    LIGHT_A LIGHT_B TRACKING_RAD TRACKING_RATE REST_SIN REST_COS EFFORT RELEASE FULL SHIFT STATURE WEIGHT LEAST_WEIGHT BEND_START BEND_SPAN
    FLEXION_A FLEXION_B STANCE_B NARROWING A_PER_B EXTENSION_A EXTENSION_B
    CUSHION_START CUSHION_FACTOR STIFFNESS STOP_DAMPING ASSIST ASSIST_RATE FRICTION SMOOTHING
    MASS_MOMENT PER_PERIOD RELIEF FLEXION_STOP CATCH PER_LAG HYSTERESIS WIDTH
    BEND OMEGA VALVE SIN COS ACC VALVE_RATE ARMED
    PEAK PEAK_AT STRAIGHT_AT STRAIGHT_RATE REBOUND RELEASED_AT BROKEN
    SHARE END_BEND END_OMEGA END_VALVE END_SIN END_COS END_ACC END_VALVE_RATE
}

/// Rows of the state, in the order of [`State`].
const NOW: [usize; 7] = [BEND, OMEGA, VALVE, SIN, COS, ACC, VALVE_RATE];
/// Rows of the end of the step through the whole cell that a stride tried first, in the same order.
const TRIAL_END: [usize; 7] = [END_BEND, END_OMEGA, END_VALVE, END_SIN, END_COS, END_ACC, END_VALVE_RATE];
/// Decay of a valve that opens undisturbed, at the stages of a step.
const DECAYS: [usize; 5] = [DECAY_1, DECAY_2, DECAY_3, DECAY_4, DECAY_5];
/// Rows that decide the course of the valve in stance.
const STANCE_FROM: [usize; 9] = [CATCH, PER_LAG, HYSTERESIS, WIDTH, RELEASE, FULL, SHIFT, STATURE, VALVE];
/// Rows that stance changes.
const STANCE_TO: [usize; 5] = [VALVE, VALVE_RATE, ARMED, RELEASED_AT, BROKEN];

/// Rows that decide the effect of the drive on a stride: the leg and the seals.
const LEG: [usize; 12] = [
    TRACKING_RAD,
    TRACKING_RATE,
    SHIFT,
    STATURE,
    WEIGHT,
    MASS_MOMENT,
    REST_SIN,
    REST_COS,
    LIGHT_A,
    LIGHT_B,
    FRICTION,
    SMOOTHING,
];

/// Strides of a group, which has room for the widest vector.
pub const WIDEST: usize = 8;

/// Strides of a block.
pub const BLOCK: usize = 512;

/// A group of strides; the numbers of a vector are contiguous in memory.
#[derive(Clone)]
#[repr(align(64))]
pub struct LaneBlock {
    rows: [[f64; WIDEST]; ROWS],
}

impl LaneBlock {
    /// Empty.
    #[must_use]
    pub fn new() -> Self {
        Self { rows: [[0.0; WIDEST]; ROWS] }
    }

    /// Row `row` from column `at` on.
    #[inline(always)]
    pub fn get<T: Row>(&self, zero: T, row: usize, at: usize) -> T {
        zero.load(&self.rows[row][at..])
    }

    /// Writes row `row` from column `at` on.
    #[inline(always)]
    pub fn put<T: Row>(&mut self, row: usize, at: usize, value: T) {
        value.store(&mut self.rows[row][at..]);
    }

    /// One number.
    #[inline(always)]
    pub fn one(&self, row: usize, column: usize) -> f64 {
        self.rows[row][column]
    }

    /// Writes one number.
    #[inline(always)]
    pub fn put_one(&mut self, row: usize, column: usize, value: f64) {
        self.rows[row][column] = value;
    }

    /// Copies a column of another group.
    #[inline(always)]
    pub fn copy(&mut self, to: usize, other: &Self, from: usize) {
        self.copy_rows(0..ROWS, to, other, from);
    }

    /// Copies the rows that a cell reads, with the foot on the ground or in the air.
    #[inline(always)]
    pub fn copy_for_a_cell(&mut self, loaded: bool, to: usize, other: &Self, from: usize) {
        self.copy_rows(if loaded { LIGHT_A..ROWS } else { FLEXION_A..ROWS }, to, other, from);
    }

    /// Copies back the rows that a cell changes.
    #[inline(always)]
    pub fn copy_back(&mut self, to: usize, other: &Self, from: usize) {
        self.copy_rows(BEND..SHARE, to, other, from);
    }

    #[inline(always)]
    fn copy_rows(&mut self, rows: Range<usize>, to: usize, other: &Self, from: usize) {
        for (own, row) in self.rows[rows.clone()].iter_mut().zip(&other.rows[rows]) {
            own[to] = row[from];
        }
    }

    /// Sets column `c` to a stride at its first heel contact.
    pub fn fill(&mut self, c: usize, m: &Member, preswing_start_p: f64) {
        let mut set = |row: usize, value: f64| self.rows[row][c] = value;
        let knee = &m.knee;
        let per_inertia = 1.0 / m.pendulum.inertia;
        let period = m.stride_time_s;
        let torque = |n_m: f64| n_m * per_inertia * period * period;
        let scaled = |o: Orifice| Orifice { a: o.a * per_inertia * period, b: o.b * per_inertia };
        let preswing = Preswing::new(&m.habit, m.effort_n_m, 0.0, knee.friction);
        let a_b =
            |law: &DamperLaw| scaled(law.coefficients().unwrap_or(Orifice { a: f64::NAN, b: f64::NAN }));
        let opening = ValveOpening::new(a_b(&knee.swing_flexion), scaled(knee.stance.yielding));
        let extension = a_b(&knee.swing_extension);
        let light = scaled(preswing.light);
        set(FLEXION_A, opening.swing.a);
        set(FLEXION_B, opening.swing.b);
        set(STANCE_B, opening.stance.b);
        set(NARROWING, opening.narrowing);
        set(A_PER_B, opening.a_per_b);
        set(EXTENSION_A, extension.a);
        set(EXTENSION_B, extension.b);
        // without a cushion its range begins beyond any reach
        let cushion = knee.cushion.unwrap_or(Cushion { start_rad: -10.0, factor: 1.0 });
        set(CUSHION_START, cushion.start_rad);
        set(CUSHION_FACTOR, cushion.factor);
        let stop = knee.extension_stop.angle_rad;
        set(STOP, stop);
        set(STIFFNESS, torque(knee.extension_stop.stiffness_n_m_per_rad));
        set(STOP_DAMPING, knee.extension_stop.damping_s_per_rad / period);
        set(ASSIST, torque(knee.assist.torque_n_m));
        set(ASSIST_RATE, torque(knee.assist.rate_n_m_per_rad));
        set(FRICTION, torque(knee.friction.torque_n_m));
        set(SMOOTHING, knee.friction.smoothing_rad_per_s * period);
        set(CATCH, m.catch_bw());
        set(PER_LAG, period / knee.stance.lag_s);
        set(HYSTERESIS, knee.stance.hysteresis_bw);
        set(WIDTH, knee.stance.width_bw);
        set(RELEASE, knee.stance.release_distance_m);
        set(FULL, knee.stance.full_distance_m);
        set(SHIFT, m.foot_shift_m);
        set(STATURE, m.stature_m);
        set(WEIGHT, torque(m.weight_n));
        set(LEAST_WEIGHT, m.least_weight());
        set(BEND_START, knee.stance.bend_start_rad);
        set(BEND_SPAN, knee.stance.bend_span_rad);
        set(LIGHT_A, light.a);
        set(LIGHT_B, light.b);
        set(TRACKING_RAD, preswing.tracking.per_rad * period * period);
        set(TRACKING_RATE, preswing.tracking.per_rate * period);
        set(MASS_MOMENT, torque(m.pendulum.mass_moment));
        let (sin, cos) = math::sin_cos(stop - m.pendulum.com_angle);
        set(REST_SIN, sin);
        set(REST_COS, cos);
        set(EFFORT, torque(preswing.effort_n_m));
        set(PERIOD, period);
        set(PER_PERIOD, 1.0 / period);
        set(RELIEF, knee.relief.map_or(f64::INFINITY, |r| torque(r.torque_n_m)));
        set(FLEXION_STOP, knee.flexion_stop.angle_rad - stop);
        set(BEND, 0.0);
        set(OMEGA, 0.0);
        set(VALVE, knee.stance.unloaded_state());
        set(SIN, sin);
        set(COS, cos);
        set(ARMED, 1.0);
        set(PEAK, 0.0);
        set(PEAK_AT, preswing_start_p);
        for row in [STRAIGHT_AT, STRAIGHT_RATE, REBOUND, TOE_OFF, CONTACT, CONTACT_RATE, RELEASED_AT] {
            set(row, NOT_YET);
        }
        set(BROKEN, 0.0);
    }

    /// Outcomes of column `c`; none if the stride left what the batch covers.
    #[must_use]
    pub fn outcomes(&self, c: usize) -> Option<StrideOutcomes> {
        let get = |row: usize| self.rows[row][c];
        let (period, stop) = (get(PERIOD), get(STOP));
        let reached = |row: usize| (get(row) > NOT_YET).then(|| get(row));
        let found = StrideOutcomes {
            toe_off_rad: stop + get(TOE_OFF),
            peak_rad: stop + get(PEAK),
            peak_s: get(PEAK_AT) * period,
            full_extension_s: reached(STRAIGHT_AT).map(|p| p * period),
            terminal_rate_rad_per_s: reached(STRAIGHT_RATE).map(|rate| rate / period),
            rebound_rad: reached(REBOUND).map(|bend| stop + bend),
            heel_contact_rad: stop + get(CONTACT),
            heel_contact_rate_rad_per_s: get(CONTACT_RATE) / period,
            release_s: reached(RELEASED_AT).map(|p| p * period),
        };
        let finite = [PEAK, PEAK_AT, TOE_OFF, CONTACT, CONTACT_RATE, BEND, OMEGA, VALVE];
        (get(BROKEN) == 0.0 && finite.iter().all(|&r| get(r).is_finite())).then_some(found)
    }

    /// The joints of a vector.
    #[inline(always)]
    pub fn joint<T: Row>(&self, zero: T, at: usize) -> Joint<T> {
        let friction = crate::joint::damper::ConstantFriction {
            torque_n_m: self.get(zero, FRICTION, at),
            smoothing_rad_per_s: self.get(zero, SMOOTHING, at),
        };
        let stance = Orifice { a: zero, b: self.get(zero, STANCE_B, at) };
        Joint {
            opening: ValveOpening {
                swing: Orifice { a: self.get(zero, FLEXION_A, at), b: self.get(zero, FLEXION_B, at) },
                stance,
                narrowing: self.get(zero, NARROWING, at),
                a_per_b: self.get(zero, A_PER_B, at),
            },
            extension: Orifice { a: self.get(zero, EXTENSION_A, at), b: self.get(zero, EXTENSION_B, at) },
            cushion: Cushion {
                start_rad: self.get(zero, CUSHION_START, at),
                factor: self.get(zero, CUSHION_FACTOR, at),
            },
            stop: EndStop {
                angle_rad: zero,
                stiffness_n_m_per_rad: self.get(zero, STIFFNESS, at),
                damping_s_per_rad: self.get(zero, STOP_DAMPING, at),
            },
            assist: AssistSpring {
                torque_n_m: self.get(zero, ASSIST, at),
                rate_n_m_per_rad: self.get(zero, ASSIST_RATE, at),
            },
            friction,
            valve: StanceValve {
                trigger: Trigger::Load,
                yielding: stance,
                catch_load_n: self.get(zero, CATCH, at),
                lag_s: zero,
                hysteresis_bw: self.get(zero, HYSTERESIS, at),
                width_bw: self.get(zero, WIDTH, at),
                release_distance_m: self.get(zero, RELEASE, at),
                full_distance_m: self.get(zero, FULL, at),
                bend_start_rad: self.get(zero, BEND_START, at),
                bend_span_rad: self.get(zero, BEND_SPAN, at),
            },
            per_lag: self.get(zero, PER_LAG, at),
            shift: self.get(zero, SHIFT, at),
            stature: self.get(zero, STATURE, at),
            weight: self.get(zero, WEIGHT, at),
            least_weight: self.get(zero, LEAST_WEIGHT, at),
            pendulum: Pendulum {
                inertia: zero.splat(1.0),
                mass_moment: self.get(zero, MASS_MOMENT, at),
                com_angle: zero,
                mass: zero,
            },
            rest: (self.get(zero, REST_SIN, at), self.get(zero, REST_COS, at)),
            preswing: Preswing {
                effort_n_m: self.get(zero, EFFORT, at),
                stop_rad: zero,
                friction,
                light: Orifice { a: self.get(zero, LIGHT_A, at), b: self.get(zero, LIGHT_B, at) },
                tracking: Tracking {
                    per_rad: self.get(zero, TRACKING_RAD, at),
                    per_rate: self.get(zero, TRACKING_RATE, at),
                },
            },
            per_period: self.get(zero, PER_PERIOD, at),
            relief_n_m: self.get(zero, RELIEF, at),
            flexion_stop_rad: self.get(zero, FLEXION_STOP, at),
        }
    }

    /// The states of a vector.
    #[inline(always)]
    pub fn state<T: Row>(&self, zero: T, at: usize) -> State<T> {
        self.state_in(&NOW, zero, at)
    }

    /// Writes the states of a vector.
    #[inline(always)]
    pub fn put_state<T: Row>(&mut self, at: usize, s: &State<T>) {
        self.put_state_in(&NOW, at, s);
    }

    /// The end of the step through the whole cell that was tried first.
    #[inline(always)]
    pub fn trial_end<T: Row>(&self, zero: T, at: usize) -> State<T> {
        self.state_in(&TRIAL_END, zero, at)
    }

    /// Writes the end of that step.
    #[inline(always)]
    pub fn put_trial_end<T: Row>(&mut self, at: usize, s: &State<T>) {
        self.put_state_in(&TRIAL_END, at, s);
    }

    #[inline(always)]
    fn state_in<T: Row>(&self, rows: &[usize; 7], zero: T, at: usize) -> State<T> {
        State {
            bend: self.get(zero, rows[0], at),
            omega: self.get(zero, rows[1], at),
            z: self.get(zero, rows[2], at),
            sin: self.get(zero, rows[3], at),
            cos: self.get(zero, rows[4], at),
            acc: self.get(zero, rows[5], at),
            z_rate: self.get(zero, rows[6], at),
        }
    }

    #[inline(always)]
    fn put_state_in<T: Row>(&mut self, rows: &[usize; 7], at: usize, s: &State<T>) {
        self.put(rows[0], at, s.bend);
        self.put(rows[1], at, s.omega);
        self.put(rows[2], at, s.z);
        self.put(rows[3], at, s.sin);
        self.put(rows[4], at, s.cos);
        self.put(rows[5], at, s.acc);
        self.put(rows[6], at, s.z_rate);
    }

    /// Decay of valves that open undisturbed, at the stages of a step through `cells`: 1, 2 or 4.
    #[inline(always)]
    pub fn decays<T: Row>(&self, zero: T, at: usize, cells: usize) -> [T; DECAYS.len()] {
        let mut decays = [zero; DECAYS.len()];
        #[allow(clippy::needless_range_loop)] // an iterator may not be inlined
        for i in 0..DECAYS.len() {
            decays[i] = self.get(zero, DECAYS[i], at);
            let mut through = 1;
            while through < cells {
                decays[i] = decays[i] * decays[i];
                through *= 2;
            }
        }
        decays
    }

    /// Computes these decays for cells of `span`.
    #[inline(always)]
    pub fn set_decays<T: Row>(&mut self, zero: T, at: usize, span: f64) {
        let lags = self.get(zero, PER_LAG, at) * span;
        #[allow(clippy::needless_range_loop)] // an iterator may not be inlined
        for i in 0..DECAYS.len() {
            self.put(DECAYS[i], at, (lags * -STAGE_FRACTIONS[i + 1]).exp());
        }
    }

    /// Whether two strides have the same stance.
    #[must_use]
    pub fn same_stance(&self, c: usize, other: &Self, d: usize) -> bool {
        self.same_in(&STANCE_FROM, c, other, d)
    }

    /// Whether the drive has the same effect on two strides.
    #[must_use]
    pub fn same_leg(&self, c: usize, other: &Self, d: usize) -> bool {
        self.same_in(&LEG, c, other, d)
    }

    fn same_in(&self, rows: &[usize], c: usize, other: &Self, d: usize) -> bool {
        rows.iter().all(|&r| self.rows[r][c].to_bits() == other.rows[r][d].to_bits())
    }

    /// Copies the rows that stance changes.
    #[inline(always)]
    pub fn copy_stance(&mut self, to: usize, other: &Self, from: usize) {
        for row in STANCE_TO {
            self.rows[row][to] = other.rows[row][from];
        }
    }
}
