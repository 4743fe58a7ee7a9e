//! What can go wrong outside: a full disk, a folder that takes no file, a reader that leaves, two writers. No panic, clear
//! words, and no half file.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

/// Commands that write a file, with the ending that they want.
const WRITERS: &[(&[&str], &str)] = &[
    (&["run", "sit-down", "--trace"], "csv"),
    (&["run", "walk-fast", "--plot"], "svg"),
    (
        &["compare", "--scenario", "sit-down", "--a", "stance-yield=40", "--b", "stance-yield=10", "--plot"],
        "svg",
    ),
    (&["new", "knee"], "yaml"),
    (&["sweep", "mass_kg=60:90:1", "--scenario", "stand", "--output"], "csv"),
    (&["sweep", "mass_kg=60:90:1", "--scenario", "stand", "--output"], "jsonl"),
    #[cfg(feature = "columnar")]
    (&["sweep", "mass_kg=60:90:1", "--scenario", "stand", "--output"], "parquet"),
    #[cfg(feature = "columnar")]
    (&["sweep", "mass_kg=60:90:1", "--scenario", "stand", "--output"], "arrow"),
    (&["lesson", "--no-engine", "--output"], "html"),
];

fn program(words: &[&str], file: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_kneedamp"));
    command.env_remove("KNEEDAMP_LIBRARY").args(words).arg(file);
    command
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// Ended with words for people that name the file, and not by a panic.
fn refused(output: &Output, file: &Path, what: &str) {
    let said = said(output);
    assert_eq!(output.status.code(), Some(2), "{what}: {said}");
    assert!(!said.contains("panicked"), "{what}: {said}");
    let name = file.file_name().expect("a name").to_string_lossy().into_owned();
    assert!(said.contains(&name), "{what}: {said}");
}

/// Files may have 1 KiB at most, as on a disk that is full: the system refuses to write more.
#[cfg(unix)]
#[test]
fn commands_on_a_full_disk_leave_no_half_file() {
    let folder = tempfile::tempdir().expect("a folder");
    for (words, ending) in WRITERS {
        let file = folder.path().join(format!("full.{ending}"));
        let whole = program(words, &file);
        let mut bash = Command::new("bash");
        bash.args(["-c", "trap '' XFSZ; ulimit -f 1; exec \"$@\"", "bash"]);
        bash.arg(whole.get_program()).args(whole.get_args());
        let output = bash.env_remove("KNEEDAMP_LIBRARY").output().expect("bash");
        let name = format!("{words:?} {ending}");
        // the request of a sweep is longer than that as well, and is named then
        refused(&output, if words[0] == "sweep" { Path::new("request.json") } else { &file }, &name);
        let left: Vec<PathBuf> =
            fs::read_dir(folder.path()).expect("a folder").map(|e| e.expect("one").path()).collect();
        // a sweep in lines has its empty file, which the next run goes on with
        let whole: Vec<_> = left.iter().filter(|p| fs::metadata(p).is_ok_and(|m| m.len() > 0)).collect();
        assert!(whole.is_empty(), "{name}: {whole:?}");
        left.iter().for_each(|p| drop(fs::remove_file(p)));
    }
}

#[test]
fn commands_say_that_a_folder_takes_no_file() {
    let folder = tempfile::tempdir().expect("a folder");
    for (words, ending) in WRITERS {
        let name = format!("{words:?} {ending}");
        let taken = folder.path().join(format!("folder.{ending}"));
        fs::create_dir_all(&taken).expect("a folder");
        refused(&program(words, &taken).output().expect("starts"), &taken, &name);
        let nowhere = folder.path().join("nowhere").join(format!("file.{ending}"));
        let output = program(words, &nowhere).output().expect("starts");
        assert_eq!(output.status.code(), Some(2), "{name}: {}", said(&output));
        assert!(said(&output).contains("nowhere"), "{name}: {}", said(&output));
        // nobody may make files there, not even who may write everywhere else
        if cfg!(target_os = "linux") {
            let file = PathBuf::from(format!("/proc/kneedamp.{ending}"));
            refused(&program(words, &file).output().expect("starts"), &file, &name);
        }
    }
}

/// A full standard output is an error; one that nobody reads any more is none.
#[cfg(target_os = "linux")]
#[test]
fn commands_with_standard_output_full_or_closed() {
    let printing: &[&[&str]] = &[
        &["run"],
        &["run", "walk-fast", "--format", "json"],
        &["list", "inputs"],
        &["schema", "knee"],
        &["sweep", "mass_kg=60:90:1", "--scenario", "stand"],
        &["complete", "bash"],
    ];
    for words in printing {
        let mut command = Command::new(env!("CARGO_BIN_EXE_kneedamp"));
        let full = fs::OpenOptions::new().write(true).open("/dev/full").expect("a device");
        let output = command.args(*words).stdout(full).stderr(Stdio::piped()).output().expect("starts");
        assert_eq!(output.status.code(), Some(2), "{words:?}: {}", said(&output));
        assert!(said(&output).contains("standard output"), "{words:?}: {}", said(&output));
        let mut command = Command::new(env!("CARGO_BIN_EXE_kneedamp"));
        let mut process =
            command.args(*words).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("starts");
        drop(process.stdout.take());
        let output = process.wait_with_output().expect("ends");
        assert_eq!(output.status.code(), Some(0), "{words:?}: {}", said(&output));
        assert!(!said(&output).contains("panicked"), "{words:?}: {}", said(&output));
    }
}

/// Two programs write one file at the same time: it is that of one or of the other.
#[test]
fn commands_two_writers_leave_one_whole_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let trace = |yielding: &str| ["run", "sit-down", "--set", yielding, "--trace"].map(str::to_owned);
    let both = [trace("stance-yield=20"), trace("stance-yield=60")];
    let words = |all: &[String]| all.iter().map(String::as_str).map(str::to_owned).collect::<Vec<_>>();
    let start = |all: &[String], file: &Path| {
        let owned = words(all);
        let all: Vec<&str> = owned.iter().map(String::as_str).collect();
        program(&all, file).stdout(Stdio::null()).stderr(Stdio::null()).spawn().expect("starts")
    };
    let alone = both.each_ref().map(|all| {
        let file = folder.path().join("alone.csv");
        assert!(start(all, &file).wait().expect("ends").success());
        fs::read(&file).expect("written")
    });
    assert_ne!(alone[0], alone[1]);
    let file = folder.path().join("both.csv");
    for _ in 0..10 {
        let mut running = both.each_ref().map(|all| start(all, &file));
        running.iter_mut().for_each(|p| assert!(p.wait().expect("ends").success()));
        assert!(alone.contains(&fs::read(&file).expect("written")), "neither of the two");
    }
}
