//! Dynamics of the leg on the ground: the equations of `stance_leg`.

use super::leg_geometry::{LegSystem, Posture, World, axpy, dot, state};
use crate::joint::TorqueParts;
use crate::numerics::events::Mode;
use crate::numerics::hybrid::State;
use crate::numerics::simd::{Lane, LaneMask};
use crate::numerics::smooth::smooth_cubic;
use crate::units::GRAVITY_M_PER_S2 as G;

/// Time over which the hip moment builds up, s \[J\].
pub const HIP_MOMENT_RISE_S: f64 = 0.05;
/// Pace-holding force per speed error at 75 kg, N s/m \[J\].
const PACE_HOLD_N_S_PER_M: f64 = 200.0;

/// Accelerations and forces at an instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LegForces<T = f64> {
    /// β'', φ''.
    pub acc: [T; 2],
    /// Torque parts of the joint, N m.
    pub joint: TorqueParts<T>,
    /// Hip extension moment, N m.
    pub hip_moment: T,
    /// Ground load N, share of body weight.
    pub load_bw: T,
    /// Ground force along the surface, share of body weight, either way.
    pub along_bw: T,
    /// Ground force across the surface, share of body weight; below 0 the foot is held down.
    pub across_bw: T,
    /// Hip velocity, surface frame, m/s.
    pub hip_velocity: [T; 2],
    /// Support by the other leg, N, surface frame.
    pub support: [T; 2],
    /// Pace-holding force, N, surface frame.
    pub pace: [T; 2],
    /// Centre of pressure ahead of the shank line, m.
    pub centre_of_pressure_m: T,
}

crate::numerics::lanes::lane_numbers! {
    /// Constants of a motion.
    pub(super) LegConstants {
        up_x,
        up_z,
        forward_x,
        forward_z,
        gravity_x,
        gravity_z,
        weight_n,
        per_weight,
        /// Pace-holding force per speed error, N s/m.
        hold,
        speed_m_per_s,
        hip_moment_n_m,
        weight_transfer_s,
        /// Σm, Σml and Σml² over the bodies of the thigh, l above the knee axis.
        thigh_kg,
        thigh_kg_m,
        thigh_kg_m2,
        thigh_m,
        upper_inertia_kg_m2,
        lower_kg,
        lower_inertia_kg_m2,
        lower_down_m,
        lower_ahead_m,
    }
}

impl LegSystem {
    pub(super) fn constants(&self) -> LegConstants {
        let s = &self.segments;
        let thighs = [
            (s.mass_kg - s.lower_mass_kg - s.upper_mass_kg, s.thigh_m),
            (s.upper_mass_kg, s.upper_com_above_knee_m),
        ];
        let sum = |of: fn(f64) -> f64| thighs.iter().map(|&(m, l)| m * of(l)).sum();
        let World { up: [up_x, up_z], forward: [forward_x, forward_z] } = self.world();
        LegConstants {
            up_x,
            up_z,
            forward_x,
            forward_z,
            gravity_x: -G * up_x,
            gravity_z: -G * up_z,
            weight_n: s.weight_n(),
            per_weight: 1.0 / s.weight_n(),
            hold: PACE_HOLD_N_S_PER_M * s.mass_kg / 75.0,
            speed_m_per_s: self.speed_m_per_s,
            hip_moment_n_m: self.hip_moment_n_m,
            weight_transfer_s: self.weight_transfer_s,
            thigh_kg: sum(|_| 1.0),
            thigh_kg_m: sum(|l| l),
            thigh_kg_m2: sum(|l| l * l),
            thigh_m: s.thigh_m,
            upper_inertia_kg_m2: s.upper_inertia_kg_m2,
            lower_kg: s.lower_mass_kg,
            lower_inertia_kg_m2: s.lower_inertia_kg_m2,
            lower_down_m: s.lower_com_down_m,
            lower_ahead_m: s.lower_com_ahead_m,
        }
    }
}

impl<T: Lane> LegConstants<T> {
    /// Share of body weight still on the other leg.
    #[inline(always)]
    fn other_leg(&self, t: T) -> T {
        let carries = self.weight_transfer_s.above(t);
        if !carries.any() {
            return t.splat(0.0);
        }
        let handed_over = smooth_cubic(t / self.weight_transfer_s);
        T::choose(carries, t.splat(1.0) - handed_over, t.splat(0.0))
    }

    /// Hip extension moment, N m.
    #[inline(always)]
    fn hip_moment(&self, t: T) -> T {
        let rises = t.splat(HIP_MOMENT_RISE_S).above(t);
        if !rises.any() {
            return self.hip_moment_n_m;
        }
        let risen = smooth_cubic(t / t.splat(HIP_MOMENT_RISE_S));
        self.hip_moment_n_m * T::choose(rises, risen, t.splat(1.0))
    }

    /// The equations of `stance_leg` with the two bodies on the thigh taken together: their K' + l t' and
    /// K'' β'² − l t δ'² differ in l alone, so their Σm, Σml and Σml² suffice.
    #[inline(always)]
    pub(super) fn forces(
        &self,
        joint: TorqueParts<T>,
        p: &Posture<T>,
        t: T,
        [beta_rate, omega]: [T; 2],
    ) -> LegForces<T> {
        let up = [self.up_x, self.up_z];
        let forward = [self.forward_x, self.forward_z];
        let gravity = [self.gravity_x, self.gravity_z];
        let hip_moment = self.hip_moment(t);

        let (sd, cd) = p.thigh;
        let (along_thigh, across_thigh) = ([sd, cd], [cd, -sd]);
        let delta_rate = beta_rate - omega;
        let (beta_squared, delta_squared) = (beta_rate * beta_rate, delta_rate * delta_rate);
        let k = &p.knee;
        let (lower_first, lower_second) = p.lower(self.lower_down_m, self.lower_ahead_m);

        let hip_velocity = p.hip_velocity(self.thigh_m, beta_rate, omega);
        let carried = self.other_leg(t) * self.weight_n;
        let support = [carried * up[0], carried * up[1]];
        let hold = -self.hold * (dot(hip_velocity, forward) - self.speed_m_per_s);
        let pace = [hold * forward[0], hold * forward[1]];
        let outside = [support[0] + pace[0], support[1] + pace[1]];

        // mass matrix [[a, b], [b, c]] and right-hand side
        let leaning = self.thigh_kg_m * dot(k.first, across_thigh);
        let c = self.upper_inertia_kg_m2 + self.thigh_kg_m2;
        let b = -leaning - c;
        let a = self.thigh_kg.times_plus(dot(k.first, k.first), self.lower_inertia_kg_m2) + leaning * 2.0 + c;
        let a = self.lower_kg.times_plus(dot(lower_first, lower_first), a);
        // gravity less the acceleration at q'' = 0, of the knee axis and of the shank
        let free = axpy(gravity, -beta_squared, k.second);
        let lower_free = axpy(gravity, -beta_squared, lower_second);
        let turning =
            self.thigh_kg_m.times_plus(dot(across_thigh, free), self.thigh_m * dot(across_thigh, outside));
        let on_beta = self.thigh_kg.times_plus(dot(k.first, free), dot(k.first, outside));
        let on_beta = (self.thigh_kg_m * delta_squared).times_plus(dot(k.first, along_thigh), on_beta);
        let on_beta = self.lower_kg.times_plus(dot(lower_first, lower_free), on_beta + turning);
        let rhs = [on_beta + hip_moment, -turning - hip_moment + joint.damper + joint.friction + joint.stop];
        let per_det = t.splat(1.0) / (a * c - b * b);
        let acc = [(c * rhs[0] - b * rhs[1]) * per_det, (a * rhs[1] - b * rhs[0]) * per_det];

        let mut ground = [-outside[0], -outside[1]];
        for x in 0..2 {
            let thigh = self.thigh_kg * (k.first[x] * acc[0] - free[x]);
            let turned = across_thigh[x] * (acc[0] - acc[1]) - along_thigh[x] * delta_squared;
            let lower = lower_first[x] * acc[0] - lower_free[x];
            ground[x] =
                ground[x] + self.lower_kg.times_plus(lower, self.thigh_kg_m.times_plus(turned, thigh));
        }
        LegForces {
            acc,
            joint,
            hip_moment,
            load_bw: dot(ground, up) * self.per_weight,
            along_bw: ground[0].abs() * self.per_weight,
            across_bw: ground[1] * self.per_weight,
            hip_velocity,
            support,
            pace,
            centre_of_pressure_m: k.centre_of_pressure_m,
        }
    }
}

impl<T: Lane> LegForces<T> {
    /// Power of oil and seals, other leg, pace force, hip moment and stops, W.
    #[inline(always)]
    pub(super) fn powers(&self, [beta_rate, omega]: [T; 2]) -> [T; 5] {
        [
            (self.joint.damper + self.joint.friction) * omega,
            dot(self.support, self.hip_velocity),
            dot(self.pace, self.hip_velocity),
            self.hip_moment * (beta_rate - omega),
            self.joint.stop * omega,
        ]
    }
}

impl LegSystem {
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
