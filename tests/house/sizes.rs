//! Sizes of files and functions, the purpose at the head of every file, one shape for every study.

use syn::spanned::Spanned;
use syn::visit::{self, Visit};
use syn::{Block, ImplItemFn, ItemFn, Signature};

use super::{root, rust_files};

const LONGEST_FILE: usize = 600;
/// Lines from `fn` to the closing brace.
const LONGEST_FUNCTION: usize = 85;

#[test]
fn house_files_have_a_purpose_and_a_size() {
    for folder in ["sim", "tests", "benches", "bindings"] {
        for (path, text) in rust_files(folder) {
            assert!(text.starts_with("//!"), "{path} does not open with its purpose");
            let lines = text.lines().count();
            assert!(lines <= LONGEST_FILE, "{path} has {lines} lines");
        }
    }
}

struct Functions(Vec<(String, usize)>);

impl Functions {
    fn add(&mut self, sig: &Signature, block: &Block) {
        let lines = block.span().end().line + 1 - sig.span().start().line;
        self.0.push((sig.ident.to_string(), lines));
    }
}

impl<'ast> Visit<'ast> for Functions {
    fn visit_item_fn(&mut self, f: &'ast ItemFn) {
        self.add(&f.sig, &f.block);
        visit::visit_item_fn(self, f);
    }

    fn visit_impl_item_fn(&mut self, f: &'ast ImplItemFn) {
        self.add(&f.sig, &f.block);
        visit::visit_impl_item_fn(self, f);
    }
}

#[test]
fn house_functions_fit_a_screen() {
    let mut long = Vec::new();
    let mut count = 0;
    for (path, text) in rust_files("sim") {
        let mut functions = Functions(Vec::new());
        functions.visit_file(&syn::parse_file(&text).expect(&path));
        count += functions.0.len();
        let over = functions.0.into_iter().filter(|(_, lines)| *lines > LONGEST_FUNCTION);
        long.extend(over.map(|(name, lines)| format!("{path}: {name} has {lines} lines")));
    }
    assert!(count > 1000, "{count} functions found");
    assert!(long.is_empty(), "{}", long.join("\n"));
}

/// A study computes in `mod.rs` and has its words and tables in `report.rs`.
#[test]
fn house_every_study_has_the_same_files() {
    let mut studies = 0;
    for entry in std::fs::read_dir(root().join("sim/study")).expect("studies") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            studies += 1;
            for file in ["mod.rs", "report.rs"] {
                assert!(path.join(file).exists(), "{} has no {file}", path.display());
            }
        }
    }
    assert!(studies >= 8, "{studies} studies");
}
