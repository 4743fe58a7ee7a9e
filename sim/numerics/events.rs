//! Switching surfaces: where a law changes its branch, and how the crossing is found.
//!
//! A motion lists scalar surfaces g_i(t, y). Integration holds the *sides* (signs) fixed, so that the
//! right-hand side is smooth, until a surface is found on the other side at the end of a step; the
//! crossing is then located on the step's continuous output, the side flipped and the integration
//! restarted. A surface may be dormant (`None`) while it has no meaning; waking, it takes the side it
//! is on.

/// Mode of up to 24 surfaces, and eight mode bits that are not surfaces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Mode(u32);

impl Mode {
    /// Whether surface (or mode bit) `i` is positive.
    #[must_use]
    #[inline]
    pub fn positive(self, i: usize) -> bool {
        self.0 >> i & 1 == 1
    }

    /// Sets surface (or mode bit) `i`.
    #[inline]
    pub fn set(&mut self, i: usize, positive: bool) {
        if positive { self.0 |= 1 << i } else { self.0 &= !(1 << i) }
    }

    /// Whether `value` lies on the side held for surface `i`; zero lies on both.
    #[must_use]
    #[inline]
    pub fn agrees(self, i: usize, value: f64) -> bool {
        if self.positive(i) { value >= 0.0 } else { value <= 0.0 }
    }
}

/// What follows a crossing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EventAction {
    /// Flip the side and go on.
    Continue,
    /// The motion ends here.
    Stop,
}
