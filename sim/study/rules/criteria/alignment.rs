//! Rule 11: a load line too far in front of the knee axis, and one behind it.

use super::peak_deg;
use crate::study::rules::evidence::{Agreement, Evidence, ExperimentResult};
use crate::study::rules::experiment::Experiment;
use crate::study::rules::measure::MotionMeasure;
use crate::study::rules::scenario_names::{STAND, WALK};

/// Shift that puts the load line of a middle-sized adult about 75 mm in front: beyond a few centimetres \[J\].
const FAR_FORWARD_M: f64 = 0.04;
/// Shift that puts it behind the knee axis.
const BEHIND_M: f64 = -0.055;

/// The foot where the body's ratios put it, and 40 mm further forward.
pub(in crate::study::rules) fn far_forward_hinders_release(e: &Experiment) -> ExperimentResult {
    let runs = [0.0, FAR_FORWARD_M].map(|shift| e.base(WALK).with("foot_shift_m", shift));
    let [own, far] = [e.walk(&runs[0])?, e.walk(&runs[1])?].map(|w| peak_deg(&w));
    Ok(Evidence {
        agreement: Agreement::of(own - far, MotionMeasure::Outcome("peak_flexion_deg").noise()),
        effect: own - far,
        description: format!("{own:.1} -> {far:.1}°"),
        runs: runs.to_vec(),
    })
}

/// Standing with the load line behind the knee axis: the weight bends the knee.
pub(in crate::study::rules) fn behind_the_knee_is_not_safe(e: &Experiment) -> ExperimentResult {
    let run = e.base(STAND).with("foot_shift_m", BEHIND_M);
    let moment = MotionMeasure::Outcome("extension_moment_n_m").value(&e.motion(&run)?);
    let moment = moment.unwrap_or(f64::NAN);
    Ok(Evidence {
        agreement: Agreement::of(-moment, 0.0),
        effect: -moment,
        description: format!("{moment:.1} N m keep the knee straight"),
        runs: vec![run],
    })
}
