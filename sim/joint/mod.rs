//! The joint: torque on the knee from oil, seals, stops and assist spring.
//!
//! A torque is positive when it increases flexion. The joint knows no scenario, no person and no
//! time: flexion φ, rate ω and valve state z are all it sees.

mod assist_spring;
pub mod damper;
mod end_stops;
mod knee_file;
mod knee_resolve;
mod lanes;
mod oil;
mod setting;
mod stance_valve;

pub use assist_spring::{AssistLine, AssistSpring};
pub use end_stops::{EndStop, EndStopFile};
pub use knee_file::{
    CatchLoadFile, CushionFile, DirectionFile, FrictionFile, KneeFile, KneeKind, LeverFile, LinearFile,
    OrificeFile, StanceFile, TableFile,
};
pub(crate) use lanes::JointLanes;
pub use oil::{ISO_3448_GRADES, Oil};
pub use setting::{SettingName, Settings};
pub use stance_valve::{OPEN_PASSAGE, RampBranch, SensorBranch, StanceValve, Trigger};

use crate::numerics::simd::Lane;
use crate::numerics::smooth::{interpolate, smooth_cubic};
use crate::units::DEG;
use damper::{ConstantFriction, DamperLaw, Orifice, ValveOpening};

/// End-of-travel cushion: in extension the orifice part is multiplied by
/// 1 + (κ − 1) smoothstep((φ_c − φ + φ_stop)/φ_c).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cushion<T = f64> {
    /// Flexion from the stop at which it begins, φ_c, rad.
    pub start_rad: T,
    /// Factor at the stop, κ.
    pub factor: T,
}

impl<T: Lane> Cushion<T> {
    /// Factor on b within the cushion's range: by the formula above while `bent` beyond the stop's angle, κ
    /// inside the stop.
    #[must_use]
    #[inline(always)]
    pub fn factor_on(&self, bent: T::Mask, bend: T) -> T {
        let grown = smooth_cubic((self.start_rad - bend).divided_by(self.start_rad));
        T::choose(bent, (self.factor - 1.0).times_plus(grown, bend.splat(1.0)), self.factor)
    }
}

/// Relief of the oil torque in flexion: |τ| = T + slope (|τ| − T) above T.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "app", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Relief {
    /// Torque at which it opens, T, N m.
    pub torque_n_m: f64,
    /// Share of the excess that remains.
    pub slope: f64,
}

/// Displacement over the reference displacement, by flexion: a cylinder on a crank.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Lever {
    flexion_rad: Vec<f64>,
    relative: Vec<f64>,
}

impl Lever {
    /// V(φ)/V, 1 without a table; constant beyond both ends of the table.
    #[must_use]
    #[inline]
    pub fn ratio(&self, phi: f64) -> f64 {
        if self.relative.is_empty() { 1.0 } else { interpolate(phi, &self.flexion_rad, &self.relative) }
    }
}

/// A knee with its settings, in SI units.
///
/// ```
/// use kneedamp::joint::Knee;
/// let knee = Knee::reference();
/// let parts = knee.torque(0.5, 2.0, 0.0);
/// assert!((parts.damper + 1.2).abs() < 1e-12); // 0.2·2 + 0.2·2²
/// assert_eq!(parts.stop, 0.0);
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Knee {
    /// Flexion law in swing.
    pub swing_flexion: DamperLaw,
    /// Extension law.
    pub swing_extension: DamperLaw,
    /// Stance valve.
    pub stance: StanceValve,
    /// Displacement by flexion.
    pub lever: Lever,
    /// Relief of the oil torque in flexion.
    pub relief: Option<Relief>,
    /// End-of-travel cushion in extension.
    pub cushion: Option<Cushion>,
    /// Extension stop.
    pub extension_stop: EndStop,
    /// Flexion stop.
    pub flexion_stop: EndStop,
    /// Assist spring.
    pub assist: AssistSpring,
    /// Seal friction.
    pub friction: ConstantFriction,
    /// Locked straight.
    pub locked: bool,
    /// Positions of the four settings, where the knee has them.
    pub settings: Settings,
}

/// The torques on the knee, N m, each with its sign.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TorqueParts<T = f64> {
    /// Oil.
    pub damper: T,
    /// Seals.
    pub friction: T,
    /// Extension and flexion stop.
    pub stop: T,
    /// Assist spring.
    pub assist: T,
}

impl<T: Lane> TorqueParts<T> {
    /// Their sum, N m.
    #[must_use]
    #[inline(always)]
    pub fn sum(&self) -> T {
        self.damper + self.friction + self.stop + self.assist
    }
}

/// Smooth branch of each law; integration keeps it fixed between events.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Branch {
    /// ω > 0: oil flows through the flexion valve.
    pub flexing: bool,
    /// Within the cushion's range.
    pub in_cushion: bool,
    /// Flexed beyond the extension stop's angle: the assist spring's rate acts, the cushion varies with φ.
    pub bent: bool,
    /// Relief open.
    pub relieved: bool,
    /// In contact with the extension stop, which pushes.
    pub on_extension_stop: bool,
    /// In contact with the flexion stop, which pushes.
    pub on_flexion_stop: bool,
}

impl Knee {
    /// The reference joint of the checks: swing flexion a 0.2 b 0.2, extension a 0.2 b 0.08, stance
    /// a 3 b 30, catch load 0.23 of the weight of 75 kg, no assist, no cushion.
    #[must_use]
    pub fn reference() -> Self {
        Self {
            swing_flexion: DamperLaw::Orifice(Orifice { a: 0.2, b: 0.2 }),
            swing_extension: DamperLaw::Orifice(Orifice { a: 0.2, b: 0.08 }),
            stance: StanceValve {
                catch_load_n: 0.23 * 75.0 * crate::units::GRAVITY_M_PER_S2,
                ..StanceValve::default()
            },
            lever: Lever::default(),
            relief: Some(Relief { torque_n_m: 150.0, slope: 0.05 }),
            cushion: None,
            extension_stop: EndStop { angle_rad: 0.0, stiffness_n_m_per_rad: 2000.0, damping_s_per_rad: 0.3 },
            flexion_stop: EndStop {
                angle_rad: 140.0 * DEG,
                stiffness_n_m_per_rad: 2000.0,
                damping_s_per_rad: 0.3,
            },
            assist: AssistSpring::default(),
            friction: ConstantFriction { torque_n_m: 0.3, smoothing_rad_per_s: 0.05 },
            locked: false,
            settings: Settings::default(),
        }
    }

    /// The joint of the loaded tasks: without cushion and assist spring, which act near full extension and
    /// are small compared with body weight.
    #[must_use]
    pub fn under_load(&self) -> Self {
        Self { cushion: None, assist: AssistSpring::default(), ..self.clone() }
    }

    /// Flexion from the extension stop, rad.
    #[must_use]
    #[inline]
    pub fn bend(&self, phi: f64) -> f64 {
        phi - self.extension_stop.angle_rad
    }

    /// Flexion at the start of a motion, rad, for the flexion that a scenario asks for, degrees: a knee does not start
    /// inside its extension stop, which would throw it out with energy that nothing has put in.
    #[must_use]
    pub fn start_flexion_rad(&self, asked_deg: f64) -> f64 {
        (asked_deg * DEG).max(self.extension_stop.angle_rad)
    }

    /// Torque parts at a state, on the branch of that state.
    #[must_use]
    pub fn torque(&self, phi: f64, omega: f64, z: f64) -> TorqueParts {
        self.torque_on(self.branch(phi, omega, z), phi, omega, z)
    }

    /// The branch of a state.
    #[must_use]
    pub fn branch(&self, phi: f64, omega: f64, z: f64) -> Branch {
        let depth = -self.bend(phi);
        let over = phi - self.flexion_stop.angle_rad;
        Branch {
            flexing: omega > 0.0,
            in_cushion: self.cushion.is_some_and(|c| self.bend(phi) < c.start_rad),
            bent: depth <= 0.0,
            relieved: omega > 0.0 && self.relief_excess(phi, omega, z) > 0.0,
            on_extension_stop: depth > 0.0 && self.extension_stop.contact_factor(-omega) > 0.0,
            on_flexion_stop: over > 0.0 && self.flexion_stop.contact_factor(omega) > 0.0,
        }
    }

    /// Torque parts on a given branch.
    #[must_use]
    #[inline]
    pub fn torque_on(&self, branch: Branch, phi: f64, omega: f64, z: f64) -> TorqueParts {
        self.on_branch(branch).torque(phi, omega, z)
    }

    /// Oil torque in flexion beyond the relief torque, N m; negative while the relief is closed.
    #[must_use]
    pub fn relief_excess(&self, phi: f64, omega: f64, z: f64) -> f64 {
        self.on_branch(Branch::default()).relief_excess(phi, omega, z)
    }

    /// The joint on a given branch, to be evaluated at many states.
    #[must_use]
    #[inline]
    pub fn on_branch(&self, branch: Branch) -> JointBranch<'_> {
        let (swing, beside) = match &self.swing_flexion {
            DamperLaw::Orifice(swing) => (*swing, None),
            law => (OPEN_PASSAGE, Some(law)),
        };
        JointBranch { knee: self, branch, opening: ValveOpening::new(swing, self.stance.yielding), beside }
    }

    /// a scales with V², b with V³.
    #[inline(always)]
    fn scaled_by_lever(&self, o: Orifice, phi: f64) -> Orifice {
        if self.lever.relative.is_empty() {
            return o;
        }
        let g = self.lever.ratio(phi);
        Orifice { a: o.a * g * g, b: o.b * g * g * g }
    }
}

/// A joint on a fixed branch, with everything that depends on the branch alone already computed.
#[derive(Debug, Clone, Copy)]
pub struct JointBranch<'a> {
    knee: &'a Knee,
    branch: Branch,
    /// Opening of the valve: of the flexion orifice, or of the passage beside another law.
    opening: ValveOpening,
    /// A flexion law other than an orifice.
    beside: Option<&'a DamperLaw>,
}

impl JointBranch<'_> {
    /// Torque parts at a state.
    #[must_use]
    #[inline(always)]
    pub fn torque(&self, phi: f64, omega: f64, z: f64) -> TorqueParts {
        let (knee, branch) = (self.knee, self.branch);
        let damper = if branch.flexing {
            let (oil, rest) = self.flexion_torque(phi, omega, z);
            rest + match knee.relief {
                Some(r) if branch.relieved => {
                    let opens = r.torque_n_m * knee.lever.ratio(phi);
                    -(opens + r.slope * (-oil - opens))
                }
                _ => oil,
            }
        } else {
            self.extension_torque(phi, omega)
        };
        let mut stop = 0.0;
        if branch.on_extension_stop {
            stop += knee.extension_stop.contact_torque(-knee.bend(phi), -omega);
        }
        if branch.on_flexion_stop {
            stop -= knee.flexion_stop.contact_torque(phi - knee.flexion_stop.angle_rad, omega);
        }
        TorqueParts {
            damper,
            friction: knee.friction.torque(omega),
            stop,
            assist: knee.assist.torque_on(branch.bent, knee.bend(phi)),
        }
    }

    /// Oil torque in flexion beyond the relief torque, N m; negative while the relief is closed.
    #[must_use]
    #[inline(always)]
    pub fn relief_excess(&self, phi: f64, omega: f64, z: f64) -> f64 {
        let knee = self.knee;
        match knee.relief {
            Some(r) => -self.flexion_torque(phi, omega, z).0 - r.torque_n_m * knee.lever.ratio(phi),
            None => -1.0,
        }
    }

    /// (oil torque, torque of other elements) in flexion before relief. Another law is the joint with its valve
    /// open, and the closing valve adds to it: τ_law + τ_valve(z) − τ_valve(0).
    #[inline(always)]
    fn flexion_torque(&self, phi: f64, omega: f64, z: f64) -> (f64, f64) {
        let knee = self.knee;
        let valve = |at: Orifice| knee.scaled_by_lever(at, phi).torque_on(true, omega);
        match self.beside {
            None => (valve(self.opening.at(z)), 0.0),
            Some(law) => (valve(self.opening.at(z)) - valve(self.opening.swing), law.torque(omega, 1.0)),
        }
    }

    /// Extension is never stiffened by the stance valve.
    #[inline(always)]
    fn extension_torque(&self, phi: f64, omega: f64) -> f64 {
        let (knee, branch) = (self.knee, self.branch);
        let factor = match knee.cushion {
            Some(c) if branch.in_cushion => c.factor_on(branch.bent, knee.bend(phi)),
            _ => 1.0,
        };
        match &knee.swing_extension {
            DamperLaw::Orifice(o) => {
                knee.scaled_by_lever(Orifice { a: o.a, b: o.b * factor }, phi).torque_on(false, omega)
            }
            law => law.torque(omega, factor),
        }
    }
}
