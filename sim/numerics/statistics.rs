//! Quantiles of a set of numbers, correlation, and rounding to what is printed.

/// Rounded to so many decimals, so that a printed number can be entered again and gives the same run.
#[must_use]
pub fn rounded(v: f64, decimals: usize) -> f64 {
    // through the text, which is what a user enters
    format!("{v:.decimals$}").parse().unwrap_or(v)
}

/// Rounded to so many significant digits.
#[must_use]
pub fn significant(v: f64, digits: usize) -> f64 {
    format!("{v:.*e}", digits.saturating_sub(1)).parse().unwrap_or(v)
}

/// The `share` quantile of ascending numbers, linear between neighbours; `None` without numbers.
#[must_use]
pub fn quantile(ascending: &[f64], share: f64) -> Option<f64> {
    let last = ascending.len().checked_sub(1)?;
    let at = share.clamp(0.0, 1.0) * last as f64;
    let below = (at.floor() as usize).min(last);
    let above = (below + 1).min(last);
    Some(ascending[below] + (at - below as f64) * (ascending[above] - ascending[below]))
}

/// Median of numbers that may be infinite; `None` without numbers, or between −∞ and ∞.
#[must_use]
pub fn median(mut numbers: Vec<f64>) -> Option<f64> {
    numbers.sort_by(f64::total_cmp);
    let upper = numbers.get(numbers.len() / 2).copied()?;
    if numbers.len() % 2 == 1 {
        return Some(upper);
    }
    let lower = numbers[numbers.len() / 2 - 1];
    let equal = lower.total_cmp(&upper).is_eq();
    Some(if equal { upper } else { 0.5 * (lower + upper) }).filter(|m| !m.is_nan())
}

/// Pearson's correlation; NaN if one of them does not change.
#[must_use]
pub fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let mean = |x: &[f64]| x.iter().sum::<f64>() / x.len() as f64;
    let (ma, mb) = (mean(a), mean(b));
    let sum = |f: &dyn Fn(f64, f64) -> f64| a.iter().zip(b).map(|(a, b)| f(a - ma, b - mb)).sum::<f64>();
    sum(&|a, b| a * b) / (sum(&|a, _| a * a) * sum(&|_, b| b * b)).sqrt()
}
