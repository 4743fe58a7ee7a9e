//! `kneedamp lesson`.

use std::path::{Path, PathBuf};

use clap::Args;

use super::common::{LanguageOption, LibraryOptions};
use super::output::{Status, check_ending, message};
use super::progress::with_progress;
use crate::error::SimError;
use crate::report::output::write_whole;
use crate::serve::built_engine::BuiltEngine;
use crate::serve::lesson_file::{runs, with_engine, with_grids};
use crate::teaching::model_set::ModelSet;

/// The engine, as cargo and `--engine` name it.
const ENGINE: &str = "kneedamp_engine.wasm";
/// Where cargo puts it, seen from the folder where cargo puts this program.
const BUILT: &str = "../wasm32-unknown-unknown/web";

/// Example:
///   kneedamp lesson --output lessons.html
///
/// Writes Explore and the lessons as one file that opens in any browser, also on a phone, without a server and
/// without a network. It carries the engine, if that has been built (docs/teaching.md says how): kneedamp_engine.wasm
/// beside this program or where cargo puts it. Without it the file has the lessons alone, and its sliders move over a
/// grid computed beforehand.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// File to write
    #[arg(long, value_name = "FILE.html")]
    pub output: PathBuf,
    /// Engine to carry
    #[arg(long, value_name = "FILE.wasm", env = "KNEEDAMP_ENGINE")]
    pub engine: Option<PathBuf>,
    /// Carries no engine even if there is one, for browsers that run none
    #[arg(long, conflicts_with = "engine")]
    pub no_engine: bool,
    #[command(flatten)]
    pub language: LanguageOption,
    #[command(flatten)]
    pub library: LibraryOptions,
}

/// Runs the command.
///
/// # Errors
/// What is wrong in a file; an engine that was named and is none; a run that fails; a file that cannot be written.
pub fn run(o: &Options) -> Result<Status, SimError> {
    check_ending("--output", &o.output, "html")?;
    let words = o.language.words()?;
    let library = o.library.open()?;
    let models = ModelSet::of(&library)?;
    let engine = match &o.engine {
        Some(path) => Ok(read(path)?),
        None if o.no_engine => Err("no engine is wanted".to_owned()),
        None => find(),
    };
    let (text, what) = match engine {
        Ok(engine) => {
            (with_engine(&models, words, &library.user_files()?, &engine)?, "with the engine".to_owned())
        }
        Err(why) => {
            let text = with_progress(runs() as u64, |tick| with_grids(&models, words, tick))?;
            (text, format!("{} runs computed beforehand, without the engine: {why}", runs()))
        }
    };
    write_whole(&o.output, text.as_bytes())?;
    message(&format!("{}: {:.2} MB, {what}", o.output.display(), text.len() as f64 / 1e6));
    Ok(Status::Done)
}

/// Reads an engine.
fn read(path: &Path) -> Result<BuiltEngine, SimError> {
    let file = |why: String| SimError::File { path: path.display().to_string(), why };
    let bytes = std::fs::read(path).map_err(|e| file(e.to_string()))?;
    BuiltEngine::of(bytes).map_err(|e| file(e.to_string()))
}

/// The engine beside this program, or where cargo puts it; or why there is none.
fn find() -> Result<BuiltEngine, String> {
    let program = std::env::current_exe().unwrap_or_default();
    let folder = program.parent().unwrap_or(Path::new(""));
    let places = [folder.join(ENGINE), folder.join(BUILT).join(ENGINE)];
    match places.iter().find(|p| p.is_file()) {
        Some(path) => read(path).map_err(|e| e.to_string()),
        None => Err(format!("{ENGINE} is not beside this program (docs/teaching.md says how to build it)")),
    }
}
