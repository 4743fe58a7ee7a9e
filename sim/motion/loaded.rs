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

use super::events::{Sides, Then, joint_branch, joint_surface, joint_surface_value};
use super::integrate::{Flow, State};
use crate::body::{Alignment, Person, Shank};
use crate::joint::{Felt, Knee, Span, TorqueParts};
use crate::quantity::{GRAVITY_M_PER_S2 as G, smoothstep};
use crate::scenario::{Footing, KneeOverFoot, Region};

/// Masses and lengths of the loaded leg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Segments {
    /// Whole mass M, kg.
    pub mass_kg: f64,
    /// Shank and foot m1, kg.
    pub lower_mass_kg: f64,
    /// Its centre below the knee axis along the shank c1, m.
    pub lower_com_down_m: f64,
    /// Its centre ahead of the shank line e1, m.
    pub lower_com_ahead_m: f64,
    /// Its central moment of inertia I1, kg m².
    pub lower_inertia_kg_m2: f64,
    /// Thigh and socket m2, kg.
    pub upper_mass_kg: f64,
    /// Their centre above the knee axis c2, m.
    pub upper_com_above_knee_m: f64,
    /// Their central moment of inertia I2, kg m².
    pub upper_inertia_kg_m2: f64,
    /// Thigh length Lt, m.
    pub thigh_m: f64,
    /// Knee axis to sole L1, m.
    pub knee_to_sole_m: f64,
    /// Stature H, m.
    pub stature_m: f64,
    /// Foot further forward by this, m.
    pub foot_shift_m: f64,
}

impl Segments {
    /// Of a person with this shank.
    #[must_use]
    pub fn of(person: &Person, shank: &Shank) -> Self {
        let thigh = super::swing::Thigh::of(person);
        Self {
            mass_kg: person.mass_kg,
            lower_mass_kg: shank.mass_kg,
            lower_com_down_m: shank.com_distance_m * shank.com_angle_rad.cos(),
            lower_com_ahead_m: shank.com_distance_m * shank.com_angle_rad.sin(),
            lower_inertia_kg_m2: shank.central_inertia_kg_m2(),
            upper_mass_kg: thigh.mass,
            upper_com_above_knee_m: thigh.com_above_knee,
            upper_inertia_kg_m2: thigh.inertia,
            thigh_m: thigh.length,
            knee_to_sole_m: person.knee_to_sole_m(),
            stature_m: person.stature_m(),
            foot_shift_m: 0.0,
        }
    }

    /// The same with the foot where the alignment puts it.
    #[must_use]
    pub fn aligned(self, alignment: Alignment) -> Self {
        Self { foot_shift_m: alignment.foot_shift_m, ..self }
    }

    /// The rolling foot of this leg.
    #[must_use]
    pub fn rolling_foot(&self) -> Footing {
        Footing::rolling(self.stature_m).shifted(self.foot_shift_m)
    }

    /// Body weight, N.
    #[must_use]
    pub fn weight_n(&self) -> f64 {
        self.mass_kg * G
    }

    /// Hip to sole, m.
    #[must_use]
    pub fn leg_m(&self) -> f64 {
        self.thigh_m + self.knee_to_sole_m
    }
}

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
pub mod surface {
    #![allow(missing_docs)]
    use super::joint_surface::COUNT as FIRST;
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
pub struct LegFlow {
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

fn along(a: [f64; 2], s: f64, b: [f64; 2]) -> [f64; 2] {
    [a[0] + s * b[0], a[1] + s * b[1]]
}

/// A body: mass, dPosition/dβ, dPosition/dφ, acceleration at q'' = 0.
struct Body {
    mass: f64,
    by_beta: [f64; 2],
    by_phi: [f64; 2],
    bias: [f64; 2],
    at: [f64; 2],
}

impl LegFlow {
    fn up(&self) -> [f64; 2] {
        [-self.slope_rad.sin(), self.slope_rad.cos()]
    }

    fn forward(&self) -> [f64; 2] {
        [self.slope_rad.cos(), self.slope_rad.sin()]
    }

    fn region(sides: Sides) -> Region {
        match (sides.positive(surface::HEEL_END), sides.positive(surface::TOE_END)) {
            (false, _) => Region::Heel,
            (true, false) => Region::Arc,
            (true, true) => Region::Toe,
        }
    }

    /// Hip, thigh and shank.
    fn bodies(&self, k: &KneeOverFoot, beta: f64, phi: f64, beta_rate: f64, omega: f64) -> [Body; 3] {
        let s = &self.segments;
        let (sd, cd) = (beta - phi).sin_cos();
        let (t, t_rate) = ([sd, cd], [cd, -sd]);
        let delta_rate = beta_rate - omega;
        let on_thigh = |mass: f64, l: f64| Body {
            mass,
            by_beta: along(k.first, l, t_rate),
            by_phi: [-l * t_rate[0], -l * t_rate[1]],
            bias: [
                k.second[0] * beta_rate * beta_rate - l * t[0] * delta_rate * delta_rate,
                k.second[1] * beta_rate * beta_rate - l * t[1] * delta_rate * delta_rate,
            ],
            at: along(k.at, l, t),
        };
        let (sb, cb) = beta.sin_cos();
        let (u, f) = ([sb, cb], [cb, -sb]);
        let (c1, e1) = (s.lower_com_down_m, s.lower_com_ahead_m);
        let lower = Body {
            mass: s.lower_mass_kg,
            by_beta: along(along(k.first, -c1, f), -e1, u),
            by_phi: [0.0, 0.0],
            bias: {
                let second = along(along(k.second, c1, u), -e1, f);
                [second[0] * beta_rate * beta_rate, second[1] * beta_rate * beta_rate]
            },
            at: along(along(k.at, -c1, u), e1, f),
        };
        let rest = s.mass_kg - s.lower_mass_kg - s.upper_mass_kg;
        [on_thigh(rest, s.thigh_m), on_thigh(s.upper_mass_kg, s.upper_com_above_knee_m), lower]
    }

    /// Hip velocity in the surface frame, m/s.
    #[must_use]
    pub fn hip_velocity(&self, sides: Sides, y: &State<{ state::COUNT }>) -> [f64; 2] {
        let (beta, phi) = (y[state::BETA], y[state::PHI]);
        let k = self.footing.knee(Self::region(sides), beta, self.segments.knee_to_sole_m);
        let (sd, cd) = (beta - phi).sin_cos();
        let (l, delta_rate) = (self.segments.thigh_m, y[state::BETA_RATE] - y[state::OMEGA]);
        let by_beta = y[state::BETA_RATE];
        [k.first[0] * by_beta + l * cd * delta_rate, k.first[1] * by_beta - l * sd * delta_rate]
    }

    /// Share of body weight still on the other leg.
    fn other_leg(&self, t: f64) -> f64 {
        if self.weight_transfer_s > 0.0 { 1.0 - smoothstep(t / self.weight_transfer_s) } else { 0.0 }
    }

    /// Forces and accelerations at a state.
    #[must_use]
    pub fn forces(&self, sides: Sides, t: f64, y: &State<{ state::COUNT }>) -> LegForces {
        let s = &self.segments;
        let (beta, phi, beta_rate, omega) =
            (y[state::BETA], y[state::PHI], y[state::BETA_RATE], y[state::OMEGA]);
        let k = self.footing.knee(Self::region(sides), beta, s.knee_to_sole_m);
        let bodies = self.bodies(&k, beta, phi, beta_rate, omega);
        let hip = &bodies[0];
        let hip_velocity = [
            hip.by_beta[0] * beta_rate + hip.by_phi[0] * omega,
            hip.by_beta[1] * beta_rate + hip.by_phi[1] * omega,
        ];
        let (up, forward) = (self.up(), self.forward());
        let gravity = [-G * up[0], -G * up[1]];
        let carried = self.other_leg(t) * s.weight_n();
        let support = [carried * up[0], carried * up[1]];
        let hold =
            -PACE_HOLD_N_S_PER_M * s.mass_kg / 75.0 * (dot(hip_velocity, forward) - self.speed_m_per_s);
        let pace = [hold * forward[0], hold * forward[1]];
        let outside = along(support, 1.0, pace);
        let joint = self.knee.torque_on(joint_branch(sides), phi, omega, y[state::VALVE]);
        let hip_moment = self.hip_moment_n_m * smoothstep(t / HIP_MOMENT_RISE_S);

        // mass matrix [[a, b], [b, c]] and right-hand side
        let (i1, i2) = (s.lower_inertia_kg_m2, s.upper_inertia_kg_m2);
        let (mut a, mut b, mut c) = (i1 + i2, -i2, i2);
        let mut rhs = [
            dot(hip.by_beta, outside) + hip_moment,
            dot(hip.by_phi, outside) - hip_moment + joint.damper + joint.friction + joint.stop,
        ];
        for body in &bodies {
            a += body.mass * dot(body.by_beta, body.by_beta);
            b += body.mass * dot(body.by_beta, body.by_phi);
            c += body.mass * dot(body.by_phi, body.by_phi);
            let free = along(gravity, -1.0, body.bias);
            rhs[0] += body.mass * dot(body.by_beta, free);
            rhs[1] += body.mass * dot(body.by_phi, free);
        }
        let det = a * c - b * b;
        let acc = [(c * rhs[0] - b * rhs[1]) / det, (a * rhs[1] - b * rhs[0]) / det];

        let mut ground = [-outside[0], -outside[1]];
        for body in &bodies {
            for x in 0..2 {
                let moved = body.by_beta[x] * acc[0] + body.by_phi[x] * acc[1] + body.bias[x];
                ground[x] += body.mass * (moved - gravity[x]);
            }
        }
        LegForces {
            acc,
            joint,
            hip_moment,
            load_bw: dot(ground, up) / s.weight_n(),
            friction_needed: (ground[0] / ground[1]).abs(),
            hip_velocity,
            support,
            pace,
            centre_of_pressure_m: k.centre_of_pressure_m,
        }
    }

    /// Kinetic plus potential energy, J.
    #[must_use]
    pub fn energy(&self, sides: Sides, y: &State<{ state::COUNT }>) -> f64 {
        let (beta, phi, beta_rate, omega) =
            (y[state::BETA], y[state::PHI], y[state::BETA_RATE], y[state::OMEGA]);
        let s = &self.segments;
        let k = self.footing.knee(Self::region(sides), beta, s.knee_to_sole_m);
        let up = self.up();
        let turning = 0.5 * s.lower_inertia_kg_m2 * beta_rate * beta_rate
            + 0.5 * s.upper_inertia_kg_m2 * (beta_rate - omega).powi(2);
        let bodies = self.bodies(&k, beta, phi, beta_rate, omega);
        turning
            + bodies
                .iter()
                .map(|b| {
                    let v = along([b.by_beta[0] * beta_rate, b.by_beta[1] * beta_rate], omega, b.by_phi);
                    0.5 * b.mass * dot(v, v) + b.mass * G * dot(b.at, up)
                })
                .sum::<f64>()
    }

    /// Hip in the world frame (forward, up), origin at the contact point for β = 0 or the edge, m.
    #[must_use]
    pub fn hip_m(&self, region: Region, beta: f64, phi: f64) -> [f64; 2] {
        let k = self.footing.knee(region, beta, self.segments.knee_to_sole_m);
        let (sd, cd) = (beta - phi).sin_cos();
        let p = along(k.at, self.segments.thigh_m, [sd, cd]);
        [dot(p, self.forward()), dot(p, self.up())]
    }

    /// The same from the sides.
    #[must_use]
    pub fn hip_on(&self, sides: Sides, y: &State<{ state::COUNT }>) -> [f64; 2] {
        self.hip_m(Self::region(sides), y[state::BETA], y[state::PHI])
    }

    /// β' with which the hip moves forward at the pace while the knee bends at `omega`.
    #[must_use]
    pub fn tilt_rate_at_pace(&self, beta: f64, phi: f64, omega: f64) -> f64 {
        let k = self.footing.knee(self.footing.region(beta), beta, self.segments.knee_to_sole_m);
        let bodies = self.bodies(&k, beta, phi, 0.0, 0.0);
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

impl Flow<{ state::COUNT }> for LegFlow {
    const SURFACES: usize = surface::COUNT;

    fn rate(&self, sides: Sides, t: f64, y: &State<{ state::COUNT }>, dy: &mut State<{ state::COUNT }>) {
        let f = self.forces(sides, t, y);
        let omega = y[state::OMEGA];
        let valve = &self.knee.stance;
        let past = |first, second| Span::past(sides.positive(first), sides.positive(second));
        let felt = Felt {
            pressure: past(surface::WEIGHT_FULL, surface::WEIGHT_NONE),
            bend: past(surface::BEND_BEGINS, surface::BEND_FULL),
        };
        let bend = self.knee.bend(y[state::PHI]);
        let sensed = valve.sensed_on(felt, f.load_bw, f.centre_of_pressure_m, bend, true);
        dy[state::BETA] = y[state::BETA_RATE];
        dy[state::PHI] = omega;
        dy[state::BETA_RATE] = f.acc[0];
        dy[state::OMEGA] = f.acc[1];
        dy[state::VALVE] = valve.rate(sensed, y[state::VALVE], valve.catch_load_n / self.segments.weight_n());
        dy[state::DAMPER] = (f.joint.damper + f.joint.friction) * omega;
        dy[state::SUPPORT] = dot(f.support, f.hip_velocity);
        dy[state::PACE] = dot(f.pace, f.hip_velocity);
        dy[state::HIP] = f.hip_moment * (y[state::BETA_RATE] - omega);
        dy[state::STOP] = f.joint.stop * omega;
    }

    fn surface(&self, i: usize, sides: Sides, _t: f64, y: &State<{ state::COUNT }>) -> Option<f64> {
        let (beta, phi, omega) = (y[state::BETA], y[state::PHI], y[state::OMEGA]);
        if i < joint_surface::COUNT {
            return joint_surface_value(&self.knee, i, sides, phi, omega, y[state::VALVE]);
        }
        let valve = &self.knee.stance;
        let pressure = || {
            let k = self.footing.knee(Self::region(sides), beta, self.segments.knee_to_sole_m);
            k.centre_of_pressure_m
        };
        match i {
            surface::HEEL_END => self.footing.ends_rad().map(|(heel, _)| beta - heel),
            surface::TOE_END => self.footing.ends_rad().map(|(_, toe)| beta - toe),
            surface::WEIGHT_FULL => Some(pressure() - crate::joint::HEEL_M),
            surface::WEIGHT_NONE => Some(pressure() - valve.release_distance_m),
            surface::BEND_BEGINS => Some(self.knee.bend(phi) - valve.bend_start_rad),
            surface::BEND_FULL => Some(self.knee.bend(phi) - valve.bend_start_rad - valve.bend_span_rad),
            surface::VALVE_HALF => Some(y[state::VALVE] - 0.5),
            surface::HIP_PAST => match self.other_foot {
                OtherFoot::Slope { from_m, .. } => Some(self.hip_on(sides, y)[0] - from_m),
                _ => None,
            },
            surface::OTHER_FOOT => match self.other_foot {
                OtherFoot::Slope { .. } if !sides.positive(surface::HIP_PAST) => None,
                OtherFoot::None => None,
                _ => Some(self.other_foot_gap(self.hip_on(sides, y))),
            },
            surface::COLLAPSE => Some(phi - self.collapse_rad),
            surface::STALL => {
                let least = self.stall_m_per_s?;
                Some(dot(self.hip_velocity(sides, y), self.forward()) - least)
            }
            _ => None,
        }
    }

    fn crossed(&self, i: usize, sides: &mut Sides, _t: f64, y: &State<{ state::COUNT }>) -> Then {
        let ends = match i {
            surface::COLLAPSE => sides.positive(i),
            surface::STALL | surface::OTHER_FOOT => !sides.positive(i),
            // already below ground when first looked for: the other foot has landed late
            surface::HIP_PAST => sides.positive(i) && self.other_foot_gap(self.hip_on(*sides, y)) <= 0.0,
            _ => false,
        };
        if ends { Then::Stop } else { Then::GoOn }
    }
}
