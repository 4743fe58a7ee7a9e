//! Two degrees of freedom under weight: shank tilt β and knee flexion φ, for ramp, stairs, stumble
//! and landing.
//!
//! ```text
//! [Σ mᵢ JᵢᵀJᵢ + [[I1+I2, −I2], [−I2, I2]]] q'' = Σ Jᵢᵀ mᵢ (G − Jᵢ' q') + J_hipᵀ P + [M_h, −M_h − T + τ_stop]
//! P = s(t) BW up − 200 (M/75) (v_hip·fwd − v) fwd,   F = Σ mᵢ (Jᵢ q'' + Jᵢ' q' − G) − P,   N = F·up
//! ```
//! q = (β, φ); surface frame X down the slope γ, Z normal; G = g (sin γ, −cos γ), up = −G/g, fwd =
//! (cos γ, sin γ). δ = β − φ, t = (sin δ, cos δ). Bodies: shank (m1, I1) at K − c1 u + e1 f, thigh and
//! socket (m2, I2) at K + c2 t, the rest of the body (m3, a point) at the hip K + Lt t; K by
//! `scenario::ground`. T = −(τ_damper + τ_friction) of the joint without cushion and assist spring;
//! M_h hip extension moment. s(t) is the weight still on the other leg; the second term of P is an external
//! force that holds the pace; its work is reported. The foot never lifts: a ground load below −0.02 of body
//! weight after the weight transfer is an error; before, the foot is held down and the impulse reported
//! (`stance_tasks`). Geometry in `leg_geometry`, dynamics in `leg_dynamics`, modes and events here. Checked in
//! tests/closed_form/loaded.rs and tests/cross_code/scipy.rs.

use std::cell::Cell;

use super::joint_events::{joint_branch, joint_event, joint_event_function, least_beyond};
use super::leg_dynamics::LegConstants;
pub use super::leg_dynamics::{HIP_MOMENT_RISE_S, LegForces};
pub use super::leg_geometry::{LegSystem, OtherFoot, event, state};
use super::leg_geometry::{Posture, World, dot};
use crate::joint::{JointBranch, RampBranch, SensorBranch};
pub use crate::motion::segments::Segments;
use crate::numerics::events::{EventAction, Mode};
use crate::numerics::hybrid::{FrozenMode, HybridSystem, State};
use crate::numerics::sin_cos_cache::SinCosCache;
use crate::scenario::Sole;

impl LegSystem {
    /// Forces and accelerations at a state.
    #[must_use]
    pub fn forces(&self, mode: Mode, t: f64, y: &State<{ state::COUNT }>) -> LegForces {
        self.freeze(mode).forces(t, y)
    }
}

impl HybridSystem<{ state::COUNT }> for LegSystem {
    const EVENT_FUNCTIONS: usize = event::COUNT;
    const DYNAMIC_STATES: usize = state::VALVE + 1;

    type FrozenMode<'a> = FrozenLeg<'a>;

    fn freeze(&self, mode: Mode) -> FrozenLeg<'_> {
        let past = |first, second| RampBranch::new(mode.positive(first), mode.positive(second));
        let sensor = SensorBranch {
            pressure: past(event::WEIGHT_FULL, event::WEIGHT_NONE),
            bend: past(event::BEND_BEGINS, event::BEND_FULL),
        };
        FrozenLeg {
            system: self,
            mode,
            joint: self.knee.on_branch(joint_branch(mode)),
            sensor,
            sole: self.sole(Self::region(mode)),
            ends_rad: self.footing.ends_rad(),
            world: self.world(),
            constants: self.constants(),
            catch_bw: self.knee.stance.catch_load_n / self.segments.weight_n(),
            angles: Default::default(),
            last_posture: Cell::new(None),
        }
    }

    fn on_event(&self, i: usize, mode: &mut Mode, _t: f64, y: &State<{ state::COUNT }>) -> EventAction {
        let ends = match i {
            event::COLLAPSE => mode.positive(i),
            event::STALL | event::OTHER_FOOT => !mode.positive(i),
            // already below ground at the first check: the other foot has landed late
            event::HIP_PAST => mode.positive(i) && self.other_foot_gap(self.hip_on(*mode, y)) <= 0.0,
            _ => false,
        };
        if ends { EventAction::Stop } else { EventAction::Continue }
    }
}

/// The leg in one mode.
pub struct FrozenLeg<'a> {
    system: &'a LegSystem,
    mode: Mode,
    joint: JointBranch<'a>,
    sensor: SensorBranch,
    sole: Sole,
    ends_rad: Option<(f64, f64)>,
    world: World,
    constants: LegConstants,
    catch_bw: f64,
    /// β and δ.
    angles: [SinCosCache; 2],
    /// The last posture with its β and φ: all event functions of a check need the same one.
    last_posture: Cell<Option<(f64, f64, Posture)>>,
}

impl FrozenLeg<'_> {
    /// The mode.
    #[must_use]
    pub fn mode(&self) -> Mode {
        self.mode
    }

    /// Branch of the sensor.
    pub(super) fn sensor(&self) -> SensorBranch {
        self.sensor
    }

    /// What the foot rotates about.
    pub(super) fn sole(&self) -> Sole {
        self.sole
    }

    /// Forces and accelerations at a state.
    #[must_use]
    #[inline(always)]
    pub fn forces(&self, t: f64, y: &State<{ state::COUNT }>) -> LegForces {
        let p = self.posture(y[state::BETA], y[state::PHI]);
        let joint = self.joint.torque(y[state::PHI], y[state::OMEGA], y[state::VALVE]);
        self.constants.forces(joint, &p, t, [y[state::BETA_RATE], y[state::OMEGA]])
    }

    #[inline(always)]
    fn posture(&self, beta: f64, phi: f64) -> Posture {
        let [shank, thigh] = &self.angles;
        let shank = shank.sin_cos(beta);
        Posture { knee: self.sole.knee(beta, shank), shank, thigh: thigh.sin_cos(beta - phi) }
    }

    fn cached_posture(&self, beta: f64, phi: f64) -> Posture {
        match self.last_posture.get() {
            Some((b, p, posture)) if (b, p) == (beta, phi) => posture,
            _ => {
                let posture = self.posture(beta, phi);
                self.last_posture.set(Some((beta, phi, posture)));
                posture
            }
        }
    }
}

impl FrozenMode<{ state::COUNT }> for FrozenLeg<'_> {
    #[inline(always)]
    fn rate(&self, t: f64, y: &State<{ state::COUNT }>, dy: &mut State<{ state::COUNT }>) {
        let system = self.system;
        let f = self.forces(t, y);
        let omega = y[state::OMEGA];
        let valve = &system.knee.stance;
        let bend = system.knee.bend(y[state::PHI]);
        let sensed = valve.sensed_on(self.sensor, f.load_bw, f.centre_of_pressure_m, bend, true);
        dy[state::BETA] = y[state::BETA_RATE];
        dy[state::PHI] = omega;
        dy[state::BETA_RATE] = f.acc[0];
        dy[state::OMEGA] = f.acc[1];
        dy[state::VALVE] = valve.rate(sensed, y[state::VALVE], self.catch_bw);
        let powers = f.powers([y[state::BETA_RATE], omega]);
        for (i, power) in powers.into_iter().enumerate() {
            dy[state::DAMPER + i] = power;
        }
    }

    // with a constant index most of it folds away
    #[inline(always)]
    fn event_function(&self, i: usize, _t: f64, y: &State<{ state::COUNT }>) -> Option<f64> {
        let system = self.system;
        let (beta, phi, omega) = (y[state::BETA], y[state::PHI], y[state::OMEGA]);
        if i < joint_event::COUNT {
            return joint_event_function(
                &system.knee,
                &self.joint,
                i,
                self.mode,
                [phi, omega, y[state::VALVE]],
            );
        }
        let valve = &system.knee.stance;
        let pressure = || self.sole.centre_of_pressure_m(beta);
        let hip = || system.hip_in(&self.world, &self.cached_posture(beta, phi));
        match i {
            event::HEEL_END => self.ends_rad.map(|(heel, _)| beta - heel),
            event::TOE_END => self.ends_rad.map(|(_, toe)| beta - toe),
            event::WEIGHT_FULL => Some(pressure() - valve.full_distance_m),
            event::WEIGHT_NONE => Some(pressure() - valve.release_distance_m),
            event::BEND_BEGINS => Some(system.knee.bend(phi) - valve.bend_start_rad),
            event::BEND_FULL => Some(system.knee.bend(phi) - valve.bend_start_rad - valve.bend_span_rad),
            event::VALVE_HALF => Some(y[state::VALVE] - 0.5),
            event::HIP_PAST => match system.other_foot {
                OtherFoot::Slope { from_m, .. } => Some(hip()[0] - from_m),
                _ => None,
            },
            event::OTHER_FOOT => match system.other_foot {
                OtherFoot::Slope { .. } if !self.mode.positive(event::HIP_PAST) => None,
                OtherFoot::None => None,
                _ => Some(system.other_foot_gap(hip())),
            },
            event::COLLAPSE => Some(phi - system.collapse_rad),
            event::STALL => {
                let least = system.stall_m_per_s?;
                let p = self.cached_posture(beta, phi);
                let v = p.hip_velocity(system.segments.thigh_m, y[state::BETA_RATE], omega);
                Some(dot(v, self.world.forward) - least)
            }
            _ => None,
        }
    }

    #[inline(always)]
    fn least_beyond(&self, i: usize) -> f64 {
        least_beyond(i)
    }
}
