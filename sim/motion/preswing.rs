//! Pre-swing: the toe is still on the ground, and ground and hip bend the knee.
//!
//! ```text
//! q(t) = φ_stop + λ [κ(t) − κ(t0)] κ(t_to)/[κ(t_to) − κ(t0)]
//! τ_drive = F(t) + clamp[K (q − φ) + C (q' − ω), ± effort],   K = I (2π·12 Hz)²,  C = 2 I (2π·12 Hz)
//! F = I q'' − I θ'' − m r_c [x_k'' cos(θ − q + ε) + (z_k'' + g) sin(θ − q + ε)]
//!     + 0.2 q' + 0.1 q' |q'| + τ_c tanh(q'/ω_s)
//! ```
//! κ published knee curve, q the flexion that a released knee follows (walking_drive), F the moment of
//! ground and hip in ordinary walking against a light damping (a 0.2, b 0.1 \[J\]). The clamped term is the
//! correction by which the user reduces a lag or a lead: at most 0.2 N m/kg \[J\], a value of the person. A
//! stance valve that is still closed makes the knee lag: nothing is scripted. The ends of the clamp are
//! events. Checked in tests/cross_code/scipy.rs.

use super::pendulum::{Pendulum, PivotAcceleration};
use crate::body::PreswingHabit;
use crate::joint::damper::{ConstantFriction, Orifice};
use crate::numerics::simd::Lane;
use crate::scenario::Drive;

/// Gains of the correction, per moment of inertia.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tracking<T = f64> {
    /// K/I, per lag, 1/s².
    pub per_rad: T,
    /// C/I, per lag of the rate, 1/s.
    pub per_rate: T,
}

impl Tracking {
    /// Critically damped, at a bandwidth in Hz.
    fn of(bandwidth_hz: f64) -> Self {
        let per_s = std::f64::consts::TAU * bandwidth_hz;
        Self { per_rad: per_s * per_s, per_rate: 2.0 * per_s }
    }
}

/// Pre-swing moment of one stride.
#[derive(Debug, Clone, Copy)]
pub struct Preswing<T = f64> {
    /// Greatest corrective moment, N m.
    pub effort_n_m: T,
    /// Extension stop angle, rad.
    pub stop_rad: T,
    /// Seal friction of the joint.
    pub friction: ConstantFriction<T>,
    /// The damping assumed in F.
    pub light: Orifice<T>,
    /// The correction.
    pub tracking: Tracking<T>,
}

/// The two parts of the pre-swing moment, N m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// F(t).
    pub ordinary: f64,
    /// K (q − φ) + C (q' − ω) before the clamp.
    pub correction: f64,
}

impl Preswing {
    /// With the damping and the correction of a person's habit.
    #[must_use]
    pub fn new(habit: &PreswingHabit, effort_n_m: f64, stop_rad: f64, friction: ConstantFriction) -> Self {
        let light = Orifice { a: habit.light_a_n_m_s_per_rad, b: habit.light_b_n_m_s2_per_rad2 };
        Self { effort_n_m, stop_rad, friction, light, tracking: Tracking::of(habit.tracking_hz) }
    }

    /// The moment at a state.
    #[must_use]
    #[inline]
    pub fn moment(
        &self,
        p: &Pendulum,
        drive: &Drive,
        pivot: &PivotAcceleration,
        t: f64,
        phi: f64,
        omega: f64,
    ) -> Moment {
        let [bend, rate, acc] = drive.released_knee(t);
        let q = self.stop_rad + bend;
        Moment {
            ordinary: self.ordinary(p, p.pivot_torque_at(pivot, q), rate, acc),
            correction: self.correction(p, phi, omega, [q, rate]),
        }
    }
}

impl<T: Lane> Preswing<T> {
    /// F(t) from the [pivot torque](Pendulum::pivot_torque) at q, and q' and q''.
    #[must_use]
    #[inline(always)]
    pub fn ordinary(&self, p: &Pendulum<T>, pivot_torque: T, rate: T, acc: T) -> T {
        let Orifice { a, b } = self.light;
        p.inertia * acc - pivot_torque + rate * a + rate * rate.abs() * b - self.friction.torque(rate)
    }

    /// K (q − φ) + C (q' − ω) before the clamp.
    #[must_use]
    #[inline(always)]
    pub fn correction(&self, p: &Pendulum<T>, phi: T, omega: T, [q, rate]: [T; 2]) -> T {
        let by_rate = (rate - omega) * self.tracking.per_rate;
        p.inertia * (q - phi).times_plus(self.tracking.per_rad, by_rate)
    }
}
