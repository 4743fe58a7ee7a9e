//! Alignment: where the foot stands under the knee axis, and how it is tilted.
//!
//! ```text
//! arc centre     e → e + s + (R − h) δ          point of the sole    x → x + s − h δ
//! in walking     x(t) = clamp(x_heel + (x_toe − x_heel) 2t/T + R δ, x_heel, x_toe) + s − h δ
//! ```
//! s foot shift (m), positive = foot further forward under the person. δ foot tilt (rad), positive = toes down
//! (plantarflexion): a rotation about the ankle, to first order (0.3 mm at 6°), with the leg's length restored.
//! R radius of the sole, h height of the ankle, x centre of pressure ahead of the shank line through the knee axis.
//! 0 is the position by the ratios of the body. The stance valve senses x, standing and the loaded tasks roll on the
//! moved arc, and in pre-swing the ground force gets the arm x(t) − x(t; s = 0, δ = 0) about the knee
//! (`motion::swing`).
//!
//! Limits. The masses of foot and shoe stay where the prosthesis file has them: moved by 30 mm with the
//! foot (0.96 kg of the shipped example) they change comfortable walking by 0.6° of peak flexion, 8 ms
//! of margin and 0.2° at heel contact, and the instant of release not at all; to include
//! that, change `ahead_m` of these parts (the figures are pinned in tests/studies/align.rs). The
//! centre of pressure against time and the hip motion stay those of the drive but for the formula above: the model
//! does not include a change of gait on a shifted foot. A tilt of the socket is not modelled.

use super::Person;
use super::anthropometry::{ANKLE_HEIGHT_PER_STATURE, SOLE_RADIUS_PER_STATURE, TOE_SPRING_PER_STATURE};
use crate::error::SimError;
use crate::units::{DEG, within};

/// Greatest shift either way, m.
pub const MOST_FOOT_SHIFT_M: f64 = 0.06;
/// Greatest tilt either way, degrees.
pub const MOST_FOOT_TILT_DEG: f64 = 8.0;

/// Where the foot stands.
///
/// ```
/// use kneedamp::body::Alignment;
/// let forward = Alignment { foot_shift_m: 0.02, foot_tilt_deg: 0.0 };
/// assert!(forward.check().is_ok());
/// assert_eq!(forward.load_line_shift_m(1.75), 0.02);
/// assert!(Alignment { foot_shift_m: 20.0, ..forward }.check().is_err());
/// // toes down by 3° moves the load line forward by 14 mm
/// let toes_down = Alignment { foot_shift_m: 0.0, foot_tilt_deg: 3.0 };
/// assert!((toes_down.load_line_shift_m(1.75) - 0.0138).abs() < 1e-4);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Alignment {
    /// Foot further forward by this, m.
    pub foot_shift_m: f64,
    /// Toes down by this, degrees.
    pub foot_tilt_deg: f64,
}

impl Alignment {
    /// # Errors
    /// A shift or tilt out of range.
    pub fn check(&self) -> Result<(), SimError> {
        within("foot_shift_m", self.foot_shift_m, -MOST_FOOT_SHIFT_M..=MOST_FOOT_SHIFT_M)?;
        within("foot_tilt_deg", self.foot_tilt_deg, -MOST_FOOT_TILT_DEG..=MOST_FOOT_TILT_DEG).map(|_| ())
    }

    /// How far the load line of a foot that stands on its arc moves forward, m; by stature.
    #[must_use]
    pub fn load_line_shift_m(&self, stature_m: f64) -> f64 {
        self.sole_shift_m(stature_m) + SOLE_RADIUS_PER_STATURE * stature_m * self.foot_tilt_deg * DEG
    }

    /// How far a point of the sole moves forward, m; by stature.
    #[must_use]
    pub fn sole_shift_m(&self, stature_m: f64) -> f64 {
        self.foot_shift_m - ANKLE_HEIGHT_PER_STATURE * stature_m * self.foot_tilt_deg * DEG
    }

    /// Tip of the foot ahead of the shank line and below the knee axis, m.
    #[must_use]
    pub fn toe_m(&self, person: &Person) -> [f64; 2] {
        let ahead = person.toe_ahead_of_ankle_m();
        [ahead + self.foot_shift_m, person.knee_to_sole_m() + ahead * self.foot_tilt_deg * DEG]
    }

    /// The same with the tip as it turns up from the sole, m.
    #[must_use]
    pub fn raised_toe_m(&self, person: &Person) -> [f64; 2] {
        let [ahead, down] = self.toe_m(person);
        [ahead, down - TOE_SPRING_PER_STATURE * person.stature_m()]
    }

    /// `, foot 12 mm forward, toes 2.0° down`; nothing where the foot is not moved.
    #[must_use]
    pub fn in_words(&self) -> String {
        let word = |amount: String, v: f64, [more, less]: [&str; 2]| match v.total_cmp(&0.0) {
            std::cmp::Ordering::Equal => String::new(),
            order => format!(", {amount} {}", if order.is_gt() { more } else { less }),
        };
        let mm = format!("foot {:.0} mm", 1e3 * self.foot_shift_m.abs());
        let deg = format!("toes {:.1}°", self.foot_tilt_deg.abs());
        word(mm, self.foot_shift_m, ["forward", "back"]) + &word(deg, self.foot_tilt_deg, ["down", "up"])
    }
}
