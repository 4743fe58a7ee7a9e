//! Rule 6: the hydraulic joint against constant friction that is set for the same swing at 1.1 m/s.

use super::{SPEEDS, margin_in_time, margin_or_end, peak_deg};
use crate::motion::WalkMotion;
use crate::numerics::statistics::rounded;
use crate::study::rules::experiment::{Joint, Judged, Run, Seen, Sense, Stop, Try};
use crate::study::rules::measure::{NOT_STRAIGHT, Read};
use crate::study::rules::root_find::{CLOSE, match_position, rounded_position};
use crate::study::rules::table::WALK;

/// The run with the joint of friction: the same cushion, assist spring and catch load in newtons as the own
/// joint has there, so that nothing but the resistance differs.
fn with_friction(t: &Try, own: &Run) -> Result<Run, Stop> {
    let (ours, theirs) = (&t.bench.setup.knee, &t.bench.friction_knee);
    let mut run = Run { joint: Joint::Friction, ..own.clone() };
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
    let wanted_n = t.trial(own, false)?.knee.stance.catch_load_n;
    let file = &theirs.stance.catch_load;
    let pct = rounded(100.0 * (wanted_n - file.least_n) / (file.greatest_n - file.least_n), 3);
    if !(0.0..=100.0).contains(&pct) {
        return Err(Stop::Undecided("the joint of friction has no such catch load"));
    }
    run.values.insert("catch-load", pct);
    Ok(run)
}

/// The run with a setting moved so that it swings like the other stride.
fn like(
    t: &Try,
    run: &Run,
    key: &'static str,
    (read, wanted): (fn(&WalkMotion) -> f64, f64),
    none: &'static str,
) -> Result<Run, Stop> {
    let near = t.own(run, key)?;
    let found = match_position(|pct| Ok(read(&*t.walk(&run.with(key, pct))?)), wanted, near)?;
    Ok(run.with(key, rounded_position(found.ok_or(Stop::Undecided(none))?)))
}

/// The own joint's run at 1.1 m/s, its stride, and constant friction against flexion set for the same peak; its
/// friction against extension acts after the peak and stays as the file has it.
fn same_peak(t: &Try) -> Result<(Run, Box<WalkMotion>, Run), Stop> {
    let own = t.base(WALK).with("speed_m_per_s", SPEEDS[1]);
    let stride = t.walk(&own)?;
    let friction = with_friction(t, &own)?.without("swing-extension");
    let wanted = (peak_deg as fn(&WalkMotion) -> f64, peak_deg(&stride));
    let friction =
        like(t, &friction, "swing-flexion", wanted, "no constant friction gives the same peak at 1.1 m/s")?;
    Ok((own, stride, friction))
}

/// Greatest less least over the speeds; a reading that is missing at one of them counts as infinitely far off.
fn spread(t: &Try, run: &Run, read: fn(&WalkMotion) -> Option<f64>) -> Result<f64, Stop> {
    let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
    for v in SPEEDS {
        let at = read(&*t.walk(&run.with("speed_m_per_s", v))?).unwrap_or(f64::NEG_INFINITY);
        (least, most) = (least.min(at), most.max(at));
    }
    Ok(most - least)
}

fn spreads_less(
    t: &Try,
    read: Read,
    of: fn(&WalkMotion) -> Option<f64>,
    [own, friction]: [Run; 2],
) -> Judged {
    let (ours, theirs) = (spread(t, &own, of)?, spread(t, &friction, of)?);
    let effect = theirs - ours;
    if effect.is_nan() {
        return Err(Stop::Undecided("not straight in time at one of the speeds with either joint"));
    }
    let at_ends = |r: &Run| [SPEEDS[0], SPEEDS[2]].map(|v| r.with("speed_m_per_s", v));
    let said =
        |v: f64| if v.is_finite() { read.say(Some(v)) } else { "without end (not straight in time)".into() };
    Ok(Seen {
        // the two joints swing alike to within what the matching leaves
        sense: Sense::of(effect, read.noise() + 2.0 * CLOSE),
        effect,
        said: format!("spread {}, with constant friction {}", said(ours), said(theirs)),
        runs: [&own, &friction].into_iter().flat_map(at_ends).collect(),
    })
}

pub(in crate::study::rules) fn hydraulic_peaks_spread_less(t: &Try) -> Judged {
    let (own, _, friction) = same_peak(t)?;
    spreads_less(t, Read::Outcome("peak_flexion_deg"), |w| Some(peak_deg(w)), [own, friction])
}

pub(in crate::study::rules) fn hydraulic_margins_spread_less(t: &Try) -> Judged {
    let (own, stride, friction) = same_peak(t)?;
    let wanted = margin_in_time(&stride).ok_or(Stop::Undecided(NOT_STRAIGHT))?;
    let wanted = (margin_or_end as fn(&WalkMotion) -> f64, wanted);
    let friction = like(
        t,
        &friction,
        "swing-extension",
        wanted,
        "no constant friction gives the same margin at 1.1 m/s",
    )?;
    spreads_less(t, Read::MarginInTime, margin_in_time, [own, friction])
}
