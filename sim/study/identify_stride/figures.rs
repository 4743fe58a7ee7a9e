//! Figures of a measured swing, as evidence for `next`.

use super::contacts::{Known, MeanCurves, PERCENT, mean_curves};
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::library::angles::landmarks::KNEE_HARMONICS;
use crate::library::angles::mean::KneeFigures;
use crate::library::angles::reconstruction::from_straight;
use crate::library::angles::series::{fit, value};
use crate::library::measured::trace::Trace;
use crate::scenario::{Activity, Scenario};
use crate::study::next::MeasuredSwing;

/// As near to straight as the outcome `full_extension_pct` has it, degrees.
const STRAIGHT_DEG: f64 = 1.0;

/// The mean stride of a trace; heel contact is found against the drive that a scenario walks with.
///
/// # Errors
/// No complete stride in the trace; a scenario that cannot walk.
pub fn curves_beside(trace: &Trace, setup: &Setup, scenario: &Scenario) -> Result<MeanCurves, SimError> {
    let trial = setup.paced_for(scenario).trial(scenario)?;
    let Activity::Walk(walk) = &trial.scenario.activity else {
        return Err(SimError::CannotRun(format!("'{}' does not walk", scenario.name)));
    };
    let drive = trial.resolved_drive(walk)?;
    let like = [0, 1].map(|k| -> Vec<f64> {
        let at = |i: usize| i as f64 / PERCENT as f64 * drive.stride_time_s;
        let of = |t: f64| if k == 0 { drive.published_knee(t)[0] } else { drive.kinematics(t).thigh };
        (0..=PERCENT).map(|i| of(at(i)) / crate::units::DEG).collect()
    });
    let known =
        Known { contacts_s: &[], stride_time_s: Some(drive.stride_time_s), like: [&like[0], &like[1]] };
    mean_curves(trace, &known)
}

/// Peak, its instant, the instant of full extension and flexion at heel contact of a knee over one stride, degrees at
/// whole percents, measured in a scenario.
#[must_use]
pub fn swing_figures(knee_deg: &[f64], scenario: &str) -> MeasuredSwing {
    let series = fit(&from_straight(knee_deg).0, KNEE_HARMONICS);
    let KneeFigures { peak_deg, peak_pct, .. } = KneeFigures::of(&series);
    let straight_pct = (0..=10 * PERCENT)
        .map(|i| i as f64 / 10.0)
        .find(|p| *p > peak_pct && value(&series, p / 100.0) < STRAIGHT_DEG);
    let contact_deg = value(&series, 1.0);
    MeasuredSwing { scenario: scenario.to_owned(), peak_deg, peak_pct, straight_pct, contact_deg }
}
