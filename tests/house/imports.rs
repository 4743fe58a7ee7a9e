//! Floors, import circles, and crates that stay in their rooms. Files are parsed with syn, so that every path in
//! code counts, whether it stands in a `use` or not.

use std::collections::{BTreeMap, BTreeSet};

use syn::visit::{self, Visit};
use syn::{ItemUse, UseTree, Visibility};

use super::rust_files;

/// Floors from the ground up: a module imports from lower floors only.
const FLOORS: [&[&str]; 12] = [
    &["error", "units"],
    &["numerics"],
    &["body", "joint", "findings"],
    &["scenario"],
    &["motion"],
    &["outcome"],
    &["case", "library"],
    &["study", "words"],
    &["teaching"],
    &["report"],
    &["serve"],
    &["cli"],
];

/// Crates that one file or folder alone may name.
const KEPT_IN: [(&str, &str); 9] = [
    ("ode_solvers", "sim/numerics/second_integrator.rs"),
    ("resvg", "sim/report/png.rs"),
    ("pulp", "sim/numerics/vector.rs"),
    ("serde_yaml", "sim/library/"),
    ("clap", "sim/cli/"),
    ("plotters", "sim/report/plot"),
    ("axum", "sim/serve/"),
    ("tokio", "sim/serve/"),
    ("hyper", "sim/serve/"),
];

type Segments = Vec<String>;

/// What one file says of others.
#[derive(Default)]
struct Paths {
    /// Paths of private imports and of expressions, types and macros.
    used: Vec<Segments>,
    /// Paths that a `pub use` passes on.
    passed_on: Vec<Segments>,
}

impl<'ast> Visit<'ast> for Paths {
    fn visit_item_use(&mut self, item: &'ast ItemUse) {
        let list =
            if matches!(item.vis, Visibility::Inherited) { &mut self.used } else { &mut self.passed_on };
        leaves(&item.tree, &mut Vec::new(), list);
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        let segments: Segments = path.segments.iter().map(|s| s.ident.to_string()).collect();
        if segments.len() > 1 {
            self.used.push(segments);
        }
        visit::visit_path(self, path);
    }
}

fn leaves(tree: &UseTree, before: &mut Segments, found: &mut Vec<Segments>) {
    let with = |last: &str| before.iter().cloned().chain([last.to_owned()]).collect();
    match tree {
        UseTree::Path(p) => {
            before.push(p.ident.to_string());
            leaves(&p.tree, before, found);
            before.pop();
        }
        UseTree::Group(g) => g.items.iter().for_each(|t| leaves(t, before, found)),
        UseTree::Name(n) if n.ident == "self" => found.push(before.clone()),
        UseTree::Name(n) => found.push(with(&n.ident.to_string())),
        UseTree::Rename(r) => found.push(with(&r.ident.to_string())),
        UseTree::Glob(_) => found.push(before.clone()),
    }
}

/// `sim/joint/oil.rs` → crate, joint, oil; `sim/joint/mod.rs` → crate, joint.
fn module_of(file: &str) -> Segments {
    let inner = file.trim_start_matches("sim/").trim_end_matches(".rs");
    let names = inner.split('/').filter(|n| !["mod", "lib"].contains(n));
    std::iter::once("crate").chain(names).map(str::to_owned).collect()
}

/// The library's files and which file each of them needs.
struct Crate {
    files: BTreeMap<Segments, String>,
    passed_on: BTreeMap<Segments, Segments>,
}

impl Crate {
    /// A path as seen from a module, from the root of the crate; `None` for another crate's.
    fn rooted(&self, path: &[String], module: &[String]) -> Option<Segments> {
        let ups = path.iter().take_while(|s| *s == "super").count();
        let join = |base: &[String], rest: &[String]| Some([base, rest].concat());
        match path[0].as_str() {
            "crate" => Some(path.to_vec()),
            "self" => join(module, &path[1..]),
            "super" => join(&module[..module.len() - ups], &path[ups..]),
            child => {
                let inside = [module, &[child.to_owned()]].concat();
                self.files.contains_key(&inside).then(|| [module, path].concat())
            }
        }
    }

    /// The file that a path ends in; a name that is only passed on counts as its own file's.
    fn file(&self, path: Segments) -> Option<&String> {
        let mut path = path;
        for _ in 0..8 {
            let next = (2..=path.len()).rev().find_map(|n| {
                let target = self.passed_on.get(&path[..n])?;
                (target[..] != path[..n]).then(|| [target, &path[n..]].concat())
            });
            match next {
                Some(other) => path = other,
                None => break,
            }
        }
        (1..=path.len()).rev().find_map(|n| self.files.get(&path[..n]))
    }
}

/// File → files that it needs.
fn needs() -> BTreeMap<String, BTreeSet<String>> {
    let outside = ["sim/main.rs", "sim/build.rs"];
    let texts: Vec<_> = rust_files("sim").into_iter().filter(|(f, _)| !outside.contains(&&**f)).collect();
    let parsed: Vec<(String, Paths)> = texts
        .iter()
        .map(|(file, text)| {
            let mut paths = Paths::default();
            paths.visit_file(&syn::parse_file(text).expect(file));
            (file.clone(), paths)
        })
        .collect();
    let files = parsed.iter().map(|(f, _)| (module_of(f), f.clone())).collect();
    let mut house = Crate { files, passed_on: BTreeMap::new() };
    for (file, paths) in &parsed {
        let module = module_of(file);
        for path in &paths.passed_on {
            let name = [&module[..], &path[path.len() - 1..]].concat();
            if let Some(target) = house.rooted(path, &module) {
                house.passed_on.insert(name, target);
            }
        }
    }
    let of = |file: &String, paths: &Paths| {
        let module = module_of(file);
        let roots = paths.used.iter().filter_map(|p| house.rooted(p, &module));
        roots.filter_map(|p| house.file(p)).filter(|f| *f != file).cloned().collect()
    };
    parsed.iter().map(|(file, paths)| (file.clone(), of(file, paths))).collect()
}

/// A way from a file back to itself, if there is one.
fn circle<'a>(from: &'a str, needs: &'a BTreeMap<String, BTreeSet<String>>) -> Option<Vec<&'a str>> {
    let mut came_from: BTreeMap<&str, &str> = BTreeMap::new();
    let mut open = vec![from];
    while let Some(at) = open.pop() {
        for next in needs.get(at).into_iter().flatten() {
            if next == from {
                let mut way = vec![from, at];
                while let Some(before) = came_from.get(way[way.len() - 1]) {
                    way.push(before);
                }
                return Some(way);
            }
            if !came_from.contains_key(next.as_str()) {
                came_from.insert(next, at);
                open.push(next);
            }
        }
    }
    None
}

fn floor(file: &str) -> Option<usize> {
    let module = module_of(file).get(1).cloned()?;
    FLOORS.iter().position(|f| f.contains(&module.as_str()))
}

#[test]
fn house_imports_go_strictly_downwards() {
    let mut breaches = Vec::new();
    for (file, others) in needs() {
        let Some(own) = floor(&file) else {
            assert_eq!(file, "sim/lib.rs", "{file} stands on no floor");
            continue;
        };
        let room = &module_of(&file)[1];
        let upwards =
            others.iter().filter(|o| module_of(o).get(1) != Some(room) && floor(o) >= Some(own) && own > 0);
        breaches.extend(upwards.map(|o| format!("{file} needs {o}")));
    }
    assert!(breaches.is_empty(), "{}", breaches.join("\n"));
}

#[test]
fn house_no_import_circle() {
    let needs = needs();
    assert!(needs.values().map(BTreeSet::len).sum::<usize>() > needs.len(), "the paths are found");
    let circles: Vec<String> =
        needs.keys().filter_map(|file| circle(file, &needs)).map(|way| way.join(" <- ")).collect();
    assert!(circles.is_empty(), "{}", circles.join("\n"));
}

#[test]
fn house_crates_stay_where_they_belong() {
    for (path, text) in rust_files("sim") {
        for (name, home) in KEPT_IN {
            let used = text.lines().any(|l| {
                let code = l.split("//").next().unwrap_or("");
                code.contains(&format!("{name}::")) || code.contains(&format!("use {name}"))
            });
            assert!(!used || path.starts_with(home), "{path} names {name}, which belongs to {home}");
        }
    }
}
