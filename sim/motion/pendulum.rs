//! The shank as a pendulum on a moving pivot, and the thigh above it.

use crate::body::{Person, Shank};
use crate::numerics::math;
use crate::numerics::simd::Lane;
use crate::scenario::Kinematics;
use crate::units::GRAVITY_M_PER_S2 as G;

/// The shank in the equation of motion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pendulum<T = f64> {
    /// I, kg m².
    pub inertia: T,
    /// m r_c, kg m.
    pub mass_moment: T,
    /// ε, rad.
    pub com_angle: T,
    /// m, kg.
    pub mass: T,
}

impl From<Shank> for Pendulum {
    fn from(s: Shank) -> Self {
        Self {
            inertia: s.inertia_kg_m2,
            mass_moment: s.mass_kg * s.com_distance_m,
            com_angle: s.com_angle_rad,
            mass: s.mass_kg,
        }
    }
}

/// Acceleration of the knee axis less gravity, in the frame of the thigh, and that of the thigh.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PivotAcceleration<T = f64> {
    /// θ'', rad/s².
    pub thigh_acc: T,
    /// A, the part at right angles to the thigh, m/s².
    pub across: T,
    /// B, the part along it, m/s².
    pub along: T,
}

impl PivotAcceleration {
    /// From the motion of thigh and knee axis.
    #[must_use]
    #[inline]
    pub fn of(k: &Kinematics) -> Self {
        let (sin, cos) = k.thigh_sin_cos;
        let up = k.knee_acc_z + G;
        Self {
            thigh_acc: k.thigh_acc,
            across: k.knee_acc_x * cos + up * sin,
            along: k.knee_acc_x * sin - up * cos,
        }
    }
}

impl<T: Lane> Pendulum<T> {
    /// I θ'' + m r_c [A cos(φ − ε) + B sin(φ − ε)]: the torque on the knee angle by the motion of thigh and
    /// hip and by gravity, N m, from the sine and cosine of φ − ε.
    #[must_use]
    #[inline(always)]
    pub fn pivot_torque(&self, pivot: &PivotAcceleration<T>, (sin, cos): (T, T)) -> T {
        self.mass_moment
            .times_plus(pivot.across.times_plus(cos, pivot.along * sin), self.inertia * pivot.thigh_acc)
    }
}

impl Pendulum {
    /// The same from the kinematics, at a flexion.
    ///
    /// ```
    /// use kneedamp::motion::pendulum::Pendulum;
    /// use kneedamp::scenario::Kinematics;
    /// let p = Pendulum { inertia: 0.2, mass_moment: 0.5, com_angle: 0.0, mass: 2.0 };
    /// // thigh still and vertical, knee bent by 90°: gravity extends it with its full moment
    /// let torque = p.driving_torque(&Kinematics::default(), std::f64::consts::FRAC_PI_2);
    /// assert!((torque + 0.5 * 9.81).abs() < 1e-12);
    /// ```
    #[must_use]
    #[inline]
    pub fn driving_torque(&self, k: &Kinematics, phi: f64) -> f64 {
        self.pivot_torque_at(&PivotAcceleration::of(k), phi)
    }

    /// As [`Pendulum::pivot_torque`], at a flexion.
    #[must_use]
    #[inline]
    pub fn pivot_torque_at(&self, pivot: &PivotAcceleration, phi: f64) -> f64 {
        self.pivot_torque(pivot, math::sin_cos(phi - self.com_angle))
    }
}

/// Thigh and socket, for the hip moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thigh {
    /// Length Lt, m.
    pub length: f64,
    /// Mass, kg.
    pub mass: f64,
    /// Centre of mass above the knee axis, m.
    pub com_above_knee: f64,
    /// Central moment of inertia, kg m².
    pub inertia: f64,
}

impl Thigh {
    /// Residual thigh and socket of a person \[J\].
    #[must_use]
    pub fn of(person: &Person) -> Self {
        let length = person.thigh_length_m();
        let mass = 0.07 * person.mass_kg + 1.225;
        Self { length, mass, com_above_knee: 0.6 * length, inertia: 0.07 * mass * length * length }
    }

    /// Hip moment on the thigh, positive towards flexion, while the foot is in the air, N m.
    /// `torque` is the knee torque and `acc` φ''.
    #[must_use]
    #[inline]
    pub fn hip_moment(
        &self,
        p: &Pendulum,
        k: &Kinematics,
        phi: f64,
        omega: f64,
        acc: f64,
        torque: f64,
    ) -> f64 {
        let cross = |r: [f64; 2], f: [f64; 2]| r[0] * f[1] - r[1] * f[0];
        let (st, ct) = k.thigh_sin_cos;
        let (ss, cs) = math::sin_cos(k.thigh - phi + p.com_angle);
        let (psi_rate, psi_acc) = (k.thigh_rate - omega, k.thigh_acc - acc);
        // force on the shank at the knee, m (a_c − g)
        let knee_force = [
            p.mass * k.knee_acc_x + p.mass_moment * (psi_acc * cs - psi_rate * psi_rate * ss),
            p.mass * (k.knee_acc_z + G) + p.mass_moment * (psi_acc * ss + psi_rate * psi_rate * cs),
        ];
        let d = self.length - self.com_above_knee;
        let own = [
            self.mass * (k.hip_acc_x + d * (k.thigh_acc * ct - k.thigh_rate * k.thigh_rate * st)),
            self.mass * (k.hip_acc_z + G + d * (k.thigh_acc * st + k.thigh_rate * k.thigh_rate * ct)),
        ];
        self.inertia * k.thigh_acc
            + cross([d * st, -d * ct], own)
            + cross([self.length * st, -self.length * ct], knee_force)
            - torque
    }
}
