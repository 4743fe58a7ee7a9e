//! Foot on the ground for the loaded tasks: a rolling arc with two ends, or a stair edge.
//!
//! ```text
//! K = C + a_f f + a_u u,   f = (cos β, −sin β),   u = (sin β, cos β)
//! arc, β_h ≤ β ≤ β_t:   C = (Rβ, R)     a_f = −e              a_u = L1 − R             x = e + Rβ
//! beyond an end β_e:    C = (Rβ_e, 0)   a_f = −e − R sin β_e  a_u = L1 − R + R cos β_e x = heel or toe
//! stair edge:           C = 0           a_f = −0.06           a_u = L1                 x = 0.06
//! ```
//! K knee axis in the surface frame (X down the slope, Z normal), β forward tilt of the shank from
//! the surface normal, x centre of pressure ahead of the shank line, on which the ankle lies unless the
//! foot is shifted (`body::alignment`: e, heel, toe and edge then move together), L1 knee axis to sole. The foot is
//! fixed to the shank and rolls without slip. R = 0.19 H (published roll-over shapes 0.17-0.21 H:
//! Hansen, Childress & Knox 2004, Clin Biomech 19:407, from memory), e 0.05 m, heel −0.06 m, toe
//! 0.14 m \[J\]. K and K' are continuous across the ends, K'' is not: the ends are located as events.
//! Checked in tests/closed_form/footing.rs.

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
    /// Behind the arc: turning about the heel end.
    Heel,
    /// Rolling on the arc.
    Arc,
    /// Beyond the arc: turning about the toe end.
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
        Self::Rolling { radius_m: 0.19 * stature_m, offset_m: 0.05, heel_m: -0.06, toe_m: 0.14 }
    }

    /// The edge of a step under the midfoot, 0.06 m ahead of the ankle.
    #[must_use]
    pub fn edge() -> Self {
        Self::Edge { ahead_m: 0.06 }
    }

    /// The same foot further forward by `shift_m`.
    ///
    /// ```
    /// use kneedamp::scenario::Footing;
    /// let foot = Footing::rolling(1.75);
    /// let ends = (foot.ends_rad(), foot.shifted(0.02).ends_rad());
    /// assert!((ends.0.unwrap().0 - ends.1.unwrap().0).abs() < 1e-15); // its shape is the same
    /// ```
    #[must_use]
    pub fn shifted(self, shift_m: f64) -> Self {
        match self {
            Self::Rolling { radius_m, offset_m, heel_m, toe_m } => Self::Rolling {
                radius_m,
                offset_m: offset_m + shift_m,
                heel_m: heel_m + shift_m,
                toe_m: toe_m + shift_m,
            },
            Self::Edge { ahead_m } => Self::Edge { ahead_m: ahead_m + shift_m },
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

    /// The knee axis on the branch `region`.
    #[must_use]
    #[inline]
    pub fn knee(&self, region: Region, beta: f64, knee_to_sole_m: f64) -> KneeOverFoot {
        let (sin, cos) = beta.sin_cos();
        // f' = −u, u' = f, so K' = C' − a_f u + a_u f and K'' = −a_f f − a_u u
        let place = |c: [f64; 2], c_rate: f64, af: f64, au: f64, x: f64| {
            let arm = [af * cos + au * sin, -af * sin + au * cos];
            KneeOverFoot {
                at: [c[0] + arm[0], c[1] + arm[1]],
                first: [c_rate - af * sin + au * cos, -af * cos - au * sin],
                second: [-arm[0], -arm[1]],
                centre_of_pressure_m: x,
            }
        };
        match *self {
            Self::Edge { ahead_m } => place([0.0, 0.0], 0.0, -ahead_m, knee_to_sole_m, ahead_m),
            Self::Rolling { radius_m: r, offset_m: e, heel_m, toe_m } => {
                let end = match region {
                    Region::Arc => {
                        return place([r * beta, r], r, -e, knee_to_sole_m - r, e + r * beta);
                    }
                    Region::Heel => heel_m,
                    Region::Toe => toe_m,
                };
                let (sin_e, cos_e) = ((end - e) / r).sin_cos();
                place([end - e, 0.0], 0.0, -e - r * sin_e, knee_to_sole_m - r + r * cos_e, end)
            }
        }
    }
}
