//! One walking stride, one loaded task, one full `run`. `cargo bench`.
#![allow(missing_docs)]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use kneedamp::library::{Kind, Library};
use kneedamp::motion::Precision;
use kneedamp::scenario::{Activity, Scenario};
use kneedamp::study::{Setup, survey};

fn setup(library: &Library) -> Setup {
    Setup::new(
        library.person("75-kg").expect("shipped"),
        library.prosthesis("typical").expect("shipped"),
        library.knee("built-in").expect("shipped"),
        library.drive("able-bodied-2008").expect("shipped"),
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
    for (name, precision) in [("stride, 1e-9", Precision::default()), ("stride, scan", Precision::scan())] {
        let mut trial = walking.clone();
        trial.precision = precision;
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

criterion_group!(benches, strides, full_run);
criterion_main!(benches);
