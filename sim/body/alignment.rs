//! Alignment: where the foot stands under the knee axis.
//!
//! ```text
//! x = x_foot + s        e → e + s,   heel and toe end, stair edge, toe tip likewise
//! ```
//! s foot shift (m), positive = foot further forward under the person: the whole sole, and with it the
//! centre of pressure and the load line, lies further in front of the shank line through the knee
//! axis. 0 is the position by the ratios of the body. x is measured from the shank line everywhere:
//! by the stance valve, which senses the load line relative to the knee, in walking, standing, sitting and
//! the loaded tasks.
//!
//! Limits. The masses of foot and shoe stay where the prosthesis file has them: moved by 30 mm with the
//! foot (0.96 kg of the shipped example) they change comfortable walking by 0.5° of peak flexion, 10 ms
//! of margin and 1° at heel contact, and the instant of release not at all; to include
//! that, change `ahead_m` of these parts (the figures are pinned in tests/studies/align.rs). The published
//! centre of pressure and hip motion stay as they are: the model does not include a change of gait on a
//! shifted foot. The shift is a translation; a tilt of foot or socket is not modelled.

use crate::error::SimError;
use crate::units::within;

/// Greatest shift either way, m.
pub const MOST_FOOT_SHIFT_M: f64 = 0.06;

/// Where the foot stands.
///
/// ```
/// use kneedamp::body::Alignment;
/// assert!(Alignment { foot_shift_m: 0.02 }.check().is_ok());
/// assert!(Alignment { foot_shift_m: 20.0 }.check().is_err());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Alignment {
    /// Foot further forward by this, m.
    pub foot_shift_m: f64,
}

impl Alignment {
    /// # Errors
    /// A shift out of range.
    pub fn check(&self) -> Result<(), SimError> {
        within("foot_shift_m", self.foot_shift_m, -MOST_FOOT_SHIFT_M..=MOST_FOOT_SHIFT_M).map(|_| ())
    }

    /// `, foot 12 mm forward`; nothing where the foot is not shifted.
    #[must_use]
    pub fn in_words(&self) -> String {
        let mm = 1e3 * self.foot_shift_m;
        match mm.total_cmp(&0.0) {
            std::cmp::Ordering::Greater => format!(", foot {mm:.0} mm forward"),
            std::cmp::Ordering::Less => format!(", foot {:.0} mm back", -mm),
            std::cmp::Ordering::Equal => String::new(),
        }
    }
}
