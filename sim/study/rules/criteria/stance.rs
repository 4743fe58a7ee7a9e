//! Rule 8 at the ends of the yield setting: closed drags or does not yield, open drops. As in all of rule 8, a
//! sample is undecided if the load does not close the stance valve.

use super::{MAX, MIN, edge, with_yield};
use crate::motion::Motion;
use crate::outcome::{Assessment, OutcomeWord, Value};
use crate::study::rules::evidence::{Abort, Agreement, Evidence, ExperimentResult, RunSpec};
use crate::study::rules::experiment::Experiment;
use crate::study::rules::measure::{MotionMeasure, NOT_CLOSED, beyond, valve_closes};
use crate::study::rules::scenario_names::{RAMP, SIT, STAIRS};

/// A knee that bends by this share more than the judged edge of yielding holds by another judgement \[J\], as the band
/// of the scenarios' judged limits.
const JUDGED_BAND: f64 = 0.2;

fn word(a: &Assessment) -> Option<OutcomeWord> {
    a.outcomes.get("what_happens").and_then(Value::as_word)
}

fn name(a: &Assessment) -> &'static str {
    word(a).map_or("", OutcomeWord::as_str)
}

/// The task at a position, if the load closes the valve.
fn with_closed_valve(
    e: &Experiment,
    scenario: &'static str,
    pct: f64,
) -> Result<(RunSpec, Motion, Assessment), Abort> {
    let (run, motion, assessment) = with_yield(e, scenario, pct)?;
    if valve_closes(&motion) { Ok((run, motion, assessment)) } else { Err(Abort::Undecided(NOT_CLOSED)) }
}

const SIT_TIME: MotionMeasure = MotionMeasure::Outcome("sit_time_s");

/// A seat that is never reached takes longer than any limit.
fn sitting(e: &Experiment, pct: f64) -> Result<(RunSpec, f64), Abort> {
    let (run, motion, _) = with_closed_valve(e, SIT, pct)?;
    Ok((run, SIT_TIME.value(&motion).unwrap_or(f64::INFINITY)))
}

pub(in crate::study::rules) fn closed_drags_on_the_chair(e: &Experiment) -> ExperimentResult {
    let (run, time) = sitting(e, 100.0)?;
    Ok(beyond(SIT_TIME, edge(e, SIT, SIT_TIME.outcome_key(), MAX)?, 1.0, time, vec![run]))
}

pub(in crate::study::rules) fn open_drops_on_the_chair(e: &Experiment) -> ExperimentResult {
    let (run, time) = sitting(e, 0.0)?;
    Ok(beyond(SIT_TIME, edge(e, SIT, SIT_TIME.outcome_key(), MIN)?, -1.0, time, vec![run]))
}

fn holds_when_closed(e: &Experiment, scenario: &'static str) -> ExperimentResult {
    let (run, motion, a) = with_closed_valve(e, scenario, 100.0)?;
    let measure = MotionMeasure::Outcome("knee_flexion_at_other_foot_contact_deg");
    let (least, edge_deg) = match motion {
        Motion::Ramp(ref r) => (r.yields_from_deg(), r.task.yields_from_deg),
        Motion::Stairs(ref s) => (s.yields_from_deg(), s.task.yields_from_deg),
        _ => return Err(Abort::Undecided("no slope and no stairs")),
    };
    let bent = measure.value(&motion);
    let holds = matches!(word(&a), Some(OutcomeWord::Holds | OutcomeWord::Stalls));
    // the other foot may never reach the ground: the knee stalled before, or folded
    let never = if holds { f64::INFINITY } else { f64::NEG_INFINITY };
    let by_the_edge = !holds && bent.is_some_and(|b| b - least <= JUDGED_BAND * edge_deg);
    Ok(Evidence {
        agreement: if by_the_edge { Agreement::DisagreesHere } else { Agreement::of_bool(holds) },
        effect: bent.map_or(never, |b| least - b),
        description: format!("{}, {} at the other foot's contact", name(&a), measure.text(bent)),
        runs: vec![run],
    })
}

pub(in crate::study::rules) fn closed_holds(e: &Experiment) -> ExperimentResult {
    holds_when_closed(e, RAMP)
}

pub(in crate::study::rules) fn closed_holds_on_stairs(e: &Experiment) -> ExperimentResult {
    holds_when_closed(e, STAIRS)
}

/// Drops: gives way, or bends or sinks faster than the scenario's limits.
fn drops_when_open(e: &Experiment, scenario: &'static str) -> ExperimentResult {
    let (run, motion, a) = with_closed_valve(e, scenario, 0.0)?;
    let (rate, sink) =
        (MotionMeasure::Outcome("peak_rate_deg_per_s"), MotionMeasure::Outcome("body_drop_speed_m_per_s"));
    let over = |measure: MotionMeasure| {
        let edge = edge(e, scenario, measure.outcome_key(), MAX)?;
        Ok::<_, Abort>(measure.value(&motion).map(|v| v - edge))
    };
    let (rate_over, sink_over) = (over(rate)?, over(sink)?);
    let drops = word(&a) == Some(OutcomeWord::GivesWay)
        || [rate_over, sink_over].into_iter().flatten().any(|o| o > 0.0);
    Ok(Evidence {
        agreement: Agreement::of_bool(drops),
        effect: rate_over.ok_or(Abort::Undecided("not reached"))?,
        description: format!(
            "{}, {}, sinking at {}",
            name(&a),
            rate.text(rate.value(&motion)),
            sink.text(sink.value(&motion))
        ),
        runs: vec![run],
    })
}

pub(in crate::study::rules) fn open_drops(e: &Experiment) -> ExperimentResult {
    drops_when_open(e, RAMP)
}

pub(in crate::study::rules) fn open_drops_on_stairs(e: &Experiment) -> ExperimentResult {
    drops_when_open(e, STAIRS)
}
