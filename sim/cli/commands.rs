//! The commands of the program: one enum, from which clap has names, help and options; one place that runs them.

use clap::error::{ContextKind, ContextValue};
use clap::{CommandFactory, Parser, Subcommand};

use super::output::Status;
use super::{
    adjust, align, check, compare, complete, drive, identify, lesson, list, new, next, recheck, rules, run,
    schema, serve, sheet, sweep, uncertainty, verify, window,
};
use crate::error::SimError;
use crate::units::number_hint;

/// What a prosthetic knee's settings do, computed before anyone walks on it.
#[derive(Debug, Parser)]
#[command(name = "kneedamp", version, about, after_help = crate::CAUTION, infer_long_args = false)]
pub(super) struct Cli {
    #[command(subcommand)]
    pub(super) command: Command,
}

// `about` rather than a doc comment: that would take the place of the examples, which `--help` shows from
// the doc comments of the options
#[derive(Debug, Subcommand)]
pub(super) enum Command {
    #[command(
        about = "Runs scenarios for one person, prosthesis, knee and settings; without arguments, the built-in example"
    )]
    Run(run::Options),
    #[command(
        about = "The range of each setting within which every limit holds, and which limit closes each edge"
    )]
    Window(window::Options),
    #[command(
        about = "Two to four variants next to each other: differences, verdicts, what is noticed; the lessons"
    )]
    Compare(compare::Options),
    #[command(
        about = "What a new shoe, foot, weight, oil temperature or spring moved, and what to look at again"
    )]
    Recheck(recheck::Options),
    #[command(
        about = "The fitting session in simulation: look, change one setting by one step, re-check; or what a symptom can mean"
    )]
    Adjust(Box<adjust::Options>),
    #[command(
        about = "What was seen, what would explain it, and which single step is likely to help or to harm"
    )]
    Next(Box<next::Options>),
    #[command(
        about = "Tries every rule of the trade over a sampled population; counter-examples to run again"
    )]
    Rules(rules::Options),
    #[command(about = "What uncertain inputs do to the outcomes of one scenario, and which matters most")]
    Uncertainty(uncertainty::Options),
    #[command(
        about = "Standing alignment: load line against the knee axis, and what it costs in other tasks"
    )]
    Align(align::Options),
    #[command(about = "Runs any inputs over grids or samples to CSV or JSON lines; resumable, in shards")]
    Sweep(sweep::Options),
    #[command(
        about = "Writes the printable teaching sheet of a model person: ten questions, symptoms, room for notes"
    )]
    Sheet(sheet::Options),
    #[command(
        about = "Runs a result again from its own inputs, and integrates it with a second integrator; prints the differences"
    )]
    Verify(verify::Options),
    #[command(about = "The interactive page, for this machine only: move a setting and watch the leg")]
    Serve(serve::Options),
    #[command(about = "Writes the teaching lessons as one file that opens from disk, on a phone too")]
    Lesson(lesson::Options),
    #[command(about = "Makes a walking drive from joint angles of users of above-knee prostheses")]
    Drive(drive::Options),
    #[command(about = "From what was measured to models: a stride, or torques of a damper on a bench")]
    Identify(identify::Options),
    #[command(about = "Lists what is built in and what your folder adds")]
    List(list::Options),
    #[command(about = "Writes an editable copy of a built-in file")]
    New(new::Options),
    #[command(about = "Checks a file: names line, field and allowed range of what is wrong")]
    Check(check::Options),
    #[command(about = "Prints the JSON Schema of a kind of file, for editors")]
    Schema(schema::Options),
    #[command(about = "Prints completions for a shell, or the manual page")]
    Complete(complete::Options),
}

/// Runs a command.
///
/// # Errors
/// What the command returns.
pub(super) fn dispatch(command: Command) -> Result<Status, SimError> {
    match command {
        Command::Run(o) => run::run(&o),
        Command::Rules(o) => rules::run(&o),
        Command::Uncertainty(o) => uncertainty::run(&o),
        Command::Compare(o) => compare::run(&o),
        Command::Recheck(o) => recheck::run(&o),
        Command::Align(o) => align::run(&o),
        Command::Sweep(o) => sweep::run(&o),
        Command::Adjust(o) => adjust::run(&o),
        Command::Next(o) => next::run(&o),
        Command::Window(o) => window::run(&o),
        Command::Sheet(o) => sheet::run(&o),
        Command::Verify(o) => verify::run(&o),
        Command::Serve(o) => serve::run(&o),
        Command::Lesson(o) => lesson::run(&o),
        Command::Drive(o) => drive::run(&o),
        Command::Identify(o) => identify::run(&o),
        Command::List(o) => list::run(&o),
        Command::New(o) => new::run(&o),
        Command::Check(o) => check::run(&o),
        Command::Schema(o) => schema::run(&o),
        Command::Complete(o) => complete::run(&o, Cli::command()),
    }
}

/// An error of the command line, which clap prints and exits with 2, with a tip how to write the value that is wrong.
pub(super) fn with_hint(mut e: clap::Error) -> clap::Error {
    let text = |kind| match e.get(kind) {
        Some(ContextValue::String(text)) => text.clone(),
        _ => String::new(),
    };
    let (option, value) = (text(ContextKind::InvalidArg), text(ContextKind::InvalidValue));
    let hint = match option.starts_with("--seen") {
        true => adjust::hint_at_symptom(&value),
        false => number_hint(&value, ""),
    };
    if let Some(hint) = hint {
        e.insert(ContextKind::Suggested, ContextValue::StyledStrs(vec![hint.into()]));
    }
    e
}

/// Commands and options that have another name now.
const RENAMED: [(&str, &str); 5] = [
    ("spread", "uncertainty"),
    ("changed", "recheck"),
    ("--side-by-side", "--batch"),
    ("--spread", "--ranges"),
    ("walk-crowded", "walk-hurried"),
];

/// The error for a command line with an old name: commands stand first, options and scenarios anywhere.
pub(super) fn renamed(words: &mut dyn Iterator<Item = String>) -> Option<String> {
    let is_old = |place: usize, word: &str, old: &str| {
        let name = word.split_once('=').map_or(word, |(name, _)| name);
        name == old && (place == 0 || !matches!(old, "spread" | "changed"))
    };
    words.enumerate().find_map(|(place, word)| {
        let (old, new) = RENAMED.iter().find(|(old, _)| is_old(place, &word, old))?;
        Some(format!("'{old}' is called '{new}' now"))
    })
}
