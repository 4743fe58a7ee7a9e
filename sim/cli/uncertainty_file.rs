//! An uncertainty file with its inputs checked: the library does not know which inputs there are.

use crate::error::SimError;
use crate::library::{in_text, parse};
use crate::scenario::uncertainty_file::UncertaintyFile;
use crate::study::uncertainty::ranges;

/// Reads and checks the file.
///
/// # Errors
/// What is wrong and in which line, for instance a name that is no input.
pub fn read(text: &str, origin: &str) -> Result<UncertaintyFile, SimError> {
    let file: UncertaintyFile = parse(text, origin)?;
    ranges::check(&file).map_err(|e| in_text(text, origin, e))?;
    Ok(file)
}
