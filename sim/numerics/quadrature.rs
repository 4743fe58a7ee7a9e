//! Integrals from values at three points.

/// Integral of the positive part of the parabola through three values at the start, the middle and the end of a
/// stretch. Where it has one sign this is Simpson's rule; a zero within is no kink that the rule would miss.
///
/// ```
/// use kneedamp::numerics::quadrature::positive_part;
/// assert_eq!(positive_part([1.0, 2.0, 3.0], 2.0), 4.0);
/// assert_eq!(positive_part([-1.0, -2.0, -3.0], 2.0), 0.0);
/// // 2x − 1 over 0 to 1: a triangle of ½ by 1
/// assert!((positive_part([-1.0, 0.0, 1.0], 1.0) - 0.25).abs() < 1e-15);
/// // 1 − 4(x − ½)²·2 is positive between its zeros only, ½ ± 1/√8
/// let exact = 4.0 / 3.0 / 8f64.sqrt();
/// assert!((positive_part([-1.0, 1.0, -1.0], 1.0) - exact).abs() < 1e-15);
/// ```
#[must_use]
pub fn positive_part(values: [f64; 3], length: f64) -> f64 {
    let [first, middle, last] = values;
    if values.iter().all(|v| *v >= 0.0) {
        return length * (first + 4.0 * middle + last) / 6.0;
    }
    if values.iter().all(|v| *v <= 0.0) {
        return 0.0;
    }
    // a + b x + c x² over 0 to 1
    let (a, c) = (first, 2.0 * (first - 2.0 * middle + last));
    let b = last - first - c;
    // the two zeros without a difference of near numbers
    let half = -0.5 * (b + b.signum() * (b * b - 4.0 * a * c).max(0.0).sqrt());
    let inside = |x: f64| if x > 0.0 && x < 1.0 { x } else { 0.0 };
    let (p, q) = (inside(half / c), inside(a / half));
    let ends = [0.0, p.min(q), p.max(q), 1.0];
    let primitive = |x: f64| x * (a + x * (b / 2.0 + x * c / 3.0));
    let positive = |x: f64| a + x * (b + x * c) > 0.0;
    let stretches = ends.windows(2).filter(|w| positive(0.5 * (w[0] + w[1])));
    length * stretches.map(|w| primitive(w[1]) - primitive(w[0])).sum::<f64>()
}
