//! Values of the joint that bring the model's swing nearest to the measured knee.
//!
//! The swing begins a little before toe-off, so that nothing of pre-swing is needed. Its first flexion and rate are found
//! together with the values, near those of the measured curve: taken from a noisy curve as they are, they would pull the
//! values with them (bias of the flexion resistance by a factor of 2 at 0.5° of noise). Where the user's effort is asked
//! for, the whole model runs from heel contact on instead.

use crate::body::{Person, Shank};
use crate::joint::damper::{ConstantFriction, DamperLaw, Linear, Orifice};
use crate::joint::{Knee, SettingName};
use crate::library::angles::series::{fit, rate, value};
use crate::motion::preswing::Preswing;
use crate::motion::stride::Stride;
use crate::motion::swing::{LOADED, Pendulum, ShankSystem, Thigh, state};
use crate::numerics::events::Mode;
use crate::numerics::hybrid::{State, Trajectory};
use crate::numerics::least_squares::{Fit, Range, minimise};
use crate::numerics::math;
use crate::numerics::tolerances::Tolerances;
use crate::scenario::Drive;
use crate::units::DEG;

/// Before toe-off, fraction of the stride: toe-off is known to about this.
const LEAD: f64 = 0.015;
/// The first flexion and rate lie so near to those of the measured curve, degrees and degrees per second \[J\].
const START_DEG: f64 = 5.0;
const START_DEG_PER_S: f64 = 100.0;
/// Harmonics of the measured knee from which the first flexion and rate are taken.
const KNEE_HARMONICS: usize = 10;
/// Laminar coefficient beside b where the joint has none, N m s/rad \[J\].
const OTHER_A: f64 = 0.1;

/// Damper law of both directions of swing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SwingLaw {
    /// Orifice: b is found, a is that of the joint.
    Orifice,
    /// Proportional to rate.
    Linear,
    /// Constant friction.
    Friction,
}

impl SwingLaw {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Orifice, Self::Linear, Self::Friction];

    /// In words.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Orifice => "orifice",
            Self::Linear => "linear",
            Self::Friction => "constant friction",
        }
    }

    /// Keys of the two values, and whether the search has their logarithms.
    #[must_use]
    pub fn values(self) -> ([&'static str; 2], bool) {
        match self {
            Self::Orifice => (["swing_flexion_b_n_m_s2_per_rad2", "swing_extension_b_n_m_s2_per_rad2"], true),
            Self::Linear => (["swing_flexion_c_n_m_s_per_rad", "swing_extension_c_n_m_s_per_rad"], true),
            Self::Friction => (["swing_flexion_n_m", "swing_extension_n_m"], false),
        }
    }

    fn range(self) -> Range {
        match self {
            Self::Orifice => Range { least: math::ln(1e-3), most: math::ln(10.0) },
            Self::Linear => Range { least: math::ln(1e-2), most: math::ln(20.0) },
            Self::Friction => Range { least: 0.0, most: 20.0 },
        }
    }

    fn starts(self) -> [[f64; 2]; 2] {
        match self {
            Self::Orifice => [[math::ln(0.2), math::ln(0.1)], [math::ln(0.05), math::ln(0.3)]],
            Self::Linear => [[math::ln(0.4), math::ln(0.4)], [math::ln(0.15), math::ln(0.8)]],
            Self::Friction => [[1.0, 1.0], [0.3, 2.0]],
        }
    }
}

/// A value that may be found besides the two resistances and the assist.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Also {
    /// Factor on the mass of all parts below the knee, and so on their inertia.
    Mass,
    /// Corrective effort of the user in pre-swing, N m/kg.
    Effort,
}

impl Also {
    /// Key of the value.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Mass => "shank_mass_factor",
            Self::Effort => "user_effort_n_m_per_kg",
        }
    }

    fn range(self) -> Range {
        match self {
            Self::Mass => Range { least: 0.5, most: 2.0 },
            Self::Effort => Range { least: 0.0, most: 1.0 },
        }
    }

    fn start(self) -> f64 {
        match self {
            Self::Mass => 1.0,
            Self::Effort => 0.25,
        }
    }
}

/// The swing to be explained and what it is explained with.
#[derive(Debug, Clone)]
pub struct Swing {
    /// The person's drive.
    pub drive: Drive,
    /// The joint, for all that is not found.
    pub knee: Knee,
    /// Person.
    pub person: Person,
    /// Parts below the knee.
    pub shank: Shank,
    /// Knee at whole percents of the stride, degrees.
    pub knee_deg: Vec<f64>,
    /// What is found besides.
    pub also: Vec<Also>,
}

impl Swing {
    fn whole(&self) -> bool {
        self.also.contains(&Also::Effort)
    }

    /// Fraction of the stride from which the curve is compared.
    #[must_use]
    pub fn from(&self) -> f64 {
        let start = if self.whole() { self.drive.preswing_start_s } else { self.drive.toe_off_s };
        start / self.drive.stride_time_s - if self.whole() { 0.0 } else { LEAD }
    }

    /// Percents of the stride that are compared.
    #[must_use]
    pub fn compared(&self) -> Vec<usize> {
        let last = self.knee_deg.len() - 1;
        (0..=last).filter(|i| *i as f64 / last as f64 >= self.from()).collect()
    }

    /// Flexion of the model at the percents compared, degrees; not a number where it cannot run.
    #[must_use]
    pub fn flexion_deg(&self, law: SwingLaw, x: &[f64]) -> Vec<f64> {
        let (compared, last) = (self.compared(), self.knee_deg.len() - 1);
        let trajectory = if self.whole() { self.whole_stride(law, x) } else { self.swing_only(law, x) };
        let at = |i: &usize| {
            let t = *i as f64 / last as f64 * self.drive.stride_time_s;
            trajectory.as_ref().map_or(f64::NAN, |r| r.at(t)[state::PHI] / DEG)
        };
        compared.iter().map(at).collect()
    }

    /// Number of values before the start of the swing: two resistances, assist, and what is found besides.
    fn joint_values(&self) -> usize {
        3 + self.also.len()
    }

    fn also(&self, x: &[f64], which: Also) -> Option<f64> {
        self.also.iter().position(|a| *a == which).map(|i| x[3 + i])
    }

    fn shank(&self, x: &[f64]) -> Shank {
        let factor = self.also(x, Also::Mass).unwrap_or(1.0);
        Shank {
            mass_kg: factor * self.shank.mass_kg,
            inertia_kg_m2: factor * self.shank.inertia_kg_m2,
            ..self.shank
        }
    }

    /// The joint with values that were found.
    #[must_use]
    pub fn knee(&self, law: SwingLaw, x: &[f64]) -> Knee {
        let smoothing_rad_per_s = self.knee.friction.smoothing_rad_per_s;
        let of = |x: f64, now: &DamperLaw| match law {
            SwingLaw::Orifice => {
                let a = now.coefficients().filter(|o| o.b > 0.0).map_or(OTHER_A, |o| o.a);
                DamperLaw::Orifice(Orifice { a, b: math::exp(x) })
            }
            SwingLaw::Linear => DamperLaw::Linear(Linear { c: math::exp(x) }),
            SwingLaw::Friction => {
                DamperLaw::ConstantFriction(ConstantFriction { torque_n_m: x, smoothing_rad_per_s })
            }
        };
        let mut knee = self.knee.clone();
        knee.swing_flexion = of(x[0], &self.knee.swing_flexion);
        knee.swing_extension = of(x[1], &self.knee.swing_extension);
        knee.assist.torque_n_m = x[2];
        knee
    }

    fn swing_only(&self, law: SwingLaw, x: &[f64]) -> Option<Trajectory<{ state::COUNT }>> {
        let (knee, drive, from) = (self.knee(law, x), &self.drive, self.from());
        let series = fit(&self.knee_deg, KNEE_HARMONICS);
        let system = ShankSystem {
            drive: Some(drive),
            knee: &knee,
            pendulum: Pendulum::from(self.shank(x)),
            thigh: Thigh::of(&self.person),
            preswing: Preswing::new(&self.person.preswing, 0.0, knee.extension_stop.angle_rad, knee.friction),
            weight_n: self.person.weight_n(),
        };
        let mut start = State::<{ state::COUNT }>::zeros();
        let off = x.get(self.joint_values()..).filter(|off| off.len() == 2).unwrap_or(&[0.0, 0.0]);
        start[state::PHI] = (value(&series, from) + off[0]) * DEG;
        start[state::OMEGA] = (rate(&series, from) / drive.stride_time_s + off[1]) * DEG;
        start[state::VALVE] = knee.stance.unloaded_state();
        let mut mode = Mode::default();
        mode.set(LOADED, false);
        let mut trajectory = Trajectory::begin(&system, from * drive.stride_time_s, start, mode);
        trajectory.run(&system, "swing", drive.stride_time_s, &Tolerances::default()).ok()?;
        Some(trajectory)
    }

    fn whole_stride(&self, law: SwingLaw, x: &[f64]) -> Option<Trajectory<{ state::COUNT }>> {
        let mut person = self.person.clone();
        if let Some(effort) = self.also(x, Also::Effort) {
            person.user_effort_n_m_per_kg = effort;
        }
        let (drive, knee) = (self.drive.clone(), self.knee(law, x));
        let run = Stride::run(drive, knee, &person, self.shank(x), 0.01, &Tolerances::default());
        run.ok().map(|s| s.trajectory)
    }

    /// Finds the values: two resistances, assist, what is found besides, and how far the first flexion (degrees) and
    /// rate (degrees per second) lie from those of the measured curve, in this order.
    #[must_use]
    pub fn fitted(&self, law: SwingLaw) -> Option<Fit> {
        let mut ranges = vec![law.range(), law.range(), Range { least: 0.0, most: 8.0 }];
        ranges.extend(self.also.iter().map(|a| a.range()));
        if !self.whole() {
            ranges.extend([START_DEG, START_DEG_PER_S].map(|most| Range { least: -most, most }));
        }
        let starts: [Vec<f64>; 2] = law.starts().map(|[flexion, extension]| {
            let also = self.also.iter().map(|a| a.start());
            let off = [0.0; 2].into_iter().take(if self.whole() { 0 } else { 2 });
            [flexion, extension, 1.0].into_iter().chain(also).chain(off).collect()
        });
        let compared = self.compared();
        let errors = |x: &[f64]| -> Vec<f64> {
            let ours = self.flexion_deg(law, x);
            ours.iter().zip(&compared).map(|(deg, i)| deg - self.knee_deg[*i]).collect()
        };
        minimise(&ranges, &starts, &errors).map(Fit::for_a_curve)
    }
}

/// The setting that a value of the orifice law belongs to.
pub const SETTINGS: [SettingName; 2] = [SettingName::SwingFlexion, SettingName::SwingExtension];
