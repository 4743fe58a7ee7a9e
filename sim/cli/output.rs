//! What a command writes, and its exit status.

use std::io::Write;
use std::path::Path;

use crate::error::SimError;

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
    let _ = writeln!(std::io::stderr(), "{text}");
}
