//! A sweep in batches as a user runs it, against the kernel on the same strides: cost, two cores, memory, size.
//!
//!     cargo bench --bench sweeps                       # about a minute
//!     cargo bench --bench sweeps -- --rows 100000000   # that many strides over the two swing settings, to one file
//!
//! Costs are processor time of the whole process: options, rows, and a file on disk.
#![allow(missing_docs)]
#![allow(clippy::print_stdout)] // figures are what it is for

mod timing;

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

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

/// Runs a sweep of `side` by `side` settings into a file; gives processor and wall seconds, and the file's bytes.
fn sweep(side: u64, cores: &str, file: &Path) -> (f64, f64, u64) {
    for name in [file.to_owned(), file.with_extension("parquet.request.json"), file.with_extension("csv.request.json")] {
        let _ = std::fs::remove_file(name);
    }
    let step = 100.0 / (side - 1) as f64;
    let axes = ["swing-flexion", "swing-extension"].map(|name| format!("{name}=0:100:{step}"));
    let begun = Instant::now();
    let before = children_s(begun);
    let status = Command::new("taskset")
        .args(["-c", cores, env!("CARGO_BIN_EXE_kneedamp"), "sweep", &axes[0], &axes[1]])
        .args(["--batch", "--outcomes", OUTCOMES, "--output"])
        .arg(file)
        .stderr(Stdio::null())
        .status()
        .expect("taskset starts");
    assert!(status.success(), "the sweep failed");
    let size = std::fs::metadata(file).expect("written").len();
    (children_s(begun) - before, begun.elapsed().as_secs_f64(), size)
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
        let side = (rows as f64).sqrt().round() as u64;
        let file = folder.path().join("rows.parquet");
        let (processor, wall, size) = sweep(side, &format!("0-{}", cores - 1), &file);
        println!(
            "{} strides to Parquet on {cores} cores: {wall:.0} s, {:.2} us of one core each, {:.2} GB",
            side * side,
            1e6 * processor / (side * side) as f64,
            size as f64 * 1e-9
        );
        return;
    }
    let rows = (SIDE * SIDE) as f64;
    for ending in ["parquet", "arrow", "csv"] {
        let file = folder.path().join(format!("rows.{ending}"));
        // the kernel right before and after, since a machine changes its speed
        let before = pool(1).install(kernel_s);
        let (processor, _, size) = sweep(SIDE, "0", &file);
        let kernel = 0.5 * (before + pool(1).install(kernel_s));
        println!(
            "{ending}: {:.2} us of one core per row, {:.2} times the kernel's {:.2} us; {:.1} bytes per row",
            1e6 * processor / rows,
            processor / rows / kernel,
            1e6 * kernel,
            size as f64 / rows
        );
    }
    if cores > 1 {
        let file = folder.path().join("rows.parquet");
        let wall = |cores| (0..3).map(|_| sweep(SIDE, cores, &file).1).fold(f64::INFINITY, f64::min);
        let (one, two) = (wall("0"), wall("0,1"));
        println!("two cores: {:.2} times one (wall time; wants an idle machine)", one / two);
    }
}
