//! Rule 6: the hydraulic joint compared with constant friction that is set for the same swing at 1.1 m/s.

use super::{SPEEDS, margin_in_time, margin_or_end, peak_deg};
use crate::motion::WalkMotion;
use crate::numerics::statistics::rounded;
use crate::study::rules::evidence::{Abort, Agreement, Evidence, ExperimentResult, KneeChoice, RunSpec};
use crate::study::rules::experiment::Experiment;
use crate::study::rules::measure::{MotionMeasure, NOT_STRAIGHT};
use crate::study::rules::root_find::{TOLERANCE, match_position, rounded_position};
use crate::study::rules::scenario_names::WALK;

/// The run with the knee of constant friction: with the same cushion, assist spring and catch load in newtons as
/// the knee of the set-up, so that nothing but the resistance differs.
fn with_friction(e: &Experiment, own: &RunSpec) -> Result<RunSpec, Abort> {
    let (ours, theirs) = (&e.fixtures.setup.knee, &e.fixtures.friction_knee);
    let mut run = RunSpec { knee: KneeChoice::ConstantFriction, ..own.clone() };
    match (&ours.cushion, &theirs.cushion) {
        (Some(c), _) => {
            run.values.insert("cushion_start_deg", c.start_deg);
            run.values.insert("cushion_factor", c.factor);
        }
        // a factor of 1 is no cushion
        (None, Some(_)) => {
            run.values.insert("cushion_factor", 1.0);
        }
        (None, None) => {}
    }
    run.values.entry("assist_n_m").or_insert(ours.assist.torque_n_m);
    run.values.insert("assist_rate_n_m_per_rad", ours.assist.rate_n_m_per_rad);
    let catch_load_n = e.trial(own, false)?.knee.stance.catch_load_n;
    let file = &theirs.stance.catch_load;
    let pct = rounded(100.0 * (catch_load_n - file.least_n) / (file.greatest_n - file.least_n), 3);
    if !(0.0..=100.0).contains(&pct) {
        return Err(Abort::Undecided("the joint of friction has no such catch load"));
    }
    run.values.insert("catch-load", pct);
    Ok(run)
}

/// The run with a setting moved so that a measure takes the target value.
fn matched(
    e: &Experiment,
    run: &RunSpec,
    key: &'static str,
    (measure, target): (fn(&WalkMotion) -> f64, f64),
    none: &'static str,
) -> Result<RunSpec, Abort> {
    let near = e.value_before(run, key)?;
    let found = match_position(|pct| Ok(measure(&*e.walk(&run.with(key, pct))?)), target, near)?;
    Ok(run.with(key, rounded_position(found.ok_or(Abort::Undecided(none))?)))
}

/// The run of the set-up's knee at 1.1 m/s, its stride, and the run with constant friction against flexion set for
/// the same peak; friction against extension acts after the peak and stays as in the file.
fn same_peak(e: &Experiment) -> Result<(RunSpec, Box<WalkMotion>, RunSpec), Abort> {
    let own = e.base(WALK).with("speed_m_per_s", SPEEDS[1]);
    let stride = e.walk(&own)?;
    let friction = with_friction(e, &own)?.without("swing-extension");
    let target = (peak_deg as fn(&WalkMotion) -> f64, peak_deg(&stride));
    let friction = matched(
        e,
        &friction,
        "swing-flexion",
        target,
        "no constant friction gives the same peak at 1.1 m/s",
    )?;
    Ok((own, stride, friction))
}

/// Greatest less least value over the speeds; infinite if the value is not reached at one of them.
fn spread(e: &Experiment, run: &RunSpec, value: fn(&WalkMotion) -> Option<f64>) -> Result<f64, Abort> {
    let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
    for v in SPEEDS {
        let at = value(&*e.walk(&run.with("speed_m_per_s", v))?).unwrap_or(f64::NEG_INFINITY);
        (least, most) = (least.min(at), most.max(at));
    }
    Ok(most - least)
}

fn spreads_less(
    e: &Experiment,
    measure: MotionMeasure,
    value: fn(&WalkMotion) -> Option<f64>,
    [own, friction]: [RunSpec; 2],
) -> ExperimentResult {
    let (ours, theirs) = (spread(e, &own, value)?, spread(e, &friction, value)?);
    let effect = theirs - ours;
    if effect.is_nan() {
        return Err(Abort::Undecided("not straight in time at one of the speeds with either joint"));
    }
    let at_ends = |r: &RunSpec| [SPEEDS[0], SPEEDS[2]].map(|v| r.with("speed_m_per_s", v));
    let text = |v: f64| {
        if v.is_finite() { measure.text(Some(v)) } else { "without end (not straight in time)".into() }
    };
    Ok(Evidence {
        // the matching leaves each peak or margin uncertain by the tolerance
        agreement: Agreement::of(effect, measure.noise() + 2.0 * TOLERANCE),
        effect,
        description: format!("spread {}, with constant friction {}", text(ours), text(theirs)),
        runs: [&own, &friction].into_iter().flat_map(at_ends).collect(),
    })
}

pub(in crate::study::rules) fn hydraulic_peaks_spread_less(e: &Experiment) -> ExperimentResult {
    let (own, _, friction) = same_peak(e)?;
    spreads_less(e, MotionMeasure::Outcome("peak_flexion_deg"), |w| Some(peak_deg(w)), [own, friction])
}

pub(in crate::study::rules) fn hydraulic_margins_spread_less(e: &Experiment) -> ExperimentResult {
    let (own, stride, friction) = same_peak(e)?;
    let target = margin_in_time(&stride).ok_or(Abort::Undecided(NOT_STRAIGHT))?;
    let target = (margin_or_end as fn(&WalkMotion) -> f64, target);
    let friction = matched(
        e,
        &friction,
        "swing-extension",
        target,
        "no constant friction gives the same margin at 1.1 m/s",
    )?;
    spreads_less(e, MotionMeasure::MarginInTime, margin_in_time, [own, friction])
}
