//! A sweep in batches as a user runs it, against the kernel on the same strides: cost, two cores, memory, size.
//!
//!     cargo bench --bench sweeps                       # two minutes
//!     cargo bench --bench sweeps -- --rows 100000000   # that many strides over the two swing settings, to one file
//!
//! Costs are processor time of the whole process: options, rows, and a file on disk.
#![allow(missing_docs)]
#![allow(clippy::print_stdout)] // figures are what it is for

mod timing;

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use kneedamp::case::setup::Setup;
use kneedamp::joint::SettingName;
use kneedamp::library::Library;
use kneedamp::motion::batch::{Accuracy, Batch, Member};
use kneedamp::scenario::Activity;
use kneedamp::units::Setting;
use timing::{cost_s, pool};

/// Values of each swing setting.
const SIDE: u64 = 1001;
const OUTCOMES: &str = "peak_flexion_deg,extension_margin_ms,heel_contact_flexion_deg";

/// One core's seconds per stride of the kernel alone, on blocks of the sweep's rows spread over its grid.
fn kernel_s() -> f64 {
    let library = Library::default();
    let mut setup = Setup::new(
        library.person("75-kg").expect("shipped"),
        library.prosthesis("typical").expect("shipped"),
        library.knee("built-in").expect("shipped"),
        library.walking_drive("users-2020").expect("shipped"),
    );
    let scenario = library.scenario("walk-comfortable").expect("shipped");
    let trial = setup.trial(&scenario).expect("resolves");
    let Activity::Walk(walk) = &trial.scenario.activity else { unreachable!("it walks") };
    let drive = trial.resolved_drive(walk).expect("in the table");
    let batch = Batch::new(&drive, walk.beyond_heel_contact, Accuracy::default());
    let mut member = |row: u64| {
        let at = |place: u64| Setting::clamped(place as f64 / (SIDE - 1) as f64);
        setup.settings.set(SettingName::SwingFlexion, at(row / SIDE));
        setup.settings.set(SettingName::SwingExtension, at(row % SIDE));
        let knee = setup.knee.resolve(&setup.settings, None).expect("resolves");
        Member::new(batch.table(), &drive, knee, &trial.person, trial.shank).expect("covered")
    };
    let blocks = SIDE * SIDE / 4096;
    let rows = (0..blocks).step_by(16).flat_map(|b| b * 4096..(b + 1) * 4096);
    let members: Vec<Member> = rows.map(&mut member).collect();
    cost_s(&batch, &members, 2, 7)
}

/// Processor seconds of the processes that this one has waited for; wall time where the system does not say.
fn children_s(begun: Instant) -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let behind_name = stat.rsplit(')').next().unwrap_or_default();
    let ticks: Option<Vec<f64>> =
        behind_name.split_whitespace().skip(13).take(2).map(|t| t.parse().ok()).collect();
    // a tick is a hundredth of a second on Linux
    ticks.filter(|t| t.len() == 2).map_or_else(|| begun.elapsed().as_secs_f64(), |t| (t[0] + t[1]) / 100.0)
}

/// What a sweep took.
struct Took {
    processor_s: f64,
    wall_s: f64,
    bytes: u64,
    memory_mb: f64,
}

/// Most memory of a running process, megabytes.
fn memory_mb(process: u32) -> f64 {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).unwrap_or_default();
    let line = status.lines().find(|l| l.starts_with("VmHWM")).unwrap_or_default();
    line.split_whitespace().nth(1).and_then(|kb| kb.parse::<f64>().ok()).map_or(0.0, |kb| kb / 1024.0)
}

/// Runs a sweep of `side` by `side` settings into a file on the cores of this list.
fn sweep(side: u64, cores: &str, file: &Path) -> Took {
    let mut request = file.as_os_str().to_owned();
    request.push(".request.json");
    for name in [file.as_os_str(), &request] {
        let _ = std::fs::remove_file(name);
    }
    let step = 100.0 / (side - 1) as f64;
    let axes = ["swing-flexion", "swing-extension"].map(|name| format!("{name}=0:100:{step}"));
    let begun = Instant::now();
    let before = children_s(begun);
    let mut process = Command::new("taskset")
        .args(["-c", cores, env!("CARGO_BIN_EXE_kneedamp"), "sweep", &axes[0], &axes[1]])
        .args(["--batch", "--outcomes", OUTCOMES, "--output"])
        .arg(file)
        .stderr(Stdio::null())
        .spawn()
        .expect("taskset starts");
    let mut most = 0.0_f64;
    let status = loop {
        most = most.max(memory_mb(process.id()));
        match process.try_wait().expect("a process") {
            Some(status) => break status,
            None => std::thread::sleep(Duration::from_millis(5)),
        }
    };
    assert!(status.success(), "the sweep failed");
    let bytes = std::fs::metadata(file).expect("written").len();
    let wall_s = begun.elapsed().as_secs_f64();
    Took { processor_s: children_s(begun) - before, wall_s, bytes, memory_mb: most }
}

/// A row of the table in docs/scale.md.
fn capacity(side: u64, cores: usize, folder: &Path) {
    let took = sweep(side, &format!("0-{}", cores - 1), &folder.join("rows.parquet"));
    let rows = (side * side) as f64;
    println!(
        "{:>11} strides on {cores} cores: {:8.2} s, {:9.2} MB, {:4.0} MB of memory, {:.2} us of one core each",
        side * side,
        took.wall_s,
        took.bytes as f64 * 1e-6,
        took.memory_mb,
        1e6 * took.processor_s / rows
    );
}

/// The number behind `--rows`.
fn rows_of_argument() -> Option<u64> {
    let arguments: Vec<String> = std::env::args().collect();
    let at = arguments.iter().position(|a| a == "--rows")?;
    arguments.get(at + 1)?.parse().ok()
}

fn main() {
    let folder = tempfile::tempdir().expect("a folder");
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    if let Some(rows) = rows_of_argument() {
        return capacity((rows as f64).sqrt().round() as u64, cores, folder.path());
    }
    for side in [100, 316, 1000, 3162] {
        capacity(side, cores, folder.path());
    }
    let rows = (SIDE * SIDE) as f64;
    for ending in ["parquet", "arrow", "csv"] {
        // the kernel right before and after, since a machine changes its speed
        let before = pool(1).install(kernel_s);
        let took = sweep(SIDE, "0", &folder.path().join(format!("rows.{ending}")));
        let kernel = 0.5 * (before + pool(1).install(kernel_s));
        println!(
            "{ending}: {:.2} us of one core per row, {:.2} times the kernel's {:.2} us; {:.1} bytes per row",
            1e6 * took.processor_s / rows,
            took.processor_s / rows / kernel,
            1e6 * kernel,
            took.bytes as f64 / rows
        );
    }
    if cores > 1 {
        let file = folder.path().join("rows.parquet");
        let wall = |cores| (0..3).map(|_| sweep(SIDE, cores, &file).wall_s).fold(f64::INFINITY, f64::min);
        let (one, two) = (wall("0"), wall("0,1"));
        println!("two cores: {:.2} times one (wall time; wants an idle machine)", one / two);
    }
}
