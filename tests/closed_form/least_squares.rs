//! Nonlinear least squares against closed forms.

use kneedamp::numerics::least_squares::{Range, minimise, student_975};

/// A straight line: values and intervals are those of the textbook.
#[test]
fn least_squares_of_a_line_are_the_textbooks() {
    let x: Vec<f64> = (0..10).map(f64::from).collect();
    let y = [1.2, 2.9, 5.1, 7.2, 8.8, 11.3, 12.9, 15.2, 16.8, 19.1];
    let errors = |v: &[f64]| x.iter().zip(y).map(|(x, y)| v[0] + v[1] * x - y).collect::<Vec<f64>>();
    let range = Range { least: -50.0, most: 50.0 };
    let fit = minimise(&[range; 2], &[vec![0.0, 0.0], vec![10.0, -10.0]], &errors).unwrap();
    let (mx, my) = (x.iter().sum::<f64>() / 10.0, y.iter().sum::<f64>() / 10.0);
    let sxx: f64 = x.iter().map(|x| (x - mx).powi(2)).sum();
    let slope = x.iter().zip(y).map(|(x, y)| (x - mx) * (y - my)).sum::<f64>() / sxx;
    assert!((fit.values[1] - slope).abs() < 1e-7);
    assert!((fit.values[0] - (my - slope * mx)).abs() < 1e-6);
    let rss: f64 = errors(&fit.values).iter().map(|r| r * r).sum();
    let half = 2.306 * (rss / 8.0 / sxx).sqrt();
    assert!((fit.half_intervals()[1] / half - 1.0).abs() < 1e-3);
}

/// The best lies beyond a bound: the bound is found and said.
#[test]
fn least_squares_stop_at_a_bound() {
    let errors = |v: &[f64]| vec![v[0] - 3.0, 0.5 * (v[0] - 3.0), v[1] - 1.0];
    let ranges = [Range { least: 0.0, most: 2.0 }, Range { least: 0.0, most: 2.0 }];
    let fit = minimise(&ranges, &[vec![1.0, 0.5]], &errors).unwrap();
    assert!((fit.values[0] - 2.0).abs() < 1e-3 && fit.at_bound[0]);
    assert!((fit.values[1] - 1.0).abs() < 1e-3 && !fit.at_bound[1]);
}

/// A value that the residuals do not depend on has no interval; the others keep theirs.
#[test]
fn least_squares_say_what_is_not_told() {
    let errors = |v: &[f64]| (0..8).map(|i| v[0] - 1.0 + 0.1 * f64::from(i % 3)).collect::<Vec<f64>>();
    let range = Range { least: -5.0, most: 5.0 };
    let fit = minimise(&[range; 2], &[vec![0.0, 0.0]], &errors).unwrap();
    let half = fit.half_intervals();
    assert!(half[0].is_finite() && half[1].is_infinite(), "{half:?}");
    // and of two values whose sum alone counts, neither is told
    let sum = |v: &[f64]| (0..8).map(|i| v[0] + v[1] - 1.0 + 0.1 * f64::from(i % 3)).collect::<Vec<f64>>();
    let half = minimise(&[range; 2], &[vec![0.0, 0.0]], &sum).unwrap().half_intervals();
    assert!(half.iter().all(|h| *h > 1e3), "{half:?}");
}

/// Table values of Student's distribution.
#[test]
fn least_squares_students_t() {
    for (freedom, t) in [(4.0, 2.776), (8.0, 2.306), (30.0, 2.042), (1000.0, 1.962)] {
        assert!((student_975(freedom) / t - 1.0).abs() < 0.01, "{freedom}: {}", student_975(freedom));
    }
}
