//! What others' code is built: none wants a newer Rust than we say, their number is what the document says, and the package
//! for the registry is whole and small.

use std::collections::BTreeSet;
use std::process::Command;

use super::{root, text};

/// Largest package, bytes.
const LARGEST_PACKAGE: u64 = 2_000_000;

fn cargo(arguments: &[&str]) -> String {
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
    let output = Command::new(cargo).args(arguments).current_dir(root()).output().expect("cargo");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("UTF-8")
}

fn version(text: &str) -> (u64, u64) {
    let mut parts = text.split('.').map(|p| p.parse::<u64>().expect("a number"));
    (parts.next().expect("major"), parts.next().unwrap_or(0))
}

#[test]
fn house_dependencies_build_with_the_rust_that_we_name() {
    let all: serde_json::Value =
        serde_json::from_str(&cargo(&["metadata", "--format-version=1", "--offline", "--locked"]))
            .expect("JSON");
    let ours = version(env!("CARGO_PKG_RUST_VERSION"));
    let packages = all["packages"].as_array().expect("packages");
    assert!(packages.len() > 100, "{} packages", packages.len());
    for package in packages {
        let wants = package["rust_version"].as_str().map_or((1, 0), version);
        assert!(wants <= ours, "{} {} wants Rust {wants:?}", package["name"], package["version"]);
    }
}

#[cfg(target_os = "linux")]
#[test]
fn house_dependencies_are_as_many_as_the_document_says() {
    let count = |more: &[&str]| {
        let asked = ["tree", "--offline", "--locked", "--edges=normal,build", "--prefix=none"];
        let tree = cargo(&[&asked[..], more].concat());
        let crates: BTreeSet<&str> = tree
            .lines()
            .filter_map(|l| l.split(" (").next())
            .filter(|l| !l.starts_with("kneedamp "))
            .collect();
        crates.len()
    };
    let [all, without, physics] =
        [&[][..], &["--no-default-features", "--features=app"], &["--no-default-features"]].map(count);
    let said = format!(
        "{all} crates are built for the program, {without} without `columnar`, {physics} for the physics alone"
    );
    assert!(text("docs/dependencies.md").contains(&said), "{said}");
}

#[test]
fn house_package_is_small_and_whole() {
    let listed = cargo(&["package", "--list", "--allow-dirty", "--offline"]);
    let files: BTreeSet<&str> = listed.lines().collect();
    for needed in [
        "README.md",
        "LICENSE-MIT",
        "LICENSE-APACHE",
        "CHANGELOG.md",
        "models/knees/built-in.yaml",
        "sim/build.rs",
    ] {
        assert!(files.contains(needed), "{needed} is left out");
    }
    let bytes = |f: &&&str| std::fs::metadata(root().join(f)).map_or(0, |m| m.len());
    let greatest = files.iter().max_by_key(bytes).expect("files");
    // the archive is compressed: a package of its own says how well (docs/dependencies.md)
    let folder = tempfile::tempdir().expect("a folder");
    let target = folder.path().to_str().expect("UTF-8");
    cargo(&["package", "--no-verify", "--allow-dirty", "--offline", "--quiet", "--target-dir", target]);
    let archive = folder.path().join(format!("package/kneedamp-{}.crate", env!("CARGO_PKG_VERSION")));
    let size = std::fs::metadata(&archive).expect("an archive").len();
    println!("{} files, {size} bytes; the largest is {greatest}", files.len());
    assert!(size < LARGEST_PACKAGE, "{size} bytes; the largest file is {greatest}");
}
