//! Rows of a sweep in batches (`sim/motion/batch/`): walking strides with one drive, many at a time.
//!
//! Rows come in blocks that begin at fixed row numbers. A block is split by drive; each part with enough strides is one
//! batch, the other rows run singly. So a row has the same bytes in any shard, after any interruption and on any number
//! of threads. Checked in tests/studies/batched.rs.

use std::ops::Range;
use std::sync::{Arc, Mutex};

use rayon::prelude::*;

use super::block::RowBlock;
use super::frame::{Frame, Framed};
use super::request::Sweep;
use crate::joint::Knee;
use crate::motion::batch::{Accuracy, Batch, Member, StrideOutcomes};
use crate::motion::stride_cache::{ReferenceStride, never_closing};
use crate::outcome::stride::BatchStride;
use crate::outcome::{Measure, Metric, Value};
use crate::scenario::Drive;

/// Fewer strides run singly: the table of a drive costs about as much as two and a half strides
/// (`cargo bench --bench batch` prints it).
const FEWEST: usize = 4;
/// Tables of drives that are kept for the next blocks.
const KEPT_TABLES: usize = 16;

/// Tables of drives, kept from block to block.
#[derive(Debug, Default)]
pub struct Tables(Mutex<Vec<(f64, Arc<Batch>)>>);

impl Tables {
    /// The batch of exactly this drive: one of the same shape could differ in last digits.
    fn batch(&self, drive: &Drive, beyond: f64) -> Arc<Batch> {
        let same = |(known, batch): &&(f64, Arc<Batch>)| {
            known.total_cmp(&beyond).is_eq() && batch.table().drive == *drive
        };
        let kept = |tables: &[(f64, Arc<Batch>)]| tables.iter().find(same).map(|(_, batch)| batch.clone());
        // a thread that panicked has left whole tables
        let locked = || self.0.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        if let Some(batch) = kept(&locked()) {
            return batch;
        }
        let batch = Arc::new(Batch::new(drive, beyond, Accuracy::default()));
        let mut tables = locked();
        if tables.len() == KEPT_TABLES {
            tables.remove(0);
        }
        tables.push((beyond, batch.clone()));
        batch
    }
}

/// A row that may run in a batch: its place in the block, its frame, its knee.
struct Stride<'a> {
    row: usize,
    frame: &'a Frame,
    knee: &'a Knee,
}

impl Sweep {
    /// Runs a block of rows.
    pub(super) fn batch(&self, rows: Range<u64>, tables: &Tables) -> RowBlock {
        let count = (rows.end - rows.start) as usize;
        let inputs = self.inputs(rows.clone());
        let framed = Framed::new(self, rows.start, &inputs, count);
        let mut results = self.no_results(count);
        let mut single = vec![true; count];
        for part in parts(&framed).into_iter().filter(|part| part.len() >= FEWEST) {
            let batch = tables.batch(&part[0].frame.drive, part[0].frame.beyond);
            for (stride, values) in part.iter().zip(values_of(&batch, &part, &self.outcomes)) {
                let Some(values) = values else { continue };
                results.put_values(stride.row, &values);
                single[stride.row] = false;
            }
        }
        let left: Vec<usize> = (0..count).filter(|&i| single[i]).collect();
        let run = |&i: &usize| (i, self.run_row(rows.start + i as u64));
        let alone: Vec<_> = left.par_iter().map(run).collect();
        alone.into_iter().for_each(|(i, row)| results.put(i, row));
        self.assemble(rows, inputs, results)
    }
}

/// Rows whose drives have the same shape, in their order; the parts in the order of their first rows.
fn parts(framed: &Framed) -> Vec<Vec<Stride<'_>>> {
    let mut shapes: Vec<&Frame> = Vec::new();
    let same = |a: &Frame, b: &Frame| a.beyond.total_cmp(&b.beyond).is_eq() && a.drive.same_shape(&b.drive);
    let part_of_frame: Vec<Option<usize>> = framed
        .frames
        .iter()
        .map(|frame| {
            let frame = frame.as_ref()?;
            Some(shapes.iter().position(|shape| same(shape, frame)).unwrap_or_else(|| {
                shapes.push(frame);
                shapes.len() - 1
            }))
        })
        .collect();
    let mut parts: Vec<Vec<Stride<'_>>> = shapes.iter().map(|_| Vec::new()).collect();
    for (row, (number, knee)) in framed.rows.iter().enumerate() {
        let (Some(part), Some(frame)) = (part_of_frame[*number], &framed.frames[*number]) else { continue };
        if let Some(knee) = knee {
            parts[part].push(Stride { row, frame, knee });
        }
    }
    parts
}

/// Outcomes of the strides of a part; none where the batch does not cover a stride.
fn values_of(
    batch: &Batch,
    part: &[Stride<'_>],
    wanted: &[&'static Metric],
) -> Vec<Option<Vec<Option<Value>>>> {
    let own = run(batch, part, Knee::clone);
    let free = wanted.iter().any(|m| m.compared_with == Some(ReferenceStride::NeverClosing));
    let unbraked = if free { run(batch, part, never_closing) } else { vec![None; part.len()] };
    let values = |((stride, own), unbraked): ((&Stride<'_>, &Option<_>), &Option<_>)| {
        let found: &StrideOutcomes = own.as_ref().filter(|_| unbraked.is_some() || !free)?;
        let Frame { drive, trial, .. } = stride.frame;
        let inertia_kg_m2 = trial.shank.inertia_kg_m2;
        let reading = BatchStride { found, never_closing: unbraked.as_ref(), drive, inertia_kg_m2 };
        let value = |m: &&'static Metric| match m.measure {
            Measure::OfStride(read) => Some(Some(Value::number(read(&reading)))),
            Measure::OfMotion(_) => None,
        };
        wanted.iter().map(value).collect()
    };
    part.iter().zip(&own).zip(&unbraked).map(values).collect()
}

/// Runs the strides of a part with their knees as `joint` makes them.
fn run(batch: &Batch, part: &[Stride<'_>], joint: impl Fn(&Knee) -> Knee) -> Vec<Option<StrideOutcomes>> {
    let mut places = Vec::with_capacity(part.len());
    let mut members: Vec<Member> = Vec::with_capacity(part.len());
    for (i, stride) in part.iter().enumerate() {
        let knee = joint(stride.knee);
        // the frame before is often the same
        let before = places.last().map(|&j: &usize| &part[j]).filter(|s| std::ptr::eq(s.frame, stride.frame));
        let member = match (before, members.last()) {
            (Some(_), Some(member)) => member.with_knee(knee),
            _ => {
                let Frame { drive, trial, .. } = stride.frame;
                Member::new(batch.table(), drive, knee, &trial.person, trial.shank)
            }
        };
        if let Ok(member) = member {
            places.push(i);
            members.push(member);
        }
    }
    let mut found = vec![None; part.len()];
    for (i, f) in places.into_iter().zip(batch.run(&members)) {
        found[i] = f.ok();
    }
    found
}
