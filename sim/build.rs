//! Rebuilds the crate when a built-in file changes: `include_dir` itself does not watch its folder.
fn main() {
    println!("cargo:rerun-if-changed=models");
    println!("cargo:rerun-if-changed=scenarios");
}
