//! How long `next` takes from a trace and three observations, against one full run in the same process.
//!
//!     cargo bench --bench next_trace
#![allow(clippy::print_stdout)]

use std::time::Instant;

use kneedamp::case::setup::Setup;
use kneedamp::library::measured::trace;
use kneedamp::library::table::Named;
use kneedamp::library::{Kind, Library, parse, read_table};
use kneedamp::scenario::Scenario;
use kneedamp::study::identify_stride::{curves_beside, swing_figures};
use kneedamp::study::next::{Grade, NextOptions, Observation, next};

const TABLE: &str = "docs/examples/walk.csv";
const SEEN: [&str; 3] = ["knee-late-straight:slight", "knock-at-the-end:none", "heel-flies-up:none"];

fn main() {
    let library = Library::default();
    let named = |n: &str| library.scenario(n).expect("shipped");
    let all = library.names(Kind::Scenario);
    let scenarios: Vec<Scenario> =
        all.iter().filter(|n| !n.starts_with("reference")).map(|n| named(n)).collect();
    let setup = Setup::new(
        library.person("75-kg").expect("shipped"),
        library.prosthesis("typical").expect("shipped"),
        library.knee("built-in").expect("shipped"),
        library.walking_drive("users-2020").expect("shipped"),
    );
    let (text, origin) = library.text(Kind::Uncertainty, "default").expect("shipped");
    let ranges = parse(&text, &origin).expect("shipped");

    let begun = Instant::now();
    let table = read_table(TABLE.as_ref()).expect("shipped");
    let measured = trace::read(Named { name: TABLE, text: &table }, &[]).expect("a trace");
    let walk = named("walk-comfortable");
    let curves = curves_beside(&measured, &setup, &walk).expect("a stride");
    let swing = swing_figures(&curves.knee_deg, &walk.name);
    let options = NextOptions {
        observations: SEEN.iter().map(|s| Observation::parse(s, Grade::Seen).expect("seen")).collect(),
        swing: Some(swing),
        settings_pct: 10.0,
        draws: 2048,
        tries: 96,
        step_pct: None,
        seed: 1,
    };
    let found = next(&setup, &scenarios, &ranges, options, &|| ()).expect("found");
    let seconds = begun.elapsed().as_secs_f64();

    let begun = Instant::now();
    let resolved: Vec<_> = scenarios.iter().map(|s| setup.paced_for(s).trial(s).expect("a trial")).collect();
    resolved.iter().for_each(|t| drop(kneedamp::Assessment::of(t).expect("runs")));
    let run = begun.elapsed().as_secs_f64();
    println!(
        "next from a trace and {} observations: {seconds:.1} s on {} threads; {} draws worth {:.0}; {:.0} full runs one after the other",
        SEEN.len(),
        rayon::current_num_threads(),
        found.weighted.draws.len(),
        found.weighted.effective(),
        seconds / run
    );
}
