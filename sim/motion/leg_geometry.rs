//! Geometry of the leg on the ground: positions of shank, thigh and hip, in the surface frame and in the world.

use super::segments::Segments;
use crate::joint::Knee;
use crate::numerics::events::Mode;
use crate::numerics::hybrid::State;
use crate::numerics::math;
use crate::scenario::{Footing, KneeOverFoot, Region, Sole};

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
    /// Time of the weight transfer from the other leg, s; 0 if that leg carries nothing.
    pub weight_transfer_s: f64,
    /// Hip extension moment once built up, N m.
    pub hip_moment_n_m: f64,
    /// Contact of the other foot, which ends the motion.
    pub other_foot: OtherFoot,
    /// Flexion at which the leg counts as collapsed, rad.
    pub collapse_rad: f64,
    /// Forward speed of the hip below which the leg stalls, m/s.
    pub stall_m_per_s: Option<f64>,
}

/// Contact of the other foot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OtherFoot {
    /// No other foot.
    None,
    /// A straight leg at this angle ahead of the vertical meets the slope; checked from this hip position on.
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

/// Event functions besides those of the joint.
pub mod event {
    #![allow(missing_docs)]
    use super::super::joint_events::joint_event::COUNT as FIRST;
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

// arrays rather than nalgebra's vectors: two operations suffice, and the results are read as plain pairs
#[inline(always)]
pub(super) fn dot(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

#[inline(always)]
pub(super) fn axpy(a: [f64; 2], s: f64, b: [f64; 2]) -> [f64; 2] {
    [a[0] + s * b[0], a[1] + s * b[1]]
}

/// A body: mass, dPosition/dβ, dPosition/dφ, position.
pub(super) struct Body {
    pub mass: f64,
    pub by_beta: [f64; 2],
    pub by_phi: [f64; 2],
    pub at: [f64; 2],
}

/// Directions of the world in the surface frame.
#[derive(Debug, Clone, Copy)]
pub(super) struct World {
    pub up: [f64; 2],
    pub forward: [f64; 2],
}

/// Positions of shank and thigh at given β and φ.
#[derive(Debug, Clone, Copy)]
pub(super) struct Posture {
    pub knee: KneeOverFoot,
    /// sin β, cos β.
    pub shank: (f64, f64),
    /// sin δ, cos δ.
    pub thigh: (f64, f64),
}

impl LegSystem {
    pub(super) fn world(&self) -> World {
        let (sin, cos) = math::sin_cos(self.slope_rad);
        World { up: [-sin, cos], forward: [cos, sin] }
    }

    pub(super) fn forward(&self) -> [f64; 2] {
        self.world().forward
    }

    pub(super) fn sole(&self, region: Region) -> Sole {
        self.footing.sole(region, self.segments.knee_to_sole_m)
    }

    pub(super) fn posture(sole: &Sole, beta: f64, phi: f64) -> Posture {
        let shank = math::sin_cos(beta);
        Posture { knee: sole.knee(beta, shank), shank, thigh: math::sin_cos(beta - phi) }
    }

    pub(super) fn region(mode: Mode) -> Region {
        match (mode.positive(event::HEEL_END), mode.positive(event::TOE_END)) {
            (false, _) => Region::Heel,
            (true, false) => Region::Arc,
            (true, true) => Region::Toe,
        }
    }

    /// The three bodies: rest of the body at the hip, thigh, shank.
    pub(super) fn bodies(&self, p: &Posture) -> [Body; 3] {
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

    /// d/dβ and d²/dβ² of the centre of shank and foot.
    #[inline(always)]
    pub(super) fn lower(&self, p: &Posture) -> ([f64; 2], [f64; 2]) {
        let (sb, cb) = p.shank;
        let (u, f) = ([sb, cb], [cb, -sb]);
        let (c1, e1) = (self.segments.lower_com_down_m, self.segments.lower_com_ahead_m);
        (axpy(axpy(p.knee.first, -c1, f), -e1, u), axpy(axpy(p.knee.second, c1, u), -e1, f))
    }

    /// Hip velocity in the surface frame, m/s.
    #[must_use]
    pub fn hip_velocity(&self, mode: Mode, y: &State<{ state::COUNT }>) -> [f64; 2] {
        let p = Self::posture(&self.sole(Self::region(mode)), y[state::BETA], y[state::PHI]);
        self.hip_velocity_in(&p, y[state::BETA_RATE], y[state::OMEGA])
    }

    #[inline]
    pub(super) fn hip_velocity_in(&self, p: &Posture, beta_rate: f64, omega: f64) -> [f64; 2] {
        let (sd, cd) = p.thigh;
        let (l, delta_rate) = (self.segments.thigh_m, beta_rate - omega);
        let k = p.knee.first;
        [k[0] * beta_rate + l * cd * delta_rate, k[1] * beta_rate - l * sd * delta_rate]
    }

    /// Hip in the world frame (forward, up), origin at the contact point for β = 0 or the edge, m.
    #[must_use]
    pub fn hip_m(&self, region: Region, beta: f64, phi: f64) -> [f64; 2] {
        self.hip_in(&self.world(), &Self::posture(&self.sole(region), beta, phi))
    }

    #[inline]
    pub(super) fn hip_in(&self, world: &World, p: &Posture) -> [f64; 2] {
        let at = axpy(p.knee.at, self.segments.thigh_m, [p.thigh.0, p.thigh.1]);
        [dot(at, world.forward), dot(at, world.up)]
    }

    /// The same in a mode.
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
    pub(super) fn other_foot_gap(&self, hip: [f64; 2]) -> f64 {
        match self.other_foot {
            OtherFoot::None => 1.0,
            OtherFoot::Slope { ahead_rad, .. } => {
                let leg = self.segments.leg_m();
                hip[1] - leg * math::cos(ahead_rad)
                    + (hip[0] + leg * math::sin(ahead_rad)) * math::tan(self.slope_rad)
            }
            OtherFoot::Height { hip_m } => hip[1] - hip_m,
        }
    }
}
