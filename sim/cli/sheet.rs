//! `kneedamp sheet`.

use std::path::PathBuf;

use clap::Args;

use super::common::{LanguageOption, SetupOptions};
use super::output::{Status, check_ending, message};
use super::progress::with_progress;
use super::replay_command::quoted;
use super::variants;
use crate::error::SimError;
use crate::report;
use crate::teaching::sheet::{SCENARIOS, STEPS, sheet};

/// Examples:
///   kneedamp sheet --output sheet.html
///   kneedamp sheet --output heavy.html --person 100-kg --set catch-load=30
///   kneedamp sheet --output after.html --set swing-flexion=65 --was swing-flexion=70
///
/// Writes the teaching sheet of a model person: ten questions answered by simulation, symptoms with what to
/// rule out and the effect of settings, room for notes. Two pages of A4 or Letter in one file, nothing to fetch.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// File to write
    #[arg(long, value_name = "FILE.html")]
    pub output: PathBuf,
    /// What was different before; the sheet then says what the change did
    #[arg(long, value_name = "KEY=VALUE,…")]
    pub was: Option<String>,
    #[command(flatten)]
    pub language: LanguageOption,
    #[command(flatten)]
    pub setup: SetupOptions,
}

/// Runs the command.
///
/// # Errors
/// Bad input, or a failed run.
pub fn run(o: &Options) -> Result<Status, SimError> {
    check_ending("--output", &o.output, "html")?;
    let words = o.language.words()?;
    let library = o.setup.library.open()?;
    let scenarios = SCENARIOS.iter().map(|n| library.scenario(n)).collect::<Result<Vec<_>, _>>()?;
    let setup = o.setup.read(&library, &scenarios)?;
    let was = o.was.as_ref().map(|w| variants::read("--was", w, &library)).transpose()?;
    let found = with_progress(STEPS, |tick| sheet(&setup, &scenarios, was.as_ref(), tick))?;
    let page = report::sheet::html(&found, &asked(), words)?;
    report::output::write_whole(&o.output, page.as_bytes())?;
    message(&format!("wrote {}: print it from a browser", o.output.display()));
    Ok(Status::Done)
}

/// The command line, quoted for a shell.
fn asked() -> String {
    let words = std::env::args_os().skip(1).map(|a| quoted(&a.to_string_lossy()));
    format!("kneedamp {}", words.collect::<Vec<_>>().join(" "))
}
