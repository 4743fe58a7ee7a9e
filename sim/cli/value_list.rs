//! Values of an option: one, a list, or `FROM:TO:STEP`.

use std::str::FromStr;

use crate::error::SimError;
use crate::numerics::steps::Steps;
use crate::units::{comma_hint, within};

/// More values than this are refused as a slip.
const MOST_VALUES: u64 = 200;

/// One value or several, in the order given; steps from `FROM` and `TO` itself if a step falls on it.
#[derive(Debug, Clone, PartialEq)]
pub struct ValueList {
    /// Values.
    pub values: Vec<f64>,
}

impl FromStr for ValueList {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let number = |part: &str| {
            let value: Result<f64, _> = part.trim().parse();
            value.map_err(|_| {
                format!("'{}' is not a number; wanted VALUE, VALUE,VALUE,… or FROM:TO:STEP", part.trim())
            })
        };
        let parts = text.split(':').map(number_list(&number)).collect::<Result<Vec<Vec<f64>>, String>>()?;
        let values = match parts.as_slice() {
            [list] => list.clone(),
            [from, to, step] => match (from.as_slice(), to.as_slice(), step.as_slice()) {
                ([from], [to], [step]) => steps(*from, *to, *step)?,
                _ => return Err("wanted FROM:TO:STEP or a list, not both".into()),
            },
            _ => return Err("a range is FROM:TO:STEP".into()),
        };
        let mut sorted = values.clone();
        sorted.sort_by(f64::total_cmp);
        match sorted.windows(2).find(|w| w[0].total_cmp(&w[1]).is_eq()) {
            Some(w) => Err(format!("{} is given twice", w[0])),
            None => Ok(Self { values }),
        }
    }
}

fn number_list(number: &impl Fn(&str) -> Result<f64, String>) -> impl Fn(&str) -> Result<Vec<f64>, String> {
    move |part: &str| part.split(',').map(number).collect()
}

fn steps(from: f64, to: f64, step: f64) -> Result<Vec<f64>, String> {
    let steps = Steps::new(from, to, step)?;
    if steps.count > MOST_VALUES {
        return Err(format!("more than {MOST_VALUES} values: take a larger STEP"));
    }
    Ok(steps.values().collect())
}

impl ValueList {
    /// The values, if all lie within a range.
    ///
    /// # Errors
    /// The first that does not.
    pub fn checked(&self, field: &str, range: std::ops::RangeInclusive<f64>) -> Result<&[f64], SimError> {
        for v in &self.values {
            within(field, *v, range.clone())?;
        }
        Ok(&self.values)
    }

    /// The value, if there is only one.
    ///
    /// # Errors
    /// Several.
    pub fn single(&self, field: &str) -> Result<f64, SimError> {
        match self.values.as_slice() {
            [one] => Ok(*one),
            several => {
                let text: Vec<String> = several.iter().map(f64::to_string).collect();
                let hint = match text.as_slice() {
                    [whole, part] => comma_hint(Some(whole), part),
                    _ => String::new(),
                };
                Err(SimError::Usage(format!("{field} takes one value here{hint}; ranges are for `window`")))
            }
        }
    }
}
