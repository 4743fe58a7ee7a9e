//! Rules 13 and 15: what a heavier foot takes, and what resistance changes most.

use super::{margin_in_time, margin_or_end, peak_deg};
use crate::joint::SettingName;
use crate::motion::WalkMotion;
use crate::study::rules::experiment::{Judged, Run, Seen, Sense, Stop, Try};
use crate::study::rules::measure::{NOT_STRAIGHT, Read};
use crate::study::rules::root_find::match_position;
use crate::study::rules::table::WALK;

/// By how far a setting has to move to bring a reading back after mass is added at the foot. Where no position
/// brings it back, nothing can be said of how far; such samples are counted apart.
fn retuned(t: &Try, name: SettingName, read: fn(&WalkMotion) -> f64, none: &'static str) -> Judged {
    let key = name.as_str();
    let base = t.base(WALK);
    let before = t.own(&base, key)?;
    let wanted = read(&*t.walk(&base)?);
    let heavier = base.with("foot_extra_mass_kg", t.sample.of_rules.added_foot_mass_kg);
    let found = match_position(|pct| Ok(read(&*t.walk(&heavier.with(key, pct))?)), wanted, before)?;
    let pct = found.ok_or(Stop::Undecided(none))?;
    let step = t.bench.setup.knee.step_pct(name).unwrap_or(0.0);
    let shift = (pct - before).abs();
    Ok(Seen {
        sense: Sense::so(shift >= step),
        effect: shift,
        said: format!("{before:.0} -> {pct:.1} %"),
        runs: vec![base, heavier],
    })
}

pub(in crate::study::rules) fn heavier_foot_moves_flexion(t: &Try) -> Judged {
    retuned(t, SettingName::SwingFlexion, peak_deg, "no position brings the peak back")
}

pub(in crate::study::rules) fn heavier_foot_moves_extension(t: &Try) -> Judged {
    margin_in_time(&*t.walk(&t.base(WALK))?).ok_or(Stop::Undecided(NOT_STRAIGHT))?;
    retuned(t, SettingName::SwingExtension, margin_or_end, "no position brings the margin back")
}

/// Relative change of the peak against that of the time from toe-off to full extension, %.
fn range_against_time(t: &Try, runs: [Run; 2]) -> Judged {
    let read = |run: &Run| {
        let w = t.walk(run)?;
        // after heel contact the stride goes on as no foot on the ground does
        let margin = margin_in_time(&w).ok_or(Stop::Undecided(NOT_STRAIGHT))?;
        let d = &w.stride.drive;
        Ok::<_, Stop>((peak_deg(&w), 1e3 * (d.stride_time_s - d.toe_off_s) - margin))
    };
    let (a, b) = (read(&runs[0])?, read(&runs[1])?);
    let change = |x: f64, y: f64| 100.0 * (y - x).abs() / (0.5 * (x + y));
    let (range, time) = (change(a.0, b.0), change(a.1, b.1));
    let noise = 100.0 * (Read::Outcome("peak_flexion_deg").noise() / a.0 + Read::MarginInTime.noise() / a.1);
    Ok(Seen {
        sense: Sense::of(range - time, noise),
        effect: range - time,
        said: format!("peak {:.1} -> {:.1}°, time {:.0} -> {:.0} ms", a.0, b.0, a.1, b.1),
        runs: runs.to_vec(),
    })
}

pub(in crate::study::rules) fn flexion_changes_range_more_than_time(t: &Try) -> Judged {
    range_against_time(t, t.moved_pair(&t.base(WALK), "swing-flexion")?)
}

pub(in crate::study::rules) fn resistance_changes_range_more_than_time(t: &Try) -> Judged {
    let [low, high] = t.moved_pair(&t.base(WALK), "swing-flexion")?;
    let [low, _] = t.moved_pair(&low, "swing-extension")?;
    let [_, high] = t.moved_pair(&high, "swing-extension")?;
    range_against_time(t, [low, high])
}
