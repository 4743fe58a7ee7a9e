//! Readers under damaged inputs: no panic, each within 100 ms and 64 MiB. The damages are random and the same in every run;
//! nothing leads them to parts of the code that they have not reached.
//!
//! `KNEEDAMP_FUZZ=1000000 cargo test fuzz -- --nocapture` tries that many for each reader and prints what came of them;
//! `KNEEDAMP_FUZZ_TARGET=knee` takes one of them.
//!
//! The work runs in a process of its own whose memory is limited, so that an input that wants more ends it.

mod mutate;
mod targets;

use std::panic::catch_unwind;
use std::process::Command;
use std::time::{Duration, Instant};

use targets::{TARGETS, Target};

/// Inputs of all readers together, where nothing else is asked for.
const INPUTS: u64 = 20_000;
const MOST_TIME: Duration = Duration::from_millis(100);
const MOST_MEMORY: u64 = 64 << 20;

/// Says to the process that it is the one with limited memory.
const WITHIN: &str = "KNEEDAMP_FUZZ_WITHIN";

fn asked() -> u64 {
    let asked = std::env::var("KNEEDAMP_FUZZ").ok().and_then(|n| n.parse().ok());
    asked.unwrap_or(INPUTS.div_ceil(TARGETS.len() as u64))
}

/// Bounds what may be allocated from here on.
#[cfg(target_os = "linux")]
fn limit_memory() {
    let status = std::fs::read_to_string("/proc/self/status").expect("a process");
    let line = status.lines().find(|l| l.starts_with("VmData")).expect("its memory");
    let used: u64 = line.split_whitespace().nth(1).expect("kB").parse().expect("a number");
    let most = used * 1024 + MOST_MEMORY;
    rlimit::setrlimit(rlimit::Resource::DATA, most, most).expect("a limit");
}

#[cfg(not(target_os = "linux"))]
fn limit_memory() {}

fn timed(target: &Target, input: &str) -> (bool, Duration) {
    let begun = Instant::now();
    let good = catch_unwind(|| (target.read)(input));
    let Ok(good) = good else { panic!("{}: a panic at {input:?}", target.name) };
    (good, begun.elapsed())
}

fn try_target(target: &Target, inputs: u64) {
    let seeds: Vec<Vec<u8>> = (target.seeds)().into_iter().map(String::into_bytes).collect();
    let (mut good, mut slowest) = (0, Duration::ZERO);
    for n in 0..inputs {
        let bytes = mutate::mutated(&seeds, n);
        // files that are no UTF-8 are refused where they are opened
        let input = String::from_utf8_lossy(&bytes);
        let (was_good, mut took) = timed(target, &input);
        // other processes may have had the core
        for _ in 0..3 {
            if took > MOST_TIME {
                took = took.min(timed(target, &input).1);
            }
        }
        assert!(took <= MOST_TIME, "{}: {took:?} for {input:?}", target.name);
        good += u64::from(was_good);
        slowest = slowest.max(took);
    }
    println!("{}: {inputs} inputs, {good} of them good, the slowest {slowest:.1?}", target.name);
    assert!(good < inputs, "{}: damaged inputs are refused", target.name);
}

/// The work, in a process of its own.
#[test]
fn robustness_fuzz_within_limits() {
    if std::env::var_os(WITHIN).is_none() {
        return;
    }
    let only = std::env::var("KNEEDAMP_FUZZ_TARGET").ok();
    for target in TARGETS.iter().filter(|t| only.as_ref().is_none_or(|name| name == t.name)) {
        assert!((target.seeds)().iter().any(|s| (target.read)(s)), "{}", target.name);
    }
    limit_memory();
    TARGETS
        .iter()
        .filter(|t| only.as_ref().is_none_or(|name| name == t.name))
        .for_each(|t| try_target(t, asked()));
}

#[test]
fn robustness_fuzz_damaged_inputs() {
    let own = std::env::current_exe().expect("this program");
    let output = Command::new(own)
        .args([
            "robustness::fuzz::robustness_fuzz_within_limits",
            "--exact",
            "--nocapture",
            "--test-threads=1",
        ])
        .env(WITHIN, "1")
        .env("RAYON_NUM_THREADS", "1")
        .output()
        .expect("starts");
    let said = String::from_utf8_lossy(&output.stdout);
    println!("{said}");
    assert!(output.status.success(), "{said}\n{}", String::from_utf8_lossy(&output.stderr));
    assert_eq!(said.matches(" inputs, ").count(), TARGETS.len(), "every reader was tried");
}
