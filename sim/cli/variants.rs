//! `KEY=VALUE,…` of an option, with the models it names read.

use crate::case::variant::{Change, Variant, Wanted};
use crate::case::variant::{Model, parse};
use crate::error::SimError;
use crate::library::Library;

/// Reads a variant; `option` is named in errors about it.
///
/// # Errors
/// What is wrong in the text, an unknown model, what is wrong in its file.
pub fn read(option: &str, text: &str, library: &Library) -> Result<Variant, SimError> {
    let changes = parse(text)
        .map_err(|e| named(option, e))?
        .into_iter()
        .map(|wanted| {
            Ok(match wanted {
                Wanted::Model(Model::Person, name) => Change::Person(Box::new(library.person(&name)?)),
                Wanted::Model(Model::Prosthesis, name) => {
                    Change::Prosthesis(Box::new(library.prosthesis(&name)?))
                }
                Wanted::Model(Model::Knee, name) => Change::Knee(Box::new(library.knee(&name)?)),
                Wanted::Value(input, value) => Change::Value(input, value),
            })
        })
        .collect::<Result<_, SimError>>()?;
    Ok(Variant { written: text.trim().to_owned(), changes })
}

/// The error with the option in front.
fn named(option: &str, e: SimError) -> SimError {
    match e {
        SimError::OutOfRange { field, value, allowed } => {
            SimError::OutOfRange { field: format!("{option} {field}"), value, allowed }
        }
        SimError::Unknown { kind, name, known } => {
            SimError::Usage(format!("{option}: no {kind} named '{name}'; known: {known}"))
        }
        SimError::Usage(why) => SimError::Usage(format!("{option}: {why}")),
        other => other,
    }
}
