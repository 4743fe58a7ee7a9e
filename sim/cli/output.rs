//! What a command writes, and its exit status.

use std::cell::RefCell;
use std::io::Write;
use std::path::Path;

use crate::error::SimError;

/// What a command has written for a program that calls it.
#[derive(Debug, Clone, Default)]
pub struct Written {
    /// Its document.
    pub data: String,
    /// Messages for people: the caution, notes on inputs that look like slips.
    pub messages: Vec<String>,
}

thread_local! {
    /// Set while a program calls: its arguments, and what is written.
    static CALL: RefCell<Option<(Vec<String>, Written)>> = const { RefCell::new(None) };
}

/// Runs a command whose output is kept instead of printed. Commands write from the thread that they were called on.
pub fn kept<T>(arguments: &[String], work: impl FnOnce() -> T) -> (T, Written) {
    CALL.with_borrow_mut(|call| *call = Some((arguments.to_vec(), Written::default())));
    let result = work();
    let written = CALL.with_borrow_mut(Option::take).map(|c| c.1).unwrap_or_default();
    (result, written)
}

/// Lets what is kept take something; false where nothing is kept.
fn keep(put: impl FnOnce(&mut Written)) -> bool {
    CALL.with_borrow_mut(|call| call.as_mut().map(|c| put(&mut c.1)).is_some())
}

/// The arguments of this call, or of the process.
pub fn arguments() -> Vec<String> {
    let own = || std::env::args_os().skip(1).map(|a| a.to_string_lossy().into_owned()).collect();
    CALL.with_borrow(|call| call.as_ref().map(|c| c.0.clone())).unwrap_or_else(own)
}

/// Exit status.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Status {
    /// Ran.
    Done,
    /// Ran, but with `--strict` a limit is broken or doubtful.
    LimitBroken,
    /// Ran, but a result that was run again differs.
    Differs,
    /// Bad usage or input.
    Failed,
}

impl Status {
    /// Process exit code.
    #[must_use]
    pub fn code(self) -> u8 {
        match self {
            Self::Done => 0,
            Self::LimitBroken => 3,
            Self::Differs => 4,
            Self::Failed => 2,
        }
    }
}

/// Writes data to stdout. A closed pipe (`| head`) ends quietly.
///
/// # Errors
/// Standard output cannot be written.
pub fn data(text: &str) -> Result<(), SimError> {
    data_while_read(text).map(|_| ())
}

/// Writes one piece of a long output; false once the reader has closed the pipe.
///
/// # Errors
/// Standard output cannot be written.
pub fn data_while_read(text: &str) -> Result<bool, SimError> {
    if keep(|written| written.data.push_str(text)) {
        return Ok(true);
    }
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Ok(()) => Ok(true),
        Err(e) if e.kind() == std::io::ErrorKind::BrokenPipe => Ok(false),
        Err(e) => Err(SimError::File { path: "standard output".into(), why: e.to_string() }),
    }
}

/// Refuses a file whose name, or that of the file it links to, has another ending: it is likely to be something else,
/// as a model file.
///
/// # Errors
/// Another ending.
pub fn check_ending(option: &str, path: &Path, wanted: &str) -> Result<(), SimError> {
    let ends = |p: &Path| p.extension().is_some_and(|e| e.eq_ignore_ascii_case(wanted));
    // a file that does not exist yet leads nowhere else
    if ends(path) && path.canonicalize().map_or(true, |target| ends(&target)) {
        return Ok(());
    }
    Err(SimError::Usage(format!("{option} {}: the name of this file ends in .{wanted}", path.display())))
}

/// Writes a message to stderr.
pub fn message(text: &str) {
    if !keep(|written| written.messages.push(text.to_owned())) {
        let _ = writeln!(std::io::stderr(), "{text}");
    }
}
