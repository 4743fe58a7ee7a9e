//! All settings moved together: the block that `window --together` names, tried again by independent runs.

use crate::commands::{json, refused, stdout, unwrapped};
use crate::common::{self, library};
use kneedamp::joint::SettingName;
use kneedamp::numerics::random;
use kneedamp::outcome::{Assessment, TrialVerdict};
use kneedamp::study::window::{Question, Region, region};
use kneedamp::units::Setting;

const SCENARIOS: [&str; 4] = ["walk-comfortable", "walk-hurried", "sit-down", "stumble"];

fn question(sets: &[(SettingName, f64)]) -> Question {
    let mut setup = common::setup("75-kg", "built-in");
    for (name, pct) in sets {
        setup.settings.set(*name, Setting::from_pct("test", *pct).expect("percent"));
    }
    Question {
        setup,
        scenarios: SCENARIOS.map(|n| library().scenario(n).expect("scenario")).to_vec(),
        without: vec![],
        masses_kg: vec![],
        cadences_steps_per_min: vec![],
        bands: false,
    }
}

fn within(question: &Question, settings: &[SettingName], point: &[f64]) -> bool {
    let mut setup = question.setup.clone();
    for (name, pct) in settings.iter().zip(point) {
        setup.settings.set(*name, Setting::from_pct("test", *pct).expect("percent"));
    }
    question.scenarios.iter().all(|s| {
        let a = Assessment::of(&setup.trial(s).expect("resolves")).expect("runs");
        a.verdict() == TrialVerdict::Within
    })
}

fn found(question: &Question, samples: u32) -> Region {
    region(question, samples, &|| ()).expect("a region")
}

/// Random combinations inside the block hold; just outside each face that could still move, some point does not.
#[test]
fn region_block_holds_for_any_combination() {
    let question = question(&[]);
    let region = found(&question, 64);
    let names: Vec<SettingName> = region.settings.iter().map(|s| s.0).collect();
    let block = region.block.expect("a block around the example");
    for ([low, high], (name, at)) in block.ranges_pct.iter().zip(&region.settings) {
        assert!(low <= at && at <= high, "{name} at {at} lies outside {low} to {high}");
        assert!(high - low >= 2.0, "{name}: {low} to {high}");
    }
    let held = (0..200)
        .filter(|i| {
            let draw = |d: usize, [low, high]: &[f64; 2]| {
                low + (high - low) * random::uniform(7, *i, names[d].as_str())
            };
            let point: Vec<f64> = block.ranges_pct.iter().enumerate().map(|(d, r)| draw(d, r)).collect();
            within(&question, &names, &point)
        })
        .count();
    // 128 of 128 tried inside says with 95 % that at least 97 % hold
    assert!(held >= 194, "{held} of 200");
    // the block cannot be all there is: a face that moved by 6 points meets a limit somewhere on it
    let mut stopped = 0;
    for d in 0..names.len() {
        for side in 0..2 {
            let to = block.ranges_pct[d][side] + [-6.0, 6.0][side];
            if !(0.0..=100.0).contains(&to) {
                continue;
            }
            let corners = (0..1usize << names.len()).map(|bits| -> Vec<f64> {
                let at = |i: usize| if i == d { to } else { block.ranges_pct[i][(bits >> i) & 1] };
                (0..names.len()).map(at).collect()
            });
            stopped += usize::from(corners.into_iter().any(|c| !within(&question, &names, &c)));
        }
    }
    assert!(stopped >= 6, "only {stopped} faces lie at a limit");
}

/// The share is counted, and the same for any number of threads.
#[test]
fn region_share_is_counted() {
    let question = question(&[(SettingName::CatchLoad, 90.0)]);
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().expect("a pool");
    let (a, b) = (found(&question, 256), pool.install(|| found(&question, 256)));
    assert_eq!(format!("{a:?}"), format!("{b:?}"));
    assert_eq!(a.tried, 256);
    assert!(a.within > 0 && a.within < 100, "{}", a.within);
    let reach = a.reach_pct.expect("some are within");
    let block = a.block.expect("a block away from the present settings");
    let [_, high] = block.ranges_pct[3];
    assert!(high < 90.0 && reach[3][1] < 90.0, "a catch load of 90 % serves nobody here");
}

#[test]
fn region_says_what_it_found() {
    let args = ["window", "sit-down", "stumble", "--together", "--samples", "64"];
    let text = unwrapped(&stdout(&args, 0));
    for words in ["of 64 positions are within every limit", "any combination", "not a proof"] {
        assert!(text.to_uppercase().contains(&words.to_uppercase()), "{words}: {text}");
    }
    let found = json(&[&args[..], &["--format", "json"]].concat());
    assert_eq!(found["inputs"]["samples"], 64);
    assert_eq!(found["region"].as_array().expect("rows").len(), 4, "{found}");
    assert!(refused(&["window", "--together", "--samples", "4"]).contains("--samples 4"));
    assert!(refused(&["window", "--together", "--mass", "50:100:25"]).contains("--together"));
    refused(&["window", "--together", "--map", "swing-flexion,stance-yield"]);
}
