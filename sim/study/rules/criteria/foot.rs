//! Rules 13 and 15: the settings that a heavier foot needs, and what resistance changes most.

use super::{margin_in_time, margin_or_end, peak_deg};
use crate::joint::SettingName;
use crate::motion::WalkMotion;
use crate::study::rules::evidence::{Abort, Agreement, Evidence, ExperimentResult, RunSpec};
use crate::study::rules::experiment::Experiment;
use crate::study::rules::measure::{MotionMeasure, NOT_STRAIGHT};
use crate::study::rules::root_find::match_position;
use crate::study::rules::scenario_names::WALK;

/// How far a setting has to move to restore a measure after mass is added at the foot. Where no position
/// restores it, the distance is unknown; such samples are undecided, for the reason `none`.
fn retuned(
    e: &Experiment,
    name: SettingName,
    measure: fn(&WalkMotion) -> f64,
    none: &'static str,
) -> ExperimentResult {
    let key = name.as_str();
    let base = e.base(WALK);
    let before = e.value_before(&base, key)?;
    let target = measure(&*e.walk(&base)?);
    let heavier = base.with("foot_extra_mass_kg", e.sample.rule_draws.added_foot_mass_kg);
    let found = match_position(|pct| Ok(measure(&*e.walk(&heavier.with(key, pct))?)), target, before)?;
    let pct = found.ok_or(Abort::Undecided(none))?;
    let step = e.fixtures.setup.knee.step_pct(name).unwrap_or(0.0);
    let shift = (pct - before).abs();
    Ok(Evidence {
        agreement: Agreement::of_bool(shift >= step),
        effect: shift,
        description: format!("{before:.0} -> {pct:.1} %"),
        runs: vec![base, heavier],
    })
}

pub(in crate::study::rules) fn heavier_foot_moves_flexion(e: &Experiment) -> ExperimentResult {
    retuned(e, SettingName::SwingFlexion, peak_deg, "no position brings the peak back")
}

pub(in crate::study::rules) fn heavier_foot_moves_extension(e: &Experiment) -> ExperimentResult {
    margin_in_time(&*e.walk(&e.base(WALK))?).ok_or(Abort::Undecided(NOT_STRAIGHT))?;
    retuned(e, SettingName::SwingExtension, margin_or_end, "no position brings the margin back")
}

/// Relative change of the peak less that of the time from toe-off to full extension, %.
fn range_against_time(e: &Experiment, runs: [RunSpec; 2]) -> ExperimentResult {
    let peak_and_time = |run: &RunSpec| {
        let w = e.walk(run)?;
        // after heel contact the swing model continues in free motion, which a foot on the ground does not
        let margin = margin_in_time(&w).ok_or(Abort::Undecided(NOT_STRAIGHT))?;
        let d = &w.stride.drive;
        Ok::<_, Abort>((peak_deg(&w), 1e3 * (d.stride_time_s - d.toe_off_s) - margin))
    };
    let (a, b) = (peak_and_time(&runs[0])?, peak_and_time(&runs[1])?);
    let change = |x: f64, y: f64| 100.0 * (y - x).abs() / (0.5 * (x + y));
    let (range, time) = (change(a.0, b.0), change(a.1, b.1));
    let noise = 100.0
        * (MotionMeasure::Outcome("peak_flexion_deg").noise() / a.0
            + MotionMeasure::MarginInTime.noise() / a.1);
    Ok(Evidence {
        agreement: Agreement::of(range - time, noise),
        effect: range - time,
        description: format!("peak {:.1} -> {:.1}°, time {:.0} -> {:.0} ms", a.0, b.0, a.1, b.1),
        runs: runs.to_vec(),
    })
}

pub(in crate::study::rules) fn flexion_changes_range_more_than_time(e: &Experiment) -> ExperimentResult {
    range_against_time(e, e.moved_pair(&e.base(WALK), "swing-flexion")?)
}

pub(in crate::study::rules) fn resistance_changes_range_more_than_time(e: &Experiment) -> ExperimentResult {
    let [low, high] = e.moved_pair(&e.base(WALK), "swing-flexion")?;
    let [low, _] = e.moved_pair(&low, "swing-extension")?;
    let [_, high] = e.moved_pair(&high, "swing-extension")?;
    range_against_time(e, [low, high])
}
