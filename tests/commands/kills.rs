//! Commands that write, killed at random instants: the file is the old one or the new one, never half of it, and a sweep goes on
//! to the bytes of an undisturbed one. `KNEEDAMP_KILLS=200` kills each that often.

use std::fs;
use std::path::Path;
use std::process::{Child, Stdio};
use std::time::{Duration, Instant, SystemTime};

use kneedamp::numerics::random::Draw;

use super::kneedamp;

/// Kills of each command where nothing else is asked for.
const KILLS: u64 = 8;

fn kills() -> u64 {
    std::env::var("KNEEDAMP_KILLS").ok().and_then(|n| n.parse().ok()).unwrap_or(KILLS)
}

/// A command with `FILE` in place of its output.
fn words<'a>(command: &'a [&'a str], file: &'a Path) -> Vec<&'a str> {
    command.iter().map(|w| if *w == "FILE" { file.to_str().expect("UTF-8") } else { w }).collect()
}

fn start(command: &[&str], file: &Path) -> Child {
    let mut process = std::process::Command::new(env!("CARGO_BIN_EXE_kneedamp"));
    process.env_remove("KNEEDAMP_LIBRARY").args(words(command, file));
    process.stdout(Stdio::null()).stderr(Stdio::null()).spawn().expect("starts")
}

/// Runs it to its end; gives what it writes and how long it takes.
fn whole(command: &[&str], file: &Path) -> (Vec<u8>, Duration) {
    let begun = Instant::now();
    kneedamp(&words(command, file)).assert().code(0);
    (fs::read(file).expect("written"), begun.elapsed())
}

/// Kills it somewhere between its start and a little after its usual end. True if it had not ended.
fn killed(command: &[&str], file: &Path, usual: Duration, at: f64) -> bool {
    let mut process = start(command, file);
    std::thread::sleep(usual.mul_f64(1.2 * at));
    let running = process.try_wait().expect("a process").is_none();
    let _ = process.kill();
    process.wait().expect("ends");
    running
}

#[test]
fn commands_killed_leave_the_old_file_or_the_new_one() {
    let folder = tempfile::tempdir().expect("a folder");
    let trace = ["run", "sit-down", "--set", "stance-yield=50", "--trace", "FILE"];
    let plot = ["run", "walk-fast", "--plot", "FILE"];
    let compare = [
        "compare",
        "--scenario",
        "sit-down",
        "--a",
        "stance-yield=40",
        "--b",
        "stance-yield=10",
        "--plot",
        "FILE",
    ];
    let drive = ["new", "drive", "FILE"];
    for (command, ending) in [(&trace[..], "csv"), (&plot, "svg"), (&compare, "svg"), (&drive, "yaml")] {
        let at = |name: &str| folder.path().join(format!("{name}.{ending}"));
        // `new` touches no file that is there
        let old = (command[0] != "new").then(|| b"what was there before\n".to_vec());
        let file = at("file");
        let (new, usual) = whole(command, &file);
        let (mut early, mut were_new) = (0, 0);
        for kill in 0..kills() {
            match &old {
                Some(old) => fs::write(&file, old).expect("written"),
                None => drop(fs::remove_file(&file)),
            }
            let instant = Draw::new(1, kill).unit();
            early += u64::from(killed(command, &file, usual, instant));
            let found = fs::read(&file).ok();
            assert!(found == old || found.as_ref() == Some(&new), "{command:?}, kill {kill}: half a file");
            were_new += u64::from(found.as_ref() == Some(&new));
        }
        println!("{command:?}: {} kills, {early} before its end, {were_new} new files", kills());
    }
}

#[test]
fn commands_remove_what_a_killed_run_left() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("trace.csv");
    let part = |name: &str, age_s: u64| {
        let path = folder.path().join(name);
        let part = fs::File::create(&path).expect("made");
        part.set_modified(SystemTime::now() - Duration::from_secs(age_s)).expect("older");
        path
    };
    let left = part(".trace.csv.Ab3.kneedamp-part", 3600);
    let others = [
        part(".trace.csv.Cd4.kneedamp-part", 1),
        part(".other.csv.Ab3.kneedamp-part", 3600),
        part("trace.csv.kneedamp-part", 3600),
    ];
    whole(&["run", "sit-down", "--trace", "FILE"], &file);
    assert!(!left.exists(), "a part of this file that is an hour old");
    assert!(others.iter().all(|p| p.exists()), "one that is being written, and those of other files");
}

#[test]
fn commands_killed_sweep_goes_on_to_the_same_bytes() {
    let folder = tempfile::tempdir().expect("a folder");
    let command =
        ["sweep", "swing-flexion=0:100:1", "mass_kg=60,90", "--scenario", "walk-fast", "--output", "FILE"];
    let (new, usual) = whole(&command, &folder.path().join("whole.csv"));
    let file = folder.path().join("rows.csv");
    let mut early = 0;
    for kill in 0..kills() {
        let instant = 0.9 * Draw::new(2, kill).unit();
        early += u64::from(killed(&command, &file, usual, instant));
        let found = fs::read(&file).unwrap_or_default();
        assert!(new.starts_with(&found), "kill {kill}: {} bytes that are no beginning", found.len());
        if found == new {
            fs::remove_file(&file).expect("removed");
            fs::remove_file(folder.path().join("rows.csv.request.json")).expect("removed");
        }
    }
    println!("{command:?}: {} kills, {early} before its end", kills());
    assert_eq!(whole(&command, &file).0, new);
}

/// Columns are only whole with what stands at their end: there is no file before that.
#[cfg(feature = "columnar")]
#[test]
fn commands_killed_sweep_of_columns_leaves_no_half() {
    let folder = tempfile::tempdir().expect("a folder");
    for ending in ["parquet", "arrow"] {
        let command = [
            "sweep",
            "swing-flexion=0:100:1",
            "mass_kg=60,90",
            "--scenario",
            "walk-fast",
            "--output",
            "FILE",
        ];
        let (new, usual) = whole(&command, &folder.path().join(format!("whole.{ending}")));
        let file = folder.path().join(format!("rows.{ending}"));
        let (mut early, mut were_whole) = (0, 0);
        for kill in 0..kills() {
            early += u64::from(killed(&command, &file, usual, Draw::new(3, kill).unit()));
            let Ok(found) = fs::read(&file) else { continue };
            assert!(found == new, "{ending}, kill {kill}: half a file");
            were_whole += 1;
            fs::remove_file(&file).expect("removed");
        }
        println!("{ending}: {} kills, {early} before its end, {were_whole} whole files", kills());
        assert_eq!(whole(&command, &file).0, new);
    }
}
