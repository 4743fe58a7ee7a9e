#![allow(missing_docs, clippy::print_stdout)]
use kneedamp::case::setup::Setup;
use kneedamp::library::Library;
use kneedamp::motion::trial::Detail;
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::outcome::{Assessment, Outcomes, detail_for_limits};
use std::hint::black_box;
use std::time::Instant;
fn least(n: usize, mut f: impl FnMut()) -> f64 {
    let mut l = f64::INFINITY;
    for _ in 0..n {
        let s = Instant::now();
        f();
        l = l.min(s.elapsed().as_secs_f64() * 1e6);
    }
    l
}
fn main() {
    let library = Library::default();
    let setup = Setup::new(
        library.person("75-kg").expect("shipped"),
        library.prosthesis("typical").expect("shipped"),
        library.knee("built-in").expect("shipped"),
        library.walking_drive("users-2020").expect("shipped"),
    );
    for scenario in [
        "walk-slow",
        "walk-comfortable",
        "walk-fast",
        "sit-down",
        "ramp-down-8-deg",
        "stairs-down",
        "stumble",
    ] {
        let Ok(s) = library.scenario(scenario) else {
            println!("no {scenario}");
            continue;
        };
        let mut t = setup.trial(&s).unwrap();
        t.tolerances = Tolerances::scan();
        print!(
            "{scenario:<18} resolve {:6.1}",
            least(100, || {
                black_box(setup.trial(&s).unwrap());
            })
        );
        let mut show = |name: &str, d: Detail| {
            t.detail = d;
            print!(
                " {name} {:6.1}",
                least(100, || {
                    let _ = black_box(t.run());
                })
            );
        };
        show("none", Detail::NONE);
        show("land", Detail { landing: true, ..Detail::NONE });
        show("land+band", Detail { landing: true, hip_band: true, without_hip: true, ..Detail::NONE });
        show("cmp", Detail { comparison_joint: true, ..Detail::NONE });
        show("nc", Detail { never_closing: true, ..Detail::NONE });
        show("all", Detail::default());
        let lim = detail_for_limits(&s.limits);
        show("limits", lim);
        print!(" {lim:?}");
        t.detail = Detail::default();
        let many: Vec<_> = vec![t.clone(); 32];
        let each = least(20, || {
            black_box(many.iter().map(|t| t.run().is_ok()).collect::<Vec<_>>());
        }) / 32.0;
        let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
        let all = one.install(|| {
            least(20, || {
                black_box(kneedamp::motion::Trial::run_each(&many, |_, m| m.is_ok()));
            })
        }) / 32.0;
        print!(" each {each:.1} run_all {all:.1}");
        let m = t.run().unwrap();
        print!(
            " outcomes.all {:6.1}",
            least(100, || {
                black_box(Outcomes::of(&m));
            })
        );
        print!(
            " outcomes.lim {:6.1}",
            least(100, || {
                black_box(Outcomes::limited(&m, &s.limits));
            })
        );
        println!(
            " assess {:6.1}",
            least(100, || {
                black_box(Assessment::of_motion(&t, &m).unwrap());
            })
        );
        for metric in kneedamp::outcome::METRICS.iter() {
            if metric.activities.contains(&m.kind()) {
                let us = least(100, || {
                    black_box(metric.read(&m));
                });
                if us > 2.0 {
                    print!("  {} {us:.1}", metric.key);
                }
            }
        }
        println!();
    }
}
