//! Output files, written whole or not at all: a temporary file in the same folder, synced, renamed. A link is followed;
//! an existing file keeps its permissions. What a killed run left behind goes when the same file is written again.

use std::fs::File;
use std::io::Write;
use std::path::Path;
use std::time::Duration;

use crate::error::SimError;

/// How the name of a temporary file ends.
const PART: &str = ".kneedamp-part";
/// A temporary file that has not grown for so long is nobody's: its content is at hand before it is made.
const LEFT_AFTER: Duration = Duration::from_secs(60);

/// Writes `content` to `path`; an existing file is replaced in one step.
///
/// # Errors
/// The folder does not exist or cannot be written; the file is then as it was before.
pub fn write_whole(path: &Path, content: &[u8]) -> Result<(), SimError> {
    write_whole_by(path, |file| Ok(file.write_all(content)?))
}

/// Writes what `fill` puts into a file to `path`; an existing file is replaced in one step.
///
/// # Errors
/// Those of `fill`; the folder does not exist or cannot be written. The file is then as it was before.
pub fn write_whole_by(
    path: &Path,
    fill: impl FnOnce(&mut File) -> Result<(), Box<dyn std::error::Error>>,
) -> Result<(), SimError> {
    let named = path.display().to_string();
    let failed = |e: &dyn std::fmt::Display| SimError::File { path: named.clone(), why: e.to_string() };
    let target = path.canonicalize();
    if target.is_err() && path.is_symlink() {
        return Err(failed(&"a link to a file that is not there"));
    }
    let exists = target.is_ok();
    let path = target.as_deref().unwrap_or(path);
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or_else(|| Path::new("."));
    if !folder.is_dir() {
        return Err(failed(&format!("no such folder: {}", folder.display())));
    }
    // the error's own text names the temporary file
    let reason = |e: std::io::Error| failed(&std::io::Error::from(e.kind()));
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let begins = format!(".{name}.");
    remove_left(folder, &begins);
    let mut builder = tempfile::Builder::new();
    builder.prefix(&begins).suffix(PART);
    #[cfg(unix)]
    {
        // a temporary file is private by default; an output file is like any other, within the umask
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder).map_err(reason)?;
    fill(file.as_file_mut()).map_err(|e| failed(&e))?;
    file.as_file().sync_all().map_err(|e| failed(&e))?;
    if exists {
        let own = std::fs::metadata(path).map_err(|e| failed(&e))?.permissions();
        file.as_file().set_permissions(own).map_err(|e| failed(&e))?;
    }
    file.persist(path).map_err(|e| failed(&e.error))?;
    Ok(())
}

/// Removes temporary files of this output file that a killed run left. One that cannot be removed does no harm.
fn remove_left(folder: &Path, begins: &str) {
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name();
        let name = name.to_string_lossy();
        let ours = name.starts_with(begins) && name.ends_with(PART);
        let age = || entry.metadata().ok()?.modified().ok()?.elapsed().ok();
        if ours && age().is_some_and(|age| age > LEFT_AFTER) {
            let _ = std::fs::remove_file(entry.path());
        }
    }
}
