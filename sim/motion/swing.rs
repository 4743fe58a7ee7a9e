//! Swing: the shank as a pendulum on a moving pivot.
//!
//! ```text
//! I φ'' = I θ'' + m r_c [x_k'' cos(ψ + ε) + (z_k'' + g) sin(ψ + ε)] + τ,   ψ = θ − φ
//! τ = τ_damper + τ_friction + τ_stop + τ_assist + τ_drive + τ_line
//! τ_line = −N(t) [x(t) − x(t) of the drive], in pre-swing
//! the same without ψ:  I θ'' + m r_c [A cos(φ − ε) + B sin(φ − ε)] + τ
//! A = x_k'' cosθ + (z_k'' + g) sinθ,   B = x_k'' sinθ − (z_k'' + g) cosθ
//! energy: ½ I ω² = ½ I ω₀² + ∫ ω {I θ'' + m r_c […]} dt + work of each torque
//! ```
//! Hip and thigh move as prescribed (walking_drive): a prescribed hip cannot compensate, so every
//! harm shown is an upper bound. x is the centre of pressure ahead of the shank line: with a foot further forward, or
//! its toes further down, than the drive assumes, the ground force holds the knee straight longer (30 mm at body
//! weight are 22 N m at 75 kg), and the user's correction answers it within its limits. All works are states of the integration and close the energy balance. The
//! hip moment in swing follows from the inverse dynamics of shank and thigh (0.07 M + 1.225 kg, 0.6 Lt above
//! the knee, 0.07 m Lt²; `pendulum`). Checked in tests/closed_form/swing.rs, tests/closed_form/driven.rs, tests/published/walking.rs,
//! tests/cross_code/scipy.rs.

use std::cell::Cell;

use super::joint_events::{joint_branch, joint_event, joint_event_function, least_beyond};
pub use super::pendulum::{Pendulum, PivotAcceleration, Thigh};
use super::preswing::Preswing;
use crate::joint::{JointBranch, Knee, RampBranch, SensorBranch, TorqueParts};
use crate::numerics::events::{EventAction, Mode};
use crate::numerics::hybrid::{FrozenMode, HybridSystem, State};
use crate::numerics::sin_cos_cache::SinCosCache;
use crate::scenario::{Drive, DriveSinCos, Kinematics};

/// Indices of the state: flexion, rate, valve, then the works in J on the shank.
pub mod state {
    #![allow(missing_docs)]
    pub const PHI: usize = 0;
    pub const OMEGA: usize = 1;
    pub const VALVE: usize = 2;
    pub const PASSIVE: usize = 3;
    pub const DRIVE: usize = 4;
    pub const DAMPER: usize = 5;
    pub const FRICTION: usize = 6;
    pub const STOP: usize = 7;
    pub const ASSIST: usize = 8;
    pub const LOAD_LINE: usize = 9;
    pub const COUNT: usize = 10;
}

/// Event functions besides those of the joint.
pub mod event {
    #![allow(missing_docs)]
    use super::joint_event;
    pub const EFFORT_HIGH: usize = joint_event::COUNT;
    pub const EFFORT_LOW: usize = joint_event::COUNT + 1;
    pub const VALVE_HALF: usize = joint_event::COUNT + 2;
    pub const BEND_BEGINS: usize = joint_event::COUNT + 3;
    pub const BEND_FULL: usize = joint_event::COUNT + 4;
    pub const RELEASE_POINT: usize = joint_event::COUNT + 5;
    pub const COUNT: usize = joint_event::COUNT + 6;
}

/// Mode bit: the joint is armed.
pub const ARMED: usize = 24;
/// Mode bit: the foot is on the ground (pre-swing).
pub const LOADED: usize = 25;

/// One stride of the shank, from the start of pre-swing on.
pub struct ShankSystem<'a> {
    /// Prescribed motion; none for a pendulum hanging from a still thigh.
    pub drive: Option<&'a Drive>,
    /// Joint.
    pub knee: &'a Knee,
    /// Shank.
    pub pendulum: Pendulum,
    /// Thigh, for the hip moment.
    pub thigh: Thigh,
    /// Pre-swing moment.
    pub preswing: Preswing,
    /// Body weight, N.
    pub weight_n: f64,
}

/// Torques at an instant, N m.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct StrideTorques {
    /// Of the joint.
    pub joint: TorqueParts,
    /// Of ground and hip in pre-swing.
    pub drive: f64,
    /// Of the ground force by its shift against the drive, in pre-swing.
    pub load_line: f64,
    /// Ground load, share of body weight.
    pub load_bw: f64,
}

impl ShankSystem<'_> {
    /// Kinematics at an instant.
    #[must_use]
    pub fn kinematics(&self, t: f64) -> Kinematics {
        self.drive.map_or_else(Kinematics::default, |d| d.kinematics(t))
    }

    /// Torques in a mode.
    #[must_use]
    #[inline]
    pub fn torques(&self, mode: Mode, k: &Kinematics, t: f64, y: &State<{ state::COUNT }>) -> StrideTorques {
        let (phi, omega, z) = (y[state::PHI], y[state::OMEGA], y[state::VALVE]);
        let joint = self.knee.torque_on(joint_branch(mode), phi, omega, z);
        match self.drive {
            Some(d) if mode.positive(LOADED) => {
                let moment =
                    self.preswing.moment(&self.pendulum, d, &PivotAcceleration::of(k), t, phi, omega);
                let added = self.clamped_correction(mode, moment.correction);
                let load_bw = d.load_bw(t);
                let load_line = self.load_line_torque(load_bw, d.load_line_shift_m(t));
                StrideTorques { joint, drive: moment.ordinary + added, load_line, load_bw }
            }
            _ => StrideTorques { joint, ..StrideTorques::default() },
        }
    }

    /// Moment of the ground load by an arm in front of the one that the drive assumes, N m.
    #[inline]
    fn load_line_torque(&self, load_bw: f64, arm_m: f64) -> f64 {
        -self.weight_n * load_bw * arm_m
    }

    /// Corrective moment of the user, within ± effort, in a mode.
    #[inline]
    fn clamped_correction(&self, mode: Mode, correction: f64) -> f64 {
        let effort = self.preswing.effort_n_m;
        match (mode.positive(event::EFFORT_HIGH), mode.positive(event::EFFORT_LOW)) {
            (true, _) => effort,
            (false, true) => correction,
            (false, false) => -effort,
        }
    }
}

impl HybridSystem<{ state::COUNT }> for ShankSystem<'_> {
    const EVENT_FUNCTIONS: usize = event::COUNT;
    const DYNAMIC_STATES: usize = state::VALVE + 1;

    type FrozenMode<'a>
        = FrozenShank<'a>
    where
        Self: 'a;

    fn freeze(&self, mode: Mode) -> FrozenShank<'_> {
        // in late stance the centre of pressure has long passed the heel, however far back the foot stands
        let sensor = SensorBranch {
            pressure: RampBranch::new(true, mode.positive(event::RELEASE_POINT)),
            bend: RampBranch::new(mode.positive(event::BEND_BEGINS), mode.positive(event::BEND_FULL)),
        };
        FrozenShank {
            system: self,
            mode,
            joint: self.knee.on_branch(joint_branch(mode)),
            sensor,
            loaded: self.drive.filter(|_| mode.positive(LOADED)),
            catch_bw: self.knee.stance.catch_load_n / self.weight_n,
            angles: ShankSinCos::default(),
            last_drive: Cell::new((f64::NAN, DriveAt::default())),
        }
    }

    fn on_event(&self, i: usize, mode: &mut Mode, _t: f64, _y: &State<{ state::COUNT }>) -> EventAction {
        // a valve that opens while the foot carries load stays open until the foot has left the ground
        if i == event::VALVE_HALF && !mode.positive(i) {
            mode.set(ARMED, false);
        }
        EventAction::Continue
    }
}

/// The drive at an instant.
#[derive(Debug, Clone, Copy, Default)]
struct DriveAt {
    pivot: PivotAcceleration,
    /// Flexion that a released knee follows, and its rate; in pre-swing only, as all fields below.
    released: [f64; 2],
    /// F(t), N m.
    ordinary: f64,
    load_bw: f64,
    /// N m.
    load_line: f64,
    centre_of_pressure_m: f64,
}

/// Sines and cosines of angles that change little between evaluations.
#[derive(Debug, Clone, Default)]
struct ShankSinCos {
    drive: DriveSinCos,
    /// φ − ε.
    shank: SinCosCache,
    /// φ − ε of a released knee.
    released: SinCosCache,
}

/// The shank in one mode.
pub struct FrozenShank<'a> {
    system: &'a ShankSystem<'a>,
    mode: Mode,
    joint: JointBranch<'a>,
    sensor: SensorBranch,
    /// The drive, while the foot is on the ground.
    loaded: Option<&'a Drive>,
    catch_bw: f64,
    angles: ShankSinCos,
    /// The drive at the last instant evaluated: at the end of a step, two slopes and all event functions need it.
    last_drive: Cell<(f64, DriveAt)>,
}

impl FrozenShank<'_> {
    /// Branch of the sensor.
    pub(super) fn sensor(&self) -> SensorBranch {
        self.sensor
    }

    #[inline]
    fn drive(&self, t: f64) -> DriveAt {
        let (before, drive) = self.last_drive.get();
        // the same instant, not one close to it
        if before.total_cmp(&t).is_eq() {
            return drive;
        }
        let drive = self.drive_at(t);
        self.last_drive.set((t, drive));
        drive
    }

    fn drive_at(&self, t: f64) -> DriveAt {
        let system = self.system;
        let angles = &self.angles;
        let Some(drive) = self.loaded else {
            let kinematics =
                system.drive.map_or_else(Kinematics::default, |d| d.kinematics_cached(&angles.drive, t));
            return DriveAt { pivot: PivotAcceleration::of(&kinematics), ..DriveAt::default() };
        };
        let (kinematics, [bend, rate, acc]) = drive.kinematics_and_released_knee_cached(&angles.drive, t);
        let pivot = PivotAcceleration::of(&kinematics);
        let q = system.preswing.stop_rad + bend;
        let load_bw = drive.load_bw_cached(&angles.drive, t);
        let pivot_torque =
            system.pendulum.pivot_torque(&pivot, angles.released.sin_cos(q - system.pendulum.com_angle));
        DriveAt {
            pivot,
            released: [q, rate],
            ordinary: system.preswing.ordinary(&system.pendulum, pivot_torque, rate, acc),
            load_bw,
            load_line: system.load_line_torque(load_bw, drive.load_line_shift_m(t)),
            centre_of_pressure_m: drive.centre_of_pressure_m(t),
        }
    }
}

impl FrozenMode<{ state::COUNT }> for FrozenShank<'_> {
    #[inline]
    fn rate(&self, t: f64, y: &State<{ state::COUNT }>, dy: &mut State<{ state::COUNT }>) {
        let system = self.system;
        let (phi, omega, z) = (y[state::PHI], y[state::OMEGA], y[state::VALVE]);
        let drive = self.drive(t);
        let joint = self.joint.torque(phi, omega, z);
        let added = if self.loaded.is_some() {
            drive.ordinary
                + system.clamped_correction(
                    self.mode,
                    system.preswing.correction(&system.pendulum, phi, omega, drive.released),
                )
        } else {
            0.0
        };
        let shank = self.angles.shank.sin_cos(phi - system.pendulum.com_angle);
        let passive = system.pendulum.pivot_torque(&drive.pivot, shank);
        let acc = (passive + (joint.sum() + added + drive.load_line)) / system.pendulum.inertia;
        let valve = &system.knee.stance;
        let sensed = if drive.load_bw > 0.0 {
            let armed = self.mode.positive(ARMED);
            let x = drive.centre_of_pressure_m;
            valve.sensed_on(self.sensor, drive.load_bw, x, system.knee.bend(phi), armed)
        } else {
            0.0
        };
        dy[state::PHI] = omega;
        dy[state::OMEGA] = acc;
        dy[state::VALVE] = valve.rate(sensed, z, self.catch_bw);
        dy[state::PASSIVE] = omega * passive;
        dy[state::DRIVE] = omega * added;
        dy[state::DAMPER] = omega * joint.damper;
        dy[state::FRICTION] = omega * joint.friction;
        dy[state::STOP] = omega * joint.stop;
        dy[state::ASSIST] = omega * joint.assist;
        dy[state::LOAD_LINE] = omega * drive.load_line;
    }

    // with a constant index most of it folds away
    #[inline(always)]
    fn event_function(&self, i: usize, t: f64, y: &State<{ state::COUNT }>) -> Option<f64> {
        let system = self.system;
        let (phi, omega, z) = (y[state::PHI], y[state::OMEGA], y[state::VALVE]);
        if i < joint_event::COUNT {
            return joint_event_function(system.knee, &self.joint, i, self.mode, [phi, omega, z]);
        }
        let drive = self.loaded?;
        let valve = &system.knee.stance;
        let correction = || system.preswing.correction(&system.pendulum, phi, omega, self.drive(t).released);
        match i {
            event::EFFORT_HIGH => Some(correction() - system.preswing.effort_n_m),
            event::EFFORT_LOW => Some(correction() + system.preswing.effort_n_m),
            event::VALVE_HALF => Some(z - 0.5),
            event::BEND_BEGINS => Some(system.knee.bend(phi) - valve.bend_start_rad),
            event::BEND_FULL => Some(system.knee.bend(phi) - valve.bend_start_rad - valve.bend_span_rad),
            event::RELEASE_POINT => Some(drive.centre_of_pressure_m(t) - valve.release_distance_m),
            _ => None,
        }
    }

    #[inline(always)]
    fn least_beyond(&self, i: usize) -> f64 {
        least_beyond(i)
    }
}
