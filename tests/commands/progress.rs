//! Progress of a study: drawn on a terminal, nowhere else. The terminal is one of `script` (util-linux).
#![cfg(target_os = "linux")]

use std::process::Command;

use super::{kneedamp, stdout};

const ESCAPE: char = '\u{1b}';
const STUDY: &[&str] = &["compare", "--lesson", "7"];

/// What a command writes on a terminal, and how it ended.
fn on_a_terminal(words: &str, environment: &[(&str, &str)]) -> (String, bool) {
    let command = format!("{} {words}", env!("CARGO_BIN_EXE_kneedamp"));
    let mut script = Command::new("script");
    script.args(["--quiet", "--return", "--command", &command, "/dev/null"]);
    script.env_remove("NO_COLOR").env("TERM", "xterm").envs(environment.iter().copied());
    let out = script.output().expect("script of util-linux is there");
    (String::from_utf8_lossy(&out.stdout).into_owned(), out.status.success())
}

/// Codes that change colour or weight: escape, `[`, digits, `m`.
fn styles(text: &str) -> usize {
    let codes = text.split(ESCAPE).skip(1).filter_map(|code| code.strip_prefix('['));
    codes
        .filter(|code| code.trim_start_matches(|c: char| c.is_ascii_digit() || c == ';').starts_with('m'))
        .count()
}

#[test]
fn commands_progress_is_drawn_on_a_terminal() {
    let (shown, ran) = on_a_terminal(&STUDY.join(" "), &[]);
    assert!(ran, "{shown}");
    // done, of how many, rate, time left
    let bar = shown.split('\r').find(|line| line.contains(" left")).expect("a bar");
    assert!(bar.contains(" of ") && bar.contains(" a second, "), "{bar:?}");
    // it is taken away, and the report stands alone on the last lines
    let report = stdout(STUDY, 0);
    let end = report.trim_end().lines().last().expect("a line");
    assert!(shown.trim_end().ends_with(end), "{shown}");
    assert!(!shown.rsplit(ESCAPE).next().expect("a rest").contains(" left"), "{shown:?}");
    assert_eq!(styles(&shown), 0, "no colours: {shown:?}");
}

#[test]
fn commands_progress_is_silent_without_a_terminal() {
    for more in [&[][..], &["--format", "json"]] {
        let out = kneedamp(&[STUDY, more].concat()).output().expect("runs");
        assert!(out.status.success());
        assert_eq!(String::from_utf8_lossy(&out.stderr), "");
        assert!(!String::from_utf8_lossy(&out.stdout).contains(ESCAPE));
    }
}

/// Help and errors are set in bold on a terminal; with `NO_COLOR` they are plain.
#[test]
fn commands_progress_no_color_is_respected() {
    for words in ["--help", "run --mass heavy", "run walk-fast", "verify nowhere.json"] {
        let (plain, _) = on_a_terminal(words, &[("NO_COLOR", "1")]);
        assert!(!plain.is_empty());
        assert_eq!(styles(&plain), 0, "{words}: {plain:?}");
    }
    assert!(styles(&on_a_terminal("--help", &[]).0) > 0, "the check sees styles where there are some");
}
