//! The table of docs/accuracy.md and its summary in the README, made from the tests' own figures. A test fails if
//! they are stale; `KNEEDAMP_BLESS=1 cargo test accuracy` writes them anew.

use std::fmt::Write as _;

use crate::evidence::{Check, Kind};

const KINDS: [(Kind, &str, &str); 4] = [
    (Kind::Verification, "Verification", "the equations are solved right"),
    (Kind::Consistency, "Consistency", "the model agrees with the data it is driven by"),
    (Kind::OtherModel, "Another model", "a published simulation found the same; nothing was measured"),
    (
        Kind::Independent,
        "Independent comparison",
        "measured data it has not seen; few exist for users of such joints",
    ),
];

fn all() -> Vec<Check> {
    let mut checks = crate::closed_form::checks();
    checks.extend(crate::cross_code::checks());
    checks.extend(crate::published::checks());
    checks
}

/// A document, and the part of it between two marks.
struct Part {
    path: std::path::PathBuf,
    text: String,
    range: std::ops::Range<usize>,
}

impl Part {
    fn of(document: &str, name: &str) -> Self {
        let path = std::path::PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(document);
        let text = std::fs::read_to_string(&path).expect(document);
        let begin_mark = format!("<!-- {name}: begin -->");
        let begin = text.find(&begin_mark).expect("begin mark") + begin_mark.len();
        let end = text.find(&format!("<!-- {name}: end -->")).expect("end mark");
        Self { path, text, range: begin..end }
    }

    fn shown(&self) -> &str {
        &self.text[self.range.clone()]
    }

    fn write(&self, now: &str) {
        let text = format!("{}{now}{}", &self.text[..self.range.start], &self.text[self.range.end..]);
        std::fs::write(&self.path, text).expect("writes");
    }
}

/// One row a kind: how many rows, how many hold, which fail.
fn summary(checks: &[Check]) -> String {
    let mut out =
        String::from("\n\n| evidence | rows | within their criterion | fail |\n|---|---|---|---|\n");
    for (kind, title, meaning) in KINDS {
        let rows: Vec<&Check> = checks.iter().filter(|c| c.kind == kind).collect();
        let mut fails: Vec<&str> = rows.iter().filter(|c| !c.holds()).map(|c| c.id).collect();
        fails.sort_by_key(|id| natural(id));
        let said = if fails.is_empty() { "-".to_owned() } else { fails.join(", ") };
        let _ = writeln!(
            out,
            "| **{title}**: {meaning} | {} | {} | {said} |",
            rows.len(),
            rows.len() - fails.len()
        );
    }
    out.push('\n');
    out
}

fn table(checks: &[Check]) -> String {
    let mut out = String::new();
    for (kind, title, meaning) in KINDS {
        let mut rows: Vec<&Check> = checks.iter().filter(|c| c.kind == kind).collect();
        rows.sort_by_key(|c| natural(c.id));
        let _ = writeln!(out, "\n**{title}**: {meaning}.\n");
        let _ = writeln!(out, "| | what | against | deviation | allowed | |");
        let _ = writeln!(out, "|---|---|---|---|---|---|");
        for c in rows {
            let word = if c.holds() { "holds" } else { "**fails**" };
            let _ = writeln!(
                out,
                "| {} | {} | {} | {} {} | {} | {word} |",
                c.id,
                c.what,
                c.source,
                shown(c.figure),
                c.unit,
                shown(c.criterion)
            );
        }
    }
    out
}

/// Three digits, in powers of ten below a thousandth.
fn shown(v: f64) -> String {
    if v.abs() < 1e-15 {
        "0".to_owned()
    } else if v.abs() < 1e-3 {
        format!("{v:.1e}")
    } else {
        let decimals = (2 - v.abs().log10().floor() as i32).clamp(0, 5) as usize;
        format!("{v:.decimals$}")
    }
}

/// A2 before A10.
fn natural(id: &str) -> (String, u32, String) {
    let letters: String = id.chars().take_while(|c| c.is_alphabetic()).collect();
    let digits: String = id[letters.len()..].chars().take_while(char::is_ascii_digit).collect();
    let rest = id[letters.len() + digits.len()..].to_owned();
    (letters, digits.parse().unwrap_or(0), rest)
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

/// Deviations at the level of rounding and of the integrator's tolerance differ a little from machine
/// to machine; others must be as written.
fn same(a: f64, b: f64) -> bool {
    let (small, large) = (a.abs().min(b.abs()), a.abs().max(b.abs()));
    large < 1e-10 || (large < 1e-8 && large < 3.0 * small) || large - small <= 0.06 * large
}

#[test]
fn accuracy_tables_in_the_documents_are_fresh() {
    let checks = all();
    let mut ids: Vec<&str> = checks.iter().map(|c| c.id).collect();
    ids.sort_unstable();
    assert!(ids.windows(2).all(|w| w[0] != w[1]), "ids are unique: {ids:?}");

    let whole = Part::of("docs/accuracy.md", "accuracy");
    let short = Part::of("README.md", "accuracy summary");
    let (now, now_short) = (table(&checks), summary(&checks));
    if std::env::var_os("KNEEDAMP_BLESS").is_some() {
        whole.write(&now);
        short.write(&now_short);
        return;
    }
    assert_eq!(short.shown(), now_short, "the README's summary is stale");
    let (written, made) = (rows(whole.shown()), rows(&now));
    assert_eq!(written.len(), made.len(), "rows of the accuracy table");
    for ((id, figure, word), (new_id, new_figure, new_word)) in written.iter().zip(&made) {
        assert_eq!(id, new_id);
        assert_eq!(word, new_word, "{id}");
        assert!(same(*figure, *new_figure), "{id}: the document says {figure:e}, the tests {new_figure:e}");
    }
}
