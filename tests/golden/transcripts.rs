//! What a user reads: default outputs as whole texts, to be read aloud when they change.
//! `KNEEDAMP_BLESS=1 cargo test golden_transcripts` writes them anew.

use std::path::PathBuf;

use crate::commands::stdout;

/// Name of the file, and the command line.
const TRANSCRIPTS: [(&str, &str); 12] = [
    ("run", "run"),
    ("run-walk-fast-swing-extension", "run walk-fast --set swing-extension=100"),
    ("compare-lesson-1", "compare --lesson 1"),
    ("recheck-boot", "recheck foot_extra_mass_kg=0.5"),
    ("adjust-open", "adjust --start open"),
    ("adjust-seen", "adjust --seen knee-late-straight --set swing-flexion=0"),
    ("window", "window"),
    ("align", "align"),
    ("uncertainty-sit-down", "uncertainty --scenario sit-down --samples 32"),
    ("rules-1", "rules --only 1 --samples 32"),
    ("sweep", "sweep swing-flexion=0:100:50"),
    ("list", "list"),
];

/// Numbers of a sweep with six decimals: the last digits depend on the machine.
fn six_decimals(text: &str) -> String {
    let short = |field: &str| match (field.find('.'), field.parse::<f64>()) {
        (Some(point), Ok(v)) if field.len() > point + 7 => format!("{v:.6}"),
        _ => field.to_owned(),
    };
    text.split(',').map(short).collect::<Vec<_>>().join(",")
}

#[test]
fn golden_transcripts_of_default_outputs() {
    let mut stale = Vec::new();
    for (name, line) in TRANSCRIPTS {
        let out = stdout(&line.split(' ').collect::<Vec<_>>(), 0);
        let now = format!("$ kneedamp {line}\n{}", if name == "sweep" { six_decimals(&out) } else { out });
        let path =
            PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(format!("tests/golden/transcripts/{name}.txt"));
        if std::env::var_os("KNEEDAMP_BLESS").is_some() {
            std::fs::write(&path, &now).expect("writes");
        }
        let was = std::fs::read_to_string(&path).unwrap_or_default();
        let other = was.lines().zip(now.lines()).find(|(was, now)| was != now);
        if was != now {
            stale.push(format!("{name}: {other:?}, or only more or fewer lines; now\n{now}"));
        }
    }
    assert!(stale.is_empty(), "{}", stale.join("\n"));
}
