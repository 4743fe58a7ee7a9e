//! Rows of a sweep in batches (`sim/motion/batch/`): walking strides with one drive, many at a time.
//!
//! Rows come in blocks of [`BLOCK_ROWS`] that begin at fixed row numbers. A block is split by drive; each part with
//! enough strides is one batch, the other rows run singly. So a row has the same bytes in any shard, after any
//! interruption and on any number of threads. Checked in tests/studies/batched.rs.

use rayon::prelude::*;

use crate::motion::Trial;
use crate::motion::batch::{Accuracy, Batch, Member, StrideOutcomes};
use crate::motion::stride_cache::{ReferenceStride, never_closing};
use crate::outcome::stride::BatchStride;
use crate::outcome::{METRICS, Measure, Metric, Value};
use crate::scenario::{Activity, Drive};

/// Rows of a block.
pub(super) const BLOCK_ROWS: u64 = 4096;
/// Fewer strides run singly: the table of a drive costs about as much as two and a half strides
/// (`cargo bench --bench batch` prints it).
const FEWEST: usize = 4;

/// Outcomes that a batch gives: those of the stride itself.
pub(super) fn covered() -> impl Iterator<Item = &'static Metric> {
    METRICS.iter().filter(|m| matches!(m.measure, Measure::OfStride(_)))
}

/// A walking trial with its drive.
struct Stride<'a> {
    trial: &'a Trial,
    drive: Drive,
    beyond: f64,
}

/// Outcomes of the trials, in their order; none where a trial has to run singly.
#[must_use]
pub(super) fn outcomes(trials: &[Option<Trial>], wanted: &[&'static Metric]) -> Vec<Option<Vec<Value>>> {
    let mut found = vec![None; trials.len()];
    let mut strides: Vec<(usize, Stride<'_>)> =
        trials.par_iter().enumerate().filter_map(|(i, t)| Some((i, walking(t.as_ref()?)?))).collect();
    // in the order of the first stride of each part
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
    // if there is no drive, the single run gives the error
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
            part.par_iter().enumerate().filter_map(|(i, (_, s))| Some((i, member(s)?))).collect();
        let (places, members): (Vec<usize>, Vec<Member>) = members.into_iter().unzip();
        let mut found = vec![None; part.len()];
        for (i, f) in places.into_iter().zip(batch.run(&members)) {
            found[i] = f.ok();
        }
        found
    };
    let own = run(false);
    let free = wanted.iter().any(|m| m.compared_with == Some(ReferenceStride::NeverClosing));
    let never_closing: Vec<Option<StrideOutcomes>> = if free { run(true) } else { vec![None; part.len()] };
    let row = |(i, (_, s)): (usize, &(usize, Stride<'_>))| {
        let never_closing = &never_closing[i];
        let found = own[i].as_ref().filter(|_| never_closing.is_some() || !free)?;
        let (drive, inertia_kg_m2) = (&s.drive, s.trial.shank.inertia_kg_m2);
        let stride = BatchStride { found, never_closing: never_closing.as_ref(), drive, inertia_kg_m2 };
        let value = |m: &&'static Metric| match m.measure {
            Measure::OfStride(read) => Some(Value::number(read(&stride))),
            Measure::OfMotion(_) => None,
        };
        wanted.iter().map(value).collect()
    };
    part.par_iter().enumerate().map(row).collect()
}
