//! Roots and greatest values of scalar functions.

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

/// Greatest value of `f` over \[a, b\] and where, to `tolerance`: golden-section search, for one hump.
///
/// ```
/// use kneedamp::numerics::roots::find_greatest;
/// let (value, at) = find_greatest(|x| 3.0 - (x - 0.7) * (x - 0.7), 0.0, 2.0, 1e-7);
/// assert!((value - 3.0).abs() < 1e-13 && (at - 0.7).abs() < 1e-6);
/// ```
#[must_use]
pub fn find_greatest(mut f: impl FnMut(f64) -> f64, a: f64, b: f64, tolerance: f64) -> (f64, f64) {
    /// Golden ratio less one: each point serves twice.
    const SHARE: f64 = 0.618_033_988_749_894_9;
    let (mut a, mut b) = (a, b);
    let (mut x, mut y) = (b - SHARE * (b - a), a + SHARE * (b - a));
    let (mut fx, mut fy) = (f(x), f(y));
    while b - a > tolerance {
        if fx >= fy {
            (b, y, fy) = (y, x, fx);
            x = b - SHARE * (b - a);
            fx = f(x);
        } else {
            (a, x, fx) = (x, y, fy);
            y = a + SHARE * (b - a);
            fy = f(y);
        }
    }
    if fx >= fy { (fx, x) } else { (fy, y) }
}
