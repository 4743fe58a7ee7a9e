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
//! M_h hip extension moment. s(t) is the weight still on the other leg; the second term of P holds
//! the pace: an outside force, its work is reported. The foot never lifts: a ground load below
//! −0.02 of body weight is an error once the weight has come over; before, the foot is held down and
//! the impulse reported (`leg_tasks`). Checked in tests/closed_form/loaded.rs and
//! tests/cross_code/scipy.rs.

use std::cell::Cell;

use super::joint_events::{joint_branch, joint_event, joint_event_function};
use crate::joint::{JointBranch, Knee, SensorBranch, Span, TorqueParts};
pub use crate::motion::segments::Segments;
use crate::numerics::events::{EventAction, Mode};
use crate::numerics::hybrid::{FrozenMode, HybridSystem, State};
use crate::numerics::sin_cos_cache::SinCosCache;
use crate::numerics::smooth::smoothstep;
use crate::scenario::{Footing, KneeOverFoot, Region, Sole};
use crate::units::GRAVITY_M_PER_S2 as G;

/// Where the motion ends besides its time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OtherFoot {
    /// No other foot.
    None,
    /// A straight leg this far ahead of the vertical meets the slope; looked for from this hip position on.
    Slope {
        /// Angle ahead of the vertical, rad.
        ahead_rad: f64,
        /// Hip position, m.
        from_m: f64,
    },
    /// The hip has come down to this height over the edge.
    Height {
        /// Height, m.
        hip_m: f64,
    },
}

/// Indices of the state.
pub mod state {
    #![allow(missing_docs)]
    pub const BETA: usize = 0;
    pub const PHI: usize = 1;
    pub const BETA_RATE: usize = 2;
    pub const OMEGA: usize = 3;
    pub const VALVE: usize = 4;
    /// Works, J: of the oil and seals, the other leg, the pace force, the hip moment, the stops.
    pub const DAMPER: usize = 5;
    pub const SUPPORT: usize = 6;
    pub const PACE: usize = 7;
    pub const HIP: usize = 8;
    pub const STOP: usize = 9;
    pub const COUNT: usize = 10;
}

/// Surfaces beyond those of the joint.
pub mod event {
    #![allow(missing_docs)]
    use super::joint_event::COUNT as FIRST;
    pub const HEEL_END: usize = FIRST;
    pub const TOE_END: usize = FIRST + 1;
    pub const WEIGHT_FULL: usize = FIRST + 2;
    pub const WEIGHT_NONE: usize = FIRST + 3;
    pub const BEND_BEGINS: usize = FIRST + 4;
    pub const BEND_FULL: usize = FIRST + 5;
    pub const VALVE_HALF: usize = FIRST + 6;
    pub const HIP_PAST: usize = FIRST + 7;
    pub const OTHER_FOOT: usize = FIRST + 8;
    pub const COLLAPSE: usize = FIRST + 9;
    pub const STALL: usize = FIRST + 10;
    pub const COUNT: usize = FIRST + 11;
}

/// The leg on the ground.
#[derive(Debug, Clone)]
pub struct LegSystem {
    /// Masses and lengths.
    pub segments: Segments,
    /// Joint, without cushion and assist spring.
    pub knee: Knee,
    /// Ground.
    pub footing: Footing,
    /// Slope γ, rad.
    pub slope_rad: f64,
    /// Pace v, m/s.
    pub speed_m_per_s: f64,
    /// Time over which the other leg unloads, s; 0 when it carries nothing.
    pub weight_transfer_s: f64,
    /// Hip extension moment once built up, N m.
    pub hip_moment_n_m: f64,
    /// Where it ends.
    pub other_foot: OtherFoot,
    /// Flexion at which the leg counts as collapsed, rad.
    pub collapse_rad: f64,
    /// Forward speed of the hip below which the leg stalls, m/s.
    pub stall_m_per_s: Option<f64>,
}

/// Time over which the hip moment builds up, s \[J\].
pub const HIP_MOMENT_RISE_S: f64 = 0.05;
/// Pace-holding force per speed error at 75 kg, N s/m \[J\].
const PACE_HOLD_N_S_PER_M: f64 = 200.0;

/// Accelerations and forces at an instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LegForces {
    /// β'', φ''.
    pub acc: [f64; 2],
    /// Torque parts of the joint, N m.
    pub joint: TorqueParts,
    /// Hip extension moment, N m.
    pub hip_moment: f64,
    /// Ground load N, share of body weight.
    pub load_bw: f64,
    /// Ground force along the surface over the force normal to it: friction needed.
    pub friction_needed: f64,
    /// Hip velocity, surface frame, m/s.
    pub hip_velocity: [f64; 2],
    /// Support by the other leg, N, surface frame.
    pub support: [f64; 2],
    /// Pace-holding force, N, surface frame.
    pub pace: [f64; 2],
    /// Centre of pressure ahead of the shank line, m.
    pub centre_of_pressure_m: f64,
}

fn dot(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

fn axpy(a: [f64; 2], s: f64, b: [f64; 2]) -> [f64; 2] {
    [a[0] + s * b[0], a[1] + s * b[1]]
}

/// A body: mass, dPosition/dβ, dPosition/dφ, position.
struct Body {
    mass: f64,
    by_beta: [f64; 2],
    by_phi: [f64; 2],
    at: [f64; 2],
}

/// Directions of the world in the surface frame.
#[derive(Debug, Clone, Copy)]
struct World {
    up: [f64; 2],
    forward: [f64; 2],
}

/// What stays the same over a motion.
#[derive(Debug, Clone, Copy)]
struct Masses {
    up: [f64; 2],
    forward: [f64; 2],
    /// G.
    gravity: [f64; 2],
    weight_n: f64,
    per_weight: f64,
    /// Pace-holding force per speed error, N s/m.
    hold: f64,
    /// Σm, Σml and Σml² over the bodies of the thigh, l above the knee axis.
    thigh_kg: f64,
    thigh_kg_m: f64,
    thigh_kg_m2: f64,
}

/// Where shank and thigh are: all that β and φ decide.
#[derive(Debug, Clone, Copy)]
struct Posture {
    knee: KneeOverFoot,
    /// sin β, cos β.
    shank: (f64, f64),
    /// sin δ, cos δ.
    thigh: (f64, f64),
}

impl LegSystem {
    fn world(&self) -> World {
        let (sin, cos) = self.slope_rad.sin_cos();
        World { up: [-sin, cos], forward: [cos, sin] }
    }

    fn forward(&self) -> [f64; 2] {
        self.world().forward
    }

    fn sole(&self, region: Region) -> Sole {
        self.footing.sole(region, self.segments.knee_to_sole_m)
    }

    fn posture(sole: &Sole, beta: f64, phi: f64) -> Posture {
        let shank = beta.sin_cos();
        Posture { knee: sole.knee(beta, shank), shank, thigh: (beta - phi).sin_cos() }
    }

    fn region(mode: Mode) -> Region {
        match (mode.positive(event::HEEL_END), mode.positive(event::TOE_END)) {
            (false, _) => Region::Heel,
            (true, false) => Region::Arc,
            (true, true) => Region::Toe,
        }
    }

    /// Rest of the body at the hip, thigh, shank: each by itself.
    fn bodies(&self, p: &Posture) -> [Body; 3] {
        let s = &self.segments;
        let k = &p.knee;
        let (sd, cd) = p.thigh;
        let (t, t_rate) = ([sd, cd], [cd, -sd]);
        let on_thigh = |mass: f64, l: f64| Body {
            mass,
            by_beta: axpy(k.first, l, t_rate),
            by_phi: [-l * t_rate[0], -l * t_rate[1]],
            at: axpy(k.at, l, t),
        };
        let (sb, cb) = p.shank;
        let (u, f) = ([sb, cb], [cb, -sb]);
        let at = axpy(axpy(k.at, -s.lower_com_down_m, u), s.lower_com_ahead_m, f);
        let lower = Body { mass: s.lower_mass_kg, by_beta: self.lower(p).0, by_phi: [0.0, 0.0], at };
        let rest = s.mass_kg - s.lower_mass_kg - s.upper_mass_kg;
        [on_thigh(rest, s.thigh_m), on_thigh(s.upper_mass_kg, s.upper_com_above_knee_m), lower]
    }

    /// Hip velocity in the surface frame, m/s.
    #[must_use]
    pub fn hip_velocity(&self, mode: Mode, y: &State<{ state::COUNT }>) -> [f64; 2] {
        let p = Self::posture(&self.sole(Self::region(mode)), y[state::BETA], y[state::PHI]);
        self.hip_velocity_in(&p, y[state::BETA_RATE], y[state::OMEGA])
    }

    #[inline]
    fn hip_velocity_in(&self, p: &Posture, beta_rate: f64, omega: f64) -> [f64; 2] {
        let (sd, cd) = p.thigh;
        let (l, delta_rate) = (self.segments.thigh_m, beta_rate - omega);
        let k = p.knee.first;
        [k[0] * beta_rate + l * cd * delta_rate, k[1] * beta_rate - l * sd * delta_rate]
    }

    /// Share of body weight still on the other leg.
    fn other_leg(&self, t: f64) -> f64 {
        if t < self.weight_transfer_s { 1.0 - smoothstep(t / self.weight_transfer_s) } else { 0.0 }
    }

    /// Forces and accelerations at a state.
    #[must_use]
    pub fn forces(&self, mode: Mode, t: f64, y: &State<{ state::COUNT }>) -> LegForces {
        self.freeze(mode).forces(t, y)
    }

    fn masses(&self) -> Masses {
        let s = &self.segments;
        let thighs = [
            (s.mass_kg - s.lower_mass_kg - s.upper_mass_kg, s.thigh_m),
            (s.upper_mass_kg, s.upper_com_above_knee_m),
        ];
        let sum = |of: fn(f64) -> f64| thighs.iter().map(|&(m, l)| m * of(l)).sum();
        let World { up, forward } = self.world();
        Masses {
            up,
            forward,
            gravity: [-G * up[0], -G * up[1]],
            weight_n: s.weight_n(),
            per_weight: 1.0 / s.weight_n(),
            hold: PACE_HOLD_N_S_PER_M * s.mass_kg / 75.0,
            thigh_kg: sum(|_| 1.0),
            thigh_kg_m: sum(|l| l),
            thigh_kg_m2: sum(|l| l * l),
        }
    }

    /// The equations above with the bodies of the thigh taken together: on it K' + l t' and K'' β'² − l t δ'²
    /// differ by l only, so that Σm, Σml and Σml² of it do.
    #[inline(always)]
    fn forces_in(
        &self,
        joint: &JointBranch<'_>,
        m: &Masses,
        p: &Posture,
        t: f64,
        y: &State<{ state::COUNT }>,
    ) -> LegForces {
        let s = &self.segments;
        let (phi, beta_rate, omega) = (y[state::PHI], y[state::BETA_RATE], y[state::OMEGA]);
        let (up, forward, gravity) = (m.up, m.forward, m.gravity);
        let joint = joint.torque(phi, omega, y[state::VALVE]);
        let risen = if t < HIP_MOMENT_RISE_S { smoothstep(t / HIP_MOMENT_RISE_S) } else { 1.0 };
        let hip_moment = self.hip_moment_n_m * risen;

        let (sd, cd) = p.thigh;
        let (along_thigh, across_thigh) = ([sd, cd], [cd, -sd]);
        let delta_rate = beta_rate - omega;
        let (beta_squared, delta_squared) = (beta_rate * beta_rate, delta_rate * delta_rate);
        let k = &p.knee;
        let (lower_first, lower_second) = self.lower(p);

        let hip_velocity =
            axpy([beta_rate * k.first[0], beta_rate * k.first[1]], s.thigh_m * delta_rate, across_thigh);
        let carried = self.other_leg(t) * m.weight_n;
        let support = [carried * up[0], carried * up[1]];
        let hold = -m.hold * (dot(hip_velocity, forward) - self.speed_m_per_s);
        let pace = [hold * forward[0], hold * forward[1]];
        let outside = axpy(support, 1.0, pace);

        // mass matrix [[a, b], [b, c]] and right-hand side
        let (i1, i2) = (s.lower_inertia_kg_m2, s.upper_inertia_kg_m2);
        let leaning = m.thigh_kg_m * dot(k.first, across_thigh);
        let c = i2 + m.thigh_kg_m2;
        let b = -leaning - c;
        let a = i1
            + m.thigh_kg * dot(k.first, k.first)
            + 2.0 * leaning
            + c
            + s.lower_mass_kg * dot(lower_first, lower_first);
        // gravity less what accelerates at q'' = 0, on the knee axis and on the shank
        let free = axpy(gravity, -beta_squared, k.second);
        let lower_free = axpy(gravity, -beta_squared, lower_second);
        let turning = m.thigh_kg_m * dot(across_thigh, free) + s.thigh_m * dot(across_thigh, outside);
        let rhs = [
            dot(k.first, outside)
                + m.thigh_kg * dot(k.first, free)
                + m.thigh_kg_m * delta_squared * dot(k.first, along_thigh)
                + turning
                + s.lower_mass_kg * dot(lower_first, lower_free)
                + hip_moment,
            -turning - hip_moment + joint.damper + joint.friction + joint.stop,
        ];
        let per_det = 1.0 / (a * c - b * b);
        let acc = [(c * rhs[0] - b * rhs[1]) * per_det, (a * rhs[1] - b * rhs[0]) * per_det];

        let mut ground = [-outside[0], -outside[1]];
        for x in 0..2 {
            ground[x] += m.thigh_kg * (k.first[x] * acc[0] - free[x])
                + m.thigh_kg_m * (across_thigh[x] * (acc[0] - acc[1]) - along_thigh[x] * delta_squared)
                + s.lower_mass_kg * (lower_first[x] * acc[0] - lower_free[x]);
        }
        LegForces {
            acc,
            joint,
            hip_moment,
            load_bw: dot(ground, up) * m.per_weight,
            friction_needed: (ground[0] / ground[1]).abs(),
            hip_velocity,
            support,
            pace,
            centre_of_pressure_m: k.centre_of_pressure_m,
        }
    }

    /// d/dβ and d²/dβ² of the centre of shank and foot.
    #[inline(always)]
    fn lower(&self, p: &Posture) -> ([f64; 2], [f64; 2]) {
        let (sb, cb) = p.shank;
        let (u, f) = ([sb, cb], [cb, -sb]);
        let (c1, e1) = (self.segments.lower_com_down_m, self.segments.lower_com_ahead_m);
        (axpy(axpy(p.knee.first, -c1, f), -e1, u), axpy(axpy(p.knee.second, c1, u), -e1, f))
    }

    /// Kinetic plus potential energy, J.
    #[must_use]
    pub fn energy(&self, mode: Mode, y: &State<{ state::COUNT }>) -> f64 {
        let (beta, phi, beta_rate, omega) =
            (y[state::BETA], y[state::PHI], y[state::BETA_RATE], y[state::OMEGA]);
        let s = &self.segments;
        let p = Self::posture(&self.sole(Self::region(mode)), beta, phi);
        let up = self.world().up;
        let turning = 0.5 * s.lower_inertia_kg_m2 * beta_rate * beta_rate
            + 0.5 * s.upper_inertia_kg_m2 * (beta_rate - omega).powi(2);
        let bodies = self.bodies(&p);
        turning
            + bodies
                .iter()
                .map(|b| {
                    let v = axpy([b.by_beta[0] * beta_rate, b.by_beta[1] * beta_rate], omega, b.by_phi);
                    0.5 * b.mass * dot(v, v) + b.mass * G * dot(b.at, up)
                })
                .sum::<f64>()
    }

    /// Hip in the world frame (forward, up), origin at the contact point for β = 0 or the edge, m.
    #[must_use]
    pub fn hip_m(&self, region: Region, beta: f64, phi: f64) -> [f64; 2] {
        self.hip_in(&self.world(), &Self::posture(&self.sole(region), beta, phi))
    }

    #[inline]
    fn hip_in(&self, world: &World, p: &Posture) -> [f64; 2] {
        let at = axpy(p.knee.at, self.segments.thigh_m, [p.thigh.0, p.thigh.1]);
        [dot(at, world.forward), dot(at, world.up)]
    }

    /// The same from the sides.
    #[must_use]
    pub fn hip_on(&self, mode: Mode, y: &State<{ state::COUNT }>) -> [f64; 2] {
        self.hip_m(Self::region(mode), y[state::BETA], y[state::PHI])
    }

    /// β' with which the hip moves forward at the pace while the knee bends at `omega`.
    #[must_use]
    pub fn tilt_rate_at_pace(&self, beta: f64, phi: f64, omega: f64) -> f64 {
        let p = Self::posture(&self.sole(self.footing.region(beta)), beta, phi);
        let bodies = self.bodies(&p);
        let forward = self.forward();
        (self.speed_m_per_s - omega * dot(bodies[0].by_phi, forward)) / dot(bodies[0].by_beta, forward)
    }

    /// Height of the other foot's end over the ground, m.
    fn other_foot_gap(&self, hip: [f64; 2]) -> f64 {
        match self.other_foot {
            OtherFoot::None => 1.0,
            OtherFoot::Slope { ahead_rad, .. } => {
                let leg = self.segments.leg_m();
                hip[1] - leg * ahead_rad.cos() + (hip[0] + leg * ahead_rad.sin()) * self.slope_rad.tan()
            }
            OtherFoot::Height { hip_m } => hip[1] - hip_m,
        }
    }
}

impl HybridSystem<{ state::COUNT }> for LegSystem {
    const EVENT_FUNCTIONS: usize = event::COUNT;
    const DYNAMIC_STATES: usize = state::VALVE + 1;

    type FrozenMode<'a> = FrozenLeg<'a>;

    fn freeze(&self, mode: Mode) -> FrozenLeg<'_> {
        let past = |first, second| Span::past(mode.positive(first), mode.positive(second));
        let felt = SensorBranch {
            pressure: past(event::WEIGHT_FULL, event::WEIGHT_NONE),
            bend: past(event::BEND_BEGINS, event::BEND_FULL),
        };
        FrozenLeg {
            system: self,
            mode,
            joint: self.knee.acting(joint_branch(mode)),
            felt,
            sole: self.sole(Self::region(mode)),
            ends_rad: self.footing.ends_rad(),
            world: self.world(),
            masses: self.masses(),
            catch_bw: self.knee.stance.catch_load_n / self.segments.weight_n(),
            turns: Default::default(),
            seen: Cell::new(None),
        }
    }

    fn on_event(&self, i: usize, mode: &mut Mode, _t: f64, y: &State<{ state::COUNT }>) -> EventAction {
        let ends = match i {
            event::COLLAPSE => mode.positive(i),
            event::STALL | event::OTHER_FOOT => !mode.positive(i),
            // already below ground when first looked for: the other foot has landed late
            event::HIP_PAST => mode.positive(i) && self.other_foot_gap(self.hip_on(*mode, y)) <= 0.0,
            _ => false,
        };
        if ends { EventAction::Stop } else { EventAction::Continue }
    }
}

/// The leg on fixed sides.
pub struct FrozenLeg<'a> {
    system: &'a LegSystem,
    mode: Mode,
    joint: JointBranch<'a>,
    felt: SensorBranch,
    sole: Sole,
    ends_rad: Option<(f64, f64)>,
    world: World,
    masses: Masses,
    catch_bw: f64,
    /// β and δ.
    turns: [SinCosCache; 2],
    /// The last posture looked at, with its β and φ: a step ends where its surfaces are then looked at.
    seen: Cell<Option<(f64, f64, Posture)>>,
}

impl FrozenLeg<'_> {
    /// The sides held.
    #[must_use]
    pub fn mode(&self) -> Mode {
        self.mode
    }

    /// Forces and accelerations at a state.
    #[must_use]
    #[inline(always)]
    pub fn forces(&self, t: f64, y: &State<{ state::COUNT }>) -> LegForces {
        let p = self.posture(y[state::BETA], y[state::PHI]);
        self.system.forces_in(&self.joint, &self.masses, &p, t, y)
    }

    #[inline(always)]
    fn posture(&self, beta: f64, phi: f64) -> Posture {
        let [shank, thigh] = &self.turns;
        let shank = shank.sin_cos(beta);
        Posture { knee: self.sole.knee(beta, shank), shank, thigh: thigh.sin_cos(beta - phi) }
    }

    fn posture_again(&self, beta: f64, phi: f64) -> Posture {
        match self.seen.get() {
            Some((b, p, posture)) if (b, p) == (beta, phi) => posture,
            _ => {
                let posture = self.posture(beta, phi);
                self.seen.set(Some((beta, phi, posture)));
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
        let sensed = valve.sensed_on(self.felt, f.load_bw, f.centre_of_pressure_m, bend, true);
        dy[state::BETA] = y[state::BETA_RATE];
        dy[state::PHI] = omega;
        dy[state::BETA_RATE] = f.acc[0];
        dy[state::OMEGA] = f.acc[1];
        dy[state::VALVE] = valve.rate(sensed, y[state::VALVE], self.catch_bw);
        dy[state::DAMPER] = (f.joint.damper + f.joint.friction) * omega;
        dy[state::SUPPORT] = dot(f.support, f.hip_velocity);
        dy[state::PACE] = dot(f.pace, f.hip_velocity);
        dy[state::HIP] = f.hip_moment * (y[state::BETA_RATE] - omega);
        dy[state::STOP] = f.joint.stop * omega;
    }

    #[inline]
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
        let hip = || system.hip_in(&self.world, &self.posture_again(beta, phi));
        match i {
            event::HEEL_END => self.ends_rad.map(|(heel, _)| beta - heel),
            event::TOE_END => self.ends_rad.map(|(_, toe)| beta - toe),
            event::WEIGHT_FULL => Some(pressure() - crate::joint::HEEL_M),
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
                let v = system.hip_velocity_in(&self.posture_again(beta, phi), y[state::BETA_RATE], omega);
                Some(dot(v, self.world.forward) - least)
            }
            _ => None,
        }
    }
}
