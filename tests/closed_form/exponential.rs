//! Our exponential function against the standard library's.

use kneedamp::numerics::math::exp;
use kneedamp::numerics::random::Draw;

#[test]
fn closed_form_exponential_to_the_last_digits() {
    let mut most = 0.0_f64;
    for n in 0..200_000 {
        let mut draw = Draw::new(9, n);
        // half of them where friction and valve are, the others anywhere
        let reach = if n % 2 == 0 { 40.0 } else { 700.0 };
        let x = draw.within(-reach, reach);
        most = most.max((exp(x) / x.exp() - 1.0).abs());
    }
    println!("greatest relative difference {most:.1e}");
    // two units of the last digit
    assert!(most < 4.5e-16, "{most:e}");
    for (x, wanted) in
        [(0.0, 1.0), (-0.0, 1.0), (f64::NEG_INFINITY, 0.0), (f64::INFINITY, f64::INFINITY), (-800.0, 0.0)]
    {
        assert_eq!(exp(x).to_bits(), f64::to_bits(wanted), "{x}");
    }
    assert!(exp(f64::NAN).is_nan() && exp(710.0).is_infinite() && exp(-745.0) > 0.0);
}
