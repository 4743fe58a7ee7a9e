//! A file of lines that grows block by block and can be continued after a crash.
//!
//! Beside `FILE` stands `FILE.request.json`: the request with a fingerprint. When the file is opened again, the
//! fingerprint must be the same. An incomplete last line is cut off; every other line must be the expected row;
//! writing continues with the next one. Every block is synced to the disk before the next one begins. The file
//! has nothing but header and rows, so that `cat` joins shards.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{BufRead, BufReader, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use serde_json::Value as Json;

use super::output::write_whole;
use super::rows::RowFormat;
use crate::error::SimError;

/// Request for a file of rows.
#[derive(Debug)]
pub struct RowRequest<'a> {
    /// Format of the rows.
    pub format: RowFormat,
    /// First line, with its end; empty for none.
    pub header: &'a str,
    /// Number of its first row.
    pub first: u64,
    /// Number of rows when it is complete.
    pub rows: u64,
    /// Identifies the request.
    pub fingerprint: &'a str,
    /// The request for people and programs; the fingerprint is added.
    pub document: Json,
}

/// A file of rows, open for more.
#[derive(Debug)]
pub struct RowFile {
    file: File,
    path: PathBuf,
    /// Rows it holds.
    pub done: u64,
}

impl RowFile {
    /// Opens a new file, or one of the same request to continue.
    ///
    /// # Errors
    /// A file of another request, or one that has been changed; a file that another run is writing; an error
    /// of the operating system.
    pub fn open(path: &Path, request: &RowRequest) -> Result<Self, SimError> {
        if path.exists() && !path.is_file() {
            return Err(failed(path, &"is not a plain file"));
        }
        let file = locked(path, path)?;
        let mut rows = Self { file, path: path.to_owned(), done: 0 };
        let beside = beside(path);
        if rows.file.metadata().map_err(|e| failed(path, &e))?.len() == 0 {
            write_whole(&beside, request_document(&request.document, request.fingerprint).as_bytes())?;
        } else {
            check_same(path, &beside, request.fingerprint)?;
        }
        let (done, length) = whole_rows(&rows.file, path, request)?;
        let cut = rows.file.set_len(length).and_then(|()| rows.file.seek(SeekFrom::End(0)));
        cut.map_err(|e| failed(path, &e))?;
        rows.done = done;
        if length == 0 {
            rows.write(request.header)?;
        }
        Ok(rows)
    }

    /// Adds a block of whole lines and waits until the disk has it.
    ///
    /// # Errors
    /// An error of the operating system.
    pub fn append(&mut self, lines: &str, rows: u64) -> Result<(), SimError> {
        self.write(lines)?;
        self.done += rows;
        Ok(())
    }

    fn write(&mut self, text: &str) -> Result<(), SimError> {
        let done = self.file.write_all(text.as_bytes()).and_then(|()| self.file.sync_data());
        done.map_err(|e| failed(&self.path, &e))
    }
}

impl Drop for RowFile {
    fn drop(&mut self) {
        // closing the file is not enough while a child process that is just starting still holds it
        let _ = self.file.unlock();
    }
}

/// Opens a file that only one run at a time may hold, on behalf of the output file `of`.
pub(super) fn locked(of: &Path, path: &Path) -> Result<File, SimError> {
    let open = OpenOptions::new().read(true).write(true).create(true).truncate(false).open(path);
    let file = open.map_err(|e| failed(path, &e))?;
    // a file system without locks is accepted
    if matches!(file.try_lock(), Err(TryLockError::WouldBlock)) {
        return Err(failed(of, &"another run is writing this file"));
    }
    Ok(file)
}

pub(super) fn failed(path: &Path, why: &dyn std::fmt::Display) -> SimError {
    SimError::File { path: path.display().to_string(), why: why.to_string() }
}

/// `FILE.request.json`.
pub(super) fn beside(path: &Path) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(".request.json");
    PathBuf::from(name)
}

pub(super) fn request_document(document: &Json, fingerprint: &str) -> String {
    let mut document = document.clone();
    document["fingerprint"] = fingerprint.into();
    serde_json::to_string_pretty(&document).unwrap_or_default() + "\n"
}

pub(super) fn check_same(path: &Path, beside: &Path, fingerprint: &str) -> Result<(), SimError> {
    let text = std::fs::read_to_string(beside).map_err(|_| {
        let name = beside.display();
        failed(path, &format!("holds something, and {name} does not say what: choose another name"))
    })?;
    let known: Json = serde_json::from_str(&text).map_err(|e| failed(beside, &e))?;
    if known["fingerprint"] != fingerprint {
        return Err(failed(
            path,
            &"was written for another request or by another version: choose another name, or remove it",
        ));
    }
    Ok(())
}

/// Number of complete rows, and the length of the file up to the end of the last one.
fn whole_rows(file: &File, path: &Path, request: &RowRequest) -> Result<(u64, u64), SimError> {
    let mut reader = BufReader::new(file);
    let (mut line, mut rows, mut length) = (Vec::new(), 0, 0);
    let mut header = !request.header.is_empty();
    loop {
        line.clear();
        let read = reader.read_until(b'\n', &mut line).map_err(|e| failed(path, &e))?;
        if read == 0 || line.last() != Some(&b'\n') {
            return Ok((rows, length));
        }
        let right = if header {
            line == request.header.as_bytes()
        } else {
            rows < request.rows && line.starts_with(request.format.begins(request.first + rows).as_bytes())
        };
        if !right {
            let number = rows + 1 + u64::from(!header && !request.header.is_empty());
            return Err(failed(
                path,
                &format!("line {number} is not the line that belongs there: the file has been changed"),
            ));
        }
        rows += u64::from(!header);
        header = false;
        length += read as u64;
    }
}
