//! Events: where a law changes its branch.
//!
//! A system lists scalar event functions g_i(t, y). Their signs are its *mode*. Integration keeps the mode
//! fixed, so that the right-hand side is smooth, until an event function is found with the other sign at an
//! event check; the event is then found on the step's dense output, the sign flipped and the integration
//! restarted. An event function may be inactive (`None`) while it has no meaning; when it becomes active, the
//! mode takes its sign.

/// Signs of up to 24 event functions, and eight mode bits that belong to none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Mode(u32);

impl Mode {
    /// Whether event function (or mode bit) `i` is positive.
    #[must_use]
    #[inline]
    pub fn positive(self, i: usize) -> bool {
        self.0 >> i & 1 == 1
    }

    /// Sets the sign of event function (or mode bit) `i`.
    #[inline]
    pub fn set(&mut self, i: usize, positive: bool) {
        if positive { self.0 |= 1 << i } else { self.0 &= !(1 << i) }
    }

    /// Whether `value` has the sign of event function `i` in this mode; zero has both.
    #[must_use]
    #[inline]
    pub fn agrees(self, i: usize, value: f64) -> bool {
        if self.positive(i) { value >= 0.0 } else { value <= 0.0 }
    }
}

/// What follows an event.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EventAction {
    /// The motion continues in the new mode.
    Continue,
    /// The motion ends here.
    Stop,
}
