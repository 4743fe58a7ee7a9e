//! Output shown in the README is real: `KNEEDAMP_BLESS=1 cargo test readme` writes it anew.

use crate::commands::stdout;

/// Text between two marks, replaced or compared.
fn part(name: &str, now: &str) {
    let path = format!("{}/README.md", env!("CARGO_MANIFEST_DIR"));
    let readme = std::fs::read_to_string(&path).expect("README.md");
    let begin_mark = format!("<!-- {name}: begin -->\n");
    let begin = readme.find(&begin_mark).expect("begin mark") + begin_mark.len();
    let end = begin + readme[begin..].find(&format!("<!-- {name}: end -->")).expect("end mark");
    if std::env::var_os("KNEEDAMP_BLESS").is_some() {
        std::fs::write(&path, format!("{}{now}{}", &readme[..begin], &readme[end..])).expect("writes");
    } else {
        assert_eq!(&readme[begin..end], now, "the README's part '{name}' is stale");
    }
}

#[test]
fn readme_shows_the_summary_of_run() {
    let out = stdout(&["run"], 0);
    let from = out.find("SUMMARY").expect("a summary");
    let summary: String = out[from..]
        .lines()
        .skip(1)
        .take_while(|l| !l.is_empty())
        .map(|l| format!("   {}\n", l.trim_end()))
        .collect();
    part("summary", &format!("\n{summary}\n"));
}

#[test]
fn readme_sentence_is_real() {
    let flat = |s: &str| s.split_whitespace().filter(|w| *w != ">").collect::<Vec<_>>().join(" ");
    let readme =
        std::fs::read_to_string(format!("{}/README.md", env!("CARGO_MANIFEST_DIR"))).expect("README.md");
    let sentence = flat(&readme)
        .split("a sentence such as ")
        .nth(1)
        .and_then(|s| s.split(" The setting named").next())
        .expect("the sentence")
        .to_owned();
    assert!(flat(&stdout(&["run", "walk-comfortable"], 0)).contains(&sentence), "{sentence}");
}

#[test]
fn readme_shows_what_align_says() {
    let out = stdout(&["align"], 0);
    let from = out.find("Standing on a slope").expect("the sentence");
    let to = out.find("The foot is shifted").expect("the limits");
    let text: String = out[from..to].lines().map(|l| format!("    {l}\n")).collect();
    part("align", &format!("\n{text}\n"));
}

#[test]
fn readme_shows_rows_of_sweep() {
    let out = stdout(
        &["sweep", "swing-flexion=0:100:50", "mass_kg=50,75", "--outcomes", "landing,verdict,limiting"],
        0,
    );
    let rows: String = out.lines().map(|l| format!("    {l}\n")).collect();
    part("sweep", &format!("\n{rows}\n"));
}
