//! Output files, written whole or not at all: a temporary file in the same folder, synced, renamed.

use std::io::Write;
use std::path::Path;

use crate::error::SimError;

/// Writes `content` to `path`; an existing file is replaced in one step.
///
/// # Errors
/// The folder does not exist or cannot be written; the file is then as it was before.
pub fn write_whole(path: &Path, content: &[u8]) -> Result<(), SimError> {
    let failed =
        |e: &dyn std::fmt::Display| SimError::File { path: path.display().to_string(), why: e.to_string() };
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or_else(|| Path::new("."));
    if !folder.is_dir() {
        return Err(failed(&format!("no such folder: {}", folder.display())));
    }
    // the error's own text names the temporary file
    let reason = |e: std::io::Error| failed(&std::io::Error::from(e.kind()));
    let mut file = tempfile::NamedTempFile::new_in(folder).map_err(reason)?;
    file.write_all(content).and_then(|()| file.as_file().sync_all()).map_err(|e| failed(&e))?;
    #[cfg(unix)]
    {
        // a temporary file is private; an output file is like any other
        use std::os::unix::fs::PermissionsExt;
        let open = std::fs::Permissions::from_mode(0o644);
        file.as_file().set_permissions(open).map_err(|e| failed(&e))?;
    }
    file.persist(path).map_err(|e| failed(&e.error))?;
    Ok(())
}
