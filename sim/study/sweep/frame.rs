//! What rows share that differ in inputs of the knee only: person, leg and drive are worked out once for all of them.

use std::collections::HashMap;

use super::request::Sweep;
use crate::body::Alignment;
use crate::case::setup::Case;
use crate::joint::Knee;
use crate::motion::Trial;
use crate::motion::trial::Detail;
use crate::numerics::tolerances::Tolerances;
use crate::scenario::{Activity, Drive, Walk};

/// Drives that are kept for the next frames: scenarios take turns from row to row.
const KEPT_DRIVES: usize = 16;

/// Person, leg and drive of rows that differ in the knee only.
pub(super) struct Frame {
    case: Case,
    /// The trial of its first row.
    pub trial: Trial,
    /// Drive of that trial.
    pub drive: Drive,
    /// Free motion followed beyond heel contact, share of the stride.
    pub beyond: f64,
}

/// What decides the drive of a row, beside the drive files.
#[derive(PartialEq)]
struct DriveInputs {
    walk: Walk,
    leg_m: f64,
    thigh_m: f64,
    alignment: Alignment,
    share: Option<f64>,
}

/// Rows of a block, put into frames.
pub(super) struct Framed {
    /// Frames in the order of their first rows; none where a row cannot run side by side with others.
    pub frames: Vec<Option<Frame>>,
    /// Number of the frame and knee of each row; none where the knee cannot be resolved.
    pub rows: Vec<(usize, Option<Knee>)>,
}

impl Frame {
    fn new(
        sweep: &Sweep,
        scenario: usize,
        values: &[f64],
        kept: &mut Vec<(DriveInputs, Drive)>,
    ) -> Option<Self> {
        let case = sweep.case(&sweep.scenarios[scenario], values).ok()?;
        let trial = case.trial(Detail::NONE, Tolerances::scan()).ok()?;
        let Activity::Walk(walk) = &trial.scenario.activity else { return None };
        let inputs = DriveInputs {
            walk: walk.clone(),
            leg_m: trial.person.leg_length_m(),
            thigh_m: trial.person.thigh_length_m(),
            alignment: trial.alignment,
            share: case.setup.drive_share,
        };
        let known = kept.iter().find(|(known, _)| *known == inputs).map(|(_, drive)| drive.clone());
        let beyond = walk.beyond_heel_contact;
        let drive = match known {
            Some(drive) => drive,
            None => {
                let drive = trial.resolved_drive(walk).ok()?;
                if kept.len() == KEPT_DRIVES {
                    kept.remove(0);
                }
                kept.push((inputs, drive.clone()));
                drive
            }
        };
        Some(Self { case, trial, drive, beyond })
    }

    /// The knee of a row of this frame.
    fn knee(&mut self, sweep: &Sweep, values: &[f64]) -> Option<Knee> {
        for (axis, &value) in sweep.axes.iter().zip(values).filter(|(a, _)| a.input.of_knee) {
            self.case.set(axis.input.key, value).ok()?;
        }
        let setup = &self.case.setup;
        setup.knee.resolve(&setup.settings, setup.temperature_c).ok()
    }
}

impl Framed {
    /// Puts rows into frames. `inputs` has the values of the axes, axis by axis.
    pub fn new(sweep: &Sweep, first_row: u64, inputs: &[Vec<f64>], count: usize) -> Self {
        let mut known: HashMap<Vec<u64>, usize> = HashMap::new();
        let mut framed = Self { frames: Vec::new(), rows: Vec::with_capacity(count) };
        let (mut key, mut values, mut kept) = (Vec::new(), Vec::new(), Vec::new());
        for i in 0..count {
            let scenario = sweep.scenario_of(first_row + i as u64);
            values.clear();
            values.extend(inputs.iter().map(|v| v[i]));
            key.clear();
            key.push(scenario as u64);
            let fixed = sweep.axes.iter().zip(&values).filter(|(a, _)| !a.input.of_knee);
            key.extend(fixed.map(|(_, v)| v.to_bits()));
            let number = match known.get(&key) {
                Some(&number) => number,
                None => {
                    framed.frames.push(Frame::new(sweep, scenario, &values, &mut kept));
                    known.insert(key.clone(), framed.frames.len() - 1);
                    framed.frames.len() - 1
                }
            };
            let knee = framed.frames[number].as_mut().and_then(|frame| frame.knee(sweep, &values));
            framed.rows.push((number, knee));
        }
        framed
    }
}
