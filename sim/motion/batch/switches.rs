//! The equations of the phases of a stride, and the switches at which a law changes its branch.
//!
//! As in the reference path, the mode is frozen during a step: every switch keeps the side that the step began on.

use crate::numerics::simd::Lane;

/// Stance: the valve alone, under a straight knee.
pub const STANCE: usize = 0;
/// Pre-swing: the foot is on the ground and the knee flexes.
pub const PRESWING: usize = 1;
/// Pre-swing with a valve that has released for good.
pub const PRESWING_OPENING: usize = 2;
/// Swing: the foot is in the air.
pub const SWING: usize = 3;
/// Swing with a valve that has released for good.
pub const SWING_OPENING: usize = 4;
/// Swing with an open valve, which nothing closes.
pub const SWING_OPEN: usize = 5;

/// Whether the foot is on the ground.
#[inline(always)]
pub const fn on_ground(kind: usize) -> bool {
    kind == STANCE || is_preswing(kind)
}

/// Whether the equation is one of pre-swing.
#[inline(always)]
pub const fn is_preswing(kind: usize) -> bool {
    matches!(kind, PRESWING | PRESWING_OPENING)
}

/// Whether the valve opens undisturbed, as e^(−t/τ_v).
#[inline(always)]
pub const fn decays(kind: usize) -> bool {
    matches!(kind, PRESWING_OPENING | SWING_OPENING)
}

/// Whether the valve is driven, so that its equation has to be integrated.
#[inline(always)]
pub const fn is_valve_driven(kind: usize) -> bool {
    matches!(kind, STANCE | PRESWING | SWING)
}

/// Numbers of the switches, each with the meaning of its positive side.
pub mod switch {
    /// ω > 0.
    pub const RATE: usize = 0;
    /// Within the cushion's range.
    pub const CUSHION: usize = 1;
    /// In the extension stop.
    pub const DEPTH: usize = 2;
    /// The stop pushes.
    pub const PUSH: usize = 3;
    /// Correction beyond the greatest effort.
    pub const HIGH: usize = 4;
    /// Correction above the least effort.
    pub const LOW: usize = 5;
    /// Valve more than half closed.
    pub const HALF: usize = 6;
    /// Bend past the start of the range that the stance valve senses.
    pub const BEGUN: usize = 7;
    /// Bend past the end of that range.
    pub const FULL: usize = 8;
    /// Centre of pressure past the release distance.
    pub const RELEASED: usize = 9;
    /// Centre of pressure past the heel.
    pub const HEEL: usize = 10;
    /// Number of them.
    pub const COUNT: usize = 11;
}

/// Whether a switch exists in an equation.
#[inline(always)]
pub const fn exists(kind: usize, i: usize) -> bool {
    use switch::{HALF, HEEL, LOW, PUSH, RELEASED};
    match kind {
        STANCE => matches!(i, HALF | RELEASED | HEEL),
        PRESWING => i != HEEL,
        PRESWING_OPENING => i <= LOW,
        _ => i <= PUSH,
    }
}

/// Lanes in which a switch has a meaning; in the others it follows the state.
#[inline(always)]
pub fn is_active<T: Lane>(i: usize, mode: &Mode<T>, armed: T::Mask) -> T::Mask {
    match i {
        switch::BEGUN | switch::FULL => armed,
        switch::CUSHION => !mode[switch::RATE],
        switch::PUSH => mode[switch::DEPTH],
        _ => mode[switch::RATE] | !mode[switch::RATE],
    }
}

/// Repeats code for every switch that exists in an equation, with its number as a constant.
macro_rules! for_each_switch {
    ($kind:ident, $i:ident => $do:block) => {
        for_each_switch!(@ $kind, $i, $do, 0 1 2 3 4 5 6 7 8 9 10)
    };
    (@ $kind:ident, $i:ident, $do:block, $($number:literal)*) => {$(
        if crate::motion::batch::switches::exists($kind, $number) {
            const $i: usize = $number;
            $do
        }
    )*};
}
pub(super) use for_each_switch;

/// The side of every switch, per lane: true for the positive side.
pub type Mode<T> = [<T as Lane>::Mask; switch::COUNT];
