//! One walking stride, one loaded task, one full `run`, a batch, the map of windows, one answer of the page.
//! `cargo bench --bench strides`.
#![allow(missing_docs)]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use kneedamp::case::setup::Setup;
use kneedamp::library::{Kind, Library};
use kneedamp::motion::batch::{Accuracy, Batch, Member};
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::report::page_data;
use kneedamp::scenario::{Activity, Scenario};
use kneedamp::serve::questions::FRAMES;
use kneedamp::study::survey;
use kneedamp::study::window::{Plan, Question};
use kneedamp::teaching::model_set::ModelSet;
use kneedamp::teaching::model_set::RunCache;

fn setup(library: &Library) -> Setup {
    Setup::new(
        library.person("75-kg").expect("shipped"),
        library.prosthesis("typical").expect("shipped"),
        library.knee("built-in").expect("shipped"),
        library.walking_drive("users-2020").expect("shipped"),
    )
}

fn scenarios(library: &Library) -> Vec<Scenario> {
    let all = library.names(Kind::Scenario);
    let read = all.iter().map(|n| library.scenario(n).expect("shipped"));
    read.filter(|s| !s.by_name_only).collect()
}

fn strides(c: &mut Criterion) {
    let library = Library::default();
    let setup = setup(&library);
    let walking = setup.trial(&library.scenario("walk-comfortable").expect("shipped")).expect("resolves");
    let Activity::Walk(walk) = &walking.scenario.activity else { unreachable!("it walks") };
    let drive = walking.resolved_drive(walk).expect("in the table");
    for (name, tolerances) in [("stride, 1e-9", Tolerances::default()), ("stride, scan", Tolerances::scan())]
    {
        let mut trial = walking.clone();
        trial.tolerances = tolerances;
        c.bench_function(name, |b| {
            b.iter(|| trial.stride(black_box(&drive), trial.knee.clone(), 0.15).expect("runs"))
        });
    }
    for name in ["sit-down", "ramp-down-8-deg", "stairs-down", "stumble"] {
        let mut trial = setup.trial(&library.scenario(name).expect("shipped")).expect("resolves");
        trial.detail.hip_band = false;
        c.bench_function(name, |b| b.iter(|| black_box(&trial).run().expect("runs")));
    }
}

fn full_run(c: &mut Criterion) {
    let library = Library::default();
    c.bench_function("full run", |b| b.iter(|| survey(setup(&library), scenarios(&library)).expect("runs")));
}

/// 4,096 strides on all cores.
fn batch(c: &mut Criterion) {
    let library = Library::default();
    let walking =
        setup(&library).trial(&library.scenario("walk-comfortable").expect("shipped")).expect("resolves");
    let Activity::Walk(walk) = &walking.scenario.activity else { unreachable!("it walks") };
    let drive = walking.resolved_drive(walk).expect("in the table");
    let batch = Batch::new(&drive, 0.15, Accuracy::default());
    let (knee, person, shank) = (&walking.knee, &walking.person, walking.shank);
    let member = Member::new(batch.table(), &drive, knee.clone(), person, shank).expect("covered");
    let members = vec![member; 4096];
    c.bench_function("batch of 4,096", |b| b.iter(|| batch.run(black_box(&members))));
}

/// Windows of the four settings over mass and cadence, 7 by 6 cells, walking with its landing, without bands.
fn window_map(c: &mut Criterion) {
    let library = Library::default();
    let question = Question {
        setup: setup(&library),
        scenarios: vec![library.scenario("walk-comfortable").expect("shipped")],
        without: vec![],
        masses_kg: (0..7).map(|i| 50.0 + 12.5 * f64::from(i)).collect(),
        cadences_steps_per_min: (0..6).map(|i| 80.0 + 10.0 * f64::from(i)).collect(),
        bands: false,
    };
    let mut group = c.benchmark_group("windows");
    group.sample_size(10);
    group.bench_function("map over mass and cadence", |b| {
        b.iter(|| Plan::new(black_box(&question)).and_then(|p| p.run(&|| ())).expect("runs"))
    });
    group.finish();
}

/// From two texts to the text that is sent, at the number of frames of `serve`.
fn page_answer(c: &mut Criterion) {
    let library = Library::default();
    let fresh = ModelSet {
        base: setup(&library),
        scenarios: scenarios(&library),
        people: vec![],
        prostheses: vec![],
        knees: vec![],
        cache: RunCache::default(),
    };
    let mut step = 0.0_f64;
    let mut texts = move || {
        // never the same twice, so that nothing is remembered
        step = (step + 0.037) % 100.0;
        ["swing-flexion=60".to_owned(), format!("swing-flexion={step:.3}")]
    };
    c.bench_function("page, one leg of two moved", |b| {
        b.iter(|| page_data::answer(&fresh.answer("walk-fast", &texts(), FRAMES).expect("runs")).to_string())
    });
    let mut step = 0.0_f64;
    c.bench_function("page, both legs moved", |b| {
        b.iter(|| {
            step = (step + 0.00037) % 0.3;
            let speed = 1.2 + step;
            let legs = [60, 0].map(|s| format!("speed_m_per_s={speed:.5},swing-flexion={s}"));
            page_data::answer(&fresh.answer("walk-fast", &legs, FRAMES).expect("runs")).to_string()
        })
    });
}

criterion_group!(benches, strides, full_run, batch, window_map, page_answer);
criterion_main!(benches);
