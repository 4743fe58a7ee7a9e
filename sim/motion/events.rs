//! Switching surfaces: where a law changes its branch, and how the crossing is found.
//!
//! A motion lists scalar surfaces g_i(t, y). Integration holds the *sides* (signs) fixed, so that the
//! right-hand side is smooth, until a surface is found on the other side at the end of a step; the
//! crossing is then located on the step's continuous output, the side flipped and the integration
//! restarted. A surface may be dormant (`None`) while it has no meaning; waking, it takes the side it
//! is on.

use crate::joint::{Acting, Branch, Knee};

/// Sides of up to 24 surfaces, and eight mode bits that are not surfaces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Sides(u32);

impl Sides {
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
pub enum Then {
    /// Flip the side and go on.
    GoOn,
    /// The motion ends here.
    Stop,
}

/// Surfaces of the joint, shared by every motion; their numbers come first.
pub mod joint_surface {
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

/// Value of joint surface `i`; `None` while dormant. `acting` is the joint on its branch of `sides`.
#[must_use]
#[inline]
pub fn joint_surface_value(
    knee: &Knee,
    acting: &Acting<'_>,
    i: usize,
    sides: Sides,
    [phi, omega, z]: [f64; 3],
) -> Option<f64> {
    use joint_surface as s;
    match i {
        s::RATE => Some(omega),
        s::CUSHION => match knee.cushion {
            Some(c) if !sides.positive(s::RATE) => Some(knee.bend(phi) - c.start_rad),
            _ => None,
        },
        s::RELIEF => {
            (knee.relief.is_some() && sides.positive(s::RATE)).then(|| acting.relief_excess(phi, omega, z))
        }
        s::EXTENSION_DEPTH => Some(-knee.bend(phi)),
        s::EXTENSION_PUSH => sides.positive(s::EXTENSION_DEPTH).then(|| knee.extension_stop.pushing(-omega)),
        s::FLEXION_DEPTH => Some(phi - knee.flexion_stop.angle_rad),
        s::FLEXION_PUSH => sides.positive(s::FLEXION_DEPTH).then(|| knee.flexion_stop.pushing(omega)),
        _ => None,
    }
}

/// The joint's branch that goes with the sides.
#[must_use]
#[inline]
pub fn joint_branch(sides: Sides) -> Branch {
    use joint_surface as s;
    Branch {
        flexing: sides.positive(s::RATE),
        in_cushion: !sides.positive(s::CUSHION),
        bent: !sides.positive(s::EXTENSION_DEPTH),
        relieved: sides.positive(s::RATE) && sides.positive(s::RELIEF),
        on_extension_stop: sides.positive(s::EXTENSION_DEPTH) && sides.positive(s::EXTENSION_PUSH),
        on_flexion_stop: sides.positive(s::FLEXION_DEPTH) && sides.positive(s::FLEXION_PUSH),
    }
}

/// Where `f` changes sign in \[a, b\], to `tolerance`: Ridders' method, which keeps a bracket and
/// converges quadratically (Ridders 1979, IEEE Trans Circuits Syst 26:979).
///
/// ```
/// use kneedamp::motion::events::locate;
/// let root = locate(|x| x * x - 2.0, 0.0, 2.0, 1e-13);
/// assert!((root - 2f64.sqrt()).abs() < 1e-12);
/// ```
#[must_use]
pub fn locate(mut f: impl FnMut(f64) -> f64, a: f64, b: f64, tolerance: f64) -> f64 {
    let (mut a, mut b) = (a, b);
    let (mut fa, mut fb) = (f(a), f(b));
    if fa == 0.0 {
        return a;
    }
    if fb == 0.0 || fa.signum() == fb.signum() {
        return b;
    }
    for _ in 0..60 {
        if b - a <= tolerance {
            break;
        }
        let m = 0.5 * (a + b);
        let fm = f(m);
        let s = (fm * fm - fa * fb).sqrt();
        if s == 0.0 {
            return m;
        }
        let x = (m + (m - a) * (fa - fb).signum() * fm / s).clamp(a, b);
        let fx = f(x);
        if fx == 0.0 {
            return x;
        }
        // the tightest of the brackets that m and x leave
        let (lo, flo, hi, fhi) = if x < m { (x, fx, m, fm) } else { (m, fm, x, fx) };
        if fa.signum() != flo.signum() {
            (b, fb) = (lo, flo);
        } else if flo.signum() != fhi.signum() {
            (a, fa, b, fb) = (lo, flo, hi, fhi);
        } else {
            (a, fa) = (hi, fhi);
        }
    }
    // the end that is just past the crossing
    b
}
