//! The ranges of an uncertainty file in one case: their inputs, and which of them have an effect.

use crate::case::inputs::{Case, INPUTS, Input, input};
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
    /// The range asked for; wider where the input does not take all of it.
    pub asked: [f64; 2],
    /// Why this range.
    pub why: String,
}

impl Uncertain {
    /// `mass_kg from 25 to 45 kg is cut to 30 to 45 kg`; none where the input takes the whole range.
    #[must_use]
    pub fn cut(&self) -> Option<String> {
        let Self { input, low, high, asked: [from, to], .. } = self;
        (from < low || to > high).then(|| {
            let unit = if input.unit.is_empty() { String::new() } else { format!(" {}", input.unit) };
            format!("{} from {from} to {to}{unit} is cut to {low} to {high}{unit}", input.key)
        })
    }
}

/// Checks that every name is an input and that every range lies within what the input takes.
///
/// # Errors
/// The first field that does not.
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

/// The base case, the inputs that have an effect in it, and the names of those that have none.
/// Ranges around the set-up are clipped to what the input takes.
pub(crate) fn resolve(
    case: &Case,
    file: &UncertaintyFile,
) -> Result<(Case, Vec<Uncertain>, Vec<String>), SimError> {
    let mut base = case.clone();
    fix_cadence(&mut base);
    let (mut inputs, mut without_effect) = (Vec::new(), Vec::new());
    for u in &file.inputs {
        let input = input(&u.input)?;
        let from = match u.around {
            Around::Zero => Some(0.0),
            Around::SetUp => base.get(input.key),
        };
        let range = from.map(|v| {
            let clip = |x: f64| (v + x).clamp(input.least, input.most);
            let asked = [v + u.low, v + u.high];
            Uncertain { input, low: clip(u.low), high: clip(u.high), asked, why: u.why.clone() }
        });
        match range {
            Some(range) if has_effect(&base, &range)? => inputs.push(range),
            _ => without_effect.push(u.input.clone()),
        }
    }
    if inputs.is_empty() {
        return Err(SimError::Usage(format!("no input of the ranges '{}' acts in this scenario", file.name)));
    }
    Ok((base, inputs, without_effect))
}

/// Whether an input has an effect: the trials with its least and its greatest value differ.
fn has_effect(base: &Case, u: &Uncertain) -> Result<bool, SimError> {
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

/// Fixes the cadence of a scenario that scales it, so that it does not follow the varied speed.
fn fix_cadence(case: &mut Case) {
    let Activity::Walk(w) = &case.scenario.activity else { return };
    let person = &case.setup.person;
    if w.cadence_factor.is_some() && case.setup.cadence_steps_per_min.is_none() {
        let pace = case.setup.drives.get(&w.drive).and_then(|drive| {
            w.pace(&drive.file, person.leg_length_m(), person.thigh_length_m()).ok()?.cadence_steps_per_min
        });
        case.setup.cadence_steps_per_min = pace;
    }
}
