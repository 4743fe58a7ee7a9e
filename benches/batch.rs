//! The batch's own figures: `cargo bench --bench batch`.
#![allow(missing_docs)]

#[path = "../tests/closed_form/batch_population.rs"]
mod batch_population;

use std::time::Instant;

use batch_population::{Case, PACES};
use kneedamp::library::Library;
use kneedamp::motion::Precision;
use kneedamp::motion::batch::{Accuracy, BLOCK, Batch, Member, Width};
use rayon::prelude::*;

fn main() {
    let library = Library::default();
    let (file, knee) = (library.drive("able-bodied-2008").unwrap(), library.knee("built-in").unwrap());
    let count: u64 = std::env::var("STRIDES").ok().and_then(|v| v.parse().ok()).unwrap_or(512);
    let accuracy = |cells: usize, tol: f64| {
        let d = Accuracy::default();
        Accuracy { cells_per_stride: cells, per_omega: d.per_omega / tol, per_valve: d.per_valve / tol }
    };
    let references: Vec<Vec<_>> = PACES
        .iter()
        .enumerate()
        .map(|(k, &pace)| {
            (0..count / 8)
                .into_par_iter()
                .map(|i| {
                    let case = Case::random(i + (k as u64) * 100_000, &file, &knee, pace);
                    let s = case.stride(&Precision::tight()).unwrap();
                    let f = (
                        s.peak(),
                        s.full_extension_s(),
                        s.flexion(s.drive.stride_time_s),
                        s.release_s,
                        s.flexion(s.drive.toe_off_s),
                        s.rebound(),
                    );
                    (case, f)
                })
                .collect()
        })
        .collect();
    for acc in [accuracy(200, 1.0), accuracy(100, 1.0), accuracy(200, 0.1), accuracy(400, 0.01), accuracy(200, 10.0), accuracy(100, 10.0)] {
        let mut errors: Vec<[f64; 6]> = Vec::new();
        let mut wrong = 0;
        for (k, &pace) in PACES.iter().enumerate() {
            let batch = Batch::new(&references[k][0].0.drive, 0.15, acc);
            let _ = pace;
            let members: Vec<Member> = references[k].iter().map(|(c, _)| c.member(batch.table())).collect();
            for (i, (found, (_, r))) in batch.run(&members).into_iter().zip(&references[k]).enumerate() {
                let Ok(f) = found else {
                    println!("pace {k} stride {i}: not covered");
                    continue;
                };
                let opt = |a: Option<f64>, b: Option<f64>| match (a, b) {
                    (Some(a), Some(b)) => (a - b).abs(),
                    (None, None) => 0.0,
                    _ => f64::INFINITY,
                };
                let e = [
                    (f.peak_rad - r.0.1).abs(),
                    (f.peak_s - r.0.0).abs(),
                    opt(f.full_extension_s, r.1),
                    (f.heel_contact_rad - r.2).abs(),
                    opt(f.release_s, r.3),
                    opt(f.rebound_rad, r.5),
                ];
                if e.iter().any(|x| !x.is_finite() || *x > 1e-3) {
                    wrong += 1;
                    if wrong < 5 {
                        println!("pace {k} stride {i}: {e:?} {f:?} {r:?}");
                    }
                }
                errors.push(e);
            }
        }
        let names = ["peak", "peak_s", "straight_s", "contact", "release", "rebound"];
        print!("{acc:?} {} wrong {wrong}: ", errors.len());
        for (j, n) in names.iter().enumerate() {
            let mut v: Vec<f64> = errors.iter().map(|e| e[j]).collect();
            v.sort_by(f64::total_cmp);
            print!("{n} med {:.1e} 99% {:.1e} max {:.1e}; ", v[v.len() / 2], v[v.len() * 99 / 100], v[v.len() - 1]);
        }
        println!();
        // speed on one core
        let batch = Batch::new(&references[4][0].0.drive, 0.15, acc);
        let members: Vec<Member> = references[4].iter().map(|(c, _)| c.member(batch.table())).collect();
        let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
        for width in [Width::Widest, Width::One] {
            let batch = batch.clone().on(width);
            let n = 64 * BLOCK;
            let mut best = f64::INFINITY;
            for _ in 0..5 {
                let start = Instant::now();
                pool.install(|| {
                    batch.each(n, |i| members[i % members.len()].clone(), |_, f| {
                        std::hint::black_box(f);
                    })
                });
                best = best.min(start.elapsed().as_secs_f64());
            }
            println!("  {width:?}: {:.3} us per stride", best / n as f64 * 1e6);
        }
    }
}
