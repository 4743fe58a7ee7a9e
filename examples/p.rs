#![allow(clippy::print_stdout, missing_docs)]
use kneedamp::*;
use std::sync::Arc;
fn main() {
    let lib = library::Library::default();
    let d = Arc::new(lib.drive("able-bodied-2008").unwrap());
    let person = lib.person("75-kg").unwrap();
    let shank = lib.prosthesis("typical").unwrap().shank().unwrap();
    println!("{shank:?}");
    let knee = lib.knee("built-in").unwrap().resolve(&Default::default(), None).unwrap();
    for (r, a) in [(1e-10, 1e-12), (1e-9, 1e-11), (1e-8, 1e-10), (1e-7, 1e-9), (1e-6, 1e-8)] {
        let mut t = motion::Trial {
            scenario: lib.scenario("walk-comfortable").unwrap(),
            person: person.clone(),
            shank,
            comparison_knee: knee.clone(),
            knee: knee.clone(),
            drive: Some(d.clone()),
            precision: Default::default(),
            detail: Default::default(),
        };
        t.precision.relative = r;
        t.precision.absolute = a;
        if let scenario::Activity::Walk(w) = &t.scenario.activity {
            let dr = t.resolved_drive(w).unwrap();
            let t0 = std::time::Instant::now();
            let mut s = None;
            for _ in 0..20 {
                s = Some(t.stride(&dr, knee.clone(), 0.15).unwrap());
            }
            let dt = t0.elapsed() / 20;
            let s = s.unwrap();
            println!(
                "{r:e} stride {dt:?} nodes {} valve nodes {} crossings {} res {:.1e} peak {:.9}",
                s.course.nodes().count(),
                s.valve_course.nodes().count(),
                s.course.crossings.len(),
                s.energy_residual,
                s.peak().1 / quantity::DEG
            );
            if r == 1e-10 {
                for c in &s.course.crossings {
                    println!("  {} {:.5} {}", c.surface, c.t_s, c.upwards);
                }
            }
            let seg = motion::loaded::Segments::of(&person, &shank);
            let t0 = std::time::Instant::now();
            let l = motion::landing::land(&s, &w.landing, seg, 0.2, &t.precision).unwrap();
            println!(
                "  landing {:?} nodes {} crossings {}",
                t0.elapsed(),
                l.course.nodes().count(),
                l.course.crossings.len()
            );
            let t0 = std::time::Instant::now();
            for i in 0..100000 {
                std::hint::black_box(dr.kinematics(i as f64 * 1e-5));
            }
            println!("  kin {:?}", t0.elapsed() / 100000);
        }
    }
}
