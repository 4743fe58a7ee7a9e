//! Rules 2, 4 and 7: late full extension, and hurried short steps.

use super::{MAX, SPEEDS, edge};
use crate::motion::Motion;
use crate::numerics::statistics::rounded;
use crate::scenario::{Activity, Drive};
use crate::study::rules::evidence::{Abort, Agreement, Evidence, ExperimentResult, RunSpec};
use crate::study::rules::experiment::Experiment;
use crate::study::rules::measure::{MotionMeasure, NEVER_STRAIGHT, NotReachedAs, beyond, compare};
use crate::study::rules::scenario_names::{HURRIED, WALK};
use crate::units::GRAVITY_M_PER_S2;

/// A stride that is not straight in time is later than any other, as in 2a; where that makes both delays
/// infinite, or one of them meaningless, the sample is undecided.
pub(in crate::study::rules) fn later_most_at_fast_speed(e: &Experiment) -> ExperimentResult {
    let measure = MotionMeasure::MarginInTime;
    let [low, high] = e.moved_pair(&e.base(WALK), "swing-flexion")?;
    let delay = |v: f64| {
        let margin = |run: &RunSpec| {
            let margin = measure.value(&e.motion(&run.with("speed_m_per_s", v))?);
            Ok::<_, Abort>(margin.unwrap_or(f64::NEG_INFINITY))
        };
        let (low, high) = (margin(&low)?, margin(&high)?);
        if low.is_finite() || high.is_finite() {
            Ok(high - low)
        } else {
            Err(Abort::Undecided("not straight in time either way at one of the speeds"))
        }
    };
    let (slow, fast) = (delay(SPEEDS[0])?, delay(SPEEDS[2])?);
    if slow.is_infinite() && fast.is_infinite() {
        return Err(Abort::Undecided("not straight in time with the lower at both speeds"));
    }
    let runs = [SPEEDS[0], SPEEDS[2]].iter().flat_map(|v| [&low, &high].map(|r| r.with("speed_m_per_s", *v)));
    let text = |ms: f64| if ms.is_finite() { format!("{ms:.1} ms") } else { "never in time".into() };
    Ok(Evidence {
        agreement: Agreement::of(fast - slow, measure.noise()),
        effect: fast - slow,
        description: format!("delay {} at 0.8, {} at 1.4 m/s", text(slow), text(fast)),
        runs: runs.collect(),
    })
}

pub(in crate::study::rules) fn closed_is_bent_at_contact(e: &Experiment) -> ExperimentResult {
    let measure = MotionMeasure::Outcome("heel_contact_flexion_deg");
    let run = e.base(WALK).with("swing-extension", 100.0);
    let bent = measure.value(&e.motion(&run)?).ok_or(Abort::Undecided("not reached"))?;
    Ok(beyond(measure, edge(e, WALK, measure.outcome_key(), MAX)?, 1.0, bent, vec![run]))
}

/// Comfortable walking at the speed that hurried walking is scaled from, and hurried walking.
fn comfortable_and_hurried(e: &Experiment) -> Result<[RunSpec; 2], Abort> {
    let hurried = e.base(HURRIED).without("speed_m_per_s");
    let trial = e.trial(&hurried, false)?;
    let Activity::Walk(walk) = &trial.scenario.activity else {
        return Err(Abort::Undecided("the scenario is no walking"));
    };
    let base = walk.dimensionless_speed.ok_or(Abort::Undecided("the hurried pace is not scaled"))?;
    let speed = base * (GRAVITY_M_PER_S2 * trial.person.leg_length_m()).sqrt();
    Ok([e.base(WALK).with("speed_m_per_s", rounded(speed, 3)), hurried])
}

pub(in crate::study::rules) fn hurried_leaves_less(e: &Experiment) -> ExperimentResult {
    let [comfortable, hurried] = comfortable_and_hurried(e)?;
    let measure = MotionMeasure::MarginInTime;
    let margins = [measure.value(&e.motion(&comfortable)?), measure.value(&e.motion(&hurried)?)];
    compare(measure, NotReachedAs::Least, -1.0, margins, vec![comfortable, hurried])
}

pub(in crate::study::rules) fn hurried_leaves_less_of_the_stride(e: &Experiment) -> ExperimentResult {
    let [comfortable, hurried] = comfortable_and_hurried(e)?;
    let measure = MotionMeasure::Outcome("full_extension_pct");
    let instant = |run: &RunSpec| Ok::<_, Abort>(measure.value(&e.motion(run)?).filter(|pct| *pct < 100.0));
    let instants = [instant(&comfortable)?, instant(&hurried)?];
    if instants == [None, None] {
        return Err(Abort::Undecided(NEVER_STRAIGHT));
    }
    // a later instant is less margin; never in time is the latest
    compare(measure, NotReachedAs::Most, 1.0, instants, vec![comfortable, hurried])
}

pub(in crate::study::rules) fn short_steps_leave_less(e: &Experiment) -> ExperimentResult {
    let own = e.base(WALK);
    let walk = e.walk(&own)?;
    let cadence = rounded(1.1 * steps_per_min(&walk.stride.drive), 1);
    let quick = own.with("cadence_steps_per_min", cadence);
    let measure = MotionMeasure::MarginInTime;
    let margins = [measure.value(&Motion::Walk(walk)), measure.value(&e.motion(&quick)?)];
    compare(measure, NotReachedAs::Least, -1.0, margins, vec![own, quick])
}

fn steps_per_min(drive: &Drive) -> f64 {
    120.0 / drive.stride_time_s
}
