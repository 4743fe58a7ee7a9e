//! Roots of scalar functions.

/// Where `f` changes sign in \[a, b\], to `tolerance`: Ridders' method, which keeps a bracket and
/// converges quadratically (Ridders 1979, IEEE Trans Circuits Syst 26:979).
///
/// ```
/// use kneedamp::numerics::roots::find_root;
/// let root = find_root(|x| x * x - 2.0, 0.0, 2.0, 1e-13);
/// assert!((root - 2f64.sqrt()).abs() < 1e-12);
/// ```
#[must_use]
pub fn find_root(mut f: impl FnMut(f64) -> f64, a: f64, b: f64, tolerance: f64) -> f64 {
    let (mut a, mut b) = (a, b);
    let (mut fa, mut fb) = (f(a), f(b));
    if fa == 0.0 {
        return a;
    }
    if fb == 0.0 || fa.signum() == fb.signum() {
        return b;
    }
    for _ in 0..60 {
        if b - a <= tolerance {
            break;
        }
        let m = 0.5 * (a + b);
        let fm = f(m);
        let s = (fm * fm - fa * fb).sqrt();
        if s == 0.0 {
            return m;
        }
        let x = (m + (m - a) * (fa - fb).signum() * fm / s).clamp(a, b);
        let fx = f(x);
        if fx == 0.0 {
            return x;
        }
        // the tightest of the brackets that m and x leave
        let (lo, flo, hi, fhi) = if x < m { (x, fx, m, fm) } else { (m, fm, x, fx) };
        if fa.signum() != flo.signum() {
            (b, fb) = (lo, flo);
        } else if flo.signum() != fhi.signum() {
            (a, fa, b, fb) = (lo, flo, hi, fhi);
        } else {
            (a, fa) = (hi, fhi);
        }
    }
    // the end of the bracket that lies just past the root
    b
}
