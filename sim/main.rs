//! wip
fn main() {}
