//! Events of the joint: where its laws change their branch, in every motion.

use crate::joint::{Branch, JointBranch, Knee};
use crate::numerics::events::Mode;

/// Event functions of the joint; their numbers come before those of a motion.
pub mod joint_event {
    /// ω.
    pub const RATE: usize = 0;
    /// Flexion beyond the cushion's start.
    pub const CUSHION: usize = 1;
    /// Oil torque beyond relief.
    pub const RELIEF: usize = 2;
    /// Depth in the extension stop.
    pub const EXTENSION_DEPTH: usize = 3;
    /// 1 + c d' of the extension stop.
    pub const EXTENSION_PUSH: usize = 4;
    /// Depth in the flexion stop.
    pub const FLEXION_DEPTH: usize = 5;
    /// 1 + c d' of the flexion stop.
    pub const FLEXION_PUSH: usize = 6;
    /// Number of them.
    pub const COUNT: usize = 7;
}

/// Value of the joint's event function `i`, `None` while it is inactive; `joint` is the joint in `mode`.
#[must_use]
#[inline(always)]
pub fn joint_event_function(
    knee: &Knee,
    joint: &JointBranch<'_>,
    i: usize,
    mode: Mode,
    [phi, omega, z]: [f64; 3],
) -> Option<f64> {
    use joint_event as s;
    match i {
        s::RATE => Some(omega),
        s::CUSHION => match knee.cushion {
            Some(c) if !mode.positive(s::RATE) => Some(knee.bend(phi) - c.start_rad),
            _ => None,
        },
        s::RELIEF => {
            (knee.relief.is_some() && mode.positive(s::RATE)).then(|| joint.relief_excess(phi, omega, z))
        }
        s::EXTENSION_DEPTH => Some(-knee.bend(phi)),
        s::EXTENSION_PUSH => {
            mode.positive(s::EXTENSION_DEPTH).then(|| knee.extension_stop.contact_factor(-omega))
        }
        s::FLEXION_DEPTH => Some(phi - knee.flexion_stop.angle_rad),
        s::FLEXION_PUSH => mode.positive(s::FLEXION_DEPTH).then(|| knee.flexion_stop.contact_factor(omega)),
        _ => None,
    }
}

/// A knee that turns more slowly than this stands still, rad/s: it turns by less than 1e-6° in ten seconds, and the laws
/// of both directions differ by less than 1e-6 N m there. The integration leaves noise of this size in a motion at
/// rest, whose sign is no direction. \[J\]
pub const STILL_RAD_PER_S: f64 = 1e-9;

/// [`FrozenMode::least_beyond`](crate::numerics::system::FrozenMode::least_beyond) of event functions that begin with
/// those of the joint.
#[must_use]
#[inline(always)]
pub fn least_beyond(i: usize) -> f64 {
    if i == joint_event::RATE { STILL_RAD_PER_S } else { 0.0 }
}

/// The joint's branch in a mode.
#[must_use]
#[inline]
pub fn joint_branch(mode: Mode) -> Branch {
    use joint_event as s;
    Branch {
        flexing: mode.positive(s::RATE),
        in_cushion: !mode.positive(s::CUSHION),
        bent: !mode.positive(s::EXTENSION_DEPTH),
        relieved: mode.positive(s::RATE) && mode.positive(s::RELIEF),
        on_extension_stop: mode.positive(s::EXTENSION_DEPTH) && mode.positive(s::EXTENSION_PUSH),
        on_flexion_stop: mode.positive(s::FLEXION_DEPTH) && mode.positive(s::FLEXION_PUSH),
    }
}
