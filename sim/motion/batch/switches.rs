//! Which equation acts where, and the switches at which a law changes its branch.
//!
//! As in the reference path, a step holds the side of every switch that it began on.

use crate::numerics::simd::Lane;

/// The valve alone, under a straight knee.
pub const STANCE: usize = 0;
/// The foot is on the ground and the knee bends.
pub const PRESWING: usize = 1;
/// The same with a valve that has let go for good.
pub const LET_GO: usize = 2;
/// The foot is in the air.
pub const SWING: usize = 3;
/// The same with a valve that has let go for good.
pub const OPENING: usize = 4;
/// The same with an open valve, which nothing closes.
pub const OPEN: usize = 5;

/// Whether the foot is on the ground.
#[inline(always)]
pub const fn on_ground(kind: usize) -> bool {
    kind == STANCE || is_preswing(kind)
}

/// Whether the foot is on the ground and the knee bends.
#[inline(always)]
pub const fn is_preswing(kind: usize) -> bool {
    matches!(kind, PRESWING | LET_GO)
}

/// Whether the valve opens undisturbed, as e^(−t/τ_v).
#[inline(always)]
pub const fn decays(kind: usize) -> bool {
    matches!(kind, LET_GO | OPENING)
}

/// Whether the valve is driven, so that its equation has to be integrated.
#[inline(always)]
pub const fn is_valve_driven(kind: usize) -> bool {
    matches!(kind, STANCE | PRESWING | SWING)
}

/// Switches: where a law changes its branch. Positive mode:
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
    /// Bend past the start of what is felt.
    pub const BEGUN: usize = 7;
    /// Bend past the end of it.
    pub const FULL: usize = 8;
    /// Centre of pressure past the release distance.
    pub const RELEASED: usize = 9;
    /// Centre of pressure past the heel.
    pub const HEEL: usize = 10;
    /// Number of them.
    pub const COUNT: usize = 11;
}

/// Whether a switch acts in a part of the stride.
#[inline(always)]
pub const fn exists(kind: usize, i: usize) -> bool {
    use switch::{HALF, HEEL, LOW, PUSH, RELEASED};
    match kind {
        STANCE => matches!(i, HALF | RELEASED | HEEL),
        PRESWING => i != HEEL,
        LET_GO => i <= LOW,
        _ => i <= PUSH,
    }
}

/// Where a switch has a meaning; elsewhere it keeps the side it is on.
#[inline(always)]
pub fn is_active<T: Lane>(i: usize, mode: &Mode<T>, armed: T::Mask) -> T::Mask {
    match i {
        switch::BEGUN | switch::FULL => armed,
        switch::CUSHION => !mode[switch::RATE],
        switch::PUSH => mode[switch::DEPTH],
        _ => mode[switch::RATE] | !mode[switch::RATE],
    }
}

/// Code once for every switch that acts in a part, with its number as a constant.
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

/// Mode laws.
pub type Mode<T> = [<T as Lane>::Mask; switch::COUNT];
