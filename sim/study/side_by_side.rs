//! Rows of a sweep run side by side (`sim/motion/batch/`): walking strides with one drive, many at a time.
//!
//! Rows come in blocks of [`BLOCK_ROWS`] that begin at fixed row numbers. A block is taken apart by drive, and each
//! part with enough strides is one batch; what a batch does not cover runs one by one. A row therefore has the same
//! bytes in whatever shard, after whatever interruption and on however many threads it is run. Checked in
//! tests/studies/side_by_side.rs.

use crate::motion::Trial;
use crate::motion::batch::{Accuracy, Batch, Found, Member};
use crate::motion::compared::never_closing;
use crate::outcome::{Metric, Value};
use crate::quantity::DEG;
use crate::scenario::{Activity, Drive};

/// Rows of a block.
pub(super) const BLOCK_ROWS: u64 = 4096;
/// A batch of fewer strides takes longer than the same strides one by one: the table of its drive costs about as
/// much as three of them, and a vector with empty places as much as a full one.
const FEWEST: usize = 24;

/// Outcomes that a batch gives, by key.
pub(super) const COVERED: [&str; 12] = [
    "toe_off_flexion_deg",
    "peak_flexion_deg",
    "peak_flexion_pct",
    "peak_vs_able_bodied_deg",
    "release_pct",
    "late_release_loss_deg",
    "full_extension_pct",
    "extension_margin_ms",
    "terminal_speed_deg_per_s",
    "terminal_energy_j",
    "rebound_deg",
    "heel_contact_flexion_deg",
];

/// A walking trial with its drive.
struct Stride<'a> {
    trial: &'a Trial,
    drive: Drive,
    beyond: f64,
}

/// Outcomes of the trials, in their order; none where a trial has to be run by itself.
#[must_use]
pub(super) fn outcomes(trials: &[Option<Trial>], wanted: &[&'static Metric]) -> Vec<Option<Vec<Value>>> {
    let mut found = vec![None; trials.len()];
    let mut strides: Vec<(usize, Stride<'_>)> =
        trials.iter().enumerate().filter_map(|(i, t)| Some((i, walking(t.as_ref()?)?))).collect();
    // parts in the order of their first stride
    while let Some((_, first)) = strides.first() {
        let (drive, beyond) = (first.drive.clone(), first.beyond);
        let same = |s: &Stride<'_>| s.beyond.total_cmp(&beyond).is_eq() && drive.same_shape(&s.drive);
        let (part, rest): (Vec<_>, Vec<_>) = strides.into_iter().partition(|(_, s)| same(s));
        strides = rest;
        if part.len() < FEWEST {
            continue;
        }
        let batch = Batch::new(&drive, beyond, Accuracy::default());
        for ((i, _), values) in part.iter().zip(of_part(&batch, &part, wanted)) {
            found[*i] = values;
        }
    }
    found
}

fn walking(trial: &Trial) -> Option<Stride<'_>> {
    let Activity::Walk(walk) = &trial.scenario.activity else { return None };
    // a drive that cannot be had is the error of that row
    let drive = trial.resolved_drive(walk).ok()?;
    Some(Stride { trial, drive, beyond: walk.beyond_heel_contact })
}

fn of_part(
    batch: &Batch,
    part: &[(usize, Stride<'_>)],
    wanted: &[&'static Metric],
) -> Vec<Option<Vec<Value>>> {
    let run = |open: bool| {
        let member = |s: &Stride<'_>| {
            let knee = if open { never_closing(&s.trial.knee) } else { s.trial.knee.clone() };
            Member::new(batch.table(), &s.drive, knee, &s.trial.person, s.trial.shank).ok()
        };
        let members: Vec<(usize, Member)> =
            part.iter().enumerate().filter_map(|(i, (_, s))| Some((i, member(s)?))).collect();
        let (places, members): (Vec<usize>, Vec<Member>) = members.into_iter().unzip();
        let mut found = vec![None; part.len()];
        for (i, f) in places.into_iter().zip(batch.run(&members)) {
            found[i] = f.ok();
        }
        found
    };
    let own = run(false);
    let loss = wanted.iter().any(|m| m.key == "late_release_loss_deg");
    let beside: Vec<Option<Found>> = if loss { run(true) } else { vec![None; part.len()] };
    let mut rows = Vec::with_capacity(part.len());
    for ((_, s), (own, beside)) in part.iter().zip(own.into_iter().zip(beside)) {
        let row = own
            .filter(|_| beside.is_some() || !loss)
            .and_then(|own| wanted.iter().map(|m| value(m.key, &own, beside.as_ref(), s)).collect());
        rows.push(row);
    }
    rows
}

/// An outcome, defined as its measure in `sim/outcome/walking.rs`; none for a key that is not covered.
fn value(key: &str, f: &Found, beside: Option<&Found>, s: &Stride<'_>) -> Option<Value> {
    let period = s.drive.stride_time_s;
    let number = match key {
        "toe_off_flexion_deg" => Some(f.toe_off_rad / DEG),
        "peak_flexion_deg" => Some(f.peak_rad / DEG),
        "peak_flexion_pct" => Some(100.0 * f.peak_s / period),
        "peak_vs_able_bodied_deg" => Some((f.peak_rad - s.drive.able_bodied_peak_rad) / DEG),
        "release_pct" => f.release_s.map(|t| 100.0 * t / period),
        "late_release_loss_deg" => beside.map(|b| (b.peak_rad - f.peak_rad) / DEG),
        "full_extension_pct" => f.full_extension_s.map(|t| 100.0 * t / period),
        "extension_margin_ms" => f.full_extension_s.map(|t| 1e3 * (period - t)),
        "terminal_speed_deg_per_s" => f.terminal_rate_rad_per_s.map(|w| -w / DEG),
        "terminal_energy_j" => f.terminal_rate_rad_per_s.map(|w| 0.5 * s.trial.shank.inertia_kg_m2 * w * w),
        "rebound_deg" => f.rebound_rad.map(|phi| phi / DEG),
        "heel_contact_flexion_deg" => Some(f.heel_contact_rad / DEG),
        _ => return None,
    };
    Some(Value::number(number))
}
