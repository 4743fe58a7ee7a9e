//! Sobol' indices: which share of an outcome's variance an input explains alone and takes part in.
//!
//! ```text
//! A, B       two sets of N points;  AB_i  the points of A with input i from B
//! first      S_i = 1/N Σ (f(B) − f0) (f(AB_i) − f(A)) / V          (Saltelli et al. 2010, table 2 b)
//! total      T_i = 1/2N Σ (f(A) − f(AB_i))² / V                     (Jansen 1999)
//! f0, V      mean and variance over A and B together
//! ```
//! Saltelli et al. 2010, Comput Phys Commun 181:259, doi 10.1016/j.cpc.2009.09.018; Jansen 1999, Comput Phys
//! Commun 117:35 (both from memory). `AB_i` may take several inputs from B at once: T is then the share of
//! variance in which any of them takes part. An outcome may have several components (a word: one indicator
//! per word): sums over components above and below the line, so that inputs are weighted by the variance
//! of all of them together. Points: Sobol' sequence with Owen scrambling by `sobol_burley`, 24 bits.
//!
//! Sampling error: 1.96 standard deviations over [`REPEATS`] bootstraps of the N rows. The bootstrap treats rows as
//! independent, which scrambled Sobol' points are not: it overstates the error. Checked against the Ishigami
//! function in tests/studies/uncertainty.rs.

use super::random::Draw;

/// Bootstraps behind a sampling error.
pub const REPEATS: usize = 200;

/// Stream of random numbers of the bootstraps, apart from those of any sample.
const BOOTSTRAP_STREAM: u64 = 1 << 40;

/// Coordinate `dimension` of point `index`, in 0..1.
#[must_use]
pub fn coordinate(seed: u64, index: u32, dimension: u32) -> f64 {
    let folded = (seed ^ (seed >> 32)) as u32;
    f64::from(sobol_burley::sample(index, dimension, folded))
}

/// A number with its sampling error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// Value.
    pub value: f64,
    /// Half-width of its interval of 95 %.
    pub error: f64,
}

/// An index is a share: with an error of half of the whole, its interval is as wide as all it can be. \[J\]
const TELLS_NOTHING: f64 = 0.5;

impl Estimate {
    /// Whether the samples tell this index at all.
    #[must_use]
    pub fn tells(self) -> bool {
        self.error < TELLS_NOTHING
    }
}

/// Values of one outcome at N points, component by component: `[row][component]` in one piece.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Rows {
    /// Values.
    pub values: Vec<f64>,
    /// Components of a row.
    pub components: usize,
}

impl Rows {
    /// Of numbers.
    #[must_use]
    pub fn numbers(values: Vec<f64>) -> Self {
        Self { values, components: 1 }
    }

    fn row(&self, j: usize) -> &[f64] {
        &self.values[j * self.components..(j + 1) * self.components]
    }

    /// Number of rows.
    #[must_use]
    pub fn len(&self) -> usize {
        self.values.len() / self.components.max(1)
    }

    /// No rows.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.values.is_empty()
    }
}

/// Indices of one outcome.
#[derive(Debug, Clone, PartialEq)]
pub struct Indices {
    /// First order, one for each `AB_i`.
    pub first: Vec<Estimate>,
    /// Total, one for each `AB_i`.
    pub total: Vec<Estimate>,
}

/// Sums over rows from which every index follows.
struct Sums {
    variance: f64,
    first: Vec<f64>,
    total: Vec<f64>,
}

/// Indices from values at A, B and every `AB_i`; `None` if the outcome does not vary.
#[must_use]
pub fn indices(a: &Rows, b: &Rows, ab: &[Rows], seed: u64) -> Option<Indices> {
    let n = a.len();
    let all: Vec<usize> = (0..n).collect();
    let (first, total) = of_rows(a, b, ab, &all)?;
    let mut draw = Draw::new(seed, BOOTSTRAP_STREAM);
    let mut spread = vec![[RunningDeviation::default(), RunningDeviation::default()]; ab.len()];
    for _ in 0..REPEATS {
        let rows: Vec<usize> = (0..n).map(|_| draw.index(n)).collect();
        // a resample that happens not to vary says nothing
        let Some((f, t)) = of_rows(a, b, ab, &rows) else { continue };
        for (s, (f, t)) in spread.iter_mut().zip(f.into_iter().zip(t)) {
            s[0].add(f);
            s[1].add(t);
        }
    }
    let estimates = |values: Vec<f64>, which: usize| {
        values
            .into_iter()
            .zip(&spread)
            .map(|(value, s)| Estimate { value, error: 1.96 * s[which].deviation() })
            .collect()
    };
    Some(Indices { first: estimates(first, 0), total: estimates(total, 1) })
}

fn of_rows(a: &Rows, b: &Rows, ab: &[Rows], rows: &[usize]) -> Option<(Vec<f64>, Vec<f64>)> {
    let sums = sums(a, b, ab, rows);
    // rounding alone leaves about 1e-16 of the square of the values
    let scale: f64 = a.values.iter().map(|v| v * v).sum::<f64>() / a.len().max(1) as f64;
    if sums.variance <= 1e-20 * scale || sums.variance <= 0.0 {
        return None;
    }
    let over = |v: Vec<f64>| v.into_iter().map(|x| x / sums.variance).collect();
    Some((over(sums.first), over(sums.total)))
}

fn sums(a: &Rows, b: &Rows, ab: &[Rows], rows: &[usize]) -> Sums {
    let (n, c) = (rows.len() as f64, a.components);
    let mut mean = vec![0.0; c];
    for &j in rows {
        for (m, (x, y)) in mean.iter_mut().zip(a.row(j).iter().zip(b.row(j))) {
            *m += (x + y) / (2.0 * n);
        }
    }
    let mut sums = Sums { variance: 0.0, first: vec![0.0; ab.len()], total: vec![0.0; ab.len()] };
    for &j in rows {
        for (k, mean) in mean.iter().enumerate() {
            let (fa, fb) = (a.row(j)[k] - mean, b.row(j)[k] - mean);
            sums.variance += (fa * fa + fb * fb) / (2.0 * n - 1.0);
            for (i, mixed) in ab.iter().enumerate() {
                let change = mixed.row(j)[k] - mean - fa;
                sums.first[i] += fb * change / n;
                sums.total[i] += 0.5 * change * change / n;
            }
        }
    }
    sums
}

/// Standard deviation as numbers come in (Welford).
#[derive(Debug, Clone, Copy, Default)]
struct RunningDeviation {
    count: f64,
    mean: f64,
    squares: f64,
}

impl RunningDeviation {
    fn add(&mut self, v: f64) {
        self.count += 1.0;
        let off = v - self.mean;
        self.mean += off / self.count;
        self.squares += off * (v - self.mean);
    }

    fn deviation(&self) -> f64 {
        if self.count > 1.0 { (self.squares / (self.count - 1.0)).sqrt() } else { f64::INFINITY }
    }
}
