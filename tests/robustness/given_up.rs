//! A scenario on which the integrator gives up is one row without a result, and never the end of the others.

use kneedamp::error::SimError;

use crate::commands::{kneedamp, stdout, unwrapped};

const SAID: &str = "could not be computed";
/// Sitting down chatters with this knee; every other scenario runs.
const CHATTERS: [&str; 3] = ["--temperature=-30", "--foot-shift", "60"];

fn with(args: &[&'static str]) -> Vec<&'static str> {
    args.iter().chain(&CHATTERS).copied().collect()
}

#[test]
fn robustness_a_scenario_given_up_is_a_row() {
    let out = stdout(&with(&["run"]), 0);
    let row =
        |name: &str| out.lines().find(|l| l.trim_start().starts_with(&format!("{name} "))).expect("a row");
    assert!(row("sit-down").contains(SAID), "{out}");
    for name in ["stand", "walk-fast", "ramp-down-8-deg", "stairs-down", "stumble"] {
        assert!(["✓", "✗", "?"].iter().any(|mark| row(name).contains(mark)), "{name}: {out}");
    }
    assert!(out.contains(&format!("sit-down: {SAID}: sitting, t = ")), "with its reason: {out}");
    kneedamp(&with(&["run", "--strict", "--allow-doubtful", "sit-down", "stumble"])).assert().code(3);
    kneedamp(&with(&["run", "sit-down"])).assert().code(2);
    let csv = stdout(&with(&["run", "--format", "csv"]), 0);
    assert!(csv.lines().any(|l| l.starts_with("sit-down,") && l.contains(SAID)), "{csv}");
    let json: serde_json::Value =
        serde_json::from_str(&stdout(&with(&["run", "--format", "json"]), 0)).expect("JSON");
    let runs = json["runs"].as_array().expect("runs");
    let sit = runs.iter().find(|r| r["scenario"] == "sit-down").expect("sitting");
    assert_eq!((&sit["verdict"], runs.len()), (&SAID.into(), 10));
}

#[test]
fn robustness_studies_go_on_without_a_scenario_given_up() {
    let adjusted = unwrapped(&stdout(&with(&["adjust", "sit-down", "stumble", "--starts", "0"]), 0));
    assert!(adjusted.contains("Not judged, as it cannot be followed there: sit-down"), "{adjusted}");
    kneedamp(&with(&["adjust", "sit-down", "stumble", "--starts", "0", "--strict"])).assert().code(3);
    let window = unwrapped(&stdout(&with(&["window", "sit-down", "ramp-down-1-in-12"]), 0));
    assert!(window.contains(&format!("{SAID} (sit-down)")), "{window}");
    let recheck = unwrapped(&stdout(&with(&["recheck", "mass_kg=76"]), 0));
    assert!(recheck.contains("1. chair - sit-down: could not be computed"), "{recheck}");
    assert!(!recheck.contains("Nothing asks to be looked at"), "{recheck}");
    let folder = tempfile::tempdir().expect("a folder");
    let page = folder.path().join("sheet.html");
    kneedamp(&["sheet", "--output"]).arg(&page).args(CHATTERS).assert().success();
    let sheet = std::fs::read_to_string(&page).expect("written");
    assert!(sheet.contains("Chair: could not be computed"), "{sheet}");
}

/// The integrator's errors say that there is no result; only they and what cannot run stand in a row.
#[test]
fn robustness_errors_of_the_integrator_say_that_nothing_was_computed() {
    let why = || "more than 2000 events".to_owned();
    let given_up = SimError::Integration { phase: "sitting", t_s: 1.0, why: why() };
    let open = SimError::EnergyBalance { phase: "stride", residual: 1e-3 };
    for e in [given_up, open] {
        assert!(e.is_finding() && !e.cannot_run());
        assert_eq!(e.in_place_of_verdict(), SAID);
        assert!(e.to_string().starts_with(SAID), "{e}");
    }
    assert_eq!(SimError::CannotRun(why()).in_place_of_verdict(), "cannot run");
    assert!(!SimError::Usage(why()).is_finding());
}
