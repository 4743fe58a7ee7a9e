//! `KEY=VALUE,…` of an option, with the models it names read.

use super::slips;
use crate::case::variant::{Change, Model, Variant, WrittenChange, parse};
use crate::error::SimError;
use crate::joint::SettingName;
use crate::library::Library;

/// Reads a variant; `option` is named in errors about it.
///
/// # Errors
/// What is wrong in the text, an unknown model, what is wrong in its file.
pub fn read(option: &str, text: &str, library: &Library) -> Result<Variant, SimError> {
    let written = parse(text).map_err(|e| named(option, e))?;
    for change in &written {
        if let WrittenChange::Value(input, value) = change
            && let Some(setting) = SettingName::parse(input.key)
        {
            slips::name_setting(setting, *value);
        }
    }
    Variant::resolve(text, written, |model, name| {
        Ok(match model {
            Model::Person => Change::Person(Box::new(library.person(name)?)),
            Model::Prosthesis => Change::Prosthesis(Box::new(library.prosthesis(name)?)),
            Model::Knee => Change::Knee(Box::new(library.knee(name)?)),
        })
    })
}

/// The error with the option in front.
fn named(option: &str, e: SimError) -> SimError {
    match e {
        SimError::OutOfRange { field, value, allowed } => {
            SimError::OutOfRange { field: format!("{option} {field}"), value, allowed }
        }
        SimError::Inconsistent { field, why } => {
            SimError::Inconsistent { field: format!("{option} {field}"), why }
        }
        e @ (SimError::Unknown { .. } | SimError::Usage(_)) => SimError::Usage(format!("{option}: {e}")),
        other => other,
    }
}
