//! The sweep: axes, draws, order of rows, what is run, files that can be gone on with.

use approx::assert_abs_diff_eq;
use serde_json::json;

use crate::common::{self, library};
use kneedamp::case::axis::Axis;
use kneedamp::case::inputs::Case;
use kneedamp::case::setup::Setup;
use kneedamp::findings::Cell;
use kneedamp::joint::{DirectionFile, TableFile};
use kneedamp::motion::trial::Detail;
use kneedamp::numerics::random::{SPLIT_MIX_STEP, split_mix, uniform};
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::outcome::{METRICS, Value, detail_for};
use kneedamp::report::row_file::{RowFile, RowRequest};
use kneedamp::report::rows::RowFormat;
use kneedamp::study::sweep::Sweep;
use kneedamp::study::sweep::{MOST_ROWS, Samples};

fn setup() -> Setup {
    common::setup("75-kg", "built-in")
}

fn sweep(
    scenarios: &[&str],
    axes: &[&str],
    samples: Option<Samples>,
    outcomes: &[&str],
) -> Result<Sweep, String> {
    let scenarios = scenarios.iter().map(|s| library().scenario(s).expect("shipped")).collect();
    let axes = axes.iter().map(|a| Axis::parse(a)).collect::<Result<_, _>>().map_err(|e| e.to_string())?;
    let outcomes: Vec<String> = outcomes.iter().map(|&o| o.to_owned()).collect();
    Sweep::new(setup(), scenarios, axes, samples, &outcomes).map_err(|e| e.to_string())
}

fn values(axis: &str) -> Vec<f64> {
    let axis = Axis::parse(axis).expect("an axis");
    (0..axis.steps()).map(|i| axis.at(i)).collect()
}

#[test]
fn sweep_axes_by_hand() {
    assert_eq!(values("mass_kg=50, 75,100"), [50.0, 75.0, 100.0]);
    assert_eq!(values("mass_kg=75"), [75.0]);
    assert_eq!(values("swing-flexion=0:100:25"), [0.0, 25.0, 50.0, 75.0, 100.0]);
    assert_eq!(values("swing-flexion=0:100:30"), [0.0, 30.0, 60.0, 90.0], "the end is not forced");
    assert_eq!(values("stature_m=1.5:1.8:0.1"), [1.5, 1.6, 1.7, 1.8], "the end is reached, digits are tidy");
    assert_eq!(values("temperature_c=-5:5:5"), [-5.0, 0.0, 5.0]);
    assert_eq!(values("mass_kg=80:80:1"), [80.0]);
    assert_eq!(Axis::parse("swing-flexion=0..100").expect("a range").ends(), (0.0, 100.0));
    for (wrong, said) in [
        ("mass_kg", "wanted KEY=VALUE"),
        ("mass=70", "no input named 'mass'"),
        ("mass_kg=", "''"),
        ("mass_kg=10,70", "30 to 200"),
        ("mass_kg=70,nan", "30 to 200"),
        ("mass_kg=70,inf", "30 to 200"),
        ("mass_kg=seventy", "'seventy'"),
        ("mass_kg=50,70,50", "50 is given twice"),
        ("mass_kg=50:100", "three numbers"),
        ("mass_kg=50:100:0", "greater than 0"),
        ("mass_kg=50:100:-1", "greater than 0"),
        ("mass_kg=50:100:nan", "greater than 0"),
        ("mass_kg=100:50:1", "empty"),
        ("mass_kg=50:300:1", "30 to 200"),
        ("mass_kg=100..50", "empty"),
        ("mass_kg=50..50", "empty"),
        ("mass_kg=50..300", "30 to 200"),
    ] {
        let e = Axis::parse(wrong).expect_err(wrong).to_string();
        assert!(e.contains(said), "{wrong}: {e}");
    }
}

/// First outputs of SplitMix64 from state 0, as its authors publish them.
#[test]
fn sweep_generator_has_its_published_outputs() {
    let outputs = [0xE220_A839_7B1D_CDAF, 0x6E78_9E6A_A1B9_65F4, 0x06C4_5D18_8009_454F];
    for (k, expected) in (0_u64..).zip(outputs) {
        assert_eq!(split_mix(SPLIT_MIX_STEP.wrapping_mul(k)), expected);
    }
}

/// Mean 1/2, variance 1/12, no correlation between neighbours, names or seeds: 5 standard errors.
#[test]
fn sweep_draws_are_uniform_and_independent() {
    const N: u64 = 40_000;
    let draws =
        |seed: u64, name: &str| -> Vec<f64> { (0..N).map(|n| uniform(seed, n, name) - 0.5).collect() };
    let (a, b, c) = (draws(1, "swing-flexion"), draws(1, "catch-load"), draws(2, "swing-flexion"));
    let mean = |x: &[f64], y: &[f64]| x.iter().zip(y).map(|(x, y)| x * y).sum::<f64>() / x.len() as f64;
    let ones = vec![1.0; a.len()];
    let n = (N as f64).sqrt();
    let (sd, var) = ((1.0_f64 / 12.0).sqrt(), 1.0 / 12.0);
    for x in [&a, &b, &c] {
        assert!(mean(x, &ones).abs() < 5.0 * sd / n);
        // variance of x² for a uniform x: 1/80 − 1/144
        assert_abs_diff_eq!(mean(x, x), var, epsilon = 5.0 * (1.0_f64 / 80.0 - 1.0 / 144.0).sqrt() / n);
        assert!(mean(&x[1..], x).abs() < 5.0 * var / n, "neighbours");
        assert!(x.iter().all(|v| (-0.5..0.5).contains(v)));
    }
    assert!(mean(&a, &b).abs() < 5.0 * var / n, "names");
    assert!(mean(&a, &c).abs() < 5.0 * var / n, "seeds");
}

#[test]
fn sweep_rows_are_in_order_and_follow_from_their_number() {
    let s = sweep(&["stand", "sit-down"], &["mass_kg=50,75,100", "stature_m=1.6,1.8"], None, &[]);
    let s = s.expect("a sweep");
    assert_eq!(s.rows(), 12);
    let row = |i| {
        let (scenario, v) = s.combination(i);
        (scenario.name.clone(), v)
    };
    assert_eq!(row(0), ("stand".into(), vec![50.0, 1.6]));
    assert_eq!(row(1), ("sit-down".into(), vec![50.0, 1.6]));
    assert_eq!(row(2), ("stand".into(), vec![50.0, 1.8]));
    assert_eq!(row(4), ("stand".into(), vec![75.0, 1.6]));
    assert_eq!(row(11), ("sit-down".into(), vec![100.0, 1.8]));
    let (all, part) = (s.run(0..12, &|| {}), s.run(5..9, &|| {}));
    assert_eq!(part, all.clone().part(&(5..9)));
    assert_eq!(all.row(0)[0], Cell::Number(1.0, 0));
}

#[test]
fn sweep_every_sample_goes_through_the_grid() {
    let samples = Some(Samples { count: 3, seed: 5 });
    let axes = ["mass_kg=50,75", "swing-flexion=0..100", "catch-load=20..40"];
    let s = sweep(&["walk-comfortable"], &axes, samples, &["peak_flexion_deg"]).expect("a sweep");
    assert_eq!(s.rows(), 6);
    let value = |i: u64, k: usize| s.combination(i).1[k];
    for n in 0..3 {
        assert_eq!((value(2 * n, 0), value(2 * n + 1, 0)), (50.0, 75.0));
        assert_eq!(value(2 * n, 1).to_bits(), (100.0 * uniform(5, n, "swing-flexion")).to_bits());
        assert_eq!(value(2 * n, 1).to_bits(), value(2 * n + 1, 1).to_bits(), "the same sample for both");
        assert!((20.0..40.0).contains(&value(2 * n, 2)));
    }
    // another axis leaves the draws as they were
    let fewer = sweep(&["walk-comfortable"], &axes[1..2], samples, &["peak_flexion_deg"]).expect("a sweep");
    assert_eq!(fewer.combination(2).1[0].to_bits(), value(4, 1).to_bits());
}

#[test]
fn sweep_too_long_is_refused_with_its_count() {
    let thousand = "0:99.9:0.1";
    let keys = ["swing-flexion", "swing-extension", "stance-yield", "catch-load"];
    let axes: Vec<String> = keys.iter().map(|k| format!("{k}={thousand}")).collect();
    let axes: Vec<&str> = axes.iter().map(String::as_str).collect();
    assert_eq!(sweep(&["walk-comfortable"], &axes[..3], None, &[]).expect("a sweep").rows(), MOST_ROWS);
    let begun = std::time::Instant::now();
    let e = sweep(&["walk-comfortable"], &axes, None, &[]).expect_err("10^12 rows");
    assert!(e.contains("1000000000000 rows"), "{e}");
    let e = sweep(&["walk-comfortable", "walk-fast"], &axes[..3], None, &[]).expect_err("twice as many");
    assert!(e.contains("2000000000 rows"), "{e}");
    let e = sweep(&["walk-comfortable"], &["swing-flexion=0:100:1e-300"], None, &[]).expect_err("endless");
    assert!(e.contains("18446744073709551615 rows"), "{e}");
    assert!(begun.elapsed().as_secs_f64() < 1.0, "without laying anything out");
}

#[test]
fn sweep_requests_that_make_no_sense_are_refused() {
    let samples = |count| Some(Samples { count, seed: 1 });
    let walk = &["walk-comfortable"][..];
    for (found, said) in [
        (sweep(walk, &["mass_kg=50", "mass_kg=60"], None, &[]), "mass_kg is given twice"),
        (sweep(walk, &["swing-flexion=0..100"], None, &[]), "give --samples"),
        (sweep(walk, &["swing-flexion=0,100"], samples(5), &[]), "KEY=LOW..HIGH"),
        (sweep(walk, &["swing-flexion=0..100"], samples(0), &[]), "at least 1"),
        (sweep(&["sit-down"], &["speed_m_per_s=1,1.2"], None, &[]), "changes nothing"),
        (sweep(walk, &["sitting_share=0.3,0.4"], None, &[]), "changes nothing"),
        (sweep(&["stand", "stand"], &["mass_kg=50"], None, &[]), "'stand' is given twice"),
        (sweep(walk, &["mass_kg=50"], None, &["sit_time_s"]), "no outcome of these scenarios"),
        (sweep(walk, &["mass_kg=50"], None, &["verdict", "verdict"]), "verdict is given twice"),
    ] {
        let e = found.expect_err(said);
        assert!(e.contains(said), "no '{said}' in: {e}");
    }
    let mut measured = setup();
    measured.knee.swing_flexion =
        DirectionFile::Table(TableFile { rate_rad_per_s: vec![1.0, 5.0], torque_n_m: vec![1.0, 12.0] });
    let walking = library().scenario("walk-comfortable").expect("shipped");
    let sweep_of = |axis: &str| {
        let axis = Axis::parse(axis).expect("an axis");
        Sweep::new(measured.clone(), vec![walking.clone()], vec![axis], None, &[])
    };
    let e = sweep_of("swing-flexion=0,100").expect_err("a measured table").to_string();
    assert!(e.contains("has no setting"), "{e}");
    assert!(sweep_of("swing-extension=0,100").is_ok());
}

/// Keys of the outcomes that never came about.
fn not_reached(alone: &kneedamp::outcome::Assessment) -> Cell {
    let never = alone.outcomes.iter().filter(|(_, v)| *v == Value::NotReached);
    let keys: Vec<&str> = never.map(|(m, _)| m.key).collect();
    if keys.is_empty() { Cell::Empty } else { Cell::Text(keys.join(" ")) }
}

/// Every row is what the same case gives when it is run alone with everything.
#[test]
fn sweep_rows_are_those_of_single_runs() {
    let scenarios = ["walk-comfortable", "stumble"];
    let s = sweep(&scenarios, &["swing-flexion=20,60", "mass_kg=60,95"], None, &[]).expect("a sweep");
    let columns = s.columns();
    let rows = s.run(0..s.rows(), &|| {});
    assert_eq!(rows.len() as u64, s.rows());
    for i in 0..s.rows() {
        let row = rows.row(i as usize);
        let (scenario, v) = s.combination(i);
        let mut case = Case { setup: setup(), scenario: scenario.clone() };
        case.set("swing-flexion", v[0]).expect("in range");
        case.set("mass_kg", v[1]).expect("in range");
        let alone = case.assess(Detail::default(), Tolerances::scan()).expect("runs");
        for (name, cell) in columns.iter().zip(&row) {
            let expected = match name.as_str() {
                "row" => Cell::Number((i + 1) as f64, 0),
                "scenario" => Cell::text(scenario.name.clone()),
                "swing-flexion_pct" => Cell::Number(v[0], 0),
                "mass_kg" => Cell::Number(v[1], 0),
                "verdict" => Cell::text(alone.verdict().as_str()),
                "limiting" => Cell::text(alone.limiting().expect("limits").limit.outcome.clone()),
                "energy_residual" => Cell::Number(alone.energy_residual, 0),
                "not_reached" => not_reached(&alone),
                "error" => Cell::Empty,
                key => match alone.outcomes.get(key) {
                    Some(Value::Number(x)) => Cell::Number(x, 0),
                    Some(Value::Word(w)) => Cell::text(w),
                    Some(Value::NotReached) | None => Cell::Empty,
                },
            };
            assert_eq!(cell, &expected, "row {i}, {name}");
        }
    }
}

/// What an outcome says it needs is all it needs: alone it has the value it has in a run of everything.
#[test]
fn sweep_outcomes_alone_are_the_same_as_in_company() {
    for name in ["walk-comfortable", "sit-down", "ramp-down-8-deg", "stairs-down", "stumble", "stand"] {
        let scenario = library().scenario(name).expect("shipped");
        let case = Case { setup: setup(), scenario };
        let run = |detail| case.trial(detail, Tolerances::scan()).expect("resolves").run().expect("runs");
        let full = run(Detail::default());
        let mut seen: Vec<(Detail, kneedamp::Motion)> = Vec::new();
        for m in METRICS.iter().filter(|m| m.activities.contains(&full.kind())) {
            let detail = detail_for(std::iter::once(m));
            if !seen.iter().any(|(d, _)| *d == detail) {
                seen.push((detail, run(detail)));
            }
            let alone = seen.iter().find(|(d, _)| *d == detail).map(|(_, motion)| m.read(motion));
            assert_eq!(alone, Some(m.read(&full)), "{name}: {}", m.key);
        }
    }
}

#[test]
fn sweep_a_row_that_cannot_run_says_why() {
    let s = sweep(&["walk-comfortable"], &["speed_m_per_s=1.1,4.5"], None, &["peak_flexion_deg", "verdict"]);
    let rows = s.expect("a sweep").run(0..2, &|| {});
    assert_eq!(rows.failed(), 1);
    let rows = [rows.row(0), rows.row(1)];
    assert!(matches!(rows[0][3], Cell::Number(v, _) if v > 40.0));
    assert_eq!(rows[0][5], Cell::Empty);
    assert_eq!(rows[1][3..6], [Cell::Empty, Cell::text("cannot run"), Cell::Empty]);
    assert!(matches!(&rows[1][6], Cell::Text(t) if t.contains("outside the drive")), "{:?}", rows[1]);
}

/// Cut at every single byte (JSON lines at every seventh), the file is gone on with to the same bytes.
#[test]
fn sweep_file_cut_anywhere_comes_to_the_same_bytes() {
    let folder = tempfile::tempdir().expect("a folder");
    let s = sweep(&["stand"], &["mass_kg=50:59:1"], None, &["extension_moment_n_m"]).expect("a sweep");
    let columns = s.columns();
    for format in [RowFormat::Csv, RowFormat::JsonLines] {
        let path = folder.path().join(format!("{format:?}"));
        let header = format.header(&columns).expect("a header");
        let request = RowRequest {
            format,
            header: &header,
            first: 9,
            rows: 2,
            fingerprint: "this",
            document: json!({}),
        };
        let finish = || {
            let mut file = RowFile::open(&path, &request).expect("opens");
            let lines = format.lines(&columns, &s.run(8 + file.done..10, &|| {}));
            let left = 2 - file.done;
            file.append(&lines, left).expect("writes");
            drop(file);
            std::fs::read(&path).expect("reads")
        };
        let whole = finish();
        assert!(whole.ends_with(b"\n"));
        let head = usize::from(format == RowFormat::Csv);
        assert_eq!(whole.iter().filter(|&&b| b == b'\n').count(), 2 + head);
        // JSON lines are long and every block waits for the disk
        for cut in (0..=whole.len()).step_by(if format == RowFormat::Csv { 1 } else { 7 }) {
            std::fs::write(&path, &whole[..cut]).expect("writes");
            assert_eq!(finish(), whole, "cut at byte {cut}");
        }
    }
}

#[test]
fn sweep_file_of_something_else_is_left_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("rows.csv");
    let request = |fingerprint: &'static str| RowRequest {
        format: RowFormat::Csv,
        header: "row,x\n",
        first: 1,
        rows: 3,
        fingerprint,
        document: json!({}),
    };
    let refused = |text: &str, fingerprint: &'static str, said: &str| {
        std::fs::write(&path, text).expect("writes");
        let e = RowFile::open(&path, &request(fingerprint)).expect_err(said).to_string();
        assert!(e.contains(said), "{e}");
        assert_eq!(std::fs::read_to_string(&path).expect("reads"), text, "untouched");
    };
    refused("my notes\n", "this", "does not say what");
    std::fs::remove_file(&path).expect("removes");
    let file = RowFile::open(&path, &request("this")).expect("opens");
    let twice = RowFile::open(&path, &request("this")).expect_err("open already").to_string();
    assert!(twice.contains("another run is writing"), "{twice}");
    drop(file);
    refused("row,x\n1,a\n", "other", "another request");
    refused("row,y\n1,a\n", "this", "line 1 ");
    refused("row,x\n1,a\n3,c\n", "this", "line 3 ");
    refused("row,x\n1,a\n1,a\n", "this", "line 3 ");
    refused("row,x\n1,a\n2,b\n3,c\n4,d\n", "this", "line 5 ");
    std::fs::write(&path, "row,x\n1,a\n2,b\n3,").expect("writes");
    assert_eq!(RowFile::open(&path, &request("this")).expect("opens").done, 2);
}
