//! The program as a user runs it.

mod adjust;
mod align;
#[cfg(feature = "columnar")]
mod columnar;
mod compare;
mod drive;
mod editors;
mod errors;
mod identify;
mod inputs;
mod kills;
mod next;
mod progress;
mod recheck;
mod renamed;
mod rules;
mod run;
mod sheet;
mod sweep;
mod tools;
mod uncertainty;
mod verify;
mod window;

use assert_cmd::Command;

/// `kneedamp` with arguments, in an environment of its own.
pub fn kneedamp(args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_kneedamp"));
    command.env_remove("KNEEDAMP_LIBRARY").args(args);
    command
}

/// Standard output of a run that must end with `code`.
pub fn stdout(args: &[&str], code: i32) -> String {
    let out = kneedamp(args).assert().code(code).get_output().stdout.clone();
    String::from_utf8(out).expect("UTF-8")
}

/// The JSON document of a run that must end with 0.
pub fn json(args: &[&str]) -> serde_json::Value {
    serde_json::from_str(&stdout(args, 0)).expect("JSON")
}

/// Standard error of a run that must end with 2 and print no data.
pub fn refused(args: &[&str]) -> String {
    let assert = kneedamp(args).assert().code(2);
    let output = assert.get_output();
    assert!(output.stdout.is_empty(), "nothing on stdout: {args:?}");
    String::from_utf8(output.stderr.clone()).expect("UTF-8")
}

/// A report without its line breaks.
pub fn unwrapped(out: &str) -> String {
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Lines that a text takes on a terminal of 100 columns.
pub fn screen_lines(out: &str) -> usize {
    out.lines().map(|line| line.trim_end().chars().count().div_ceil(100).max(1)).sum()
}
