//! The curves of the knee that a comparison draws.

use crate::findings::{Band, Series};
use crate::motion::sample::Trace;
use crate::motion::{Motion, Trial};
use crate::study::survey::plot::able_bodied;
use crate::units::DEG;

/// Step of the curves, s.
const CURVE_STEP_S: f64 = 2e-3;

/// Curves of one variant in one scenario, over stride, % (walking), or time, s.
#[derive(Debug, Clone, Default)]
pub struct Curves {
    /// Knee flexion, °.
    pub flexion_deg: Vec<(f64, f64)>,
    /// Torque of the damper, N m; positive bends.
    pub damper_n_m: Vec<(f64, f64)>,
    /// Stance valve, 0 open, 1 closed.
    pub valve: Vec<(f64, f64)>,
    /// The published able-bodied knee and its scatter, for walking.
    pub able_bodied: Option<(Series, Option<Band>)>,
}

impl Curves {
    /// The curves of a motion; empty for what does not move.
    pub(super) fn of(trial: &Trial, motion: &Motion) -> Self {
        let Some(trace) = Trace::of(motion, CURVE_STEP_S) else { return Self::default() };
        let column = |name: &str| trace.columns.iter().position(|c| *c == name);
        let x = column("stride_pct").unwrap_or(0);
        let over = |name: &str, unit: f64| -> Vec<(f64, f64)> {
            column(name).map_or(Vec::new(), |y| trace.rows.iter().map(|r| (r[x], unit * r[y])).collect())
        };
        let flexion_deg = over("knee_rad", 1.0 / DEG);
        let able_bodied = match motion {
            Motion::Walk(w) => {
                let sd = trial.drive.as_ref().and_then(|d| d.knee_flexion_sd_deg);
                Some(able_bodied(&w.stride, &flexion_deg, sd))
            }
            _ => None,
        };
        Self { flexion_deg, damper_n_m: over("tau_damper_n_m", 1.0), valve: over("valve", 1.0), able_bodied }
    }
}
