//! `identify bench` finds again what made-up tables were made of.

use kneedamp::joint::damper::Taper;
use kneedamp::library::Library;
use kneedamp::library::measured::bench::{Bench, Direction, Point};
use kneedamp::numerics::random::Draw;
use kneedamp::study::identify_bench::{BenchFit, Laminar, Law, identify};

/// The joint on the bench, invented: laminar and orifice coefficients, seal friction.
const A: f64 = 0.3;
const B: [f64; 2] = [0.03, 1.5];
const SEAL: f64 = 0.5;
const REPEATS: u64 = 400;

/// Torques of a law over four settings and nine rates, with noise of a standard deviation, N m.
fn bench(torque: impl Fn(f64, f64) -> f64, noise_n_m: f64, seed: u64) -> Bench {
    let mut draw = Draw::new(seed, 0);
    let mut normal = || {
        let (u, v) = (draw.within(1e-12, 1.0), draw.unit());
        (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    };
    let mut points = vec![];
    for setting in [0.1, 0.4, 0.7, 1.0] {
        for rate in [0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0] {
            points.push(Point {
                direction: Direction::Flexion,
                rate_rad_per_s: rate,
                torque_n_m: torque(rate, setting) + noise_n_m * normal(),
                setting: Some(setting),
                temperature_c: None,
                sd_n_m: 1.0,
            });
        }
    }
    Bench { points, notes: vec![] }
}

fn orifice(rate: f64, setting: f64) -> f64 {
    SEAL + (A + Taper::Geometric.b(B[0], B[1], setting) * rate) * rate
}

fn found(table: Bench) -> BenchFit {
    identify(table, &Library::default().knee("built-in").unwrap()).unwrap()
}

#[test]
fn identify_bench_finds_values_without_bias_and_with_intervals_that_cover() {
    let truth = [B[0], B[1], A, SEAL];
    let mut covered = [0; 4];
    let (mut sums, mut squares) = ([0.0; 4], [0.0; 4]);
    let (mut right_law, mut of_that_law) = (0, 0);
    for seed in 0..REPEATS {
        let fit = found(bench(orifice, 0.2, seed));
        let d = &fit.directions[0];
        right_law += u64::from(d.law == Law::Orifice(Taper::Geometric, Laminar::Fixed));
        if d.law != Law::Orifice(Taper::Geometric, Laminar::Fixed) {
            continue;
        }
        of_that_law += 1;
        for (i, v) in d.values.iter().chain(&fit.seal).enumerate() {
            covered[i] += u64::from(v.interval[0] <= truth[i] && truth[i] <= v.interval[1]);
            sums[i] += v.value - truth[i];
            squares[i] += (v.value - truth[i]).powi(2);
        }
    }
    let n = of_that_law as f64;
    println!("right law in {right_law} of {REPEATS}; intervals cover {covered:?}");
    assert!(right_law as f64 >= 0.95 * REPEATS as f64, "{right_law} of {REPEATS}");
    for i in 0..4 {
        let share = covered[i] as f64 / n;
        assert!((0.92..=0.98).contains(&share), "value {i}: intervals cover {share:.3}");
        let (bias, spread) = (sums[i] / n, (squares[i] / n).sqrt());
        // three standard errors of the mean
        assert!(bias.abs() < 3.0 * spread / n.sqrt(), "value {i}: bias {bias:.5}, spread {spread:.5}");
    }
}

/// Torque over rate and setting.
type Torque = Box<dyn Fn(f64, f64) -> f64>;

/// At 0.2 N m of noise each law is told from all others.
#[test]
fn identify_bench_takes_the_law_that_the_table_was_made_with() {
    let area = |b: fn(f64, f64) -> f64| move |rate: f64, s: f64| b(rate, s);
    let laws: [(Law, Torque); 5] = [
        (
            Law::Orifice(Taper::LinearArea, Laminar::Fixed),
            Box::new(area(|w, s| SEAL + (A + Taper::LinearArea.b(B[0], B[1], s) * w) * w)),
        ),
        (
            Law::Orifice(Taper::Geometric, Laminar::WithB),
            Box::new(area(|w, s| SEAL + Taper::Geometric.b(B[0], B[1], s) * (0.8 + w) * w)),
        ),
        (
            Law::Orifice(Taper::LinearArea, Laminar::WithB),
            Box::new(area(|w, s| SEAL + Taper::LinearArea.b(B[0], B[1], s) * (0.8 + w) * w)),
        ),
        (Law::Linear, Box::new(area(|w, s| SEAL + 0.5 * 10_f64.powf(s) * w))),
        (Law::Friction, Box::new(area(|_, s| 2.0 + 6.0 * s))),
    ];
    for (law, torque) in laws {
        let right = (0..20).filter(|seed| found(bench(&torque, 0.2, *seed)).directions[0].law == law).count();
        assert!(right >= 17, "{law:?}: taken in {right} of 20");
    }
}

/// Slow points alone cannot tell laminar from orifice, fast ones not a from zero, and the report says so; the full range
/// says nothing of the kind.
#[test]
fn identify_bench_warns_where_a_and_b_are_not_told_apart() {
    let knee = Library::default().knee("built-in").unwrap();
    let warned = |table: Bench| {
        let fit = identify(table, &knee).unwrap();
        fit.findings(&knee).text.iter().any(|t| t.starts_with("Warning"))
    };
    assert!(!warned(bench(orifice, 0.1, 1)));
    let slow = |mut table: Bench| {
        table.points.retain(|p| p.rate_rad_per_s <= 2.0 && p.setting == Some(0.4));
        let again = table.points.clone();
        table.points.extend(again.iter().chain(&again.clone()).copied());
        table
    };
    let told = found(slow(bench(orifice, 0.3, 1)));
    let says = told.findings(&knee).text.join(" ");
    assert!(says.contains("The data cannot tell this law in flexion from: orifice."), "{says}");
    // and fast points alone, with noise, know b but not a
    let mut fast = bench(orifice, 1.0, 1);
    fast.points.retain(|p| p.rate_rad_per_s >= 4.0);
    let says = found(fast).findings(&knee).text.join(" ");
    assert!(
        says.contains("Warning: in flexion the data cannot tell the laminar part a")
            && says.contains("is not told from zero"),
        "{says}"
    );
}

/// A temperature column takes the viscosity out: the coefficients are those at the median temperature.
#[test]
fn identify_bench_allows_for_the_temperature_of_the_oil() {
    let knee = Library::default().knee("built-in").unwrap();
    let mut table = bench(orifice, 0.0, 1);
    for (i, p) in table.points.iter_mut().enumerate() {
        let t = if i % 2 == 0 { 20.0 } else { 40.0 };
        p.temperature_c = Some(t);
        p.torque_n_m += A * (knee.oil.viscosity_ratio(t, 30.0) - 1.0) * p.rate_rad_per_s;
    }
    let fit = identify(table, &knee).unwrap();
    assert_eq!(fit.temperature_c, Some(30.0));
    let a = fit.directions[0].values[2].value;
    assert!((a / A - 1.0).abs() < 1e-3, "a {a}");
    let file = fit.knee("made", String::new());
    assert!((file.reference_temperature_c - 30.0).abs() < 1e-9);
}
