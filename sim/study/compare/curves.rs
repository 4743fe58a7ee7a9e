//! The curves of the knee that a comparison draws.

use crate::findings::{Band, Series};
use crate::motion::sample::{KneeSample, Samples};
use crate::motion::{Motion, Trial};
use crate::scenario::WalkingDrive;
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
        let Some(samples) = Samples::of(motion, CURVE_STEP_S) else { return Self::default() };
        let knee = samples.knee();
        let curve = |y: fn(&KneeSample) -> f64| -> Vec<(f64, f64)> {
            knee.iter().map(|k| (k.stride_pct.unwrap_or(k.t_s), y(k))).collect()
        };
        let flexion_deg = curve(|k| 1.0 / DEG * k.flexion_rad);
        let able_bodied = match motion {
            Motion::Walk(w) => {
                let sd = trial.drive.as_ref().and_then(WalkingDrive::able_bodied_sd_deg);
                Some(able_bodied(&w.stride, &flexion_deg, sd))
            }
            _ => None,
        };
        Self { flexion_deg, damper_n_m: curve(|k| k.damper_n_m), valve: curve(|k| k.valve), able_bodied }
    }
}
