//! `kneedamp sweep`.

use std::path::Path;

use super::{kneedamp, refused, stdout};

const GRID: [&str; 5] =
    ["sweep", "swing-flexion=0:100:25", "mass_kg=60,90", "--outcomes", "peak_flexion_deg"];

fn with<'a>(more: &[&'a str]) -> Vec<&'a str> {
    GRID.iter().copied().chain(more.iter().copied()).collect()
}

fn text(path: &Path) -> &str {
    path.to_str().expect("UTF-8")
}

/// A row whose stumble is doubtful says so, and is neither within nor outside.
#[test]
fn commands_sweep_has_three_verdicts() {
    let csv = stdout(
        &["sweep", "stance-yield=0:100:20", "--scenario", "stumble", "--outcomes", "what_happens,verdict"],
        0,
    );
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let head = reader.headers().expect("a header").clone();
    let column = |name| head.iter().position(|h| h == name).expect("a column");
    let (word, verdict) = (column("what_happens"), column("verdict"));
    let rows: Vec<csv::StringRecord> = reader.records().map(|r| r.expect("a row")).collect();
    let doubtful: Vec<_> = rows.iter().filter(|r| &r[word] == "doubtful").collect();
    assert!(!doubtful.is_empty() && doubtful.len() < rows.len(), "{csv}");
    assert!(doubtful.iter().all(|r| &r[verdict] == "doubtful"), "{csv}");
    assert!(rows.iter().any(|r| &r[verdict] == "within"), "{csv}");
}

/// A knee that is never straight is told from a task in which nobody asks for that.
#[test]
fn commands_sweep_tells_never_from_not_applicable() {
    let asked = ["sweep", "swing-extension=50,100", "--scenario", "walk-comfortable,sit-down"];
    for batch in [false, true] {
        let more: &[&str] = if batch {
            &["--batch", "--outcomes", "full_extension_pct"]
        } else {
            &["--outcomes", "full_extension_pct,sit_time_s"]
        };
        let asked = if batch { &asked[..2] } else { &asked[..] };
        let csv = stdout(&[asked, more].concat(), 0);
        let mut reader = csv::Reader::from_reader(csv.as_bytes());
        let head = reader.headers().expect("a header").clone();
        let column = |name| head.iter().position(|h| h == name).expect("a column");
        let (at, straight, never) =
            (column("swing-extension_pct"), column("full_extension_pct"), column("not_reached"));
        for row in reader.records().map(|r| r.expect("a row")) {
            let walks = &row[column("scenario")] == "walk-comfortable";
            assert_eq!(row[straight].is_empty(), !walks || &row[at] == "100", "{csv}");
            let said = if walks && &row[at] == "100" { "full_extension_pct" } else { "" };
            assert_eq!(&row[never], said, "{csv}");
        }
    }
}

#[test]
fn commands_sweep_csv_and_json_lines_say_the_same() {
    let csv = stdout(&with(&[]), 0);
    let lines = stdout(&with(&["--format", "json"]), 0);
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let head = reader.headers().expect("a header").clone();
    assert_eq!(
        head.iter().collect::<Vec<_>>(),
        ["row", "scenario", "swing-flexion_pct", "mass_kg", "peak_flexion_deg", "not_reached", "error"]
    );
    let rows: Vec<csv::StringRecord> = reader.records().map(|r| r.expect("a row")).collect();
    assert_eq!(rows.len(), 10);
    for (row, line) in rows.iter().zip(lines.lines()) {
        let object: serde_json::Value = serde_json::from_str(line).expect("JSON");
        for (name, cell) in head.iter().zip(row) {
            let same = match &object[name] {
                // the same digits: a reader may round the last one
                serde_json::Value::Number(_) => line.contains(&format!("\"{name}\":{cell}")),
                serde_json::Value::String(s) => s == cell,
                other => other.is_null() && cell.is_empty(),
            };
            assert!(same, "{name}: {cell} in {line}");
        }
    }
    assert_eq!(lines.lines().count(), 10);
}

#[test]
fn commands_sweep_defaults_to_everything() {
    let out = stdout(&["sweep", "mass_kg=75", "--scenario", "walk-comfortable,sit-down"], 0);
    let mut lines = out.lines();
    let head = lines.next().expect("a header");
    for key in
        ["peak_flexion_deg", "landing", "sit_time_s", "verdict", "limiting", "energy_residual", "error"]
    {
        assert!(head.split(',').any(|c| c == key), "{key}");
    }
    assert!(lines.next().expect("a row").starts_with("1,walk-comfortable,75,"));
    assert!(lines.next().expect("a row").starts_with("2,sit-down,75,"));
}

/// Killed at any kind of place and given again, the command comes to the same bytes.
#[test]
fn commands_sweep_goes_on_after_a_kill() {
    let folder = tempfile::tempdir().expect("a folder");
    for name in ["cut.csv", "cut.jsonl"] {
        let path = folder.path().join(name);
        let args = ["sweep", "mass_kg=50:60:1", "--scenario", "stand", "--output", text(&path)];
        stdout(&args, 0);
        let whole = std::fs::read(&path).expect("reads");
        let first_line = whole.iter().position(|&b| b == b'\n').expect("a line");
        let last_line = whole[..whole.len() - 1].iter().rposition(|&b| b == b'\n').expect("a line");
        for cut in [
            0,
            1,
            first_line / 2,
            first_line,
            first_line + 1,
            first_line + 2,
            last_line,
            last_line + 1,
            whole.len() - 1,
            whole.len(),
        ] {
            std::fs::write(&path, &whole[..cut]).expect("writes");
            assert!(stdout(&args, 0).is_empty());
            assert_eq!(std::fs::read(&path).expect("reads"), whole, "{name} cut at byte {cut}");
        }
    }
}

/// A run that is really killed.
#[test]
fn commands_sweep_killed_for_real_loses_and_doubles_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let (killed, whole) = (folder.path().join("killed.csv"), folder.path().join("whole.csv"));
    let args = |path: &Path| {
        ["sweep", "swing-flexion=0:99.5:0.5", "--outcomes", "peak_flexion_deg", "--output", text(path)]
            .map(str::to_owned)
    };
    let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_kneedamp"))
        .args(args(&killed))
        .stderr(std::process::Stdio::null())
        .spawn()
        .expect("starts");
    let rows = |path: &Path| std::fs::read_to_string(path).map_or(0, |t| t.lines().count());
    for _ in 0..2000 {
        if rows(&killed) > 1 || child.try_wait().expect("asks").is_some() {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(2));
    }
    child.kill().expect("kills");
    child.wait().expect("ends");
    for path in [&killed, &whole] {
        let args = args(path);
        stdout(&args.iter().map(String::as_str).collect::<Vec<_>>(), 0);
    }
    let read = |path: &Path| std::fs::read_to_string(path).expect("reads");
    assert_eq!(read(&killed), read(&whole));
    assert_eq!(rows(&whole), 201);
}

#[test]
fn commands_sweep_shards_make_the_whole() {
    let whole = stdout(&with(&[]), 0);
    for n in [1, 3, 4, 13] {
        let parts: String = (1..=n).map(|i| stdout(&with(&["--shard", &format!("{i}/{n}")]), 0)).collect();
        assert_eq!(parts, whole, "{n} shards");
    }
    let bare = stdout(&with(&["--no-header"]), 0);
    assert_eq!(whole.split_once('\n').expect("a header").1, bare);
    let drawn = ["sweep", "swing-flexion=0..100", "--samples", "5", "--outcomes", "peak_flexion_deg"];
    let shard = |part: &str| stdout(&[&drawn[..], &["--shard", part]].concat(), 0);
    assert_eq!(shard("1/2") + &shard("2/2"), stdout(&drawn, 0));
    assert_ne!(stdout(&[&drawn[..], &["--seed", "2"]].concat(), 0), stdout(&drawn, 0));
}

#[test]
fn commands_sweep_same_bytes_for_any_number_of_threads() {
    let run = |threads: &str| {
        let mut command = kneedamp(&with(&["--outcomes", "landing,verdict"]));
        let out = command.env("RAYON_NUM_THREADS", threads).assert().code(0).get_output().stdout.clone();
        String::from_utf8(out).expect("UTF-8")
    };
    assert_eq!(run("1"), run("4"));
}

#[test]
fn commands_sweep_bad_requests_are_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = folder.path().join("x.csv");
    let output = text(&output);
    for (args, said) in [
        (vec!["sweep"], "KEY=VALUES"),
        (vec!["sweep", "mass=70"], "no input named 'mass'"),
        (vec!["sweep", "mass_kg=70:60:1"], "empty"),
        (vec!["sweep", "mass_kg=60:70:0"], "greater than 0"),
        (vec!["sweep", "mass_kg=60", "mass_kg=70"], "given twice"),
        (vec!["sweep", "mass_kg=60", "--shard", "5/4"], "from 1 to N"),
        (vec!["sweep", "mass_kg=60", "--shard", "0/4"], "from 1 to N"),
        (vec!["sweep", "mass_kg=60", "--shard", "1"], "wanted I/N"),
        (vec!["sweep", "mass_kg=60", "--scenario", "moonwalk"], "walk-comfortable"),
        (vec!["sweep", "mass_kg=60", "--scenario", "stand", "--speed", "1"], "no level walking"),
        (vec!["sweep", "mass_kg=60", "--outcomes", "joy"], "joy"),
        (vec!["sweep", "mass_kg=60", "--seed", "2"], "--samples"),
        (vec!["sweep", "swing-flexion=0..100", "--samples", "-1"], "invalid value"),
        (vec!["sweep", "swing-flexion=0..100", "--samples", "1000000000000"], "1000000000000 rows"),
        (vec!["sweep", "swing-flexion=0,10", "--set", "swing-flexion=5"], "both swept and given"),
        (vec!["sweep", "mass_kg=60", "--output", "rows.txt"], "must end in .csv, .jsonl"),
        (vec!["sweep", "mass_kg=60", "--output", "no/such/folder/rows.csv"], "no/such/folder"),
        (vec!["sweep", "mass_kg=70,999", "--output", output], "30 to 200"),
    ] {
        let err = refused(&args);
        assert!(err.contains(said), "{args:?}: no '{said}' in: {err}");
    }
    let taken = folder.path().join("folder.csv");
    std::fs::create_dir(&taken).expect("a folder");
    let err = refused(&["sweep", "mass_kg=60", "--output", text(&taken)]);
    assert!(err.contains("not a plain file"), "{err}");
    std::fs::remove_dir(&taken).expect("removes");
    assert_eq!(std::fs::read_dir(folder.path()).expect("a folder").count(), 0, "nothing half-written");
    assert!(!Path::new("rows.txt").exists());
}

#[test]
fn commands_sweep_keeps_what_was_asked_beside_the_rows() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("rows.csv");
    let run = |masses: &str| {
        let mut command = kneedamp(&["sweep", masses, "--scenario", "stand", "--output", text(&path)]);
        command.assert().get_output().clone()
    };
    assert!(run("mass_kg=60,70").status.success());
    let beside = std::fs::read_to_string(folder.path().join("rows.csv.request.json")).expect("reads");
    let j: serde_json::Value = serde_json::from_str(&beside).expect("JSON");
    assert_eq!(j["varied"][0], "mass_kg=60,70");
    assert_eq!(j["rows"], 2);
    assert_eq!(j["inputs"]["resolved"]["stature_m"], 1.75);
    let before = std::fs::read(&path).expect("reads");
    let other = run("mass_kg=60,80");
    assert_eq!(other.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&other.stderr).contains("another request"));
    assert_eq!(std::fs::read(&path).expect("reads"), before);
    let again = String::from_utf8(run("mass_kg=60,70").stderr).expect("UTF-8");
    assert!(again.contains("2 rows were there already"), "{again}");
}
