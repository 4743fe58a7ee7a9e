//! One stride of level walking: the valve under a straight knee, pre-swing, swing, and a little beyond.

use super::bounds;
use super::preswing::Preswing;
use super::swing::{ARMED, LOADED, Pendulum, ShankSystem, Thigh, state};
use crate::body::{Person, Shank};
use crate::error::SimError;
use crate::joint::{Knee, RampBranch, SensorBranch};
use crate::numerics::events::{EventAction, Mode};
use crate::numerics::hybrid::{FrozenMode, HybridSystem, State, Trajectory};
use crate::numerics::lanes::{self, LaneMotion, Part};
use crate::numerics::tolerances::Tolerances;
use crate::numerics::vector::Width;
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

/// A stride to be run from heel contact to `beyond` strides after the next one.
pub struct StridePlan {
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
    /// How far beyond the next heel contact, strides.
    pub beyond: f64,
    /// Error tolerances.
    pub tolerances: Tolerances,
}

impl StridePlan {
    /// A stride of a person.
    ///
    /// # Errors
    /// A locked joint.
    pub fn new(
        drive: Drive,
        knee: Knee,
        person: &Person,
        shank: Shank,
        (beyond, tolerances): (f64, Tolerances),
    ) -> Result<Self, SimError> {
        if knee.locked {
            return Err(SimError::CannotRun(
                "the joint is locked straight; walking with a bending knee needs flexion".into(),
            ));
        }
        let stop = knee.extension_stop.angle_rad;
        let preswing = Preswing::new(&person.preswing, person.user_effort_n_m(), stop, knee.friction);
        Ok(Self {
            drive,
            knee,
            pendulum: Pendulum::from(shank),
            thigh: Thigh::of(person),
            preswing,
            weight_n: person.weight_n(),
            beyond,
            tolerances,
        })
    }

    /// The valve alone under a straight knee, from heel contact to the start of pre-swing.
    fn valve(&self) -> LaneMotion<ValveSystem<'_>, 1> {
        let Self { drive, knee, weight_n, tolerances, .. } = self;
        let system = ValveSystem { drive, knee, weight_n: *weight_n };
        let start = State::<1>::new(knee.stance.unloaded_state());
        let end = drive.preswing_start_s;
        let parts = drive.pressure_kinks_s(0.0, end).into_iter().chain([end]);
        let part = |until_s| Part { set: None, until_s, name: "stance valve" };
        let trajectory = Trajectory::begin(&system, 0.0, start, Mode::default());
        LaneMotion {
            system,
            trajectory,
            parts: parts.map(part).collect(),
            tolerances: *tolerances,
            notes: Vec::new(),
            failed: None,
        }
    }

    fn system(&self) -> ShankSystem<'_> {
        ShankSystem {
            drive: Some(&self.drive),
            knee: &self.knee,
            pendulum: self.pendulum,
            thigh: self.thigh,
            preswing: self.preswing,
            weight_n: self.weight_n,
        }
    }

    /// The knee from the start of pre-swing on.
    fn swing(&self, valve: &Trajectory<1>) -> LaneMotion<ShankSystem<'_>, { state::COUNT }> {
        let drive = &self.drive;
        let mut mode = Mode::default();
        mode.set(ARMED, opened_s(valve).is_none());
        mode.set(LOADED, true);
        let mut start = State::<{ state::COUNT }>::zeros();
        start[state::PHI] = self.knee.extension_stop.angle_rad;
        start[state::VALVE] = valve.end.1[0];
        let system = self.system();
        let (t0, t_to, period) = (drive.preswing_start_s, drive.toe_off_s, drive.stride_time_s);
        let loaded = drive.pressure_kinks_s(t0, t_to).into_iter().chain([t_to]);
        let mut parts: Vec<Part> =
            loaded.map(|until_s| Part { set: None, until_s, name: "pre-swing" }).collect();
        parts.push(Part { set: Some((LOADED, false)), until_s: period, name: "swing" });
        parts.push(Part { set: None, until_s: period * (1.0 + self.beyond), name: "swing" });
        let trajectory = Trajectory::begin(&system, t0, start, mode);
        LaneMotion { system, trajectory, parts, tolerances: self.tolerances, notes: Vec::new(), failed: None }
    }

    /// Runs it.
    ///
    /// # Errors
    /// The integrator's, or an energy balance off by more than 1e-6.
    pub fn run(self) -> Result<Stride, SimError> {
        let mut valve = self.valve();
        valve.run_alone()?;
        let valve = valve.trajectory;
        let mut swing = self.swing(&valve);
        swing.run_alone()?;
        let trajectory = swing.trajectory;
        self.ended(valve, trajectory)
    }

    /// Runs several side by side; the joints of all of them [have lanes](Knee::has_lanes). Results are those of
    /// [`StridePlan::run`] but for rounding.
    #[must_use]
    pub fn run_all(plans: Vec<Self>) -> Vec<Result<Stride, SimError>> {
        let mut valves: Vec<_> = plans.iter().map(Self::valve).collect();
        lanes::run(Width::Widest, &mut valves);
        let valves: Vec<_> = valves.into_iter().map(|v| (v.trajectory, v.failed)).collect();
        let mut swings: Vec<_> = plans.iter().zip(&valves).map(|(p, (v, _))| p.swing(v)).collect();
        lanes::run(Width::Widest, &mut swings);
        let swings: Vec<_> = swings.into_iter().map(|s| (s.trajectory, s.failed)).collect();
        let ended = plans.into_iter().zip(valves).zip(swings);
        ended
            .map(|((plan, (valve, failed)), (swing, failed_later))| match failed.or(failed_later) {
                Some(e) => Err(e),
                None => plan.ended(valve, swing),
            })
            .collect()
    }

    fn ended(
        self,
        valve_trajectory: Trajectory<1>,
        trajectory: Trajectory<{ state::COUNT }>,
    ) -> Result<Stride, SimError> {
        let release_s = opened_s(&valve_trajectory).or_else(|| {
            trajectory.events_of(crate::motion::swing::event::VALVE_HALF).find(|e| !e.upwards).map(|e| e.t_s)
        });
        let Self { drive, knee, pendulum, thigh, preswing, weight_n, .. } = self;
        let energy_residual = energy_residual(&trajectory, pendulum.inertia);
        if energy_residual > crate::motion::MOST_RESIDUAL {
            return Err(SimError::EnergyBalance { phase: "stride", residual: energy_residual });
        }
        bounds::check("stride", &trajectory, [state::PHI, state::VALVE + 1], 0.0)?;
        Ok(Stride {
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
}

/// Instant at which the valve opened under the straight knee.
fn opened_s(valve: &Trajectory<1>) -> Option<f64> {
    valve.events.iter().find(|e| !e.upwards).map(|e| e.t_s)
}

impl Stride {
    /// Runs a stride from heel contact to `beyond` strides after the next one.
    ///
    /// # Errors
    /// As [`StridePlan::new`] and [`StridePlan::run`].
    pub fn run(
        drive: Drive,
        knee: Knee,
        person: &Person,
        shank: Shank,
        beyond: f64,
        tolerances: &Tolerances,
    ) -> Result<Self, SimError> {
        StridePlan::new(drive, knee, person, shank, (beyond, *tolerances))?.run()
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
pub(super) struct ValveSystem<'a> {
    pub drive: &'a Drive,
    pub knee: &'a Knee,
    pub weight_n: f64,
}

impl HybridSystem<1> for ValveSystem<'_> {
    const EVENT_FUNCTIONS: usize = 3;

    type FrozenMode<'a>
        = FrozenValve<'a>
    where
        Self: 'a;

    fn freeze(&self, mode: Mode) -> FrozenValve<'_> {
        let pressure = RampBranch::new(mode.positive(2), mode.positive(1));
        let sensor = SensorBranch { pressure, ..self.knee.stance.sensor_branch(0.0, 0.0) };
        let catch_bw = self.knee.stance.catch_load_n / self.weight_n;
        FrozenValve { system: self, sensor, catch_bw, angles: DriveSinCos::default() }
    }

    fn on_event(&self, _: usize, _: &mut Mode, _: f64, _: &State<1>) -> EventAction {
        EventAction::Continue
    }
}

/// The valve in one mode.
pub struct FrozenValve<'a> {
    system: &'a ValveSystem<'a>,
    sensor: SensorBranch,
    catch_bw: f64,
    angles: DriveSinCos,
}

impl FrozenValve<'_> {
    /// Branch of the sensor.
    pub(super) fn sensor(&self) -> SensorBranch {
        self.sensor
    }
}

impl FrozenMode<1> for FrozenValve<'_> {
    #[inline]
    fn rate(&self, t: f64, y: &State<1>, dy: &mut State<1>) {
        let ValveSystem { drive, knee, .. } = self.system;
        let valve = &knee.stance;
        let x = drive.centre_of_pressure_m(t);
        let sensed = valve.sensed_on(self.sensor, drive.load_bw_cached(&self.angles, t), x, 0.0, true);
        dy[0] = valve.rate(sensed, y[0], self.catch_bw);
    }

    // with a constant index most of it folds away
    #[inline(always)]
    fn event_function(&self, i: usize, t: f64, y: &State<1>) -> Option<f64> {
        let ValveSystem { drive, knee, .. } = self.system;
        let valve = &knee.stance;
        Some(match i {
            0 => y[0] - 0.5,
            1 => drive.centre_of_pressure_m(t) - valve.release_distance_m,
            // behind this all of the load is sensor; a foot that stands back gets there, and a long one
            _ => drive.centre_of_pressure_m(t) - valve.full_distance_m,
        })
    }
}
