//! Rule 10: a light and a heavy person with the same joint and settings.

use super::{MAX, edge};
use crate::numerics::statistics::rounded;
use crate::study::rules::evidence::{Abort, Agreement, Evidence, ExperimentResult, RunSpec};
use crate::study::rules::experiment::Experiment;
use crate::study::rules::measure::MotionMeasure;
use crate::study::rules::scenario_names::{STUMBLE, WALK};

const SUPPORT: MotionMeasure = MotionMeasure::Outcome("support_after_ms");
const LATE: MotionMeasure = MotionMeasure::Outcome("late_release_loss_deg");

/// The stumble of a light and a heavy person.
struct LightAndHeavy {
    /// Support times of the two, ms; none if never.
    times: [Option<f64>; 2],
    /// Within the limit.
    in_time: [bool; 2],
    runs: [RunSpec; 2],
}

/// The scenario with a person of another mass; the stature follows it unless it is fixed.
fn with_mass(e: &Experiment, scenario: &'static str, mass_kg: f64) -> RunSpec {
    let run = e.base(scenario).with("mass_kg", mass_kg);
    if e.fixtures.is_fixed("stature_m") {
        return run;
    }
    run.with("stature_m", rounded(crate::body::anthropometry::stature_for_mass_m(mass_kg), 2))
}

fn light_and_heavy(e: &Experiment) -> Result<LightAndHeavy, Abort> {
    if e.fixtures.is_fixed("mass_kg") {
        return Err(Abort::Undecided("the mass is held"));
    }
    let drawn = &e.sample.rule_draws;
    let runs = [drawn.light_mass_kg, drawn.heavy_mass_kg].map(|kg| with_mass(e, STUMBLE, kg));
    let times = [SUPPORT.value(&e.motion(&runs[0])?), SUPPORT.value(&e.motion(&runs[1])?)];
    let limit = edge(e, STUMBLE, SUPPORT.outcome_key(), MAX)?;
    Ok(LightAndHeavy { times, in_time: times.map(|v| v.is_some_and(|ms| ms <= limit)), runs })
}

impl LightAndHeavy {
    fn evidence(&self, agrees: bool, addition: &str, runs: Vec<RunSpec>) -> Evidence {
        let [light, heavy] = self.times;
        // never is later than any time; both never has been ruled out before
        let later = light.unwrap_or(f64::INFINITY) - heavy.unwrap_or(f64::INFINITY);
        Evidence {
            agreement: Agreement::of_bool(agrees),
            effect: later,
            description: format!("light {}, heavy {}{addition}", SUPPORT.text(light), SUPPORT.text(heavy)),
            runs,
        }
    }
}

pub(in crate::study::rules) fn light_only_where_heavy(e: &Experiment) -> ExperimentResult {
    let two = light_and_heavy(e)?;
    let [light, heavy] = two.in_time;
    if !light {
        return Err(Abort::Undecided("the light person is not supported in time"));
    }
    Ok(two.evidence(heavy, "", two.runs.to_vec()))
}

/// A catch load suits the heavy person if it supports in time and lets go in time.
pub(in crate::study::rules) fn light_does_not_reach(e: &Experiment) -> ExperimentResult {
    let two = light_and_heavy(e)?;
    let [light, heavy] = two.in_time;
    if !heavy {
        return Err(Abort::Undecided("the heavy person is not supported in time either"));
    }
    let walking = with_mass(e, WALK, e.sample.rule_draws.heavy_mass_kg);
    let lost = LATE.value(&e.motion_for(&walking, LATE)?);
    let most = edge(e, WALK, LATE.outcome_key(), MAX)?;
    if lost.is_none_or(|deg| deg > most) {
        return Err(Abort::Undecided("with the heavy person the joint lets go late in walking"));
    }
    let runs = two.runs.iter().cloned().chain([walking]).collect();
    Ok(two.evidence(!light, &format!("; heavy loses {} of peak", LATE.text(lost)), runs))
}
