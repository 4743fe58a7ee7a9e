//! Standing: straight knee, hip over the contact point of the foot's arc. Statics, no integration.
//!
//! ```text
//! d = Lt (e − Rγ)/(L − R)      extension moment = N d      lost at γ = e/R      to start bending: N d L/L1
//! ```
//! d load line in front of the knee axis, γ slope down, N load on the prosthesis, L = Lt + L1; e moves with
//! the foot (`body::alignment`). First order in e/(L − R): the error of d against the exact triangle is at
//! most 0.4 % on level ground at 1.75 m. A load line a few centimetres in front of the knee axis is common
//! practice. Checked in tests/closed_form/standing.rs.
//!
//! ```
//! use kneedamp::body::Person;
//! use kneedamp::motion::standing::stand;
//! use kneedamp::scenario::Stand;
//! let level = stand(&Stand { slope_deg: 0.0, share: 0.5 }, &Person::default());
//! assert!(level.load_line_ahead_m > 0.03 && level.load_line_ahead_m < 0.05);
//! ```

use crate::body::{Alignment, Person};
use crate::scenario::{Footing, Stand};
use crate::units::DEG;

/// Statics of standing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing {
    /// Load line in front of the knee axis, m.
    pub load_line_ahead_m: f64,
    /// Ground load on the prosthesis, N.
    pub load_n: f64,
    /// Moment that keeps the knee straight, N m.
    pub extension_moment_n_m: f64,
    /// Downward slope at which that moment is lost, rad.
    pub slope_limit_rad: f64,
    /// Hip flexion moment that starts to bend the knee, N m.
    pub hip_moment_to_bend_n_m: f64,
}

/// Standing on a slope, the foot where the ratios of the body put it.
#[must_use]
pub fn stand(s: &Stand, person: &Person) -> Standing {
    stand_aligned(s, person, Alignment::default())
}

/// Standing on a slope. A leg that does not stand by itself gives negative values: a negative moment bends
/// the knee, a negative slope limit is an upward slope.
#[must_use]
pub fn stand_aligned(s: &Stand, person: &Person, alignment: Alignment) -> Standing {
    let foot = Footing::rolling(person.stature_m()).aligned(alignment, person.stature_m());
    let Footing::Rolling { radius_m: r, offset_m: e, .. } = foot else {
        unreachable!("the rolling foot rolls")
    };
    let (lt, l1) = (person.thigh_length_m(), person.knee_to_sole_m());
    let leg = lt + l1;
    let d = lt * (e - r * s.slope_deg * DEG) / (leg - r);
    let load = s.share * person.weight_n();
    Standing {
        load_line_ahead_m: d,
        load_n: load,
        extension_moment_n_m: load * d,
        slope_limit_rad: e / r,
        hip_moment_to_bend_n_m: load * d * leg / l1,
    }
}
