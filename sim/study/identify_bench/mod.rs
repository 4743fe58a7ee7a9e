//! `identify bench`: damper laws from torque at known rates and settings.
//!
//! Each direction is fitted with every law (`law`) from several starts; the corrected information criterion takes
//! the law. Then both directions are fitted together with one seal friction, which is what a knee has. Checked
//! against made data in tests/studies/identify_bench.rs.

mod law;
mod plot;
mod report;

pub use law::{Laminar, Law, Most};

use crate::error::SimError;
use crate::joint::KneeFile;
use crate::library::measured::bench::{Bench, Direction, Point};
use crate::numerics::least_squares::{Fit, Range, Value, minimise};
use crate::numerics::math;
use crate::numerics::statistics::{median, significant};

/// Shares of the greatest torque that are laminar where a search starts.
const STARTS: [f64; 3] = [0.1, 0.4, 0.8];
/// Digits of a written value.
const DIGITS: usize = 5;
/// A table whose greatest torque is smaller is none of a damper, N m.
const LEAST_TORQUE_N_M: f64 = 0.01;
/// Points that a direction needs beyond its values.
const LEAST_FREEDOM: usize = 2;

/// A law that was tried.
#[derive(Debug, Clone, PartialEq)]
pub struct Tried {
    /// Law.
    pub law: Law,
    /// Root mean square residual, N m (or in standard deviations where those are given).
    pub rms: f64,
    /// Corrected information criterion; infinite where there are too few points.
    pub aicc: f64,
}

/// What was found for one direction.
#[derive(Debug, Clone, PartialEq)]
pub struct DirectionFit {
    /// Direction.
    pub direction: Direction,
    /// Its points.
    pub points: Vec<Point>,
    /// Whether the table has several settings for it.
    pub several: bool,
    /// The law taken.
    pub law: Law,
    /// Its values as the search has them: logarithms of b and c.
    raw: Vec<f64>,
    /// Its values.
    pub values: Vec<Value>,
    /// All laws, the best first.
    pub tried: Vec<Tried>,
    /// Greatest of what was measured.
    pub most: Most,
}

/// What was found.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchFit {
    /// Directions that were measured.
    pub directions: Vec<DirectionFit>,
    /// Seal friction of both directions, N m.
    pub seal: Option<Value>,
    /// Median temperature of the points, °C; the coefficients hold there.
    pub temperature_c: Option<f64>,
    /// What a reader of the table should know.
    pub notes: Vec<String>,
    base: KneeFile,
}

/// Rates of change that need the base knee: viscosity over temperature, smoothing of the seal friction.
struct Conditions<'a> {
    base: &'a KneeFile,
    reference_c: Option<f64>,
}

impl Conditions<'_> {
    fn viscosity_ratio(&self, point: &Point) -> f64 {
        let both = point.temperature_c.zip(self.reference_c);
        both.map_or(1.0, |(t, reference)| self.base.oil.viscosity_ratio(t, reference))
    }

    fn seal_share(&self, point: &Point) -> f64 {
        math::tanh(point.rate_rad_per_s / self.base.seal_friction.smoothing_rad_per_s)
    }

    fn torque(&self, law: Law, values: &[f64], seal: f64, point: &Point) -> f64 {
        law.torque(values, point, self.viscosity_ratio(point)) + seal * self.seal_share(point)
    }
}

/// Laws from a table; what was not measured stays that of the base knee.
///
/// # Errors
/// Too few points, settings in some rows only, a residual that cannot be computed; a joint that resists less when
/// closed than when open.
pub fn identify(bench: Bench, base: &KneeFile) -> Result<BenchFit, SimError> {
    base.oil.check().map_err(|e| e.inside("oil"))?;
    let temperature_c = median(bench.points.iter().filter_map(|p| p.temperature_c).collect());
    let conditions = Conditions { base, reference_c: temperature_c };
    let of = |d: Direction| {
        let points: Vec<Point> = bench.points.iter().filter(|p| p.direction == d).copied().collect();
        (!points.is_empty()).then(|| one_direction(d, points, &conditions))
    };
    let directions = Direction::ALL.into_iter().filter_map(of).collect::<Result<Vec<_>, SimError>>()?;
    if directions.is_empty() {
        return Err(SimError::Inconsistent { field: "table".into(), why: "no point in motion".into() });
    }
    let mut found =
        BenchFit { directions, seal: None, temperature_c, notes: bench.notes, base: base.clone() };
    together(&mut found, &conditions)?;
    Ok(found)
}

fn one_direction(
    direction: Direction,
    mut points: Vec<Point>,
    conditions: &Conditions,
) -> Result<DirectionFit, SimError> {
    let mut settings: Vec<f64> = points.iter().filter_map(|p| p.setting).collect();
    settings.sort_by(f64::total_cmp);
    settings.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    let several = settings.len() > 1;
    if !several {
        points.iter_mut().for_each(|p| p.setting = None);
    }
    let most = Most::of(&points);
    if most.torque_n_m < LEAST_TORQUE_N_M {
        let why = "no point resists by as much as 0.01 N m".to_owned();
        return Err(SimError::Inconsistent { field: direction.as_str().into(), why });
    }
    let fit = |law: Law| {
        let mut ranges = law.ranges(several, most);
        let seal = law.seal_range(most);
        ranges.extend(seal);
        let starts = STARTS.map(|share| {
            let mut start = law.start(several, most, share);
            start.extend(seal.map(|r| 0.05 * r.most));
            start
        });
        let laminar = law.counts(several)[0];
        let errors =
            |x: &[f64]| residuals(&points, |p| conditions.torque(law, &x[..laminar], seal_of(x, laminar), p));
        let fit = (points.len() >= ranges.len() + LEAST_FREEDOM).then(|| minimise(&ranges, &starts, &errors));
        fit.flatten().map(|f| (law, f))
    };
    let mut fits: Vec<(Law, Fit)> = Law::tried(several).into_iter().filter_map(fit).collect();
    fits.sort_by(|a, b| a.1.aicc().total_cmp(&b.1.aicc()));
    let Some((law, best)) = fits.first() else {
        let why = format!("{} points are too few for any law; measure at least 6 rates", points.len());
        return Err(SimError::Inconsistent { field: direction.as_str().into(), why });
    };
    let raw = best.values[..law.counts(several)[0]].to_vec();
    let tried = fits.iter().map(|(law, f)| Tried { law: *law, rms: f.rms(), aicc: f.aicc() }).collect();
    Ok(DirectionFit { direction, points, several, law: *law, raw, values: vec![], tried, most })
}

fn seal_of(x: &[f64], law_values: usize) -> f64 {
    x.get(law_values).copied().unwrap_or(0.0)
}

fn residuals(points: &[Point], torque: impl Fn(&Point) -> f64) -> Vec<f64> {
    points.iter().map(|p| (torque(p) - p.torque_n_m) / p.sd_n_m).collect()
}

/// Both directions with one seal friction: final values and their intervals.
fn together(found: &mut BenchFit, conditions: &Conditions) -> Result<(), SimError> {
    let directions = &found.directions;
    let seal = directions
        .iter()
        .filter_map(|d| d.law.seal_range(d.most))
        .reduce(|a, b| Range { least: 0.0, most: a.most.max(b.most) });
    let mut ranges: Vec<Range> = directions.iter().flat_map(|d| d.law.ranges(d.several, d.most)).collect();
    ranges.extend(seal);
    let starts = [0.02, 0.2].map(|share| {
        let raw = directions.iter().flat_map(|d| d.raw.iter().copied());
        raw.chain(seal.map(|r| share * r.most)).collect()
    });
    let of_laws: usize = directions.iter().map(|d| d.raw.len()).sum();
    let errors = |x: &[f64]| -> Vec<f64> {
        let mut first = 0;
        let mut all = vec![];
        for d in directions {
            let own = &x[first..first + d.raw.len()];
            first += d.raw.len();
            all.extend(residuals(&d.points, |p| conditions.torque(d.law, own, seal_of(x, of_laws), p)));
        }
        all
    };
    let fit = minimise(&ranges, &starts, &errors).ok_or_else(|| SimError::Inconsistent {
        field: "table".into(),
        why: "no law can be computed at these points".into(),
    })?;
    let mut first = 0;
    for d in &mut found.directions {
        let [count, logarithms] = d.law.counts(d.several);
        let names = d.law.names(d.several);
        d.values = (0..count).map(|i| fit.value(names[i], first + i, i < logarithms)).collect();
        d.raw = fit.values[first..first + count].to_vec();
        first += count;
        if d.several && d.values[0].value >= d.values[1].value {
            return Err(SimError::Inconsistent {
                field: d.direction.as_str().into(),
                why: "the joint resists less at 100 % than at 0 %; swap --open and --closed".into(),
            });
        }
    }
    found.seal = seal.map(|_| fit.value("seal_friction_n_m", of_laws, false));
    Ok(())
}

impl BenchFit {
    /// Resistance as fitted, N m.
    #[must_use]
    pub fn torque(&self, of: &DirectionFit, point: &Point) -> f64 {
        let conditions = Conditions { base: &self.base, reference_c: self.temperature_c };
        conditions.torque(of.law, &of.raw, self.seal.as_ref().map_or(0.0, |s| s.value), point)
    }

    /// Measured less fitted resistance, N m, in the order of the points.
    #[must_use]
    pub fn residuals(&self, of: &DirectionFit) -> Vec<f64> {
        of.points.iter().map(|p| p.torque_n_m - self.torque(of, p)).collect()
    }

    /// The base knee with these laws.
    #[must_use]
    pub fn knee(&self, name: &str, about: String) -> KneeFile {
        let mut knee = KneeFile { name: name.to_owned(), about, ..self.base.clone() };
        if let Some(seal) = &self.seal {
            knee.seal_friction.torque_n_m = significant(seal.value, DIGITS);
        } else {
            knee.seal_friction.torque_n_m = 0.0;
        }
        knee.reference_temperature_c = self.temperature_c.unwrap_or(knee.reference_temperature_c);
        // the bench has one torque for a rate: a lever that changes with flexion would count twice
        knee.displacement_by_flexion = None;
        for d in &self.directions {
            let values: Vec<f64> = d.values.iter().map(|v| significant(v.value, DIGITS)).collect();
            let settings: Vec<f64> = d.points.iter().filter_map(|p| p.setting).collect();
            let set = if d.several { median(settings) } else { None };
            let file = d.law.file(&values, set, knee.seal_friction.smoothing_rad_per_s);
            match d.direction {
                Direction::Flexion => knee.swing_flexion = file,
                Direction::Extension => knee.swing_extension = file,
            }
        }
        knee
    }
}
