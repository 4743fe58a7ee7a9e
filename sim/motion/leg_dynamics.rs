//! Dynamics of the leg on the ground: the equations of `stance_leg`.

use super::leg_geometry::{LegSystem, Posture, World, axpy, dot, state};
use crate::joint::{JointBranch, TorqueParts};
use crate::numerics::events::Mode;
use crate::numerics::hybrid::State;
use crate::numerics::smooth::smoothstep;
use crate::units::GRAVITY_M_PER_S2 as G;

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
    /// Ground force along the surface, share of body weight, either way.
    pub along_bw: f64,
    /// Ground force across the surface, share of body weight; below 0 the foot is held down.
    pub across_bw: f64,
    /// Hip velocity, surface frame, m/s.
    pub hip_velocity: [f64; 2],
    /// Support by the other leg, N, surface frame.
    pub support: [f64; 2],
    /// Pace-holding force, N, surface frame.
    pub pace: [f64; 2],
    /// Centre of pressure ahead of the shank line, m.
    pub centre_of_pressure_m: f64,
}

/// Constants of a motion.
#[derive(Debug, Clone, Copy)]
pub(super) struct LegConstants {
    pub up: [f64; 2],
    pub forward: [f64; 2],
    /// G.
    pub gravity: [f64; 2],
    pub weight_n: f64,
    pub per_weight: f64,
    /// Pace-holding force per speed error, N s/m.
    pub hold: f64,
    /// Σm, Σml and Σml² over the bodies of the thigh, l above the knee axis.
    pub thigh_kg: f64,
    pub thigh_kg_m: f64,
    pub thigh_kg_m2: f64,
}

impl LegSystem {
    /// Share of body weight still on the other leg.
    #[inline]
    pub(super) fn other_leg(&self, t: f64) -> f64 {
        if t < self.weight_transfer_s { 1.0 - smoothstep(t / self.weight_transfer_s) } else { 0.0 }
    }

    pub(super) fn constants(&self) -> LegConstants {
        let s = &self.segments;
        let thighs = [
            (s.mass_kg - s.lower_mass_kg - s.upper_mass_kg, s.thigh_m),
            (s.upper_mass_kg, s.upper_com_above_knee_m),
        ];
        let sum = |of: fn(f64) -> f64| thighs.iter().map(|&(m, l)| m * of(l)).sum();
        let World { up, forward } = self.world();
        LegConstants {
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

    /// The equations of `stance_leg` with the two bodies on the thigh taken together: their K' + l t' and
    /// K'' β'² − l t δ'² differ in l alone, so their Σm, Σml and Σml² suffice.
    #[inline(always)]
    pub(super) fn forces_in(
        &self,
        joint: &JointBranch<'_>,
        m: &LegConstants,
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
        // gravity less the acceleration at q'' = 0, of the knee axis and of the shank
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
            along_bw: ground[0].abs() * m.per_weight,
            across_bw: ground[1] * m.per_weight,
            hip_velocity,
            support,
            pace,
            centre_of_pressure_m: k.centre_of_pressure_m,
        }
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
}
