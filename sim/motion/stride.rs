//! One stride of level walking: the valve under a straight knee, pre-swing, swing, and a little beyond.

use super::bounds;
use super::preswing::Preswing;
use super::swing::{ARMED, LOADED, Pendulum, ShankSystem, Thigh, state};
use crate::body::{Person, Shank};
use crate::error::SimError;
use crate::joint::{Knee, RampBranch, SensorBranch, StanceValve};
use crate::numerics::events::{EventAction, Mode};
use crate::numerics::hybrid::{FrozenMode, HybridSystem, State, Trajectory};
use crate::numerics::tolerances::Tolerances;
use crate::scenario::{Drive, DriveSinCos};

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
    /// The knee from the start of pre-swing on.
    pub trajectory: Trajectory<{ state::COUNT }>,
    /// The valve from heel contact to the start of pre-swing, with a straight knee.
    pub valve_trajectory: Trajectory<1>,
    /// Instant at which the valve opened while the foot carried load, s.
    pub release_s: Option<f64>,
    /// Energy balance at the end of the trajectory, |in − stored − out| / out.
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
        tolerances: &Tolerances,
    ) -> Result<Self, SimError> {
        if knee.locked {
            return Err(SimError::CannotRun(
                "the joint is locked straight; walking with a bending knee needs flexion".into(),
            ));
        }
        let weight_n = person.weight_n();
        let valve_trajectory = valve_under_straight_knee(&drive, &knee.stance, weight_n, tolerances)?;
        let opened_s = valve_trajectory.events.iter().find(|e| !e.upwards).map(|e| e.t_s);
        let mut mode = Mode::default();
        mode.set(ARMED, opened_s.is_none());
        mode.set(LOADED, true);

        let stop = knee.extension_stop.angle_rad;
        let mut start = State::<{ state::COUNT }>::zeros();
        start[state::PHI] = stop;
        start[state::VALVE] = valve_trajectory.end.1[0];
        let pendulum = Pendulum::from(shank);
        let thigh = Thigh::of(person);
        let preswing = Preswing::new(&person.preswing, person.user_effort_n_m(), stop, knee.friction);
        let system = ShankSystem { drive: Some(&drive), knee: &knee, pendulum, thigh, preswing, weight_n };
        let (t0, t_to, period) = (drive.preswing_start_s, drive.toe_off_s, drive.stride_time_s);
        let mut trajectory = Trajectory::begin(&system, t0, start, mode);
        for t in drive.pressure_kinks_s(t0, t_to).into_iter().chain([t_to]) {
            trajectory.run(&system, "pre-swing", t, tolerances)?;
        }
        trajectory.set_mode(&system, LOADED, false);
        trajectory.run(&system, "swing", period, tolerances)?;
        trajectory.run(&system, "swing", period * (1.0 + beyond), tolerances)?;

        let release_s = opened_s.or_else(|| {
            trajectory.events_of(crate::motion::swing::event::VALVE_HALF).find(|e| !e.upwards).map(|e| e.t_s)
        });
        let energy_residual = energy_residual(&trajectory, pendulum.inertia);
        if energy_residual > crate::motion::MOST_RESIDUAL {
            return Err(SimError::EnergyBalance { phase: "stride", residual: energy_residual });
        }
        bounds::check("stride", &trajectory, [state::PHI, state::VALVE + 1], 0.0)?;
        Ok(Self {
            drive,
            knee,
            pendulum,
            thigh,
            preswing,
            weight_n,
            trajectory,
            valve_trajectory,
            release_s,
            energy_residual,
        })
    }

    /// The hybrid system, for torques along the trajectory.
    #[must_use]
    pub fn system(&self) -> ShankSystem<'_> {
        ShankSystem {
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
        if t < self.trajectory.start.0 {
            self.valve_trajectory.at(t)[0]
        } else {
            self.trajectory.at(t)[state::VALVE]
        }
    }
}

/// in − stored − out, over out.
fn energy_residual(trajectory: &Trajectory<{ state::COUNT }>, inertia: f64) -> f64 {
    let (start, end) = (trajectory.start.1, trajectory.end.1);
    let stored = 0.5 * inertia * (end[state::OMEGA].powi(2) - start[state::OMEGA].powi(2));
    let works: f64 = (state::PASSIVE..=state::LOAD_LINE).map(|i| end[i]).sum();
    let out = -(end[state::DAMPER] + end[state::FRICTION] + end[state::STOP]);
    (works - stored).abs() / out.max(crate::motion::LEAST_REFERENCE_J)
}

/// The valve alone, from heel contact to the start of pre-swing.
struct ValveSystem<'a> {
    drive: &'a Drive,
    valve: &'a StanceValve,
    weight_n: f64,
}

impl HybridSystem<1> for ValveSystem<'_> {
    const EVENT_FUNCTIONS: usize = 3;

    type FrozenMode<'a>
        = FrozenValve<'a>
    where
        Self: 'a;

    fn freeze(&self, mode: Mode) -> FrozenValve<'_> {
        let pressure = RampBranch::new(mode.positive(2), mode.positive(1));
        let sensor = SensorBranch { pressure, ..self.valve.sensor_branch(0.0, 0.0) };
        let catch_bw = self.valve.catch_load_n / self.weight_n;
        FrozenValve { system: self, sensor, catch_bw, angles: DriveSinCos::default() }
    }

    fn on_event(&self, _: usize, _: &mut Mode, _: f64, _: &State<1>) -> EventAction {
        EventAction::Continue
    }
}

/// The valve in one mode.
struct FrozenValve<'a> {
    system: &'a ValveSystem<'a>,
    sensor: SensorBranch,
    catch_bw: f64,
    angles: DriveSinCos,
}

impl FrozenMode<1> for FrozenValve<'_> {
    #[inline]
    fn rate(&self, t: f64, y: &State<1>, dy: &mut State<1>) {
        let ValveSystem { drive, valve, .. } = self.system;
        let x = drive.centre_of_pressure_m(t);
        let sensed = valve.sensed_on(self.sensor, drive.load_bw_cached(&self.angles, t), x, 0.0, true);
        dy[0] = valve.rate(sensed, y[0], self.catch_bw);
    }

    // with a constant index most of it folds away
    #[inline(always)]
    fn event_function(&self, i: usize, t: f64, y: &State<1>) -> Option<f64> {
        let ValveSystem { drive, valve, .. } = self.system;
        Some(match i {
            0 => y[0] - 0.5,
            1 => drive.centre_of_pressure_m(t) - valve.release_distance_m,
            // behind this all of the load is sensor; a foot that stands back gets there, and a long one
            _ => drive.centre_of_pressure_m(t) - valve.full_distance_m,
        })
    }
}

fn valve_under_straight_knee(
    drive: &Drive,
    valve: &StanceValve,
    weight_n: f64,
    tolerances: &Tolerances,
) -> Result<Trajectory<1>, SimError> {
    let system = ValveSystem { drive, valve, weight_n };
    let mut trajectory =
        Trajectory::begin(&system, 0.0, State::<1>::new(valve.unloaded_state()), Mode::default());
    let end = drive.preswing_start_s;
    for t in drive.pressure_kinks_s(0.0, end).into_iter().chain([end]) {
        trajectory.run(&system, "stance valve", t, tolerances)?;
    }
    Ok(trajectory)
}
