//! Rebuilds the crate when a built-in file changes: `include_dir` itself does not watch its folder. Gives the crate a
//! mark of its sources: the program takes an engine for the lesson file only if both are made from the same.

use std::path::{Path, PathBuf};

/// What answers depend on, in this order; of the reports and the server, only what the engine has too.
const SOURCES: [&str; 9] = [
    "Cargo.lock",
    "models",
    "scenarios",
    "sim",
    "sim/report/page_data.rs",
    "sim/report/scenario_data.rs",
    "sim/report/teaching_data.rs",
    "sim/serve/measured.rs",
    "sim/serve/questions.rs",
];
const APART: [&str; 3] = ["sim/cli", "sim/report", "sim/serve"];

fn main() {
    let mut files = Vec::new();
    for source in SOURCES {
        find(Path::new(source), &mut files);
    }
    // folders too: a file may be new in them
    println!("cargo:rerun-if-changed=models");
    println!("cargo:rerun-if-changed=scenarios");
    for file in &files {
        println!("cargo:rerun-if-changed={}", file.display());
    }
    // FNV-1a, the same on every machine and with every compiler
    let mut mark: u64 = 0xcbf2_9ce4_8422_2325;
    for file in files {
        let text = std::fs::read(&file).unwrap_or_default();
        for byte in text.into_iter().filter(|b| *b != b'\r') {
            mark = (mark ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
        }
    }
    println!("cargo:rustc-env=KNEEDAMP_SOURCES=kneedamp sources {mark:016x}");
}

fn find(path: &Path, files: &mut Vec<PathBuf>) {
    if APART.iter().any(|apart| path == Path::new(apart)) {
        return;
    }
    let Ok(entries) = std::fs::read_dir(path) else {
        files.push(path.into());
        return;
    };
    let mut paths: Vec<PathBuf> = entries.filter_map(|e| Some(e.ok()?.path())).collect();
    paths.sort();
    for path in paths {
        find(&path, files);
    }
}
