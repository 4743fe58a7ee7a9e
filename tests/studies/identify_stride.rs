//! `identify stride` finds again what made curves were made of.

use kneedamp::case::setup::Setup;
use kneedamp::library::Library;
use kneedamp::library::angles::series::value;
use kneedamp::library::measured::trace::{Over, Sample, Trace};
use kneedamp::numerics::random::Draw;
use kneedamp::study::identify_stride::{Also, StrideFit, StrideStudy, Swing, SwingLaw};
use rayon::prelude::*;

const REPEATS: u64 = 240;
const NOISE_DEG: f64 = 0.5;

/// The drive's own stride at 0.8 m/s, through the study, so that a [`Swing`] stands ready.
fn prepared(also: Vec<Also>) -> StrideFit {
    let library = Library::default();
    let drive = library.walking_drive("users-2020").unwrap();
    let mut setup = Setup::new(
        library.person("75-kg").unwrap(),
        library.prosthesis("typical").unwrap(),
        library.knee("built-in").unwrap(),
        drive.clone(),
    );
    setup.speed_m_per_s = Some(0.8);
    let row = drive.file.row_at(0.8 / (9.81 * setup.person.leg_length_m()).sqrt());
    let sample = |i: i32| {
        let at = f64::from(i) / 100.0;
        let [knee_deg, thigh] = [&row.knee_flexion_deg, &row.thigh_angle_deg].map(|h| value(h, at));
        Sample { at, knee_deg, thigh_deg: Some(thigh), hip_m: None }
    };
    let trace = Trace { over: Over::Stride, samples: (0..=100).map(sample).collect(), notes: vec![] };
    let study = StrideStudy {
        trace,
        setup: Setup { cadence_steps_per_min: Some(100.0), ..setup },
        drive,
        contacts_s: vec![],
        toe_off: None,
        also,
        law: SwingLaw::Orifice,
        name: "made".into(),
    };
    study.run().unwrap()
}

/// The swing with a knee that a joint with known values makes, and noise.
fn made(ready: &Swing, truth: &[f64], noise_deg: f64, seed: u64) -> Swing {
    let mut swing = ready.clone();
    for (i, deg) in ready.compared().into_iter().zip(ready.flexion_deg(SwingLaw::Orifice, truth)) {
        swing.knee_deg[i] = deg;
    }
    let mut draw = Draw::new(seed, 0);
    let mut normal = || {
        let (u, v) = (draw.within(1e-12, 1.0), draw.unit());
        (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    };
    swing.knee_deg.iter_mut().for_each(|k| *k += noise_deg * normal());
    swing
}

#[test]
fn identify_stride_finds_values_without_bias_and_with_intervals_that_cover() {
    let ready = prepared(vec![]).swing;
    let truth = [0.15_f64.ln(), 0.2_f64.ln(), 1.5];
    let each: Vec<_> = (0..REPEATS)
        .into_par_iter()
        .map(|seed| {
            let fit = made(&ready, &truth, NOISE_DEG, seed).fitted(SwingLaw::Orifice).unwrap();
            (fit.values.clone(), fit.half_intervals())
        })
        .collect();
    let n = REPEATS as f64;
    for i in 0..3 {
        let covered = each.iter().filter(|(v, h)| (v[i] - truth[i]).abs() <= h[i]).count() as f64 / n;
        // b as it is reported, not its logarithm
        let of = |x: f64| if i < 2 { x.exp() } else { x };
        let errors: Vec<f64> = each.iter().map(|(v, _)| of(v[i]) - of(truth[i])).collect();
        let bias = errors.iter().sum::<f64>() / n;
        let spread = (errors.iter().map(|e| (e - bias).powi(2)).sum::<f64>() / n).sqrt();
        println!("value {i}: bias {bias:.4}, spread {spread:.4}, covered {covered:.3}");
        assert!((0.92..=0.98).contains(&covered), "value {i}: intervals cover {covered:.3}");
        assert!(bias.abs() < 0.25 * spread, "value {i}: bias {bias:.4}, spread {spread:.4}");
    }
}

/// Each law is the best for curves that it made, without noise; and mass and effort are found where they are asked for.
#[test]
fn identify_stride_takes_what_a_curve_was_made_with() {
    let ready = prepared(vec![]).swing;
    for (law, truth) in [
        (SwingLaw::Orifice, [0.15_f64.ln(), 0.2_f64.ln(), 1.5]),
        (SwingLaw::Linear, [0.5_f64.ln(), 0.6_f64.ln(), 1.5]),
        (SwingLaw::Friction, [1.5, 1.0, 1.5]),
    ] {
        let mut swing = ready.clone();
        for (i, deg) in ready.compared().into_iter().zip(ready.flexion_deg(law, &truth)) {
            swing.knee_deg[i] = deg;
        }
        let rms = SwingLaw::ALL.map(|l| (l, swing.fitted(l).unwrap().rms()));
        let best = rms.iter().min_by(|a, b| a.1.total_cmp(&b.1)).unwrap();
        assert!(best.0 == law && best.1 < 0.02, "{law:?}: {rms:?}");
    }
    let heavier = prepared(vec![Also::Mass]).swing;
    let truth = [0.15_f64.ln(), 0.2_f64.ln(), 1.5, 1.2];
    let fit = made(&heavier, &truth, 0.0, 1).fitted(SwingLaw::Orifice).unwrap();
    assert!((fit.values[3] - 1.2).abs() < fit.half_intervals()[3].max(0.02), "{:?}", fit.values);
}

/// The effort acts before toe-off only: of a knee that lets go in time it cannot be told, and the report says so.
#[test]
fn identify_stride_says_what_it_cannot_tell() {
    let found = prepared(vec![Also::Effort]);
    let text = found.findings().text.join(" ");
    assert!(text.contains("does not tell") && text.contains("user_effort_n_m_per_kg"), "{text}");
    // the built-in stride is near to all three laws
    assert!(text.contains("One speed does not tell them apart"), "{text}");
}

/// The files say what was found, and run.
#[test]
fn identify_stride_writes_the_models_found() {
    let found = prepared(vec![Also::Mass, Also::Effort]);
    let values = found.values();
    let knee = found.knee_file();
    let resolved = knee.resolve(&kneedamp::Settings::default(), None).unwrap();
    let b = resolved.swing_flexion.coefficients().unwrap().b;
    assert!((b / values[0].value - 1.0).abs() < 1e-3);
    assert!((knee.assist.torque_n_m - values[2].value).abs() < 1e-3);
    let parts = found.prosthesis().unwrap().shank().unwrap().mass_kg;
    let before = found.asked.setup.prosthesis.shank().unwrap().mass_kg;
    assert!((parts / before / values[3].value - 1.0).abs() < 1e-3);
    assert!((found.person().user_effort_n_m_per_kg - values[4].value).abs() < 1e-3);
}
