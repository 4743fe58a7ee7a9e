//! The ranges of a spread file in one case: which inputs they are, and which of them act.

use crate::case::inputs::{Case, INPUTS, Input};
use crate::error::SimError;
use crate::scenario::Activity;
use crate::scenario::uncertainty_file::{Around, UncertaintyFile};
use crate::units::within;

/// An input with its range in this case.
#[derive(Debug, Clone)]
pub struct Uncertain {
    /// Input.
    pub input: &'static Input,
    /// Least value.
    pub low: f64,
    /// Greatest value.
    pub high: f64,
    /// Why this range.
    pub why: String,
}

/// Whether every name is an input, and every range of values one that it takes.
///
/// # Errors
/// The first that is not, by its field.
pub fn check(file: &UncertaintyFile) -> Result<(), SimError> {
    for (i, u) in file.inputs.iter().enumerate() {
        let Some(input) = INPUTS.iter().find(|x| x.key == u.input) else {
            return Err(SimError::OutOfRange {
                field: format!("inputs[{i}].input"),
                value: format!("'{}'", u.input),
                allowed: INPUTS.iter().map(|x| x.key).collect::<Vec<_>>().join(", "),
            });
        };
        if u.around == Around::Zero {
            within(&format!("inputs[{i}].low"), u.low, input.least..=input.most)?;
            within(&format!("inputs[{i}].high"), u.high, input.least..=input.most)?;
        }
    }
    Ok(())
}

/// The case that the ranges are put into, the inputs that act in it, and the names of those that do not.
/// Ranges around the set-up are cut at the ends of what the input takes.
pub(super) fn resolve(
    case: &Case,
    file: &UncertaintyFile,
) -> Result<(Case, Vec<Uncertain>, Vec<String>), SimError> {
    let mut base = case.clone();
    hold_cadence(&mut base);
    let (mut inputs, mut without_effect) = (Vec::new(), Vec::new());
    for u in &file.inputs {
        let input = crate::case::inputs::input(&u.input)?;
        let from = match u.around {
            Around::Zero => Some(0.0),
            Around::SetUp => base.get(input.key),
        };
        let range = from.map(|v| {
            let cut = |x: f64| (v + x).clamp(input.least, input.most);
            Uncertain { input, low: cut(u.low), high: cut(u.high), why: u.why.clone() }
        });
        match range {
            Some(range) if acts(&base, &range)? => inputs.push(range),
            _ => without_effect.push(u.input.clone()),
        }
    }
    if inputs.is_empty() {
        return Err(SimError::Usage(format!("no input of spread '{}' acts in this scenario", file.name)));
    }
    Ok((base, inputs, without_effect))
}

/// Whether an input reaches the trial: it is not the same with the least and with the greatest value.
fn acts(base: &Case, u: &Uncertain) -> Result<bool, SimError> {
    let with = |v: f64| {
        let mut case = base.clone();
        case.set(u.input.key, v)?;
        match case.setup.trial(&case.scenario) {
            Ok(trial) => Ok(Some(format!("{trial:?}"))),
            // for instance a setting that this joint does not have
            Err(SimError::Inconsistent { .. } | SimError::Usage(_)) => Ok(None),
            Err(e) => Err(e),
        }
    };
    let (low, high) = (with(u.low)?, with(u.high)?);
    Ok(low.is_some() && high.is_some() && low != high)
}

/// A scenario that scales its cadence keeps the resulting cadence when the speed is varied.
fn hold_cadence(case: &mut Case) {
    let Activity::Walk(w) = &case.scenario.activity else { return };
    let person = &case.setup.person;
    if w.cadence_factor.is_some() && case.setup.cadence_steps_per_min.is_none() {
        let pace = case.setup.drives.get(&w.drive).and_then(|drive| {
            w.pace(drive, person.leg_length_m(), person.thigh_length_m()).ok()?.cadence_steps_per_min
        });
        case.setup.cadence_steps_per_min = pace;
    }
}
