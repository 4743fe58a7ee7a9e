//! Rule 10: a light and a heavy person with the same joint and settings.

use super::{MAX, edge};
use crate::numerics::statistics::rounded;
use crate::study::rules::experiment::{Judged, Run, Seen, Sense, Stop, Try};
use crate::study::rules::measure::Read;
use crate::study::rules::table::{STUMBLE, WALK};

const SUPPORT: Read = Read::Outcome("support_after_ms");
const LATE: Read = Read::Outcome("late_release_loss_deg");

/// The two persons after a stumble.
struct Two {
    /// Support times of the light and the heavy one, ms; none if never.
    times: [Option<f64>; 2],
    /// Within the limit.
    in_time: [bool; 2],
    runs: [Run; 2],
}

/// The scenario with a person of another mass; the stature goes with it unless it is held.
fn with_mass(t: &Try, scenario: &'static str, mass_kg: f64) -> Run {
    let run = t.base(scenario).with("mass_kg", mass_kg);
    if t.bench.holds("stature_m") {
        return run;
    }
    run.with("stature_m", rounded(crate::body::anthropometry::stature_for_mass_m(mass_kg), 2))
}

fn light_and_heavy(t: &Try) -> Result<Two, Stop> {
    if t.bench.holds("mass_kg") {
        return Err(Stop::Undecided("the mass is held"));
    }
    let drawn = &t.sample.of_rules;
    let runs = [drawn.light_mass_kg, drawn.heavy_mass_kg].map(|kg| with_mass(t, STUMBLE, kg));
    let times = [SUPPORT.of(&t.motion(&runs[0])?), SUPPORT.of(&t.motion(&runs[1])?)];
    let limit = edge(t, STUMBLE, SUPPORT.key(), MAX)?;
    Ok(Two { times, in_time: times.map(|v| v.is_some_and(|ms| ms <= limit)), runs })
}

impl Two {
    fn seen(&self, agrees: bool, besides: &str, runs: Vec<Run>) -> Seen {
        let [light, heavy] = self.times;
        // never is later than any; both never is decided by nobody
        let later = light.unwrap_or(f64::INFINITY) - heavy.unwrap_or(f64::INFINITY);
        Seen {
            sense: Sense::so(agrees),
            effect: later,
            said: format!("light {}, heavy {}{besides}", SUPPORT.say(light), SUPPORT.say(heavy)),
            runs,
        }
    }
}

pub(in crate::study::rules) fn light_only_where_heavy(t: &Try) -> Judged {
    let two = light_and_heavy(t)?;
    let [light, heavy] = two.in_time;
    if !light {
        return Err(Stop::Undecided("the light person is not supported in time"));
    }
    Ok(two.seen(heavy, "", two.runs.to_vec()))
}

/// A catch load suits the heavy person if it supports in time and lets go in time.
pub(in crate::study::rules) fn light_does_not_reach(t: &Try) -> Judged {
    let two = light_and_heavy(t)?;
    let [light, heavy] = two.in_time;
    if !heavy {
        return Err(Stop::Undecided("the heavy person is not supported in time either"));
    }
    let walking = with_mass(t, WALK, t.sample.of_rules.heavy_mass_kg);
    let lost = LATE.of(&t.motion_read(&walking, LATE)?);
    let most = edge(t, WALK, LATE.key(), MAX)?;
    if lost.is_none_or(|deg| deg > most) {
        return Err(Stop::Undecided("with the heavy person the joint lets go late in walking"));
    }
    let runs = two.runs.iter().cloned().chain([walking]).collect();
    Ok(two.seen(!light, &format!("; heavy loses {} of peak", LATE.say(lost)), runs))
}
