//! Clocks of the benchmarks. One core is timed by the processor time of its thread, so that other work on the machine does
//! not count.

use std::hint::black_box;
use std::time::Instant;

use kneedamp::motion::batch::{Batch, Member};

/// Seconds of processor time of this thread; wall time where the system does not say.
pub fn processor_s() -> f64 {
    std::fs::read_to_string("/proc/thread-self/schedstat")
        .ok()
        .and_then(|t| t.split(' ').next()?.parse::<f64>().ok())
        .map_or_else(|| START.with(|s| s.elapsed().as_secs_f64()), |ns| ns * 1e-9)
}

thread_local! {
    static START: Instant = Instant::now();
}

/// A pool of so many threads.
pub fn pool(threads: usize) -> rayon::ThreadPool {
    rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads")
}

/// Seconds of one core per stride, the best of several runs through all strides `rounds` times; each run is long
/// against the clock's resolution of some milliseconds.
pub fn cost_s(batch: &Batch, members: &[Member], rounds: usize, runs: usize) -> f64 {
    pool(1).install(|| {
        let once = || {
            let before = processor_s();
            for _ in 0..rounds {
                black_box(batch.run(members));
            }
            (processor_s() - before) / (rounds * members.len()) as f64
        };
        (0..runs).map(|_| once()).fold(f64::INFINITY, f64::min)
    })
}
