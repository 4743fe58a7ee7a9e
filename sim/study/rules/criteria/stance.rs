//! Rule 8 at the ends of the yield setting: closed drags or does not yield, open drops. As in all of rule 8,
//! a stance valve that the load does not close decides nothing.

use super::{MAX, MIN, edge, yielding};
use crate::motion::Motion;
use crate::outcome::{Assessment, OutcomeWord, Value};
use crate::study::rules::experiment::{Judged, Run, Seen, Sense, Stop, Try};
use crate::study::rules::measure::{NOT_CLOSED, Read, beyond, valve_closes};
use crate::study::rules::table::{RAMP, SIT, STAIRS};

fn word(a: &Assessment) -> Option<OutcomeWord> {
    a.outcomes.get("what_happens").and_then(Value::as_word)
}

fn name(a: &Assessment) -> &'static str {
    word(a).map_or("", OutcomeWord::as_str)
}

/// The task at a position, if the load closes the valve.
fn carried(t: &Try, scenario: &'static str, pct: f64) -> Result<(Run, Motion, Assessment), Stop> {
    let (run, motion, assessment) = yielding(t, scenario, pct)?;
    if valve_closes(&motion) { Ok((run, motion, assessment)) } else { Err(Stop::Undecided(NOT_CLOSED)) }
}

const SIT_TIME: Read = Read::Outcome("sit_time_s");

/// A seat that is never reached takes longer than any limit.
fn sitting(t: &Try, pct: f64) -> Result<(Run, f64), Stop> {
    let (run, motion, _) = carried(t, SIT, pct)?;
    Ok((run, SIT_TIME.of(&motion).unwrap_or(f64::INFINITY)))
}

pub(in crate::study::rules) fn closed_drags_on_the_chair(t: &Try) -> Judged {
    let (run, time) = sitting(t, 100.0)?;
    Ok(beyond(SIT_TIME, edge(t, SIT, SIT_TIME.key(), MAX)?, 1.0, time, vec![run]))
}

pub(in crate::study::rules) fn open_drops_on_the_chair(t: &Try) -> Judged {
    let (run, time) = sitting(t, 0.0)?;
    Ok(beyond(SIT_TIME, edge(t, SIT, SIT_TIME.key(), MIN)?, -1.0, time, vec![run]))
}

fn holds_when_closed(t: &Try, scenario: &'static str) -> Judged {
    let (run, motion, a) = carried(t, scenario, 100.0)?;
    let read = Read::Outcome("knee_flexion_at_other_foot_contact_deg");
    let least = match motion {
        Motion::Ramp(ref r) => r.task.yields_from_deg,
        Motion::Stairs(ref s) => s.task.yields_from_deg,
        _ => return Err(Stop::Undecided("no slope and no stairs")),
    };
    let bent = read.of(&motion);
    let holds = matches!(word(&a), Some(OutcomeWord::Holds | OutcomeWord::Stalls));
    // the other foot may never meet the ground: the knee stalled before, or folded
    let never = if holds { f64::INFINITY } else { f64::NEG_INFINITY };
    Ok(Seen {
        sense: Sense::so(holds),
        effect: bent.map_or(never, |b| least - b),
        said: format!("{}, {} at the other foot's contact", name(&a), read.say(bent)),
        runs: vec![run],
    })
}

pub(in crate::study::rules) fn closed_holds(t: &Try) -> Judged {
    holds_when_closed(t, RAMP)
}

pub(in crate::study::rules) fn closed_holds_on_stairs(t: &Try) -> Judged {
    holds_when_closed(t, STAIRS)
}

/// Drops: gives way, or bends or sinks faster than the scenario's limits.
fn drops_when_open(t: &Try, scenario: &'static str) -> Judged {
    let (run, motion, a) = carried(t, scenario, 0.0)?;
    let (rate, sink) = (Read::Outcome("peak_rate_deg_per_s"), Read::Outcome("body_drop_speed_m_per_s"));
    let over = |read: Read| {
        let edge = edge(t, scenario, read.key(), MAX)?;
        Ok::<_, Stop>(read.of(&motion).map(|v| v - edge))
    };
    let (rate_over, sink_over) = (over(rate)?, over(sink)?);
    let drops = word(&a) == Some(OutcomeWord::GivesWay)
        || [rate_over, sink_over].into_iter().flatten().any(|o| o > 0.0);
    Ok(Seen {
        sense: Sense::so(drops),
        effect: rate_over.ok_or(Stop::Undecided("not reached"))?,
        said: format!(
            "{}, {}, sinking at {}",
            name(&a),
            rate.say(rate.of(&motion)),
            sink.say(sink.of(&motion))
        ),
        runs: vec![run],
    })
}

pub(in crate::study::rules) fn open_drops(t: &Try) -> Judged {
    drops_when_open(t, RAMP)
}

pub(in crate::study::rules) fn open_drops_on_stairs(t: &Try) -> Judged {
    drops_when_open(t, STAIRS)
}
