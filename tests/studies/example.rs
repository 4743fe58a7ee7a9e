//! The built-in example can be set up, and each extreme of a setting shows its fault.

use rayon::prelude::*;

use crate::common::{library, setup};
use kneedamp::case::setup::Setup;
use kneedamp::joint::SettingName::{self, CatchLoad, StanceYield, SwingExtension, SwingFlexion};
use kneedamp::library::Kind;
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::outcome::{Assessment, TrialVerdict, detail_for_limits};
use kneedamp::scenario::Scenario;
use kneedamp::study::adjust::{SessionEnd, SessionOptions, run_session};
use kneedamp::units::Setting;

fn scenarios() -> Vec<Scenario> {
    let l = library();
    let all = l.names(Kind::Scenario).into_iter().map(|n| l.scenario(&n).expect("shipped"));
    all.filter(|s| !s.by_name_only).collect()
}

fn with(person: &str, sets: &[(SettingName, f64)]) -> Setup {
    let mut setup = setup(person, "built-in");
    for (name, pct) in sets {
        setup.settings.set(*name, Setting::from_pct("test", *pct).expect("percent"));
    }
    setup
}

fn assess(setup: &Setup, scenario: &Scenario) -> Assessment {
    Assessment::of(&setup.trial(scenario).expect("resolves")).expect("runs")
}

/// Scenarios that are not within, with what limits them.
fn not_within(setup: &Setup) -> Vec<(String, String)> {
    let judged = |s: &Scenario| {
        let a = assess(setup, s);
        let by = a.limiting().map(|l| l.limit.outcome.clone()).unwrap_or_default();
        (a.verdict() != TrialVerdict::Within).then(|| (s.name.clone(), by))
    };
    scenarios().par_iter().filter_map(judged).collect()
}

#[test]
fn studies_example_is_within_every_limit_as_shipped() {
    assert_eq!(not_within(&with("75-kg", &[])), []);
    for speed in ["walk-slow", "walk-comfortable", "walk-fast"] {
        let walk = library().scenario(speed).expect("shipped");
        let margin = assess(&with("75-kg", &[]), &walk).outcomes.number("extension_margin_ms");
        assert!(margin >= Some(60.0), "{speed}: {margin:?}");
    }
}

/// Every limit holds over at least ten points of each setting, the others as shipped, by single runs.
#[test]
fn studies_example_has_four_windows() {
    let shipped = with("75-kg", &[]);
    let settings = shipped.resolve().expect("resolves").knee.settings;
    for name in SettingName::ALL {
        let at = settings.get(name).expect("has it").pct();
        let within = |pct: f64| {
            scenarios().par_iter().all(|s| {
                let mut trial = with("75-kg", &[(name, pct)]).trial(s).expect("resolves");
                (trial.tolerances, trial.detail) = (Tolerances::scan(), detail_for_limits(&s.limits));
                Assessment::of_limits(&trial).expect("runs").holds()
            })
        };
        let reach =
            |direction: f64| (1..=10).map(f64::from).take_while(|step| within(at + direction * step)).count();
        let (below, above) = (reach(-1.0), reach(1.0));
        println!("{name}: {at:.1} % − {below} + {above}");
        assert!(below + above >= 10, "{name}: {at:.1} % − {below} + {above}");
    }
}

/// A session of single steps sets it up for three people, and from far away.
#[test]
fn studies_example_can_be_set_up() {
    let all = scenarios();
    let open = SettingName::ALL.map(|name| (name, 0.0));
    let middle = SettingName::ALL.map(|name| (name, 50.0));
    let mut starts: Vec<(&str, Vec<(SettingName, f64)>)> =
        ["50-kg", "75-kg", "100-kg"].map(|person| (person, vec![])).into();
    starts.extend([open, middle].map(|sets| ("75-kg", sets.to_vec())));
    starts.extend(open.map(|one| ("75-kg", vec![one])));
    for (person, sets) in starts {
        let start = with(person, &sets);
        let s = run_session(&start, &all, &SessionOptions::default(), &|| ()).expect("a session");
        println!("{person} {sets:?}: {} trials, {} unsafe", s.trials, s.unsafe_trials());
        assert_eq!(s.ended, SessionEnd::AllWithinLimits, "{person} {sets:?}");
        let end = Setup { settings: s.end.settings(), ..start };
        assert_eq!(not_within(&end), [], "{person} {sets:?}");
    }
}

/// What the trade knows of each extreme (common practice): the fault shows in at least one scenario.
#[test]
fn studies_example_shows_the_fault_of_each_extreme() {
    let faults = [
        (SwingFlexion, 0.0, "walk-hurried", "extension_margin_ms"),
        (SwingFlexion, 100.0, "walk-comfortable", "peak_flexion_deg"),
        (SwingExtension, 0.0, "walk-comfortable", "terminal_energy_j"),
        (SwingExtension, 100.0, "walk-comfortable", "extension_margin_ms"),
        (StanceYield, 0.0, "sit-down", "sit_time_s"),
        (StanceYield, 100.0, "stairs-down", "what_happens"),
        (CatchLoad, 0.0, "walk-comfortable", "late_release_loss_deg"),
        (CatchLoad, 100.0, "stumble", "what_happens"),
    ];
    for (name, pct, scenario, fault) in faults {
        let found = assess(&with("75-kg", &[(name, pct)]), &library().scenario(scenario).expect("shipped"));
        let broken: Vec<&str> =
            found.binding().filter(|l| !l.holds()).map(|l| l.limit.outcome.as_str()).collect();
        assert!(broken.contains(&fault), "{name} {pct} %, {scenario}: {broken:?}");
    }
}
