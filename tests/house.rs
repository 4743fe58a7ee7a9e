//! The rules of the house: floors, sizes, purposes, documents that stay true.

use std::path::{Path, PathBuf};

/// Floors from the ground up: a module imports from lower floors only.
const FLOORS: [&[&str]; 9] = [
    &["error", "quantity"],
    &["body", "joint", "findings"],
    &["scenario"],
    &["motion"],
    &["outcome"],
    &["study", "library"],
    &["report"],
    &["serve"],
    &["cli"],
];

/// Crates that one file or folder alone may name.
const KEPT_IN: [(&str, &str); 8] = [
    ("resvg", "sim/report/png.rs"),
    ("pulp", "sim/motion/batch/vector.rs"),
    ("serde_yaml", "sim/library/yaml.rs"),
    ("clap", "sim/cli/"),
    ("plotters", "sim/report/plot"),
    ("axum", "sim/serve/"),
    ("tokio", "sim/serve/"),
    ("hyper", "sim/serve/"),
];

const LONGEST_FILE: usize = 600;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
    let entries = std::fs::read_dir(folder).expect("a folder");
    let mut paths: Vec<PathBuf> = entries.map(|e| e.expect("an entry").path()).collect();
    paths.sort();
    for path in paths {
        if path.is_dir() { walk(&path, found) } else { found.push(path) }
    }
}

/// Rust files below a folder: path from the root, text.
fn sources(folder: &str) -> Vec<(String, String)> {
    let mut files = Vec::new();
    walk(&root().join(folder), &mut files);
    files
        .into_iter()
        .filter(|p| p.extension().is_some_and(|e| e == "rs"))
        .map(|p| {
            let name = p.strip_prefix(root()).expect("below the root").to_string_lossy().into_owned();
            (name, std::fs::read_to_string(&p).expect("text"))
        })
        .collect()
}

fn floor(module: &str) -> Option<usize> {
    FLOORS.iter().position(|f| f.contains(&module))
}

/// `sim/joint/oil.rs` → joint, `sim/library/mod.rs` → library.
fn module_of(path: &str) -> &str {
    path.trim_start_matches("sim/").split(['/', '.']).next().unwrap_or("")
}

/// Modules named by `crate::…` on a line of code.
fn imports(line: &str) -> Vec<String> {
    let code = line.split("//").next().unwrap_or("");
    code.match_indices("crate::")
        .map(|(i, m)| code[i + m.len()..].chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect())
        .collect()
}

#[test]
fn house_floors_are_kept() {
    let mut breaches = Vec::new();
    for (path, text) in sources("sim") {
        let module = module_of(&path);
        let Some(own) = floor(module) else {
            assert!(["lib", "main", "build"].contains(&module), "{path} stands on no floor");
            continue;
        };
        for (n, line) in text.lines().enumerate() {
            for other in imports(line) {
                let sideways = floor(&other).is_some_and(|f| f == own && other != module && own != 0);
                if floor(&other).is_some_and(|f| f > own) || sideways {
                    breaches.push(format!("{path}:{}: {module} uses {other}", n + 1));
                }
            }
        }
    }
    assert!(breaches.is_empty(), "{}", breaches.join("\n"));
}

#[test]
fn house_crates_stay_where_they_belong() {
    for (path, text) in sources("sim") {
        for (name, home) in KEPT_IN {
            let used = text.lines().any(|l| {
                let code = l.split("//").next().unwrap_or("");
                code.contains(&format!("{name}::")) || code.contains(&format!("use {name}"))
            });
            assert!(!used || path.starts_with(home), "{path} names {name}, which belongs to {home}");
        }
    }
}

#[test]
fn house_files_have_a_purpose_and_a_size() {
    for folder in ["sim", "tests", "benches"] {
        for (path, text) in sources(folder) {
            assert!(text.starts_with("//!"), "{path} does not open with its purpose");
            let lines = text.lines().count();
            assert!(lines <= LONGEST_FILE, "{path} has {lines} lines");
        }
    }
}

/// Paths in backquotes or links in the documents, and the tests that sources promise, exist.
#[test]
fn house_every_path_named_in_a_document_exists() {
    let mut texts: Vec<(String, String)> =
        ["README.md", "DEVELOPERS.md", "CHANGELOG.md", "tests/reference/README.md"]
            .iter()
            .map(|n| ((*n).to_owned(), std::fs::read_to_string(root().join(n)).expect(n)))
            .collect();
    texts.extend(sources("sim"));
    let ends = |w: &str| {
        [".rs", ".yaml", ".md", ".py", ".csv", ".json", ".svg", ".png", ".toml"]
            .iter()
            .any(|e| w.ends_with(e))
    };
    let starts = |w: &str| {
        ["sim/", "tests/", "models/", "scenarios/", "benches/", ".ci/", "pictures/"]
            .iter()
            .any(|s| w.starts_with(s))
    };
    for (name, text) in texts {
        for word in text.split(|c: char| c.is_whitespace() || "`()[],;\"'".contains(c)) {
            let word = word.trim_end_matches(['.', ':']);
            let wild = word.contains(['*', '{', '<', '…']);
            if starts(word) && ends(word) && !wild {
                assert!(root().join(word).exists(), "{name} names {word}, which is not there");
            }
        }
    }
}

#[test]
fn house_the_readme_carries_the_caution() {
    let flat = |s: &str| s.split_whitespace().filter(|w| *w != ">").collect::<Vec<_>>().join(" ");
    let readme = std::fs::read_to_string(root().join("README.md")).expect("README.md");
    assert!(flat(&readme).contains(&flat(kneedamp::CAUTION)));
}

#[test]
fn house_nothing_is_left_open() {
    let marks = ["todo!(", "unimplemented!(", "#[ignore", "dbg!("];
    for folder in ["sim", "benches"] {
        for (path, text) in sources(folder) {
            for mark in marks {
                assert!(!text.contains(mark), "{path}: {mark}");
            }
        }
    }
}
