//! `kneedamp lesson`.

use std::path::PathBuf;

use clap::Args;

use super::common::{LanguageOption, LibraryOptions, with_progress};
use super::model_set;
use super::output::{Status, check_ending, message};
use crate::error::SimError;
use crate::report::output::write_whole;
use crate::serve::lesson_file::{lesson_file, runs};

/// Example:
///   kneedamp lesson --output lessons.html
///
/// Writes the eight teaching lessons as one file that opens in any browser, also on a phone, without a server
/// and without a network: guess first, then reveal. Its sliders move over a grid computed beforehand.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// File to write
    #[arg(long, value_name = "FILE.html")]
    pub output: PathBuf,
    #[command(flatten)]
    pub language: LanguageOption,
    #[command(flatten)]
    pub library: LibraryOptions,
}

/// Runs the command.
///
/// # Errors
/// What is wrong in a file; a run that fails; a file that cannot be written.
pub fn run(o: &Options) -> Result<Status, SimError> {
    check_ending("--output", &o.output, "html")?;
    let words = o.language.words()?;
    let models = model_set::read(&o.library)?;
    let text = with_progress(runs() as u64, |tick| lesson_file(&models, words, tick))?;
    write_whole(&o.output, text.as_bytes())?;
    message(&format!("{}: {} runs, {:.2} MB", o.output.display(), runs(), text.len() as f64 / 1e6));
    Ok(Status::Done)
}
