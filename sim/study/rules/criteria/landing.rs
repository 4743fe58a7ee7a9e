//! Rule 18: of two strides, the one that ends more bent.

use crate::study::rules::evidence::{Abort, Evidence, ExperimentResult, RunSpec};
use crate::study::rules::experiment::Experiment;
use crate::study::rules::measure::{MotionMeasure, NotReachedAs, compare, landing};
use crate::study::rules::scenario_names::WALK;

/// Two strides count as different from this difference at heel contact, °.
const LEAST_DIFFERENCE_DEG: f64 = 1.0;

pub(in crate::study::rules) fn more_bent_stride_lands_worse(e: &Experiment) -> ExperimentResult {
    let runs = e.moved_pair(&e.base(WALK), "swing-extension")?.map(|r| RunSpec { landing: true, ..r });
    let measure = MotionMeasure::AddedFlexion;
    let landing_and_added = |run: &RunSpec| {
        let motion = e.motion(run)?;
        let (_, start_deg) = landing(&motion).ok_or(Abort::Undecided("the foot would leave the ground"))?;
        Ok::<_, Abort>((start_deg, measure.value(&motion)))
    };
    let (a, b) = (landing_and_added(&runs[0])?, landing_and_added(&runs[1])?);
    if (a.0 - b.0).abs() < LEAST_DIFFERENCE_DEG {
        return Err(Abort::Undecided("less than 1° apart at heel contact"));
    }
    let bends = |on: Option<f64>| on.is_none_or(|deg| deg > measure.noise());
    if !bends(a.1) && !bends(b.1) {
        return Err(Abort::Undecided("straightens from the start either way"));
    }
    let sign = (b.0 - a.0).signum();
    let evidence = compare(measure, NotReachedAs::Most, sign, [a.1, b.1], runs.to_vec())?;
    let description = format!(
        "bent {:.1} and {:.1}° at heel contact, then by {} and {} more",
        a.0,
        b.0,
        measure.text(a.1),
        measure.text(b.1)
    );
    Ok(Evidence { description, ..evidence })
}
