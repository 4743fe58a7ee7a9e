//! The laws that are tried on a bench curve: their values, where these are looked for, and their torque.
//!
//! ```text
//! r(ω, s, T) = τ_c + law(ω, s, T)
//! orifice:  a ν(T)/ν_ref ω + b(s) ω²        a fixed, or in proportion to b
//! linear:   c_open (c_closed/c_open)^s ν(T)/ν_ref ω
//! friction: τ_least + (τ_greatest − τ_least) s
//! ```
//! τ_c seal friction. The friction law has none beside it: both are constant.

use crate::joint::damper::Taper;
use crate::joint::{DirectionFile, FrictionFile, LinearFile, OrificeFile};
use crate::library::measured::bench::Point;
use crate::numerics::least_squares::Range;
use crate::numerics::math;
use crate::numerics::statistics::rounded;

/// Range of the knee file's b, and what lies beside a single measured setting: three times as open and as closed \[J\].
const LEAST_B: f64 = 1e-4;
const MOST_B: f64 = 1e4;
const BESIDE: f64 = 3.0;
/// Greatest a/b of a knee file, rad/s, and a, N m s/rad.
const MOST_RATIO: f64 = 10.0;
const MOST_A: f64 = 100.0;
const MOST_FRICTION: f64 = 20.0;

/// How a goes with the setting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Laminar {
    /// The same at every setting.
    Fixed,
    /// In proportion to b.
    WithB,
}

/// A law of one direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Law {
    /// Laminar passage and orifice.
    Orifice(Taper, Laminar),
    /// Proportional to rate.
    Linear,
    /// Constant friction.
    Friction,
}

impl Law {
    /// Those that data of several settings can be held against, or of one.
    #[must_use]
    pub fn tried(several_settings: bool) -> Vec<Self> {
        let orifices: &[(Taper, Laminar)] = if several_settings {
            &[
                (Taper::Geometric, Laminar::Fixed),
                (Taper::LinearArea, Laminar::Fixed),
                (Taper::Geometric, Laminar::WithB),
                (Taper::LinearArea, Laminar::WithB),
            ]
        } else {
            &[(Taper::Geometric, Laminar::Fixed)]
        };
        let mut laws: Vec<Self> = orifices.iter().map(|(t, l)| Self::Orifice(*t, *l)).collect();
        laws.extend([Self::Linear, Self::Friction]);
        laws
    }

    /// In words.
    #[must_use]
    pub fn in_words(self, several_settings: bool) -> String {
        match self {
            Self::Orifice(..) if !several_settings => "orifice".into(),
            Self::Orifice(taper, laminar) => {
                let taper = match taper {
                    Taper::Geometric => "area by equal factors",
                    Taper::LinearArea => "area by equal amounts",
                };
                let a = match laminar {
                    Laminar::Fixed => "a fixed",
                    Laminar::WithB => "a in proportion to b",
                };
                format!("orifice, {taper}, {a}")
            }
            Self::Linear => "linear".into(),
            Self::Friction => "constant friction".into(),
        }
    }

    /// Names of the values of the law; the seal friction comes after them.
    #[must_use]
    pub fn names(self, several_settings: bool) -> Vec<&'static str> {
        let mut names = match self {
            Self::Orifice(..) => vec!["b_open_n_m_s2_per_rad2", "b_closed_n_m_s2_per_rad2"],
            Self::Linear => vec!["c_open_n_m_s_per_rad", "c_closed_n_m_s_per_rad"],
            Self::Friction => vec!["least_n_m", "greatest_n_m"],
        };
        if !several_settings {
            names.truncate(1);
            names[0] = match self {
                Self::Orifice(..) => "b_n_m_s2_per_rad2",
                Self::Linear => "c_n_m_s_per_rad",
                Self::Friction => "torque_n_m",
            };
        }
        if let Self::Orifice(_, laminar) = self {
            names.push(match laminar {
                Laminar::Fixed => "a_n_m_s_per_rad",
                Laminar::WithB => "a_over_b_rad_per_s",
            });
        }
        names
    }

    /// Number of values without the seal friction, and of those that are found as logarithms, which come first.
    #[must_use]
    pub fn counts(self, several_settings: bool) -> [usize; 2] {
        let ends = if several_settings { 2 } else { 1 };
        match self {
            Self::Orifice(..) => [ends + 1, ends],
            Self::Linear => [ends, ends],
            Self::Friction => [ends, 0],
        }
    }

    /// Where the values are looked for: logarithms of b and c, all others as they are.
    #[must_use]
    pub fn ranges(self, several_settings: bool, most: Most) -> Vec<Range> {
        let range = |least: f64, most: f64| Range { least, most };
        let end = match self {
            Self::Orifice(..) => range(math::ln(LEAST_B), math::ln(MOST_B)),
            Self::Linear => range(math::ln(1e-3), math::ln(1e3)),
            Self::Friction => range(0.0, 1.5 * most.torque_n_m),
        };
        let mut ranges = vec![end; if several_settings { 2 } else { 1 }];
        if let Self::Orifice(_, laminar) = self {
            ranges.push(match laminar {
                Laminar::Fixed => range(0.0, (2.0 * most.torque_per_rate).min(MOST_A)),
                Laminar::WithB => range(0.0, MOST_RATIO),
            });
        }
        ranges
    }

    /// Where the search starts: the share of the greatest torque that is laminar.
    #[must_use]
    pub fn start(self, several_settings: bool, most: Most, laminar_share: f64) -> Vec<f64> {
        let (torque, rate) = (most.torque_n_m, most.rate_rad_per_s);
        let b = ((1.0 - laminar_share) * torque / rate.powi(2)).clamp(2.0 * LEAST_B, 0.5 * MOST_B);
        let mut start = match self {
            Self::Orifice(..) => vec![math::ln(0.3 * b), math::ln(b)],
            Self::Linear => vec![math::ln(0.3 * torque / rate), math::ln(torque / rate)],
            Self::Friction => vec![0.3 * torque, 0.6 * torque],
        };
        if !several_settings {
            start.remove(0);
        }
        match self {
            Self::Orifice(_, Laminar::Fixed) => start.push(laminar_share * torque / rate),
            Self::Orifice(_, Laminar::WithB) => start.push(laminar_share * rate),
            Self::Linear | Self::Friction => {}
        }
        start
    }

    /// Where the seal friction is looked for beside this law; none if it has none.
    #[must_use]
    pub fn seal_range(self, most: Most) -> Option<Range> {
        (self != Self::Friction).then(|| Range { least: 0.0, most: most.torque_n_m.min(MOST_FRICTION) })
    }

    /// Resistance of the law at a point, N m, without seal friction.
    #[must_use]
    pub fn torque(self, values: &[f64], point: &Point, viscosity_ratio: f64) -> f64 {
        let (rate, s) = (point.rate_rad_per_s, point.setting);
        let ends = |get: fn(f64) -> f64| (get(values[0]), s.map_or(get(values[0]), |_| get(values[1])));
        match self {
            Self::Orifice(taper, laminar) => {
                let (open, closed) = ends(math::exp);
                let b = s.map_or(open, |s| taper.b(open, closed, s));
                let a = values[values.len() - 1] * if laminar == Laminar::WithB { b } else { 1.0 };
                (a * viscosity_ratio + b * rate) * rate
            }
            Self::Linear => {
                let (open, closed) = ends(math::exp);
                open * math::powf(closed / open, s.unwrap_or(0.0)) * viscosity_ratio * rate
            }
            Self::Friction => {
                let (least, greatest) = ends(|x| x);
                least + (greatest - least) * s.unwrap_or(0.0)
            }
        }
    }

    /// The law as a knee file writes it. Values in the order of [`Law::names`], logarithms undone. A single measured
    /// setting stands in the middle of a range that is a guess.
    #[must_use]
    pub fn file(self, values: &[f64], set: Option<f64>, smoothing_rad_per_s: f64) -> DirectionFile {
        let around = |x: f64| (x / BESIDE, x * BESIDE);
        let ends = if set.is_some() { (values[0], values[1]) } else { around(values[0]) };
        let (set_pct, step_pct) = (rounded(100.0 * set.unwrap_or(0.5), 1), 5.0);
        match self {
            Self::Orifice(taper, laminar) => {
                let a = values[values.len() - 1];
                DirectionFile::Orifice(OrificeFile {
                    a_n_m_s_per_rad: (laminar == Laminar::Fixed).then_some(a),
                    a_over_b_rad_per_s: (laminar == Laminar::WithB).then_some(a),
                    b_open_n_m_s2_per_rad2: Some(ends.0),
                    b_closed_n_m_s2_per_rad2: Some(ends.1),
                    taper,
                    set_pct: Some(set_pct),
                    step_pct,
                    ..OrificeFile::default()
                })
            }
            Self::Linear => DirectionFile::Linear(LinearFile {
                c_open_n_m_s_per_rad: ends.0,
                c_closed_n_m_s_per_rad: ends.1,
                set_pct,
                step_pct,
            }),
            Self::Friction => DirectionFile::ConstantFriction(FrictionFile {
                least_n_m: ends.0,
                greatest_n_m: if set.is_some() { ends.1 } else { 2.0 * values[0] - ends.0 },
                smoothing_rad_per_s,
                set_pct,
                step_pct,
            }),
        }
    }
}

/// Greatest of what was measured in a direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Most {
    /// Torque, N m.
    pub torque_n_m: f64,
    /// Rate, rad/s.
    pub rate_rad_per_s: f64,
    /// Torque over rate, N m s/rad.
    pub torque_per_rate: f64,
}

impl Most {
    /// Of some points.
    #[must_use]
    pub fn of(points: &[Point]) -> Self {
        let most = |get: &dyn Fn(&Point) -> f64| points.iter().map(get).fold(1e-3, f64::max);
        Self {
            torque_n_m: most(&|p| p.torque_n_m),
            rate_rad_per_s: most(&|p| p.rate_rad_per_s),
            torque_per_rate: most(&|p| p.torque_n_m / p.rate_rad_per_s),
        }
    }
}
