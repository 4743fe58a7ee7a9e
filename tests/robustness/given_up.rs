//! A scenario that could not be computed is one row without a result, and never the end of the others.

use kneedamp::error::SimError;
use kneedamp::library::to_yaml;

use crate::commands::{stdout, unwrapped};
use crate::common::library;

const SAID: &str = "could not be computed";

/// A drive with the greatest numbers a file may have in its fast rows: walk-fast ends beyond what any leg has, every
/// other scenario runs.
struct Wild(tempfile::TempDir);

impl Wild {
    fn new() -> Self {
        let mut drive = library().drive("able-bodied-2008").expect("shipped");
        drive.name = "wild".into();
        for row in &mut drive.speeds[3..] {
            let signals = [
                (&mut row.thigh_angle_deg, 90.0),
                (&mut row.hip_vertical_acceleration_g, 5.0),
                (&mut row.hip_forward_acceleration_g, 5.0),
            ];
            for (signal, most) in signals {
                signal.cos.iter_mut().chain(&mut signal.sin).for_each(|v| *v = most);
            }
        }
        let folder = tempfile::tempdir().expect("a folder");
        std::fs::write(folder.path().join("wild.yaml"), to_yaml(&drive).expect("YAML")).expect("written");
        Self(folder)
    }

    fn path(&self, name: &str) -> String {
        self.0.path().join(name).to_str().expect("UTF-8").to_owned()
    }

    fn out(&self, args: &[&str], code: i32) -> String {
        stdout(&[args, &["--drive", &self.path("wild.yaml")]].concat(), code)
    }
}

#[test]
fn robustness_a_scenario_not_computed_is_a_row() {
    let wild = Wild::new();
    let out = wild.out(&["run"], 0);
    let row =
        |name: &str| out.lines().find(|l| l.trim_start().starts_with(&format!("{name} "))).expect("a row");
    assert!(row("walk-fast").contains(SAID), "{out}");
    for name in ["stand", "walk-slow", "sit-down", "ramp-down-8-deg", "stairs-down", "stumble"] {
        assert!(["✓", "✗", "?"].iter().any(|mark| row(name).contains(mark)), "{name}: {out}");
    }
    assert!(out.contains(&format!("walk-fast: {SAID}: landing: a ")), "with its reason: {out}");
    wild.out(&["run", "--strict", "--allow-doubtful", "walk-fast", "stumble"], 3);
    wild.out(&["run", "--strict", "stumble"], 0);
    wild.out(&["run", "walk-fast"], 2);
    let csv = wild.out(&["run", "--format", "csv"], 0);
    assert!(csv.lines().any(|l| l.starts_with("walk-fast,") && l.contains(SAID)), "{csv}");
    let json: serde_json::Value =
        serde_json::from_str(&wild.out(&["run", "--format", "json"], 0)).expect("JSON");
    let runs = json["runs"].as_array().expect("runs");
    let fast = runs.iter().find(|r| r["scenario"] == "walk-fast").expect("there");
    assert_eq!((&fast["verdict"], runs.len()), (&SAID.into(), 10));
}

#[test]
fn robustness_studies_go_on_without_a_scenario_not_computed() {
    let wild = Wild::new();
    let out = |args: &[&str]| unwrapped(&wild.out(args, 0));
    let adjusted = out(&["adjust", "walk-fast", "stumble", "--starts", "0"]);
    assert!(adjusted.contains("Not judged, as it cannot be followed there: walk-fast"), "{adjusted}");
    wild.out(&["adjust", "walk-fast", "stumble", "--starts", "0", "--strict"], 3);
    let window = out(&["window", "walk-fast", "ramp-down-1-in-12"]);
    assert!(window.contains(&format!("{SAID} (walk-fast)")), "{window}");
    let recheck = out(&["recheck", "mass_kg=76"]);
    assert!(recheck.contains("walking - walk-fast: could not be computed"), "{recheck}");
    assert!(!recheck.contains("Nothing asks to be looked at"), "{recheck}");
    let sweep = out(&["sweep", "mass_kg=70,75", "--scenario", "walk-fast,stumble"]);
    assert_eq!(sweep.matches(SAID).count(), 4, "verdict and reason of two rows: {sweep}");
    let compared =
        out(&["compare", "--a", "", "--b", "mass_kg=70", "--scenario", "walk-fast", "--scenario", "stumble"]);
    assert!(compared.contains(SAID) && compared.contains("stumble"), "{compared}");
    let page = wild.path("sheet.html");
    wild.out(&["sheet", "--output", &page], 0);
    let sheet = std::fs::read_to_string(&page).expect("written");
    assert!(sheet.contains("fast could not be computed"), "{sheet}");
}

/// Nothing was computed: the words say so, and it is a finding about one case. The others stand for errors of the inputs.
#[test]
fn robustness_errors_without_a_result_say_so() {
    let why = || "more than 2000 events".to_owned();
    let given_up = SimError::Integration { phase: "sitting", t_s: 1.0, why: why() };
    let open = SimError::EnergyBalance { phase: "stride", residual: 1e-3 };
    let (what, unit) = ("a work", " J");
    let beyond = SimError::BeyondBounds { phase: "stride", what, value: 2e4, most: 1e4, unit };
    for e in [given_up, open, beyond] {
        assert!(e.is_finding() && !e.cannot_run());
        assert_eq!(e.in_place_of_verdict(), SAID);
        assert!(e.to_string().starts_with(SAID), "{e}");
    }
    assert_eq!(SimError::CannotRun(why()).in_place_of_verdict(), "cannot run");
    assert!(!SimError::Usage(why()).is_finding());
}
