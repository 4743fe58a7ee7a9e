//! The batch against the reference path, one by one at 1e-12: random settings, people,
//! prostheses and oils at eight paces. The criteria were fixed before the first run.

use std::sync::OnceLock;

use rayon::prelude::*;

use super::batch_population::{Case, PACES, Range};
use crate::evidence::{Check, Kind, greatest};
use kneedamp::motion::batch::{Accuracy, Batch, Member, StrideOutcomes, Width};
use kneedamp::motion::stride::Stride;
use kneedamp::numerics::tolerances::Tolerances;

/// Strides of each pace and range of settings: 4,096 in all.
const EACH: u64 = 256;
/// Peak flexion may be off by this, rad.
const PEAK_RAD: f64 = 1e-6;
/// A verdict may be wrong only for a value this close to its limit, rad or s.
const BAND: f64 = 1e-4;

/// What the reference path says.
#[derive(Debug, Clone, Copy)]
struct Exact {
    toe_off: f64,
    peak: f64,
    peak_s: f64,
    straight_s: Option<f64>,
    contact: f64,
    rebound: Option<f64>,
    release_s: Option<f64>,
}

struct Pair {
    exact: Exact,
    found: Option<StrideOutcomes>,
    contact_s: f64,
}

fn exact(case: &Case) -> Exact {
    let (drive, knee) = (case.drive.clone(), case.knee.clone());
    let s = Stride::run(drive, knee, &case.person, case.shank, 0.15, &Tolerances::tight()).expect("runs");
    let (peak_s, peak) = s.peak();
    Exact {
        toe_off: s.flexion(s.drive.toe_off_s),
        peak,
        peak_s,
        straight_s: s.full_extension_s(),
        contact: s.flexion(s.drive.stride_time_s),
        rebound: s.rebound(),
        release_s: s.release_s,
    }
}

fn members(cases: &[Case], batch: &Batch) -> Vec<Member> {
    cases.iter().map(|c| c.member(batch.table())).collect()
}

fn cases(pace: usize, range: Range, count: u64) -> Vec<Case> {
    let library = crate::common::library();
    // both shipped drives: able-bodied and users, whose steps are not alike
    let name = if range == Range::Whole { "able-bodied-2008" } else { "users-2020" };
    let (file, knee) = (library.drive(name).expect("shipped"), library.knee("built-in").expect("shipped"));
    let first = 10_000 * pace as u64 + if range == Range::Whole { 0 } else { 5_000 };
    (first..first + count).map(|n| Case::random(n, &file, &knee, PACES[pace], range)).collect()
}

/// All pairs, run once.
fn pairs() -> &'static [Pair] {
    static PAIRS: OnceLock<Vec<Pair>> = OnceLock::new();
    PAIRS.get_or_init(|| {
        let mut pairs = Vec::new();
        for range in [Range::Whole, Range::Fitted] {
            for pace in 0..PACES.len() {
                let cases = cases(pace, range, EACH);
                let batch = Batch::new(&cases[0].drive, 0.15, Accuracy::default());
                let found = batch.run(&members(&cases, &batch));
                let exact: Vec<Exact> = cases.par_iter().map(exact).collect();
                pairs.extend(cases.iter().zip(exact).zip(found).map(|((case, exact), found)| Pair {
                    exact,
                    found: found.ok(),
                    contact_s: case.drive.stride_time_s,
                }));
            }
        }
        pairs
    })
}

/// Deviation of what both have; infinite if one of them has it and the other has not.
fn apart(a: Option<f64>, b: Option<f64>) -> f64 {
    match (a, b) {
        (Some(a), Some(b)) => (a - b).abs(),
        (None, None) => 0.0,
        _ => f64::INFINITY,
    }
}

fn deviations(of: impl Fn(&Exact, &StrideOutcomes) -> f64) -> Vec<f64> {
    pairs().iter().filter_map(|p| p.found.map(|f| of(&p.exact, &f))).collect()
}

/// Share of the strides beyond a criterion, percent, and the greatest deviation of the others' 99.9 %.
fn beyond(name: &str, criterion: f64, deviations: &[f64]) -> f64 {
    let mut sorted = deviations.to_vec();
    sorted.sort_by(f64::total_cmp);
    let at = |share: f64| sorted[((sorted.len() - 1) as f64 * share) as usize];
    let share = 100.0 * deviations.iter().filter(|d| d.is_nan() || **d > criterion).count() as f64
        / deviations.len() as f64;
    println!(
        "{name}: median {:.1e}, 99 % {:.1e}, 99.9 % {:.1e}, greatest {:.1e}; beyond {criterion:.0e}: {share:.2} %",
        at(0.5),
        at(0.99),
        at(0.999),
        at(1.0)
    );
    share
}

fn peak(e: &Exact, f: &StrideOutcomes) -> f64 {
    (e.peak - f.peak_rad).abs()
}

fn instants(e: &Exact, f: &StrideOutcomes) -> f64 {
    (e.peak_s - f.peak_s)
        .abs()
        .max(apart(e.straight_s, f.full_extension_s))
        .max(apart(e.release_s, f.release_s))
}

fn contact(e: &Exact, f: &StrideOutcomes) -> f64 {
    (e.contact - f.heel_contact_rad).abs().max((e.toe_off - f.toe_off_rad).abs())
}

fn rebound(e: &Exact, f: &StrideOutcomes) -> f64 {
    apart(e.rebound, f.rebound_rad)
}

/// Strides whose verdict on a limit differs although the value is not within the band around it.
fn wrong_verdicts() -> usize {
    let deg = kneedamp::units::DEG;
    let differs = |a: f64, b: f64, limit: f64| (a > limit) != (b > limit) && (a - limit).abs() > BAND;
    pairs()
        .iter()
        .filter(|p| {
            p.found.is_some_and(|f| {
                let e = &p.exact;
                let margin = |s: Option<f64>| s.map_or(f64::NEG_INFINITY, |s| p.contact_s - s);
                [40.0, 70.0].iter().any(|d| differs(e.peak, f.peak_rad, d * deg))
                    || differs(e.contact, f.heel_contact_rad, 5.0 * deg)
                    || [0.02, 0.04, 0.2]
                        .iter()
                        .any(|&l| differs(margin(e.straight_s), margin(f.full_extension_s), l))
            })
        })
        .count()
}

pub fn checks() -> Vec<Check> {
    static CHECKS: OnceLock<Vec<Check>> = OnceLock::new();
    let row = |id, what, criterion, figure, unit| Check {
        id,
        kind: Kind::Verification,
        what,
        source: "reference path at 1e-12, 4,096 random strides",
        criterion,
        figure,
        unit,
    };
    let share =
        |name, criterion, of: fn(&Exact, &StrideOutcomes) -> f64| beyond(name, criterion, &deviations(of));
    CHECKS
        .get_or_init(|| {
            let missed = pairs().iter().filter(|p| p.found.is_none()).count();
            println!("strides that leave what is covered: {missed} of {}", pairs().len());
            vec![
                row(
                    "B14",
                    "batch: peak flexion off by more than 1e-6 rad",
                    0.0,
                    share("peak", PEAK_RAD, peak),
                    "% of strides",
                ),
                row(
                    "B15",
                    "batch: an instant off by more than 1e-5 s",
                    0.0,
                    share("instants", 1e-5, instants),
                    "% of strides",
                ),
                row(
                    "B16",
                    "batch: toe-off or heel contact off by more than 1e-4 rad",
                    0.0,
                    share("contact", 1e-4, contact),
                    "% of strides",
                ),
                row(
                    "B17",
                    "batch: rebound off by more than 1e-4 rad",
                    0.0,
                    share("rebound", 1e-4, rebound),
                    "% of strides",
                ),
                row(
                    "B18",
                    "batch: wrong verdict outside a band of 1e-4",
                    0.0,
                    wrong_verdicts() as f64,
                    "strides",
                ),
            ]
        })
        .clone()
}

/// The criteria that every stride must meet are in the accuracy table, held or failed; what must never
/// happen is asserted here.
#[test]
fn cross_code_batch_agrees_with_the_reference_path() {
    for check in checks() {
        println!("{}: {} = {} {}", check.id, check.what, check.figure, check.unit);
        // few strides, those near forks of the motion
        assert!(check.figure <= 1.0, "{}: {} {}", check.id, check.figure, check.unit);
    }
    let typical = |mut d: Vec<f64>| {
        d.sort_by(f64::total_cmp);
        d[d.len() / 2]
    };
    assert!(typical(deviations(peak)) < 1e-7);
    assert!(typical(deviations(instants)) < 1e-6);
}

/// With the step given (no error control, switches located) the error falls with the fourth power.
#[test]
fn cross_code_batch_order_of_convergence() {
    let cases = cases(4, Range::Fitted, 128);
    let run = |cells_per_stride: usize| -> Vec<[f64; 2]> {
        let accuracy = Accuracy { cells_per_stride, per_omega: 0.0, per_valve: 0.0 };
        let batch = Batch::new(&cases[0].drive, 0.15, accuracy);
        let found = batch.run(&members(&cases, &batch));
        found.into_iter().map(|f| f.map_or([f64::NAN; 2], |f| [f.peak_rad, f.heel_contact_rad])).collect()
    };
    let exact = run(6400);
    let coarse = [400, 800, 1600].map(run);
    for (k, name) in ["peak", "heel contact"].into_iter().enumerate() {
        // the median: lanes whose step is too long for their stiffness do not hide it
        let errors = coarse.each_ref().map(|found| {
            let mut d: Vec<f64> = found.iter().zip(&exact).map(|(a, b)| (a[k] - b[k]).abs()).collect();
            d.retain(|d| d.is_finite());
            d.sort_by(f64::total_cmp);
            d[d.len() / 2]
        });
        let order = (errors[0] / errors[2]).log2() / 2.0;
        println!("{name}: order {order:.2} from median errors {errors:?}");
        assert!((3.5..5.5).contains(&order), "{name}: {order}");
    }
}

/// The same bytes for any number of threads. On vectors of one the numbers are the same to rounding where every
/// step goes through one cell; else the strides of a vector agree on longer steps, and they are the same to what
/// the batch may be off, B14.
#[test]
fn cross_code_batch_does_not_depend_on_threads_or_vectors() {
    let cases = cases(3, Range::Whole, 200);
    let usual = Batch::new(&cases[0].drive, 0.15, Accuracy::default());
    let members = members(&cases, &usual);
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        let found = pool.install(|| usual.run(&members));
        found.into_iter().map(|f| format!("{:?}", f.ok())).collect::<Vec<_>>()
    };
    assert_eq!(on(1), on(3));
    let fixed = Accuracy { cells_per_stride: 1_600, per_omega: 0.0, per_valve: 0.0 };
    let fixed = Batch::new(&cases[0].drive, 0.15, fixed);
    for (name, batch, most) in [("one cell a step", &fixed, 1e-7), ("usual", &usual, PEAK_RAD)] {
        let narrow = batch.clone().with_width(Width::One).run(&members);
        let wide = batch.run(&members);
        let greatest = greatest(narrow.iter().zip(&wide).map(|(a, b)| match (a, b) {
            (Ok(a), Ok(b)) => (a.peak_rad - b.peak_rad).abs(),
            (Err(_), Err(_)) => 0.0,
            _ => f64::NAN,
        }));
        println!("on vectors of one, {name}: peak differs by {greatest:.1e} rad");
        assert!(greatest < most, "{name}: {greatest}");
    }
}

/// What is not covered is refused by name, never run.
#[test]
fn cross_code_batch_refuses_what_it_does_not_cover() {
    let case = &cases(0, Range::Whole, 1)[0];
    let batch = Batch::new(&case.drive, 0.15, Accuracy::default());
    let refused = |change: &dyn Fn(&mut kneedamp::Knee)| {
        let mut knee = case.knee.clone();
        change(&mut knee);
        Member::new(batch.table(), &case.drive, knee, &case.person, case.shank).err().map(|e| e.to_string())
    };
    let other = crate::common::knee("constant-friction");
    let linear = crate::common::knee("linear");
    for (why, error) in [
        ("locked", refused(&|k| k.locked = true)),
        ("flexion", refused(&|k| k.swing_flexion = other.swing_flexion.clone())),
        ("extension", refused(&|k| k.swing_extension = linear.swing_extension.clone())),
    ] {
        assert!(error.as_ref().is_some_and(|e| e.contains(why)), "{why}: {error:?}");
    }
    let elsewhere = &cases(1, Range::Whole, 1)[0];
    let error = Member::new(batch.table(), &elsewhere.drive, case.knee.clone(), &case.person, case.shank);
    assert!(error.is_err(), "another pace");
    // a relief that opens on the way
    let mut knee = case.knee.clone();
    knee.relief = Some(kneedamp::joint::Relief { torque_n_m: 0.5, slope: 0.05 });
    let member = Member::new(batch.table(), &case.drive, knee, &case.person, case.shank).expect("covered");
    assert!(batch.run(&[member])[0].is_err());
}
