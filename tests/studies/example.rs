//! The built-in example can be set up, and each extreme of a setting shows its fault.

use rayon::prelude::*;

use crate::common::{library, setup};
use kneedamp::case::setup::Setup;
use kneedamp::joint::SettingName::{self, CatchLoad, StanceYield, SwingExtension, SwingFlexion};
use kneedamp::library::Kind;
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::outcome::{Assessment, TrialVerdict, Verdict, detail_for_limits};
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

/// A stumble that leaves the knee bending under the weight is never within, wherever catch load and yield stand.
#[test]
fn studies_example_stumble_still_bending_is_never_within() {
    let stumble = library().scenario("stumble").expect("shipped");
    let mut verdicts = std::collections::BTreeMap::new();
    for i in 0..=10 {
        for j in 0..=10 {
            let at = [(CatchLoad, 10.0 * f64::from(i)), (StanceYield, 10.0 * f64::from(j))];
            let a = assess(&with("75-kg", &at), &stumble);
            let number = |key| a.outcomes.number(key).expect("a number");
            let (most, rate) = (number("max_flexion_deg"), number("end_rate_deg_per_s"));
            let bends_on = most > 45.0 || (most > 10.0 && rate > 60.0);
            assert!(!bends_on || a.verdict() != TrialVerdict::Within, "{at:?}: {most:.1}° at {rate:.0}°/s");
            *verdicts.entry(a.verdict()).or_insert(0) += 1;
        }
    }
    println!("{verdicts:?}");
    assert_eq!(verdicts.len(), 3, "{verdicts:?}");
    for at in [(CatchLoad, 0.0), (StanceYield, 0.0)] {
        let a = assess(&with("75-kg", &[at]), &stumble);
        let rate = a.outcomes.number("end_rate_deg_per_s").expect("a number");
        assert!(rate <= 60.0 || a.verdict() != TrialVerdict::Within, "{at:?} {rate}");
    }
}

/// A hovering knee that misses the line of 1° loses its margin at once; the limit does not: a step of half a point of a
/// setting moves its relative margin by less than one, and breaks it only where the knee is bent by more than 3°.
#[test]
fn studies_full_extension_is_judged_without_a_jump() {
    let walk = library().scenario("walk-comfortable").expect("shipped");
    let extension = |pct: f64| {
        let mut trial = with("75-kg", &[(SwingExtension, pct)]).trial(&walk).expect("resolves");
        trial.detail = detail_for_limits(&walk.limits);
        let a = Assessment::of_limits(&trial).expect("runs");
        let l = a.limits.iter().find(|l| l.limit.beside_max.is_some()).expect("full extension").clone();
        (l, a.outcomes.number("flexion_before_contact_deg").expect("walks"))
    };
    let scan: Vec<_> = (80..=200).into_par_iter().map(|i| extension(0.5 * f64::from(i))).collect();
    let mut jumps = 0;
    for pair in scan.windows(2) {
        let [(a, _), (b, bent)] = pair else { panic!("two") };
        let moved = (a.relative_margin - b.relative_margin).abs();
        assert!(moved < 1.0, "{moved}: {:?} {:?} at {bent}°", a.value, b.value);
        assert!(b.verdict != Verdict::Outside || *bent > 3.0, "{:?} at {bent}°", b.value);
        let ms = |l: &kneedamp::outcome::LimitVerdict| l.value.as_number().unwrap_or(-1000.0);
        jumps += usize::from((ms(a) - ms(b)).abs() > 60.0);
    }
    assert!(jumps > 0, "the margin itself does jump in this scan");
    assert!(scan.iter().any(|(l, _)| l.verdict == Verdict::Doubtful));
    assert!(scan.iter().any(|(l, _)| l.verdict == Verdict::Outside || l.verdict == Verdict::NotReached));
}
