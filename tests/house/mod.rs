//! The rules of the house: floors, circles, sizes, words, documents that stay true.

mod dependencies;
mod documents;
mod imports;
mod languages;
mod sizes;
mod words;

use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn text(path: &str) -> String {
    std::fs::read_to_string(root().join(path)).expect(path)
}

fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
    let entries = std::fs::read_dir(folder).expect("a folder");
    let mut paths: Vec<PathBuf> = entries.map(|e| e.expect("an entry").path()).collect();
    paths.sort();
    for path in paths {
        if path.is_dir() { walk(&path, found) } else { found.push(path) }
    }
}

/// Files with one of these endings below a folder: path from the root, text.
fn files(folder: &str, endings: &[&str]) -> Vec<(String, String)> {
    let mut paths = Vec::new();
    walk(&root().join(folder), &mut paths);
    paths
        .into_iter()
        .filter(|p| p.extension().is_some_and(|e| endings.iter().any(|x| e == *x)))
        .map(|p| {
            let name = p.strip_prefix(root()).expect("below the root").to_string_lossy().into_owned();
            (name, std::fs::read_to_string(&p).expect("text"))
        })
        .collect()
}

fn rust_files(folder: &str) -> Vec<(String, String)> {
    files(folder, &["rs"])
}
