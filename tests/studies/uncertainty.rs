//! `uncertainty`: the estimators against functions with known indices, standing by hand, marks found again,
//! golden findings.

use super::rules::setup;
use crate::common::library;
use crate::golden;
use approx::assert_abs_diff_eq;
use kneedamp::case::inputs::{Case, INPUTS};
use kneedamp::numerics::sobol::{Indices, Rows, coordinate, indices};
use kneedamp::outcome::METRICS;
use kneedamp::scenario::uncertainty_file::{Around, UncertainInput, UncertaintyFile, UncertaintyKind};
use kneedamp::scenario::{Limit, Severity};
use kneedamp::study::uncertainty::{DECIDES, OutcomeBand, UncertaintyResult, UncertaintyStudy};

/// Indices of a function of `d` numbers in 0..1, one for each and last one for `group`.
fn of(f: &dyn Fn(&[f64]) -> Vec<f64>, d: usize, group: &[usize], n: u32, seed: u64) -> Option<Indices> {
    let at = |j: u32, from_b: &dyn Fn(usize) -> bool| {
        let x: Vec<f64> =
            (0..d).map(|i| coordinate(seed, j, (if from_b(i) { d + i } else { i }) as u32)).collect();
        f(&x)
    };
    let rows = |from_b: &dyn Fn(usize) -> bool| {
        let all: Vec<Vec<f64>> = (0..n).map(|j| at(j, from_b)).collect();
        let components = all[0].len();
        Rows { values: all.concat(), components }
    };
    let mut mixed: Vec<Rows> = (0..d).map(|k| rows(&|i| i == k)).collect();
    mixed.push(rows(&|i| group.contains(&i)));
    indices(&rows(&|_| false), &rows(&|_| true), &mixed, seed)
}

/// Ishigami & Homma 1990: sin x₁ + 7 sin² x₂ + 0.1 x₃⁴ sin x₁ on −π..π; indices in closed form.
#[test]
fn closed_form_uncertainty_ishigami() {
    let (a, b) = (7.0_f64, 0.1_f64);
    let pi = std::f64::consts::PI;
    let f = |u: &[f64]| {
        let x: Vec<f64> = u.iter().map(|v| pi * (2.0 * v - 1.0)).collect();
        vec![x[0].sin() + a * x[1].sin().powi(2) + b * x[2].powi(4) * x[0].sin()]
    };
    let v1 = 0.5 * (1.0 + b * pi.powi(4) / 5.0).powi(2);
    let v2 = a * a / 8.0;
    let v13 = b * b * pi.powi(8) * (1.0 / 18.0 - 1.0 / 50.0);
    let v = v1 + v2 + v13;
    let first = [v1 / v, v2 / v, 0.0];
    let total = [(v1 + v13) / v, v2 / v, v13 / v];
    for (x, known) in first.iter().chain(&total).zip([0.3139, 0.4424, 0.0, 0.5576, 0.4424, 0.2437]) {
        assert_abs_diff_eq!(*x, known, epsilon = 1e-4);
    }
    for seed in [1, 2, 3, 4, 5] {
        let found = of(&f, 3, &[0, 2], 4096, seed).expect("varies");
        let wanted = first.iter().zip(&found.first).chain(total.iter().zip(&found.total));
        for (exact, e) in wanted {
            println!("seed {seed}: {exact:.4} found {:.4} ± {:.4}", e.value, e.error);
            assert!((e.value - exact).abs() <= e.error.max(1e-9), "{exact} {e:?}");
            // and the error says something
            assert!(e.error < 0.06, "{e:?}");
        }
        // x1 and x3 together take part in all but what x2 does
        let group = found.total[3];
        assert_abs_diff_eq!(group.value, (1.0 - v2 / v), epsilon = group.error);
    }
    let coarse = of(&f, 3, &[], 64, 1).expect("varies");
    let fine = of(&f, 3, &[], 4096, 1).expect("varies");
    assert!(fine.total[0].error < 0.3 * coarse.total[0].error, "error falls as 1/√N");
}

/// Sums: first and total are a²/Σa². Words: of an exclusive or no input explains anything alone.
#[test]
fn closed_form_uncertainty_sums_and_words() {
    let weights = [1.0, 2.0, 3.0];
    let sum = |x: &[f64]| vec![x.iter().zip(weights).map(|(x, w)| w * x).sum::<f64>()];
    let found = of(&sum, 3, &[0, 1], 512, 7).expect("varies");
    for (i, w) in weights.iter().enumerate() {
        let exact = w * w / 14.0;
        for e in [found.first[i], found.total[i]] {
            assert!((e.value - exact).abs() <= e.error, "{exact} {e:?}");
        }
    }
    assert_abs_diff_eq!(found.total[3].value, 5.0 / 14.0, epsilon = found.total[3].error);
    // three words, each a component: by input 0 alone
    let word = |x: &[f64]| (0..3).map(|k| f64::from(u8::from((3.0 * x[0]) as usize == k))).collect();
    let found = of(&word, 2, &[1], 512, 7).expect("varies");
    assert_abs_diff_eq!(found.first[0].value, 1.0, epsilon = found.first[0].error);
    assert_abs_diff_eq!(found.total[0].value, 1.0, epsilon = found.total[0].error);
    assert!(found.total[1].value.abs() < 1e-12 && found.total[2].value.abs() < 1e-12);
    let xor = |x: &[f64]| {
        let odd = (x[0] > 0.5) != (x[1] > 0.5);
        vec![f64::from(u8::from(odd)), f64::from(u8::from(!odd))]
    };
    let found = of(&xor, 2, &[0], 512, 7).expect("varies");
    assert!(found.first.iter().all(|e| e.value.abs() <= e.error));
    assert!(found.total.iter().all(|e| (e.value - 1.0).abs() <= e.error));
    assert!(of(&|_| vec![0.3], 2, &[], 64, 1).is_none(), "what does not vary has no indices");
}

fn uncertain(input: &str, low: f64, high: f64, around: Around) -> UncertainInput {
    UncertainInput { input: input.into(), low, high, around, why: "test".into() }
}

fn file(inputs: Vec<UncertainInput>) -> UncertaintyFile {
    UncertaintyFile { kind: UncertaintyKind::Uncertainty, name: "test".into(), about: String::new(), inputs }
}

fn study(scenario: &str, file: UncertaintyFile, samples: usize, each: bool) -> UncertaintyStudy {
    let scenario = library().scenario(scenario).expect("shipped");
    UncertaintyStudy {
        case: Case { setup: setup(), scenario },
        file,
        samples,
        seed: 1,
        each,
        list_all: false,
    }
}

fn found(study: &UncertaintyStudy) -> UncertaintyResult {
    study.run(&|| ()).expect("runs")
}

fn outcome<'a>(found: &'a UncertaintyResult, key: &str) -> &'a OutcomeBand {
    found.outcomes.iter().find(|o| o.metric.key == key).expect("measured")
}

/// A range of cadence around the set-up is added to the cadence walked, and acts.
#[test]
fn studies_uncertainty_cadence_around_the_set_up() {
    let inputs = vec![
        uncertain("cadence_steps_per_min", -6.0, 6.0, Around::SetUp),
        uncertain("mass_kg", -0.1, 0.1, Around::SetUp),
    ];
    let study = study("walk-comfortable", file(inputs), 16, true);
    let found = found(&study);
    assert!(found.without_effect.is_empty(), "{:?}", found.without_effect);
    let walked = study.case.get("cadence_steps_per_min").expect("walks");
    let range = &found.inputs[0];
    assert_abs_diff_eq!(range.low, (walked - 6.0), epsilon = 1e-9);
    assert_abs_diff_eq!(range.high, (walked + 6.0), epsilon = 1e-9);
    let (most, total) = outcome(&found, "peak_flexion_deg").most().expect("varies");
    assert_eq!(found.inputs[most].input.key, "cadence_steps_per_min");
    assert!(total.value > 0.5, "{total:?}");
}

/// Standing by hand: the moment is c·M·H with mass and stature independent and even, so its variance, indices
/// and the share above an edge follow on paper (quantiles by a fine grid).
#[test]
fn closed_form_uncertainty_standing_by_hand() {
    let ((m, dm), (h, dh)) = ((75.0_f64, 15.0_f64), (1.75_f64, 0.1_f64));
    let mut study = study(
        "stand",
        file(vec![
            uncertain("mass_kg", -dm, dm, Around::SetUp),
            uncertain("stature_m", h - dh, h + dh, Around::Zero),
        ]),
        512,
        true,
    );
    // half of the weight times d = Lt e/(L − R), which is in proportion to stature: c M H
    let per_stature = 0.245 * (0.05 / 1.75) / (0.53 - 0.19);
    let c = 0.5 * 9.81 * per_stature;
    study.case.scenario.limits = vec![Limit {
        outcome: "extension_moment_n_m".into(),
        min: Some(c * h * 80.0),
        max: None,
        allowed: vec![],
        source: "test".into(),
        scale: None,
        band_pct: None,
        beside_max: None,
        severity: Severity::Limit,
    }];
    let result = found(&study);
    // d, 5 % of its range from its lower end
    let line = outcome(&result, "load_line_ahead_mm");
    for share in [0.05, 0.5, 0.95] {
        let wanted = 1e3 * per_stature * (h - dh + 2.0 * dh * share);
        let got = line.quantile(share).expect("reached");
        assert!((got - wanted).abs() < 0.005 * wanted, "{share}: {got} {wanted}");
    }
    // a product of two independent uniform inputs: variance in parts
    let (by_mass, by_stature) = ((dm / m).powi(2) / 3.0, (dh / h).powi(2) / 3.0);
    let all = by_mass + by_stature + by_mass * by_stature;
    let x = outcome(&result, "extension_moment_n_m").indices.as_ref().expect("varies");
    for (i, own) in [by_mass, by_stature].into_iter().enumerate() {
        let [first, total] = [own / all, (own + by_mass * by_stature) / all];
        assert!((x.first[i].value - first).abs() <= x.first[i].error, "{i}: {:?} {first}", x.first[i]);
        assert!((x.total[i].value - total).abs() <= x.total[i].error, "{i}: {:?} {total}", x.total[i]);
    }
    // P(M H > 80 h), by the middle of a thousand slices of H
    let slices = (0..1000).map(|i| {
        let stature = h - dh + 2.0 * dh * (f64::from(i) + 0.5) / 1000.0;
        ((m + dm - 80.0 * h / stature) / (2.0 * dm)).clamp(0.0, 1.0)
    });
    let wanted = slices.sum::<f64>() / 1000.0;
    let share = result.limits[0].holds as f64 / result.points as f64;
    assert!((share - wanted).abs() < 0.005, "{share} {wanted}");
    assert_eq!(result.all_hold, result.limits[0].holds);
    // the slope at which it is lost, e/(0.19 H): both in proportion to stature
    assert!(outcome(&result, "slope_limit_deg").indices.is_none(), "does not vary");
}

/// The default file varies every judged input, within what the inputs take, and says so where one does not act.
#[test]
fn studies_uncertainty_default_file_is_complete() {
    let file: UncertaintyFile = library().read("default").expect("shipped");
    kneedamp::study::uncertainty::ranges::check(&file).expect("inputs that there are");
    for judged in INPUTS.iter().filter(|i| i.judged) {
        assert!(file.inputs.iter().any(|u| u.input == judged.key), "{}", judged.key);
    }
    let walk = found(&study("walk-comfortable", file.clone(), 8, false));
    assert_eq!(walk.without_effect, ["sitting_share"]);
    let sit = found(&study("sit-down", file, 8, false));
    assert!(sit.without_effect.contains(&"hip_moment_n_m_per_kg".to_owned()));
    assert!(sit.without_effect.contains(&"speed_m_per_s".to_owned()));
    // added to the set-up's own value
    let mass = walk.inputs.iter().find(|u| u.input.key == "mass_kg").expect("varied");
    assert_abs_diff_eq!(mass.low, 73.0, epsilon = 1e-12);
    assert_abs_diff_eq!(mass.high, 77.0, epsilon = 1e-12);
}

/// Ranges around the set-up end where the input does.
#[test]
fn studies_uncertainty_ranges_are_cut_at_the_ends() {
    let mut s = study("sit-down", file(vec![uncertain("stance-yield", -5.0, 5.0, Around::SetUp)]), 8, true);
    s.case
        .setup
        .settings
        .set(kneedamp::joint::SettingName::StanceYield, kneedamp::units::Setting::clamped(0.98));
    let yielding = &found(&s).inputs[0];
    assert_abs_diff_eq!(yielding.low, 93.0, epsilon = 1e-9);
    assert_abs_diff_eq!(yielding.high, 100.0, epsilon = 1e-9);
}

#[test]
fn studies_uncertainty_refuses_what_makes_no_sense() {
    let good = || vec![uncertain("mass_kg", 60.0, 90.0, Around::Zero)];
    for (samples, said) in [(100, "powers of two"), (4, "powers of two"), (1 << 20, "powers of two")] {
        let e = study("stand", file(good()), samples, true).run(&|| ()).expect_err("refused").to_string();
        assert!(e.contains(said), "{e}");
    }
    for (inputs, said) in [
        (vec![], "inputs"),
        (vec![uncertain("mass_lb", 1.0, 2.0, Around::Zero)], "inputs[0].input"),
        (vec![uncertain("mass_kg", 90.0, 60.0, Around::Zero)], "inputs[0].high"),
        (vec![uncertain("mass_kg", f64::NAN, 60.0, Around::Zero)], "inputs[0].low"),
        (vec![uncertain("mass_kg", 60.0, 1e6, Around::Zero)], "30 to 200"),
        ([good(), good()].concat(), "twice"),
        // nothing of it acts in this scenario
        (vec![uncertain("sitting_share", 0.3, 0.4, Around::Zero)], "acts"),
    ] {
        let e = study("stand", file(inputs), 8, true).run(&|| ()).expect_err("refused").to_string();
        assert!(e.contains(said), "no '{said}' in {e}");
    }
}

/// The column `judged` of the registry is what the study finds for the built-in example; within the sampling
/// error of one half either is right.
#[test]
fn studies_uncertainty_finds_the_judged_outcomes_again() {
    let default: UncertaintyFile = library().read("default").expect("shipped");
    let (mut wrong, mut within, mut all) = (Vec::new(), 0, 0);
    for (scenario, samples) in [
        ("walk-comfortable", 128),
        ("sit-down", 128),
        ("ramp-down-8-deg", 128),
        ("stairs-down", 128),
        ("stumble", 128),
        ("stand", 8),
    ] {
        let study = study(scenario, default.clone(), samples, false);
        let kind = study.case.scenario.activity.kind();
        for o in &found(&study).outcomes {
            all += 1;
            let marked = o.metric.judged.contains(&kind);
            match o.judged() {
                Some(e) if (e.value - DECIDES).abs() < e.error => within += 1,
                Some(e) if marked == (e.value >= DECIDES) => {}
                None if !marked => {}
                e => wrong.push(format!("{scenario}: {} {e:?}, marked {marked}", o.metric.key)),
            }
        }
    }
    println!("{within} of {all} within the sampling error of one half");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(4 * within < all, "this test decides at least three of four");
    assert!(METRICS.iter().all(|m| m.judged.iter().all(|k| m.activities.contains(k))));
}

#[test]
fn studies_golden_uncertainty() {
    let default: UncertaintyFile = library().read("default").expect("shipped");
    let study = study("walk-comfortable", default, 8, true);
    golden::findings("uncertainty", &found(&study).findings());
}

/// An index is a share of variance; with an error of half of the whole it says nothing.
#[test]
fn studies_uncertainty_leaves_out_what_its_samples_cannot_tell() {
    use kneedamp::numerics::sobol::Estimate;
    for (value, error, tells) in [(6.7, 20.0, false), (0.4, 0.5, false), (0.4, 0.49, true), (0.0, 0.0, true)]
    {
        assert_eq!(Estimate { value, error }.tells(), tells, "{value} ± {error}");
    }
    assert!(!Estimate { value: 0.4, error: f64::NAN }.tells());
}
