//! Foot on the ground for the loaded tasks: a rolling arc with two ends, or a stair edge.
//!
//! ```text
//! K = C + a_f f + a_u u,   f = (cos β, −sin β),   u = (sin β, cos β)
//! arc, β_h ≤ β ≤ β_t:   C = (Rβ, R)     a_f = −e              a_u = L1 − R             x = e + Rβ
//! beyond an end β_e:    C = (Rβ_e, 0)   a_f = −e − R sin β_e  a_u = L1 − R + R cos β_e x = heel or toe
//! stair edge:           C = 0           a_f = −m              a_u = L1                 x = m
//! ```
//! K knee axis in the surface frame (X down the slope, Z normal), β forward tilt of the shank from
//! the surface normal, x centre of pressure ahead of the shank line, on which the ankle lies unless the
//! foot is moved (`body::alignment`), L1 knee axis to sole. The foot is fixed to the shank and rolls without slip. R,
//! e, heel, toe and midfoot m are in proportion to stature (`body::anthropometry`). K and K' are continuous across the ends, K'' is not: the ends are events.
//! Checked in tests/closed_form/footing.rs.

use crate::body::{Alignment, anthropometry as ratio};
use crate::numerics::math;

/// Position of the knee axis and its derivatives by β; surface frame, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KneeOverFoot {
    /// K.
    pub at: [f64; 2],
    /// dK/dβ.
    pub first: [f64; 2],
    /// d²K/dβ².
    pub second: [f64; 2],
    /// Centre of pressure ahead of the shank line, m.
    pub centre_of_pressure_m: f64,
}

/// Which part of the foot is on the ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Region {
    /// Behind the arc: rotating about the heel end.
    Heel,
    /// Rolling on the arc.
    Arc,
    /// Beyond the arc: rotating about the toe end.
    Toe,
}

/// What the foot stands on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Footing {
    /// A plane: the foot rolls on its arc.
    Rolling {
        /// Radius R, m.
        radius_m: f64,
        /// Arc centre ahead of the shank line, e, m.
        offset_m: f64,
        /// Heel end ahead of the shank line, m (negative unless the foot is far forward).
        heel_m: f64,
        /// Toe end ahead of the shank line, m.
        toe_m: f64,
    },
    /// The edge of a step under the midfoot.
    Edge {
        /// Edge ahead of the shank line, m.
        ahead_m: f64,
    },
}

impl Footing {
    /// The rolling foot of a person of this stature.
    ///
    /// ```
    /// use kneedamp::scenario::Footing;
    /// let foot = Footing::rolling(1.75);
    /// let (heel, toe) = foot.ends_rad().unwrap();
    /// assert!(heel < 0.0 && toe > 0.0);
    /// ```
    #[must_use]
    pub fn rolling(stature_m: f64) -> Self {
        Self::Rolling {
            radius_m: ratio::SOLE_RADIUS_PER_STATURE * stature_m,
            offset_m: ratio::ARC_CENTRE_PER_STATURE * stature_m,
            heel_m: -ratio::HEEL_PER_STATURE * stature_m,
            toe_m: ratio::TOE_END_PER_STATURE * stature_m,
        }
    }

    /// The edge of a step under the midfoot of a person of this stature.
    #[must_use]
    pub fn edge(stature_m: f64) -> Self {
        Self::Edge { ahead_m: ratio::MIDFOOT_PER_STATURE * stature_m }
    }

    /// The same foot as the alignment puts it under a person of this stature.
    ///
    /// ```
    /// use kneedamp::body::Alignment;
    /// use kneedamp::scenario::Footing;
    /// let foot = Footing::rolling(1.75);
    /// let toes_down = foot.aligned(Alignment { foot_shift_m: 0.02, foot_tilt_deg: 1.0 }, 1.75);
    /// // both ends of the arc are reached one degree earlier
    /// let ends = (foot.ends_rad().unwrap(), toes_down.ends_rad().unwrap());
    /// assert!(((ends.0.0 - ends.1.0).to_degrees() - 1.0).abs() < 1e-12);
    /// assert!(((ends.0.1 - ends.1.1).to_degrees() - 1.0).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn aligned(self, alignment: Alignment, stature_m: f64) -> Self {
        let on_arc = alignment.load_line_shift_m(stature_m);
        let on_sole = alignment.sole_shift_m(stature_m);
        match self {
            Self::Rolling { radius_m, offset_m, heel_m, toe_m } => Self::Rolling {
                radius_m,
                offset_m: offset_m + on_arc,
                heel_m: heel_m + on_sole,
                toe_m: toe_m + on_sole,
            },
            Self::Edge { ahead_m } => Self::Edge { ahead_m: ahead_m + on_sole },
        }
    }

    /// Tilt at the heel end and at the toe end of the arc, rad; none on an edge.
    #[must_use]
    pub fn ends_rad(&self) -> Option<(f64, f64)> {
        match *self {
            Self::Rolling { radius_m, offset_m, heel_m, toe_m } => {
                Some(((heel_m - offset_m) / radius_m, (toe_m - offset_m) / radius_m))
            }
            Self::Edge { .. } => None,
        }
    }

    /// The region a tilt lies in.
    #[must_use]
    pub fn region(&self, beta: f64) -> Region {
        match self.ends_rad() {
            Some((heel, _)) if beta < heel => Region::Heel,
            Some((_, toe)) if beta > toe => Region::Toe,
            _ => Region::Arc,
        }
    }

    /// What the foot rotates about in a region.
    #[must_use]
    pub fn sole(&self, region: Region, knee_to_sole_m: f64) -> Sole {
        let fixed = |at_m: f64, a_f: f64, a_u: f64, pressure_m: f64| Sole {
            at_m: [at_m, 0.0],
            rolls_m: 0.0,
            a_f,
            a_u,
            pressure_m,
        };
        match *self {
            Self::Edge { ahead_m } => fixed(0.0, -ahead_m, knee_to_sole_m, ahead_m),
            Self::Rolling { radius_m: r, offset_m: e, heel_m, toe_m } => {
                let end = match region {
                    Region::Arc => {
                        let a_u = knee_to_sole_m - r;
                        return Sole { at_m: [0.0, r], rolls_m: r, a_f: -e, a_u, pressure_m: e };
                    }
                    Region::Heel => heel_m,
                    Region::Toe => toe_m,
                };
                let (sin_e, cos_e) = math::sin_cos((end - e) / r);
                fixed(end - e, -e - r * sin_e, knee_to_sole_m - r + r * cos_e, end)
            }
        }
    }

    /// The knee axis on the branch `region`.
    #[must_use]
    #[inline]
    pub fn knee(&self, region: Region, beta: f64, knee_to_sole_m: f64) -> KneeOverFoot {
        self.sole(region, knee_to_sole_m).knee(beta, math::sin_cos(beta))
    }
}

/// What the foot rotates about in one region: C = C₀ + (ρβ, 0), K = C + a_f f + a_u u.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sole {
    /// C₀, m.
    at_m: [f64; 2],
    /// ρ: R on the arc, 0 elsewhere, m.
    rolls_m: f64,
    /// a_f, m.
    a_f: f64,
    /// a_u, m.
    a_u: f64,
    /// x at β = 0, m.
    pressure_m: f64,
}

impl Sole {
    /// Centre of pressure ahead of the shank line, m.
    #[must_use]
    #[inline]
    pub fn centre_of_pressure_m(&self, beta: f64) -> f64 {
        self.pressure_m + self.rolls_m * beta
    }

    /// The knee axis at a tilt, with its sine and cosine.
    #[must_use]
    #[inline(always)]
    pub fn knee(&self, beta: f64, (sin, cos): (f64, f64)) -> KneeOverFoot {
        let (af, au) = (self.a_f, self.a_u);
        // f' = −u, u' = f, so K' = C' − a_f u + a_u f and K'' = −a_f f − a_u u
        let arm = [af * cos + au * sin, -af * sin + au * cos];
        KneeOverFoot {
            at: [self.at_m[0] + self.rolls_m * beta + arm[0], self.at_m[1] + arm[1]],
            first: [self.rolls_m + arm[1], -arm[0]],
            second: [-arm[0], -arm[1]],
            centre_of_pressure_m: self.centre_of_pressure_m(beta),
        }
    }
}
