//! Swing: the shank as a pendulum on a moving pivot.
//!
//! ```text
//! I φ'' = I θ'' + m r_c [x_k'' cos(ψ + ε) + (z_k'' + g) sin(ψ + ε)] + τ,   ψ = θ − φ
//! τ = τ_damper + τ_friction + τ_stop + τ_assist + τ_drive
//! the same without ψ:  I θ'' + m r_c [A cos(φ − ε) + B sin(φ − ε)] + τ
//! A = x_k'' cosθ + (z_k'' + g) sinθ,   B = x_k'' sinθ − (z_k'' + g) cosθ
//! energy: ½ I ω² = ½ I ω₀² + ∫ ω {I θ'' + m r_c […]} dt + work of each torque
//! ```
//! Hip and thigh move as prescribed (walking_drive): a prescribed hip cannot compensate, so every
//! harm shown is an upper bound. All works are quadrature states and close the balance. The hip moment
//! in swing follows by inverse dynamics of shank and thigh (0.07 M + 1.225 kg, 0.6 Lt above the knee,
//! 0.07 m Lt²).
//! Checked in tests/closed_form/swing.rs, tests/closed_form/driven.rs, tests/published/walking.rs,
//! tests/cross_code/scipy.rs.

use std::cell::Cell;

use super::joint_events::{joint_branch, joint_event, joint_event_function};
use super::preswing::Preswing;
use crate::body::Shank;
use crate::joint::{JointBranch, Knee, SensorBranch, Span, TorqueParts};
use crate::numerics::events::{EventAction, Mode};
use crate::numerics::hybrid::{FrozenMode, HybridSystem, State};
use crate::numerics::simd::Lane;
use crate::numerics::sin_cos_cache::SinCosCache;
use crate::scenario::{Drive, DriveSinCos, Kinematics};
use crate::units::GRAVITY_M_PER_S2 as G;

/// The shank as it enters the equation of motion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pendulum<T = f64> {
    /// I, kg m².
    pub inertia: T,
    /// m r_c, kg m.
    pub mass_moment: T,
    /// ε, rad.
    pub com_angle: T,
    /// m, kg.
    pub mass: T,
}

impl From<Shank> for Pendulum {
    fn from(s: Shank) -> Self {
        Self {
            inertia: s.inertia_kg_m2,
            mass_moment: s.mass_kg * s.com_distance_m,
            com_angle: s.com_angle_rad,
            mass: s.mass_kg,
        }
    }
}

/// What hip and thigh do to the knee axis, in the frame of the thigh.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PivotAcceleration<T = f64> {
    /// θ'', rad/s².
    pub thigh_acc: T,
    /// A, the part at right angles to the thigh, m/s².
    pub across: T,
    /// B, the part along it, m/s².
    pub along: T,
}

impl PivotAcceleration {
    /// From the motion of thigh and knee axis.
    #[must_use]
    #[inline]
    pub fn of(k: &Kinematics) -> Self {
        let (sin, cos) = k.thigh_sin_cos;
        let up = k.knee_acc_z + G;
        Self {
            thigh_acc: k.thigh_acc,
            across: k.knee_acc_x * cos + up * sin,
            along: k.knee_acc_x * sin - up * cos,
        }
    }
}

impl<T: Lane> Pendulum<T> {
    /// I θ'' + m r_c [A cos(φ − ε) + B sin(φ − ε)]: what thigh, hip and gravity do to the knee angle,
    /// N m, with the sine and cosine of φ − ε.
    #[must_use]
    #[inline(always)]
    pub fn pulled(&self, pull: &PivotAcceleration<T>, (sin, cos): (T, T)) -> T {
        self.mass_moment
            .times_plus(pull.across.times_plus(cos, pull.along * sin), self.inertia * pull.thigh_acc)
    }
}

impl Pendulum {
    /// The same at a flexion.
    ///
    /// ```
    /// use kneedamp::motion::swing::Pendulum;
    /// use kneedamp::scenario::Kinematics;
    /// let p = Pendulum { inertia: 0.2, mass_moment: 0.5, com_angle: 0.0, mass: 2.0 };
    /// // thigh still and vertical, knee bent by 90°: gravity extends it with its full moment
    /// let torque = p.driving_torque(&Kinematics::default(), std::f64::consts::FRAC_PI_2);
    /// assert!((torque + 0.5 * 9.81).abs() < 1e-12);
    /// ```
    #[must_use]
    #[inline]
    pub fn driving_torque(&self, k: &Kinematics, phi: f64) -> f64 {
        self.pulled_at(&PivotAcceleration::of(k), phi)
    }

    /// As [`Pendulum::pulled`], at a flexion.
    #[must_use]
    #[inline]
    pub fn pulled_at(&self, pull: &PivotAcceleration, phi: f64) -> f64 {
        self.pulled(pull, (phi - self.com_angle).sin_cos())
    }
}

/// Thigh and socket, for the hip moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thigh {
    /// Length Lt, m.
    pub length: f64,
    /// Mass, kg.
    pub mass: f64,
    /// Centre of mass above the knee axis, m.
    pub com_above_knee: f64,
    /// Central moment of inertia, kg m².
    pub inertia: f64,
}

impl Thigh {
    /// Residual thigh and socket of a person \[J\].
    #[must_use]
    pub fn of(person: &crate::body::Person) -> Self {
        let length = person.thigh_length_m();
        let mass = 0.07 * person.mass_kg + 1.225;
        Self { length, mass, com_above_knee: 0.6 * length, inertia: 0.07 * mass * length * length }
    }

    /// Hip moment on the thigh, positive towards flexion, while the foot is in the air, N m.
    /// `torque` is the knee torque and `acc` φ''.
    #[must_use]
    #[inline]
    pub fn hip_moment(
        &self,
        p: &Pendulum,
        k: &Kinematics,
        phi: f64,
        omega: f64,
        acc: f64,
        torque: f64,
    ) -> f64 {
        let cross = |r: [f64; 2], f: [f64; 2]| r[0] * f[1] - r[1] * f[0];
        let (st, ct) = k.thigh_sin_cos;
        let (ss, cs) = (k.thigh - phi + p.com_angle).sin_cos();
        let (psi_rate, psi_acc) = (k.thigh_rate - omega, k.thigh_acc - acc);
        // force on the shank at the knee, m (a_c − g)
        let knee_force = [
            p.mass * k.knee_acc_x + p.mass_moment * (psi_acc * cs - psi_rate * psi_rate * ss),
            p.mass * (k.knee_acc_z + G) + p.mass_moment * (psi_acc * ss + psi_rate * psi_rate * cs),
        ];
        let d = self.length - self.com_above_knee;
        let own = [
            self.mass * (k.hip_acc_x + d * (k.thigh_acc * ct - k.thigh_rate * k.thigh_rate * st)),
            self.mass * (k.hip_acc_z + G + d * (k.thigh_acc * st + k.thigh_rate * k.thigh_rate * ct)),
        ];
        self.inertia * k.thigh_acc
            + cross([d * st, -d * ct], own)
            + cross([self.length * st, -self.length * ct], knee_force)
            - torque
    }
}

/// Indices of the state: flexion, rate, valve, then works in J done on the shank by each agent.
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
    pub const COUNT: usize = 9;
}

/// Surfaces beyond those of the joint.
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
    /// Ground load, share of body weight.
    pub load_bw: f64,
}

impl ShankSystem<'_> {
    /// Kinematics at an instant.
    #[must_use]
    pub fn kinematics(&self, t: f64) -> Kinematics {
        self.drive.map_or_else(Kinematics::default, |d| d.kinematics(t))
    }

    /// Torques on the branch of `sides`.
    #[must_use]
    #[inline]
    pub fn torques(&self, mode: Mode, k: &Kinematics, t: f64, y: &State<{ state::COUNT }>) -> StrideTorques {
        let (phi, omega, z) = (y[state::PHI], y[state::OMEGA], y[state::VALVE]);
        let joint = self.knee.torque_on(joint_branch(mode), phi, omega, z);
        match self.drive {
            Some(d) if mode.positive(LOADED) => {
                let moment =
                    self.preswing.moment(&self.pendulum, d, &PivotAcceleration::of(k), t, phi, omega);
                let added = self.effort(mode, moment.correction);
                StrideTorques { joint, drive: moment.ordinary + added, load_bw: d.load_bw(t) }
            }
            _ => StrideTorques { joint, drive: 0.0, load_bw: 0.0 },
        }
    }

    /// What the user adds: the correction within ± effort, on the branch of `sides`.
    #[inline]
    fn effort(&self, mode: Mode, correction: f64) -> f64 {
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
        let felt = SensorBranch {
            pressure: Span::past(true, mode.positive(event::RELEASE_POINT)),
            bend: Span::past(mode.positive(event::BEND_BEGINS), mode.positive(event::BEND_FULL)),
        };
        FrozenShank {
            system: self,
            mode,
            joint: self.knee.acting(joint_branch(mode)),
            felt,
            loaded: self.drive.filter(|_| mode.positive(LOADED)),
            catch_bw: self.knee.stance.catch_load_n / self.weight_n,
            turns: ShankTurns::default(),
            driven: Cell::new((f64::NAN, Driven::default())),
        }
    }

    fn on_event(&self, i: usize, mode: &mut Mode, _t: f64, _y: &State<{ state::COUNT }>) -> EventAction {
        // a joint that lets go while the foot carries load stays released until the foot has left the ground
        if i == event::VALVE_HALF && !mode.positive(i) {
            mode.set(ARMED, false);
        }
        EventAction::Continue
    }
}

/// What time alone decides.
#[derive(Debug, Clone, Copy, Default)]
struct Driven {
    pull: PivotAcceleration,
    /// Flexion that a released knee follows, and its rate; pre-swing only, as all below.
    released: [f64; 2],
    /// F(t), N m.
    ordinary: f64,
    load_bw: f64,
    centre_of_pressure_m: f64,
}

/// Angles that move on by little from slope to slope.
#[derive(Debug, Clone, Default)]
struct ShankTurns {
    drive: DriveSinCos,
    /// φ − ε.
    shank: SinCosCache,
    /// The same of a released knee.
    released: SinCosCache,
}

/// The shank on fixed sides.
pub struct FrozenShank<'a> {
    system: &'a ShankSystem<'a>,
    mode: Mode,
    joint: JointBranch<'a>,
    felt: SensorBranch,
    /// The drive, while the foot is on the ground.
    loaded: Option<&'a Drive>,
    catch_bw: f64,
    turns: ShankTurns,
    /// The drive at the last instant asked for: a step ends with two slopes and all surfaces at one instant.
    driven: Cell<(f64, Driven)>,
}

impl FrozenShank<'_> {
    #[inline]
    fn driven(&self, t: f64) -> Driven {
        let (then, driven) = self.driven.get();
        // the same instant, not one close to it
        if then.total_cmp(&t).is_eq() {
            return driven;
        }
        let driven = self.driven_at(t);
        self.driven.set((t, driven));
        driven
    }

    fn driven_at(&self, t: f64) -> Driven {
        let system = self.system;
        let turns = &self.turns;
        let Some(drive) = self.loaded else {
            let kinematics =
                system.drive.map_or_else(Kinematics::default, |d| d.kinematics_by(&turns.drive, t));
            return Driven { pull: PivotAcceleration::of(&kinematics), ..Driven::default() };
        };
        let (kinematics, [bend, rate, acc]) = drive.kinematics_and_released_knee_by(&turns.drive, t);
        let pull = PivotAcceleration::of(&kinematics);
        let q = system.preswing.stop_rad + bend;
        let pulled = system.pendulum.pulled(&pull, turns.released.sin_cos(q - system.pendulum.com_angle));
        Driven {
            pull,
            released: [q, rate],
            ordinary: system.preswing.ordinary(&system.pendulum, pulled, rate, acc),
            load_bw: drive.load_bw_by(&turns.drive, t),
            centre_of_pressure_m: drive.centre_of_pressure_m(t),
        }
    }
}

impl FrozenMode<{ state::COUNT }> for FrozenShank<'_> {
    #[inline]
    fn rate(&self, t: f64, y: &State<{ state::COUNT }>, dy: &mut State<{ state::COUNT }>) {
        let system = self.system;
        let (phi, omega, z) = (y[state::PHI], y[state::OMEGA], y[state::VALVE]);
        let driven = self.driven(t);
        let joint = self.joint.torque(phi, omega, z);
        let added = if self.loaded.is_some() {
            driven.ordinary
                + system.effort(
                    self.mode,
                    system.preswing.correction(&system.pendulum, phi, omega, driven.released),
                )
        } else {
            0.0
        };
        let shank = self.turns.shank.sin_cos(phi - system.pendulum.com_angle);
        let passive = system.pendulum.pulled(&driven.pull, shank);
        let acc = (passive + (joint.sum() + added)) / system.pendulum.inertia;
        let valve = &system.knee.stance;
        let sensed = if driven.load_bw > 0.0 {
            let armed = self.mode.positive(ARMED);
            let x = driven.centre_of_pressure_m;
            valve.sensed_on(self.felt, driven.load_bw, x, system.knee.bend(phi), armed)
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
    }

    #[inline]
    fn event_function(&self, i: usize, t: f64, y: &State<{ state::COUNT }>) -> Option<f64> {
        let system = self.system;
        let (phi, omega, z) = (y[state::PHI], y[state::OMEGA], y[state::VALVE]);
        if i < joint_event::COUNT {
            return joint_event_function(system.knee, &self.joint, i, self.mode, [phi, omega, z]);
        }
        let drive = self.loaded?;
        let valve = &system.knee.stance;
        let correction = || system.preswing.correction(&system.pendulum, phi, omega, self.driven(t).released);
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
}
