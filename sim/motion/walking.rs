//! One stride of level walking: the valve under a straight knee, pre-swing, swing, a little beyond.

use super::events::{Sides, Then};
use super::integrate::{Course, Flow, Held, Precision, State};
use super::preswing::Preswing;
use super::swing::{ARMED, LOADED, Pendulum, ShankFlow, Thigh, state};
use crate::body::{Person, Shank};
use crate::error::SimError;
use crate::joint::{Felt, HEEL_M, Knee, Span, StanceValve};
use crate::scenario::{Drive, DriveTurns};

/// A stride as it ran.
pub struct Stride {
    /// Prescribed motion.
    pub drive: Drive,
    /// Joint.
    pub knee: Knee,
    /// Shank.
    pub pendulum: Pendulum,
    /// Thigh.
    pub thigh: Thigh,
    /// Pre-swing.
    pub preswing: Preswing,
    /// Body weight, N.
    pub weight_n: f64,
    /// From t0 on.
    pub course: Course<{ state::COUNT }>,
    /// Valve from heel contact to t0, knee straight.
    pub valve_course: Course<1>,
    /// Instant at which the valve let go while the foot carried load, s.
    pub release_s: Option<f64>,
    /// Energy at the end of the course against the ledger, |in − stored − out| / out.
    pub energy_residual: f64,
}

impl Stride {
    /// Runs a stride from heel contact to `beyond` strides after the next one.
    ///
    /// # Errors
    /// The integrator's, or an energy balance off by more than 1e-6.
    pub fn run(
        drive: Drive,
        knee: Knee,
        person: &Person,
        shank: Shank,
        beyond: f64,
        precision: &Precision,
    ) -> Result<Self, SimError> {
        if knee.locked {
            return Err(SimError::CannotRun(
                "the joint is locked straight; walking with a bending knee needs flexion".into(),
            ));
        }
        let weight_n = person.weight_n();
        let valve_course = valve_under_straight_knee(&drive, &knee.stance, weight_n, precision)?;
        let let_go = valve_course.crossings.iter().find(|c| !c.upwards).map(|c| c.t_s);
        let mut modes = Sides::default();
        modes.set(ARMED, let_go.is_none());
        modes.set(LOADED, true);

        let stop = knee.extension_stop.angle_rad;
        let mut start = State::<{ state::COUNT }>::zeros();
        start[state::PHI] = stop;
        start[state::VALVE] = valve_course.end.1[0];
        let pendulum = Pendulum::from(shank);
        let thigh = Thigh::of(person);
        let preswing = Preswing::new(person.user_effort_n_m(), stop, knee.friction);
        let flow = ShankFlow { drive: Some(&drive), knee: &knee, pendulum, thigh, preswing, weight_n };
        let (t0, t_to, period) = (drive.preswing_start_s, drive.toe_off_s, drive.stride_time_s);
        let mut course = Course::begin(&flow, t0, start, modes);
        // the line of the centre of pressure has its kink at mid-stride
        course.run(&flow, "pre-swing", (0.5 * period).clamp(t0, t_to), precision)?;
        course.run(&flow, "pre-swing", t_to, precision)?;
        course.set_mode(&flow, LOADED, false);
        course.run(&flow, "swing", period, precision)?;
        course.run(&flow, "swing", period * (1.0 + beyond), precision)?;

        let release_s = let_go.or_else(|| {
            course.crossings_of(super::swing::surface::VALVE_HALF).find(|c| !c.upwards).map(|c| c.t_s)
        });
        let energy_residual = energy_residual(&course, pendulum.inertia);
        if energy_residual > super::MOST_RESIDUAL {
            return Err(SimError::EnergyBalance { phase: "stride", residual: energy_residual });
        }
        Ok(Self {
            drive,
            knee,
            pendulum,
            thigh,
            preswing,
            weight_n,
            course,
            valve_course,
            release_s,
            energy_residual,
        })
    }

    /// The flow, for torques along the course.
    #[must_use]
    pub fn flow(&self) -> ShankFlow<'_> {
        ShankFlow {
            drive: Some(&self.drive),
            knee: &self.knee,
            pendulum: self.pendulum,
            thigh: self.thigh,
            preswing: self.preswing,
            weight_n: self.weight_n,
        }
    }

    /// Valve state at any instant of the stride.
    #[must_use]
    pub fn valve_at(&self, t: f64) -> f64 {
        if t < self.course.start.0 { self.valve_course.at(t)[0] } else { self.course.at(t)[state::VALVE] }
    }
}

/// in − stored − out, over out.
fn energy_residual(course: &Course<{ state::COUNT }>, inertia: f64) -> f64 {
    let (start, end) = (course.start.1, course.end.1);
    let stored = 0.5 * inertia * (end[state::OMEGA].powi(2) - start[state::OMEGA].powi(2));
    let works: f64 = (state::PASSIVE..=state::ASSIST).map(|i| end[i]).sum();
    let out = -(end[state::DAMPER] + end[state::FRICTION] + end[state::STOP]);
    (works - stored).abs() / out.max(super::LEAST_REFERENCE_J)
}

/// The valve alone, from heel contact to the start of pre-swing.
struct ValveFlow<'a> {
    drive: &'a Drive,
    valve: &'a StanceValve,
    weight_n: f64,
}

impl Flow<1> for ValveFlow<'_> {
    const SURFACES: usize = 3;

    type Held<'a>
        = HeldValve<'a>
    where
        Self: 'a;

    fn held(&self, sides: Sides) -> HeldValve<'_> {
        let pressure = Span::past(sides.positive(2), sides.positive(1));
        let felt = Felt { pressure, ..self.valve.felt(0.0, 0.0) };
        let catch_bw = self.valve.catch_load_n / self.weight_n;
        HeldValve { flow: self, felt, catch_bw, turns: DriveTurns::default() }
    }

    fn crossed(&self, _: usize, _: &mut Sides, _: f64, _: &State<1>) -> Then {
        Then::GoOn
    }
}

/// The valve on fixed sides.
struct HeldValve<'a> {
    flow: &'a ValveFlow<'a>,
    felt: Felt,
    catch_bw: f64,
    turns: DriveTurns,
}

impl Held<1> for HeldValve<'_> {
    #[inline]
    fn rate(&self, t: f64, y: &State<1>, dy: &mut State<1>) {
        let ValveFlow { drive, valve, .. } = self.flow;
        let x = drive.centre_of_pressure_m(t);
        let sensed = valve.sensed_on(self.felt, drive.load_bw_by(&self.turns, t), x, 0.0, true);
        dy[0] = valve.rate(sensed, y[0], self.catch_bw);
    }

    fn surface(&self, i: usize, t: f64, y: &State<1>) -> Option<f64> {
        let ValveFlow { drive, valve, .. } = self.flow;
        Some(match i {
            0 => y[0] - 0.5,
            1 => drive.centre_of_pressure_m(t) - valve.release_distance_m,
            // behind this all of the load is felt; only a foot that stands back gets there
            _ => drive.centre_of_pressure_m(t) - HEEL_M,
        })
    }
}

fn valve_under_straight_knee(
    drive: &Drive,
    valve: &StanceValve,
    weight_n: f64,
    precision: &Precision,
) -> Result<Course<1>, SimError> {
    let flow = ValveFlow { drive, valve, weight_n };
    let mut course = Course::begin(&flow, 0.0, State::<1>::new(valve.unloaded()), Sides::default());
    course.run(&flow, "stance valve", drive.preswing_start_s, precision)?;
    Ok(course)
}
