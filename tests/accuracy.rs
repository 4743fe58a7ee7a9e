//! The README's accuracy table, made from the tests' own figures. A test fails if it is stale;
//! `KNEEDAMP_BLESS=1 cargo test accuracy` writes it anew.

use std::fmt::Write as _;

use crate::evidence::{Check, Kind};

const BEGIN: &str = "<!-- accuracy: begin -->";
const END: &str = "<!-- accuracy: end -->";

fn all() -> Vec<Check> {
    let mut checks = crate::closed_form::checks();
    checks.extend(crate::cross_code::checks());
    checks.extend(crate::published::checks());
    checks
}

fn path() -> std::path::PathBuf {
    std::path::PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("README.md")
}

fn table(checks: &[Check]) -> String {
    let mut out = String::new();
    for (kind, title, meaning) in [
        (Kind::Verification, "Verification", "the equations are solved right"),
        (Kind::Consistency, "Consistency", "the model agrees with the data it is driven by"),
        (Kind::Independent, "Independent comparison", "data it has not seen; few exist for users of such joints"),
    ] {
        let rows: Vec<&Check> = checks.iter().filter(|c| c.kind == kind).collect();
        let _ = writeln!(out, "\n**{title}**: {meaning}.\n");
        let _ = writeln!(out, "| | what | against | deviation | allowed | |");
        let _ = writeln!(out, "|---|---|---|---|---|---|");
        for c in rows {
            let word = if c.holds() { "holds" } else { "**fails**" };
            let _ = writeln!(
                out,
                "| {} | {} | {} | {:.1e} {} | {:.1e} | {word} |",
                c.id, c.what, c.source, c.figure, c.unit, c.criterion
            );
        }
    }
    out
}

/// The rows of a table by id: deviation, verdict.
fn rows(text: &str) -> Vec<(String, f64, String)> {
    text.lines()
        .filter(|l| l.starts_with("| ") && !l.starts_with("| |"))
        .map(|l| {
            let cells: Vec<&str> = l.trim_matches('|').split('|').map(str::trim).collect();
            let figure = cells[3].split(' ').next().and_then(|f| f.parse().ok()).unwrap_or(f64::NAN);
            (cells[0].to_owned(), figure, cells[5].to_owned())
        })
        .collect()
}

/// Deviations at the level of rounding differ from machine to machine; others must be as written.
fn same(a: f64, b: f64) -> bool {
    let floor = 1e-10;
    (a.abs() < floor && b.abs() < floor) || (a - b).abs() <= 0.06 * a.abs().max(b.abs())
}

#[test]
fn accuracy_table_in_the_readme_is_fresh() {
    let checks = all();
    let mut ids: Vec<&str> = checks.iter().map(|c| c.id).collect();
    ids.sort_unstable();
    assert!(ids.windows(2).all(|w| w[0] != w[1]), "ids are unique: {ids:?}");

    let readme = std::fs::read_to_string(path()).expect("README.md");
    let begin = readme.find(BEGIN).expect("begin mark") + BEGIN.len();
    let end = readme.find(END).expect("end mark");
    let now = table(&checks);
    if std::env::var_os("KNEEDAMP_BLESS").is_some() {
        let text = format!("{}{}{}", &readme[..begin], now, &readme[end..]);
        std::fs::write(path(), text).expect("writes");
        return;
    }
    let (written, made) = (rows(&readme[begin..end]), rows(&now));
    assert_eq!(written.len(), made.len(), "rows of the accuracy table");
    for ((id, figure, word), (new_id, new_figure, new_word)) in written.iter().zip(&made) {
        assert_eq!(id, new_id);
        assert_eq!(word, new_word, "{id}");
        assert!(same(*figure, *new_figure), "{id}: README says {figure:e}, the tests {new_figure:e}");
    }
}
