//! `kneedamp serve`.

use std::time::Duration;

use clap::Args;

use super::common::LibraryOptions;
use super::output::{Status, data, message};
use crate::error::SimError;
use crate::serve::Page;
use crate::teaching::model_set::ModelSet;

/// Examples:
///   kneedamp serve --open
///   kneedamp serve --port 0
///   kneedamp serve --library my-folder
///
/// Serves the interactive page to this machine only, until it is stopped with Ctrl-C; works without a network.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// Port on 127.0.0.1; 0 is any free one
    #[arg(long, value_name = "PORT", default_value_t = 8431)]
    pub port: u16,
    /// Time for an answer or a sheet; what takes longer is stopped
    #[arg(long, value_name = "SECONDS", default_value_t = 60, value_parser = clap::value_parser!(u64).range(1..=3600))]
    pub deadline: u64,
    /// Opens the page in the browser
    #[arg(long)]
    pub open: bool,
    #[command(flatten)]
    pub library: LibraryOptions,
}

/// Runs the command.
///
/// # Errors
/// What is wrong in a file; a port that is in use.
pub fn run(o: &Options) -> Result<Status, SimError> {
    let models = ModelSet::of(&o.library.open()?)?;
    let page = Page::bind(o.port)?;
    data(&format!("{}\n", page.url()))?;
    message("The page is open to this machine only. Stop it with Ctrl-C.");
    if o.open
        && let Err(e) = open::that_detached(page.url())
    {
        message(&format!("no browser could be opened ({e}); open the address above"));
    }
    page.serve(models, Duration::from_secs(o.deadline))?;
    Ok(Status::Done)
}
