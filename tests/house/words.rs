//! Words that must not come back: one word has one meaning everywhere, and it is the word of the textbooks.

use std::collections::BTreeSet;

use syn::visit::Visit;

use super::{files, rust_files};

/// A word that went, where it must not stand, and what to write instead.
const GONE: &[(&str, &str, &str)] = &[
    ("Flow", "sim", "HybridSystem"),
    ("Held", "sim", "FrozenMode"),
    ("held", "sim/numerics", "freeze, frozen"),
    ("Sides", "sim", "Mode"),
    ("sides", "sim", "mode"),
    ("Then", "sim", "EventAction"),
    ("crossed", "sim/motion", "on_event"),
    ("surface", "sim/motion", "event_function"),
    ("Course", "sim", "Trajectory"),
    ("Crossing", "sim", "Event"),
    ("Precision", "sim", "Tolerances"),
    ("LEADING", "sim", "DYNAMIC_STATES"),
    ("locate", "sim/numerics", "find_root"),
    ("looks", "sim", "event_checks"),
    ("judge", "sim", "accept_step, criterion"),
    ("Pull", "sim", "PivotAcceleration"),
    ("Turn", "sim", "SinCosCache"),
    ("same", "sim/numerics", "splat"),
    ("Acting", "sim", "JointBranch, SettingSensitivity"),
    ("Felt", "sim", "SensorBranch"),
    ("Opening", "sim", "ValveOpening"),
    ("loaded", "sim/motion/mod.rs", "stance_leg"),
    ("compared", "sim/motion/mod.rs", "stride_cache"),
    ("film", "sim", "animation"),
    ("Film", "sim", "Animation"),
    ("once", "sim/motion/batch", "fast_step"),
    ("careful", "sim/motion/batch", "event_step"),
    ("together", "sim/motion/batch", "grouping"),
    ("counted", "sim/motion/batch", "op_count"),
    ("Reach", "sim", "CellStep"),
    ("Went", "sim", "StepResult"),
    ("Again", "sim", "RetryList"),
    ("Ahead", "sim", "Progress"),
    ("StrideStep", "sim", "CellStep"),
    ("side_by_side", "sim", "batched"),
    ("own", "sim/case", "the registry of inputs"),
    ("moved", "sim/study/mod.rs", "margin_change"),
    ("noticed", "sim/study", "observation"),
    ("Shelf", "sim", "ModelSet"),
    ("Memory", "sim", "RunCache"),
    ("Book", "sim", "TrialCache"),
    ("Look", "sim", "Observation"),
    ("Came", "sim", "StepOutcome"),
    ("trying", "sim", "experiment"),
    ("bench", "sim/study/rules", "fixtures"),
    ("judges", "sim", "criteria"),
    ("again", "sim/study/rules/mod.rs", "replay_command"),
    ("told", "sim/study/window", "report"),
    ("gather", "sim/study/window", "assemble"),
    ("Closer", "sim", "LimitRef"),
    ("Tightest", "sim", "BindingLimit"),
    ("Banded", "sim", "WithUncertainty"),
    ("Spread", "sim/study", "Uncertainty"),
    ("Changed", "sim/study", "Recheck"),
    ("changed", "sim/study/mod.rs", "recheck"),
    ("rig", "tests", "fixtures"),
    ("caught", "tests/trends/mod.rs", "catch_load"),
    ("shown", "tests/page/mod.rs", "page_data"),
    ("hostile", "tests", "security"),
];

/// Texts that went, in everything that is read or shown.
const GONE_TEXTS: &[&str] = &[
    "walk-crowded",
    "in a crowd",
    "--side-by-side",
    "kneedamp spread",
    "kneedamp changed",
    "time straight before heel contact",
    "peak flexion against able-bodied",
];

/// Where old names stand on purpose: the table that tells what they are called now, its test, what changed.
const MAY_NAME_THEM: [&str; 4] =
    ["sim/cli/commands.rs", "tests/house/words.rs", "tests/commands/renamed.rs", "CHANGELOG.md"];

struct Idents(BTreeSet<String>);

impl<'ast> Visit<'ast> for Idents {
    fn visit_ident(&mut self, ident: &'ast proc_macro2::Ident) {
        self.0.insert(ident.to_string());
    }
}

#[test]
fn house_old_words_stay_away() {
    let mut found = Vec::new();
    for folder in ["sim", "tests", "benches"] {
        for (path, text) in rust_files(folder) {
            let mut idents = Idents(BTreeSet::new());
            idents.visit_file(&syn::parse_file(&text).expect(&path));
            let gone =
                GONE.iter().filter(|(word, place, _)| path.starts_with(place) && idents.0.contains(*word));
            found.extend(gone.map(|(word, _, instead)| format!("{path}: '{word}'; take {instead}")));
        }
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn house_old_names_are_not_shown() {
    let endings = ["rs", "md", "yaml", "js", "mjs", "html", "json", "sh"];
    let mut texts: Vec<(String, String)> = ["sim", "tests", "benches", "models", "scenarios", "docs"]
        .iter()
        .flat_map(|f| files(f, &endings))
        .collect();
    texts.extend(["README.md", "DEVELOPERS.md"].iter().map(|n| ((*n).to_owned(), super::text(n))));
    let mut found = Vec::new();
    for (path, text) in texts {
        if path.contains("node_modules") || MAY_NAME_THEM.contains(&path.as_str()) {
            continue;
        }
        found.extend(GONE_TEXTS.iter().filter(|t| text.contains(**t)).map(|t| format!("{path}: '{t}'")));
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// The operating system's sines differ in last digits: outcomes take those of `numerics::math`. Pictures and vectors of a
/// batch may have their own.
#[test]
fn house_sines_are_the_same_everywhere() {
    let own = ["sim/numerics/math.rs", "sim/report/", "sim/serve/", "sim/cli/", "sim/motion/batch/"];
    let functions = [
        "sin", "cos", "tan", "sin_cos", "asin", "acos", "atan", "exp", "ln", "log2", "log10", "tanh", "cbrt",
        "exp_m1", "ln_1p",
    ];
    let mut wrong = Vec::new();
    for (path, text) in
        super::files("sim", &["rs"]).into_iter().filter(|(p, _)| !own.iter().any(|o| p.starts_with(o)))
    {
        for (i, line) in text.lines().enumerate().filter(|(_, l)| !l.trim_start().starts_with("//")) {
            let one = functions
                .iter()
                .any(|f| line.contains(&format!(".{f}()")) || line.contains(&format!("f64::{f})")));
            if one || [".powf(", ".atan2(", ".hypot("].iter().any(|f| line.contains(f)) {
                wrong.push(format!("{path}:{}: {}", i + 1, line.trim()));
            }
        }
    }
    assert!(wrong.is_empty(), "take numerics::math: {}", wrong.join("\n"));
}
