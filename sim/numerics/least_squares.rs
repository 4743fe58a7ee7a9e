//! Nonlinear least squares with bounds, and how well the values are known.
//!
//! ```text
//! least Σ rᵢ(x)²,   xⱼ = lⱼ + (hⱼ − lⱼ)(1 + sin uⱼ)/2
//! cov(x) = s² g (JᵀJ)⁻¹,   s² = Σ r²/(n − k),   g = (1 + ρ)/(1 − ρ)
//! interval = x ± t₀.₉₇₅(n − k) √cov,   AICc = n ln(Σ r²/n) + 2K + 2K(K + 1)/(n − K − 1),   K = k + 1
//! ```
//! The search is that of Levenberg and Marquardt (the crate levenberg-marquardt, MINPACK's method) over u, so that
//! no bound is ever crossed; from several starts the best result counts. ρ is the correlation of neighbouring
//! residuals (first-order autoregression), 0 where they are independent. Intervals come from the linearised problem:
//! they mean little for a value at its bound, which `at_bound` tells. Sources: Moré 1978; Hurvich & Tsai 1989
//! (Biometrika 76:297) for AICc; Abramowitz & Stegun 26.7.5 for Student's t. Checked in
//! tests/closed_form/least_squares.rs.
//!
//! ```
//! use kneedamp::numerics::least_squares::{Range, minimise};
//! // y = 3 e^(−2x) through exact points
//! let x: Vec<f64> = (0..20).map(|i| 0.1 * f64::from(i)).collect();
//! let errors = |v: &[f64]| x.iter().map(|x| v[0] * (-v[1] * x).exp() - 3.0 * (-2.0 * x).exp()).collect();
//! let ranges = [Range { least: 0.0, most: 10.0 }, Range { least: 0.0, most: 10.0 }];
//! let fit = minimise(&ranges, &[vec![1.0, 1.0]], &errors).unwrap();
//! assert!((fit.values[0] - 3.0).abs() < 1e-6 && (fit.values[1] - 2.0).abs() < 1e-6);
//! ```

use crate::numerics::math;
use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::storage::Owned;
use nalgebra::{DMatrix, DVector, Dyn};

/// Step of the differences in u.
const STEP: f64 = 1e-4;
/// A value nearer to a bound than this share of its range is at the bound.
const AT_BOUND: f64 = 1e-3;
/// 97.5 % point of the normal distribution.
const Z: f64 = 1.959_963_984_540_054;
/// Directions whose singular value is smaller than this share of the greatest are not told at all.
const BLIND: f64 = 1e-9;

/// Between what a value is looked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// Least.
    pub least: f64,
    /// Greatest.
    pub most: f64,
}

impl Range {
    fn value(self, u: f64) -> f64 {
        self.least + 0.5 * (self.most - self.least) * (1.0 + math::sin(u))
    }

    fn angle(self, x: f64) -> f64 {
        // a start on a bound would have no slope
        let share = (2.0 * (x - self.least) / (self.most - self.least) - 1.0).clamp(-0.98, 0.98);
        math::asin(share)
    }
}

/// The values found.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Values.
    pub values: Vec<f64>,
    /// Between what each was looked for.
    pub ranges: Vec<Range>,
    /// Whether each value is at a bound of its range.
    pub at_bound: Vec<bool>,
    /// Residuals there.
    pub residuals: Vec<f64>,
    /// Derivative of each residual by each value.
    pub slopes: DMatrix<f64>,
    /// Correlation of neighbouring residuals that intervals allow for, 0 to 1.
    pub correlation: f64,
}

/// The best of what is found from all starts; none where the residuals cannot be computed from any of them.
///
/// `errors` may give residuals that are not finite: such a point is left.
pub fn minimise(ranges: &[Range], starts: &[Vec<f64>], errors: &dyn Fn(&[f64]) -> Vec<f64>) -> Option<Fit> {
    let found = starts.iter().filter_map(|start| {
        let u = DVector::from_iterator(ranges.len(), ranges.iter().zip(start).map(|(r, x)| r.angle(*x)));
        let problem = Problem { ranges, errors, u };
        problem.residuals()?;
        let (problem, _) = LevenbergMarquardt::new().with_patience(40).minimize(problem);
        let residuals = problem.residuals()?;
        Some((problem.values(), residuals))
    });
    let (values, residuals) = found.min_by(|a, b| a.1.norm_squared().total_cmp(&b.1.norm_squared()))?;
    let at_bound = ranges
        .iter()
        .zip(&values)
        .map(|(r, x)| (x - r.least).min(r.most - x) < AT_BOUND * (r.most - r.least))
        .collect();
    let slopes = slopes(ranges, &values, errors, residuals.len())?;
    Some(Fit {
        values,
        ranges: ranges.to_vec(),
        at_bound,
        residuals: residuals.as_slice().to_vec(),
        slopes,
        correlation: 0.0,
    })
}

/// Derivatives by the values themselves, by central differences within the bounds.
fn slopes(
    ranges: &[Range],
    values: &[f64],
    errors: &dyn Fn(&[f64]) -> Vec<f64>,
    count: usize,
) -> Option<DMatrix<f64>> {
    let mut slopes = DMatrix::zeros(count, values.len());
    for (j, range) in ranges.iter().enumerate() {
        let step = STEP * (range.most - range.least);
        let at = |x: f64| {
            let mut moved = values.to_vec();
            moved[j] = x.clamp(range.least, range.most);
            (moved[j], DVector::from_vec(errors(&moved)))
        };
        let ((low, below), (high, above)) = (at(values[j] - step), at(values[j] + step));
        let slope = (above - below) / (high - low);
        if slope.iter().any(|s| !s.is_finite()) {
            return None;
        }
        slopes.set_column(j, &slope);
    }
    Some(slopes)
}

/// A value that was found, with its 95 % interval.
#[derive(Debug, Clone, PartialEq)]
pub struct Value {
    /// Name with unit.
    pub name: &'static str,
    /// Value.
    pub value: f64,
    /// Least and greatest value of the interval, within where it was looked for; of a value found as its logarithm the
    /// interval is that of a factor.
    pub interval: [f64; 2],
    /// At the end of where it was looked for; the interval means nothing then.
    pub at_bound: bool,
}

struct Problem<'a> {
    ranges: &'a [Range],
    errors: &'a dyn Fn(&[f64]) -> Vec<f64>,
    u: DVector<f64>,
}

impl Problem<'_> {
    fn values_at(&self, u: &DVector<f64>) -> Vec<f64> {
        self.ranges.iter().zip(u.iter()).map(|(r, u)| r.value(*u)).collect()
    }

    fn values(&self) -> Vec<f64> {
        self.values_at(&self.u)
    }

    fn at(&self, u: &DVector<f64>) -> Option<DVector<f64>> {
        let errors = DVector::from_vec((self.errors)(&self.values_at(u)));
        errors.iter().all(|e| e.is_finite()).then_some(errors)
    }
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Problem<'_> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, u: &DVector<f64>) {
        self.u.copy_from(u);
    }

    fn params(&self) -> DVector<f64> {
        self.u.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        self.at(&self.u)
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let columns = (0..self.u.len()).map(|j| {
            let moved = |by: f64| {
                let mut u = self.u.clone();
                u[j] += by;
                self.at(&u)
            };
            Some((moved(STEP)? - moved(-STEP)?) / (2.0 * STEP))
        });
        Some(DMatrix::from_columns(&columns.collect::<Option<Vec<_>>>()?))
    }
}

impl Fit {
    /// Root of the mean square of the residuals.
    #[must_use]
    pub fn rms(&self) -> f64 {
        (self.sum_of_squares() / self.residuals.len() as f64).sqrt()
    }

    fn sum_of_squares(&self) -> f64 {
        self.residuals.iter().map(|r| r * r).sum()
    }

    fn freedom(&self) -> f64 {
        self.residuals.len() as f64 - self.values.len() as f64
    }

    /// The same with intervals for residuals that are not independent: their correlation with the next one is
    /// estimated and allowed for.
    #[must_use]
    pub fn for_a_curve(self) -> Self {
        let neighbours: f64 = self.residuals.windows(2).map(|w| w[0] * w[1]).sum();
        let correlation = (neighbours / self.sum_of_squares()).clamp(0.0, 0.99);
        Self { correlation: if correlation.is_finite() { correlation } else { 0.0 }, ..self }
    }

    /// Akaike's information criterion with its correction for few points; infinite where there are too few.
    #[must_use]
    pub fn aicc(&self) -> f64 {
        let (n, k) = (self.residuals.len() as f64, self.values.len() as f64 + 1.0);
        if n <= k + 1.0 {
            return f64::INFINITY;
        }
        n * math::ln(self.sum_of_squares() / n) + 2.0 * k + 2.0 * k * (k + 1.0) / (n - k - 1.0)
    }

    /// Covariance of the values; infinite where the residuals do not depend on them.
    #[must_use]
    pub fn covariance(&self) -> DMatrix<f64> {
        let k = self.values.len();
        let spread = self.sum_of_squares() / self.freedom().max(1.0);
        let spread = spread * (1.0 + self.correlation) / (1.0 - self.correlation);
        // columns of one size, so that units do not decide what is small
        let sizes: Vec<f64> = (0..k).map(|j| self.slopes.column(j).norm()).collect();
        let scaled = DMatrix::from_fn(self.slopes.nrows(), k, |i, j| {
            if sizes[j] > 0.0 { self.slopes[(i, j)] / sizes[j] } else { 0.0 }
        });
        let svd = scaled.svd(false, true);
        let Some(v_t) = svd.v_t else { return DMatrix::from_element(k, k, f64::INFINITY) };
        let most = svd.singular_values.max();
        DMatrix::from_fn(k, k, |a, b| {
            if sizes[a] <= 0.0 || sizes[b] <= 0.0 {
                return if a == b { f64::INFINITY } else { 0.0 };
            }
            let terms = svd.singular_values.iter().enumerate().map(|(i, s)| {
                let product = v_t[(i, a)] * v_t[(i, b)];
                if *s > BLIND * most { product / (s * s) } else { product * f64::INFINITY }
            });
            spread * terms.filter(|t| !t.is_nan()).sum::<f64>() / (sizes[a] * sizes[b])
        })
    }

    /// Half the 95 % interval of each value.
    #[must_use]
    pub fn half_intervals(&self) -> Vec<f64> {
        let (t, covariance) = (student_975(self.freedom()), self.covariance());
        (0..self.values.len()).map(|j| t * covariance[(j, j)].sqrt()).collect()
    }

    /// A value with its interval, cut where the range ends; `logarithm` if the search had its logarithm.
    #[must_use]
    pub fn value(&self, name: &'static str, i: usize, logarithm: bool) -> Value {
        let (x, half, range) = (self.values[i], self.half_intervals()[i], self.ranges[i]);
        let of = |x: f64| {
            let x = x.clamp(range.least, range.most);
            if logarithm { math::exp(x) } else { x }
        };
        Value { name, value: of(x), interval: [of(x - half), of(x + half)], at_bound: self.at_bound[i] }
    }
}

/// 97.5 % point of Student's t; good to 1 % from 4 degrees of freedom on, infinite below 1.
#[must_use]
pub fn student_975(freedom: f64) -> f64 {
    if freedom < 1.0 {
        return f64::INFINITY;
    }
    let first = (Z.powi(3) + Z) / (4.0 * freedom);
    let second = (5.0 * Z.powi(5) + 16.0 * Z.powi(3) + 3.0 * Z) / (96.0 * freedom.powi(2));
    let third =
        (3.0 * Z.powi(7) + 19.0 * Z.powi(5) + 17.0 * Z.powi(3) - 15.0 * Z) / (384.0 * freedom.powi(3));
    Z + first + second + third
}
