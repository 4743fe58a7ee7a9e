//! `kneedamp complete`.

use clap::{Args, Command, CommandFactory, ValueEnum};
use clap_complete::{Shell, generate};
use clap_mangen::Man;

use super::Cli;
use super::output::{Status, data};
use crate::error::SimError;

/// Examples:
///   kneedamp complete bash > ~/.local/share/bash-completion/completions/kneedamp
///   kneedamp complete fish > ~/.config/fish/completions/kneedamp.fish
///   kneedamp complete manual | man -l -
///   kneedamp complete manual window | man -l -
///
/// Prints what lets a shell complete commands and options, or the manual page of the program or of a command.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// For whom
    #[arg(value_enum)]
    pub reader: Reader,
    /// The command whose manual page is wanted
    pub command: Option<String>,
}

/// Who reads it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
#[allow(missing_docs)]
pub enum Reader {
    Bash,
    Zsh,
    Fish,
    Manual,
}

/// Runs the command.
///
/// # Errors
/// An unknown command.
pub fn run(o: &Options) -> Result<Status, SimError> {
    let mut command = Cli::command();
    let mut text = Vec::new();
    let shell = match o.reader {
        Reader::Bash => Shell::Bash,
        Reader::Zsh => Shell::Zsh,
        Reader::Fish => Shell::Fish,
        Reader::Manual => return manual(command, o.command.as_deref()),
    };
    if o.command.is_some() {
        return Err(SimError::Usage("a command is named for a manual page only".into()));
    }
    generate(shell, &mut command, "kneedamp", &mut text);
    data(&String::from_utf8_lossy(&text))?;
    Ok(Status::Done)
}

fn manual(mut of: Command, name: Option<&str>) -> Result<Status, SimError> {
    if let Some(name) = name {
        of.build(); // a command knows its place in the program only then
        let known = || of.get_subcommands().map(|c| c.get_name().to_owned()).collect::<Vec<_>>().join(", ");
        of = of.find_subcommand(name).cloned().ok_or_else(|| SimError::Unknown {
            kind: "command",
            name: name.into(),
            known: known(),
        })?;
    }
    let mut text = Vec::new();
    Man::new(of).render(&mut text).map_err(|e| SimError::Usage(e.to_string()))?;
    data(&String::from_utf8_lossy(&text))?;
    Ok(Status::Done)
}
