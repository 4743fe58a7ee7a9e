//! Outcomes of standing.

use super::Value;
use crate::motion::Motion;
use crate::motion::standing::Standing;
use crate::units::DEG;

fn read(m: &Motion, f: impl Fn(&Standing) -> f64) -> Value {
    match m {
        Motion::Stand(s) => Value::Number(f(s)),
        _ => Value::NotReached,
    }
}

pub(super) fn load_line(m: &Motion) -> Value {
    read(m, |s| 1e3 * s.load_line_ahead_m)
}

pub(super) fn extension_moment(m: &Motion) -> Value {
    read(m, |s| s.extension_moment_n_m)
}

pub(super) fn slope_limit(m: &Motion) -> Value {
    read(m, |s| s.slope_limit_rad / DEG)
}

pub(super) fn moment_to_bend(m: &Motion) -> Value {
    read(m, |s| s.hip_moment_to_bend_n_m)
}
