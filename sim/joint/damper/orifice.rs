//! Laminar passage in series with a sharp-edged orifice.
//!
//! ```text
//! Δp = R ν ρ Q + (ρ/2) (Q / (C_d A))²,   Q = V ω,   τ = −V Δp
//! τ(ω) = −(a ω + b ω |ω|),   a = V² R ν ρ,   b = ρ V³ / (2 C_d² A²)
//! ```
//! V displacement per angle (m³/rad), R geometry of the passage (m⁻³), ν kinematic viscosity, ρ
//! density, A orifice area, C_d discharge coefficient, 0.61-0.62 for a sharp edge in turbulent flow
//! (Merritt, Hydraulic Control Systems, 1967); C_d falls at low Reynolds number, where the laminar
//! term takes over, so the quadratic term is too small for slow flow through a small port. Valid
//! for |ω| up to about 20 rad/s. No smoothing: τ is continuous, its slope jumps at ω = 0 only when
//! flexion and extension differ in a, its curvature always.
//!
//! Stance valve: the area runs linearly with the valve state z from the swing area to the stance
//! area (0 open, 1 closed), and a moves with b:
//! ```text
//! b(z) = b_st / [1 + (√(b_st/b_sw) − 1)(1 − z)]²,   a(z) = a_sw + (a_st − a_sw)(b(z) − b_sw)/(b_st − b_sw)
//! ```
//! with b_st, a_st never below b_sw, a_sw. Checked in tests/closed_form/damper.rs and
//! tests/published/hydraulics.rs.
//!
//! ```
//! use kneedamp::joint::damper::Orifice;
//! let swing = Orifice { a: 0.2, b: 0.5 };
//! assert!((swing.torque(2.0) + 2.4).abs() < 1e-12);
//! let stance = Orifice { a: 3.0, b: 30.0 };
//! assert!((Orifice::between(swing, stance, 1.0).b - 30.0).abs() < 1e-12);
//! // b 0.3 with V 9e-6 m³/rad, ρ 860 kg/m³ and C_d 0.62 is 1.65 mm²
//! let area = Orifice::area_m2(0.3, 9e-6, 860.0, 0.62);
//! assert!((area - 1.65e-6).abs() < 0.005e-6);
//! ```

use crate::numerics::math;
use crate::numerics::simd::Lane;

/// The two coefficients of one direction of flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Orifice<T = f64> {
    /// Laminar coefficient a, N m s/rad.
    pub a: T,
    /// Orifice coefficient b, N m s²/rad².
    pub b: T,
}

impl<T: Lane> Orifice<T> {
    /// Torque on the smooth branch of one direction, −(a ω ± b ω²), N m, continued beyond ω = 0: ω |ω| has a
    /// kink there, and a step on one branch must not integrate across it.
    #[must_use]
    #[inline(always)]
    pub fn torque_on(&self, flexing: T::Mask, omega: T) -> T {
        -T::choose(flexing, self.resistance(omega), self.for_extension().resistance(omega))
    }

    /// Resistance on the branch ω > 0: (a + b ω) ω, N m.
    #[must_use]
    #[inline(always)]
    pub fn resistance(&self, omega: T) -> T {
        self.b.times_plus(omega, self.a) * omega
    }

    /// The coefficients with which [`Orifice::resistance`] gives the branch ω < 0: (a − b ω) ω.
    #[must_use]
    #[inline(always)]
    pub fn for_extension(&self) -> Self {
        Self { b: -self.b, ..*self }
    }

    /// A torque less the resistance of the oil: τ − (a + b ω) ω.
    #[must_use]
    #[inline(always)]
    pub fn net_torque(&self, omega: T, torque: T) -> T {
        (-self.b.times_plus(omega, self.a)).times_plus(omega, torque)
    }
}

/// Opening of the valve between swing and stance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ValveOpening<T = f64> {
    /// Open.
    pub swing: Orifice<T>,
    /// Closed, never below `swing`.
    pub stance: Orifice<T>,
    /// √(b_st/b_sw) − 1.
    pub narrowing: T,
    /// (a_st − a_sw)/(b_st − b_sw), 0 if b_st = b_sw.
    pub a_per_b: T,
}

impl ValveOpening {
    /// Between two orifices.
    #[must_use]
    #[inline]
    pub fn new(swing: Orifice, stance: Orifice) -> Self {
        let stance = Orifice { a: stance.a.max(swing.a), b: stance.b.max(swing.b) };
        let narrower = stance.b > swing.b;
        Self {
            swing,
            stance,
            narrowing: (stance.b / swing.b).sqrt() - 1.0,
            a_per_b: if narrower { (stance.a - swing.a) / (stance.b - swing.b) } else { 0.0 },
        }
    }
}

impl<T: Lane> ValveOpening<T> {
    /// The orifice at valve state `z`, 0 to 1.
    #[must_use]
    #[inline(always)]
    pub fn at(&self, z: T) -> Orifice<T> {
        let root = self.narrowing.times_plus(z.splat(1.0) - z, z.splat(1.0));
        let b = self.stance.b / (root * root);
        Orifice { a: (b - self.swing.b).times_plus(self.a_per_b, self.swing.a), b }
    }
}

impl Orifice {
    /// Torque on the knee, N m; positive increases flexion.
    #[must_use]
    #[inline]
    pub fn torque(&self, omega: f64) -> f64 {
        -(self.a * omega + self.b * omega * omega.abs())
    }

    /// The valve between swing and stance, z 0 to 1.
    #[must_use]
    #[inline]
    pub fn between(swing: Self, stance: Self, z: f64) -> Self {
        ValveOpening::new(swing, stance).at(z)
    }

    /// b of a port: ρV³/(2 C_d² A²), N m s²/rad².
    #[must_use]
    pub fn b_of_area(area_m2: f64, displacement_m3_per_rad: f64, density: f64, discharge: f64) -> f64 {
        density * displacement_m3_per_rad.powi(3) / (2.0 * (discharge * area_m2).powi(2))
    }

    /// The port area that gives b, m².
    #[must_use]
    pub fn area_m2(b: f64, displacement_m3_per_rad: f64, density: f64, discharge: f64) -> f64 {
        (density * displacement_m3_per_rad.powi(3) / (2.0 * b)).sqrt() / discharge
    }

    /// a of a laminar passage of geometry R (m⁻³): V² R ν ρ, N m s/rad; ν in m²/s.
    #[must_use]
    pub fn a_of_passage(geometry_per_m3: f64, displacement_m3_per_rad: f64, nu: f64, density: f64) -> f64 {
        displacement_m3_per_rad.powi(2) * geometry_per_m3 * nu * density
    }

    /// R of a round bore by Hagen-Poiseuille: 128 L/(π d⁴), m⁻³.
    #[must_use]
    pub fn geometry_of_bore_per_m3(length_m: f64, diameter_m: f64) -> f64 {
        128.0 * length_m / (std::f64::consts::PI * diameter_m.powi(4))
    }
}

/// How b depends on the setting s, 0 open to 1 closed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Taper {
    /// Equal steps change the area by equal factors: b = b_open (b_closed/b_open)^s.
    #[default]
    Geometric,
    /// Equal steps change the area by equal amounts: √(b_open/b) = 1 + (√(b_open/b_closed) − 1) s.
    LinearArea,
}

impl Taper {
    /// b at setting `s`.
    #[must_use]
    pub fn b(self, open: f64, closed: f64, s: f64) -> f64 {
        match self {
            Self::Geometric => open * math::powf(closed / open, s),
            Self::LinearArea => {
                let area = 1.0 + ((open / closed).sqrt() - 1.0) * s;
                open / (area * area)
            }
        }
    }

    /// The setting that gives `b`.
    #[must_use]
    pub fn setting(self, open: f64, closed: f64, b: f64) -> f64 {
        match self {
            Self::Geometric => math::ln(b / open) / math::ln(closed / open),
            Self::LinearArea => ((open / b).sqrt() - 1.0) / ((open / closed).sqrt() - 1.0),
        }
    }
}
