//! Rules 2, 4 and 7: full extension late, and hurried short steps.

use super::{MAX, SPEEDS, edge};
use crate::motion::Motion;
use crate::numerics::statistics::rounded;
use crate::scenario::{Activity, Drive};
use crate::study::rules::experiment::{Judged, Run, Seen, Sense, Stop, Try};
use crate::study::rules::measure::{Missing, NEVER_STRAIGHT, Read, beyond, compare};
use crate::study::rules::table::{HURRIED, WALK};
use crate::units::GRAVITY_M_PER_S2;

/// A stride that is not straight in time is later than any other, as in 2a; where that makes both delays
/// infinite, or one of them without meaning, nothing is decided.
pub(in crate::study::rules) fn later_most_at_fast_speed(t: &Try) -> Judged {
    let read = Read::MarginInTime;
    let [low, high] = t.moved_pair(&t.base(WALK), "swing-flexion")?;
    let delay = |v: f64| {
        let margin = |run: &Run| {
            let margin = read.of(&t.motion(&run.with("speed_m_per_s", v))?);
            Ok::<_, Stop>(margin.unwrap_or(f64::NEG_INFINITY))
        };
        let (low, high) = (margin(&low)?, margin(&high)?);
        if low.is_finite() || high.is_finite() {
            Ok(high - low)
        } else {
            Err(Stop::Undecided("not straight in time either way at one of the speeds"))
        }
    };
    let (slow, fast) = (delay(SPEEDS[0])?, delay(SPEEDS[2])?);
    if slow.is_infinite() && fast.is_infinite() {
        return Err(Stop::Undecided("not straight in time with the lower at both speeds"));
    }
    let runs = [SPEEDS[0], SPEEDS[2]].iter().flat_map(|v| [&low, &high].map(|r| r.with("speed_m_per_s", *v)));
    let said = |ms: f64| if ms.is_finite() { format!("{ms:.1} ms") } else { "never in time".into() };
    Ok(Seen {
        sense: Sense::of(fast - slow, read.noise()),
        effect: fast - slow,
        said: format!("delay {} at 0.8, {} at 1.4 m/s", said(slow), said(fast)),
        runs: runs.collect(),
    })
}

pub(in crate::study::rules) fn closed_is_bent_at_contact(t: &Try) -> Judged {
    let read = Read::Outcome("heel_contact_flexion_deg");
    let run = t.base(WALK).with("swing-extension", 100.0);
    let bent = read.of(&t.motion(&run)?).ok_or(Stop::Undecided("not reached"))?;
    Ok(beyond(read, edge(t, WALK, read.key(), MAX)?, 1.0, bent, vec![run]))
}

/// Comfortable walking at the speed that hurried walking is scaled from, and hurried walking.
fn crowd(t: &Try) -> Result<[Run; 2], Stop> {
    let hurried = t.base(HURRIED).without("speed_m_per_s");
    let trial = t.trial(&hurried, false)?;
    let Activity::Walk(walk) = &trial.scenario.activity else {
        return Err(Stop::Undecided("the scenario is no walking"));
    };
    let base = walk.dimensionless_speed.ok_or(Stop::Undecided("the hurried pace is not scaled"))?;
    let speed = base * (GRAVITY_M_PER_S2 * trial.person.leg_length_m()).sqrt();
    Ok([t.base(WALK).with("speed_m_per_s", rounded(speed, 3)), hurried])
}

pub(in crate::study::rules) fn hurried_leaves_less(t: &Try) -> Judged {
    let [comfortable, hurried] = crowd(t)?;
    let read = Read::MarginInTime;
    let margins = [read.of(&t.motion(&comfortable)?), read.of(&t.motion(&hurried)?)];
    compare(read, Missing::Least, -1.0, margins, vec![comfortable, hurried])
}

pub(in crate::study::rules) fn hurried_leaves_less_of_the_stride(t: &Try) -> Judged {
    let [comfortable, hurried] = crowd(t)?;
    let read = Read::Outcome("full_extension_pct");
    let instant = |run: &Run| Ok::<_, Stop>(read.of(&t.motion(run)?).filter(|pct| *pct < 100.0));
    let instants = [instant(&comfortable)?, instant(&hurried)?];
    if instants == [None, None] {
        return Err(Stop::Undecided(NEVER_STRAIGHT));
    }
    // a later instant is less margin; never in time is the latest
    compare(read, Missing::Most, 1.0, instants, vec![comfortable, hurried])
}

pub(in crate::study::rules) fn short_steps_leave_less(t: &Try) -> Judged {
    let own = t.base(WALK);
    let walk = t.walk(&own)?;
    let cadence = rounded(1.1 * steps_per_min(&walk.stride.drive), 1);
    let quick = own.with("cadence_steps_per_min", cadence);
    let read = Read::MarginInTime;
    let margins = [read.of(&Motion::Walk(walk)), read.of(&t.motion(&quick)?)];
    compare(read, Missing::Least, -1.0, margins, vec![own, quick])
}

fn steps_per_min(drive: &Drive) -> f64 {
    120.0 / drive.stride_time_s
}
