//! Rows of a sweep run side by side: the same as one by one, in whatever shard.

use crate::common::{library, setup};
use kneedamp::case::axis::Axis;
use kneedamp::outcome::metric;
use kneedamp::study::sweep::{Column, RowBlock, Samples, Sweep};

/// All outcomes that a batch gives.
const OUTCOMES: &str = "toe_off_flexion_deg peak_flexion_deg peak_flexion_pct peak_vs_able_bodied_deg release_pct \
    late_release_loss_deg full_extension_pct extension_margin_ms terminal_speed_deg_per_s terminal_energy_j \
    rebound_deg heel_contact_flexion_deg";

fn of_knee(knee: &str, scenarios: &[&str], axes: &[&str], samples: Option<Samples>, outcomes: &str) -> Sweep {
    let scenarios = scenarios.iter().map(|s| library().scenario(s).expect("shipped")).collect();
    let axes = axes.iter().map(|a| Axis::parse(a).expect("an axis")).collect();
    let outcomes: Vec<String> = outcomes.split_whitespace().map(str::to_owned).collect();
    Sweep::new(setup("75-kg", knee), scenarios, axes, samples, &outcomes).expect("a sweep")
}

fn sweep(scenarios: &[&str], axes: &[&str], samples: Option<Samples>, outcomes: &str) -> Sweep {
    of_knee("built-in", scenarios, axes, samples, outcomes)
}

/// Numbers of an outcome.
fn numbers(rows: &RowBlock, sweep: &Sweep, outcome: &str) -> Vec<Option<f64>> {
    let place = sweep.columns().iter().position(|c| c == outcome).expect("a column");
    match &rows.columns[place] {
        Column::Numbers(v) => v.clone(),
        other => panic!("no numbers: {other:?}"),
    }
}

/// Against the rows one by one, which have the tolerance of scans. Criterion, fixed beforehand: no outcome is missing
/// on one side only and all differ by less than a last digit as printed, in 99 of 100 rows.
#[test]
fn batched_agrees_with_one_by_one() {
    let axes = ["swing-flexion=0:100:10", "swing-extension=0:100:25", "mass_kg=60,90", "stature_m=1.75"];
    let scenarios = ["walk-slow", "walk-fast", "walk-hurried"];
    let one_by_one = sweep(&scenarios, &axes, None, OUTCOMES);
    let together = one_by_one.clone().batched().expect("covered");
    let (a, b) = (one_by_one.run(0..330, &|| ()), together.run(0..330, &|| ()));
    assert_eq!(a.len(), 330);
    assert_ne!(a, b, "these are other calculations");
    let mut off = std::collections::BTreeSet::new();
    for outcome in OUTCOMES.split_whitespace() {
        let digit = 10_f64.powi(-(metric(outcome).expect("a row").decimals as i32));
        let of = |rows| numbers(rows, &one_by_one, outcome);
        let apart = |(x, y)| match (x, y) {
            (Some(x), Some(y)) => f64::abs(x - y) > digit,
            (x, y) => x.is_some() != y.is_some(),
        };
        off.extend(of(&a).into_iter().zip(of(&b)).enumerate().filter(|(_, xy)| apart(*xy)).map(|(i, _)| i));
    }
    println!("rows that differ by a digit as printed: {} of 330", off.len());
    let rows: Vec<_> = off.iter().map(|&i| (a.row(i), b.row(i))).collect();
    assert!(off.len() <= 3, "{rows:?}");
}

/// A row is the same to the last bit in the whole, in a shard, and when a run goes on in the middle of a block;
/// rows with
/// drives of their own and joints that a batch does not cover run one by one.
#[test]
fn batched_rows_do_not_depend_on_their_neighbours() {
    let axes = ["swing-flexion=0..100", "catch-load=0..100", "stature_m=1.75"];
    let samples = Some(Samples { count: 3000, seed: 7 });
    let outcomes = "peak_flexion_deg extension_margin_ms";
    let walks = ["walk-slow", "walk-fast"];
    let together = sweep(&walks, &axes, samples, outcomes).batched().expect("covered");
    let whole = together.run(0..6000, &|| ());
    for part in [0..1, 17..23, 4090..4100, 5999..6000] {
        let rows = part.start as usize..part.end as usize;
        assert_eq!(together.run(part, &|| ()), whole.clone().part(&rows));
    }
    let shards = (1..=7).map(|i| together.run(together.shard(i, 7), &|| ())).collect();
    assert_eq!(RowBlock::joined(shards), Some(whole));
    let samples = Some(Samples { count: 40, seed: 1 });
    let own = sweep(&["walk-fast"], &["speed_m_per_s=0.7..1.5", "swing-flexion=0..100"], samples, outcomes);
    let friction =
        of_knee("constant-friction", &["walk-fast"], &["temperature_c=0:40:1", "mass_kg=75"], None, outcomes);
    for one_by_one in [own, friction] {
        let together = one_by_one.clone().batched().expect("covered");
        assert_eq!(one_by_one.run(0..40, &|| ()), together.run(0..40, &|| ()));
    }
}

/// Inputs of the knee, of the person and of the drive, drawn and on grids, two scenarios in turn: rows that share a
/// person, leg and drive are those that do not.
#[test]
fn batched_rows_that_share_a_frame_are_those_of_their_own() {
    let knee = ["swing-flexion=20,60", "cushion_start_deg=10,20", "temperature_c=10..40"];
    let samples = Some(Samples { count: 40, seed: 3 });
    let outcomes = "peak_flexion_deg heel_contact_flexion_deg";
    let walks = ["walk-slow", "walk-fast"];
    // a mass that changes the person makes each sample a frame of its own; so narrow, it changes no digit that is shown
    let shared = sweep(&walks, &knee, samples, outcomes).batched().expect("covered");
    let apart = [&knee[..], &["mass_kg=75..75.0000001"]].concat();
    let apart = sweep(&walks, &apart, samples, outcomes).batched().expect("covered");
    let (a, b) = (shared.run(0..320, &|| ()), apart.run(0..320, &|| ()));
    for outcome in outcomes.split(' ') {
        let pairs = numbers(&a, &shared, outcome).into_iter().zip(numbers(&b, &apart, outcome));
        for (i, (x, y)) in pairs.enumerate() {
            let (x, y) = (x.expect("runs"), y.expect("runs"));
            assert!((x - y).abs() < 1e-4, "row {i}, {outcome}: {x} {y}");
        }
    }
    let cells: std::collections::BTreeSet<String> =
        numbers(&a, &shared, "peak_flexion_deg").iter().map(|x| format!("{x:?}")).collect();
    assert!(cells.len() > 100, "the rows differ");
}

#[test]
fn batched_refuses_what_it_does_not_give() {
    let said = |scenario: &str, outcome: &str| {
        let sweep = sweep(&[scenario], &["mass_kg=60,90"], None, outcome);
        sweep.batched().expect_err("refused").to_string()
    };
    assert!(said("walk-fast", "verdict").contains("does not give verdict"));
    assert!(said("walk-fast", "landing").contains("does not give landing"));
    assert!(said("sit-down", "sit_time_s").contains("does not give sit_time_s"));
}
