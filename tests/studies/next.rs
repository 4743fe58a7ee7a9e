//! What was seen, what explains it, which step is likely to help: against runs of their own.

use crate::common::{self, library};
use kneedamp::case::setup::Setup;
use kneedamp::joint::SettingName::{self, SwingExtension, SwingFlexion};
use kneedamp::library::Kind;
use kneedamp::scenario::Scenario;
use kneedamp::scenario::uncertainty_file::UncertaintyFile;
use kneedamp::study::adjust::{excess, symptom_by_name};
use kneedamp::study::next::evidence::CLEAR_FROM;
use kneedamp::study::next::{
    Grade, Next, NextOptions, Observation, Population, Step, StepScore, Weighted, next,
};
use kneedamp::units::Setting;

fn setup(sets: &[(SettingName, f64)]) -> Setup {
    let mut setup = common::setup("75-kg", "built-in");
    for (name, pct) in sets {
        setup.settings.set(*name, Setting::from_pct("test", *pct).expect("percent"));
    }
    setup
}

fn scenarios(names: &[&str]) -> Vec<Scenario> {
    names.iter().map(|n| library().scenario(n).expect("scenario")).collect()
}

fn ranges() -> UncertaintyFile {
    let (text, _) = library().text(Kind::Uncertainty, "default").expect("shipped");
    kneedamp::library::parse(&text, "default").expect("shipped")
}

fn seen(text: &str) -> Observation {
    Observation::parse(text, Grade::Seen).expect("an observation")
}

fn options(observations: Vec<Observation>) -> NextOptions {
    NextOptions {
        observations,
        swing: None,
        settings_pct: 10.0,
        draws: 256,
        tries: 16,
        step_pct: None,
        seed: 1,
    }
}

fn found(setup: &Setup, names: &[&str], o: NextOptions) -> Next {
    next(setup, &scenarios(names), &ranges(), o, &|| ()).expect("found")
}

#[test]
fn next_words_share_out_what_is_likely() {
    let of = |grade: Grade, x: f64| {
        let symptom = symptom_by_name("toe-drags").expect("a symptom");
        Observation { symptom, grade, scenario: None }.likelihood(Some(x))
    };
    let mut last = 0.0;
    for i in -40..=40 {
        let x = f64::from(i) * 0.05;
        let [none, slight, clear] = [Grade::None, Grade::Slight, Grade::Clear].map(|g| of(g, x));
        assert!((none + slight + clear - 1.0).abs() < 1e-12, "{x}");
        assert!((of(Grade::Seen, x) - slight - clear).abs() < 1e-12, "{x}");
        assert!(none.min(slight).min(clear) >= 0.05 / 3.0 - 1e-12, "people err: {x}");
        assert!(clear >= last, "{x}");
        last = clear;
        let likeliest = match Grade::of(x) {
            Grade::None => none,
            Grade::Slight => slight,
            _ => clear,
        };
        // away from the edges a watcher names what there is
        if [0.0, CLEAR_FROM].iter().all(|edge| (x - edge).abs() > 0.09) {
            assert!(likeliest > 0.5, "{x}: {none} {slight} {clear}");
        }
    }
    assert!((of(Grade::None, 0.0) - of(Grade::Seen, 0.0) + 0.05 / 3.0).abs() < 1e-12);
}

#[test]
fn next_reads_observations() {
    let o = seen("knee-late-straight:clear@walk-fast");
    assert_eq!(
        (o.symptom.name, o.grade, o.scenario.as_deref()),
        ("knee-late-straight", Grade::Clear, Some("walk-fast"))
    );
    assert_eq!(seen("toe-drags").grade, Grade::Seen);
    assert_eq!(Observation::parse("toe-drags@walk-slow", Grade::None).expect("read").grade, Grade::None);
    for wrong in ["", "toe-drag", "toe-drags:much", ":clear", "@walk-fast"] {
        Observation::parse(wrong, Grade::Seen).expect_err(wrong);
    }
}

#[test]
fn next_picks_by_weight() {
    let weighted = Weighted { draws: vec![3, 5, 8], weights: vec![1.0, 0.0, 3.0] };
    assert_eq!(weighted.pick(8), [3, 3, 8, 8, 8, 8, 8, 8]);
    assert!((weighted.effective() - 16.0 / 10.0).abs() < 1e-12);
    let even = Weighted { draws: (0..50).collect(), weights: vec![0.2; 50] };
    assert!((even.effective() - 50.0).abs() < 1e-9);
    assert_eq!(even.pick(50), even.draws);
    assert!(Weighted::default().pick(4).is_empty());
}

/// What was seen moves the draws: those picked by weight show it far more often than draws at random, by runs of their
/// own, and the setting that causes it moves towards where it shows.
#[test]
fn next_keeps_what_explains_it() {
    let at = setup(&[(SwingExtension, 60.0)]);
    let o = seen("knee-late-straight:clear@walk-fast");
    let n = found(&at, &["walk-fast"], options(vec![o.clone()]));
    let walk = &scenarios(&["walk-fast"])[0];
    let shows = |draws: &[u32]| {
        let clear = draws.iter().filter(|d| {
            let run = n.population.run(**d, 0, &[]).expect("runs");
            let x = run.assessment.as_ref().ok().and_then(|a| excess(o.symptom, walk, a));
            x.is_some_and(|x| x > CLEAR_FROM)
        });
        clear.count() as f64 / draws.len() as f64
    };
    let (before, after) = (shows(&n.weighted.draws), shows(&n.weighted.pick(256)));
    assert!(before < 0.6 && after > 0.9, "{before} {after}");
    let mean = |draws: &[u32]| {
        let values = draws.iter().filter_map(|d| n.population.value(*d, "swing-extension"));
        values.sum::<f64>() / draws.len() as f64
    };
    assert!(mean(&n.weighted.pick(256)) > mean(&n.weighted.draws) + 1.0, "closed further than it says");
}

/// More draws are taken until enough explain what was seen, and no more than there are.
#[test]
fn next_draws_until_enough_explain_it() {
    let easy = found(
        &setup(&[]),
        &["sit-down"],
        options(vec![Observation::parse("drops-into-chair", Grade::None).expect("read")]),
    );
    assert_eq!(easy.weighted.draws.len(), 256);
    assert!(easy.weighted.effective() >= 200.0);
    let rare =
        options(vec![seen("knee-late-straight:clear@walk-fast"), seen("knock-at-the-end:clear@walk-fast")]);
    let rare = found(&setup(&[]), &["walk-fast"], NextOptions { draws: 256, ..rare });
    assert!(rare.weighted.draws.len() > 256, "{}", rare.weighted.draws.len());
}

/// Counts of a step by runs of its own.
#[test]
fn next_counts_steps_as_by_hand() {
    let at = setup(&[(SwingExtension, 65.0), (SwingFlexion, 40.0)]);
    let names = ["walk-fast", "stumble"];
    let n = found(&at, &names, options(vec![seen("knee-late-straight@walk-fast")]));
    let picked = n.weighted.pick(16);
    let run = |draw: u32, i: usize, steps: &[Step]| n.population.run(draw, i, steps).expect("runs");
    let by_hand = |s: &StepScore| {
        let steps: Vec<Step> = s.step.into_iter().collect();
        let count = |f: &dyn Fn(u32) -> bool| picked.iter().filter(|d| f(**d)).count();
        let within = count(&|d| (0..2).all(|i| run(d, i, &steps).assessment.is_ok_and(|a| a.holds())));
        let harm =
            count(&|d| (0..2).any(|i| run(d, i, &[]).danger.is_none() && run(d, i, &steps).danger.is_some()));
        (within, harm)
    };
    for s in std::iter::once(&n.now).chain(&n.steps) {
        assert_eq!((s.within, s.harm), by_hand(s), "{:?}", s.step);
        assert!(s.good + s.harm <= s.tried && s.tried == 16, "{s:?}");
    }
    // ranked, and the remedy that everyone knows is among the best settings
    assert!(n.steps.windows(2).all(|w| w[0].value() >= w[1].value()));
    let best = n.steps.iter().find(|s| s.is_setting()).and_then(|s| s.step).expect("a setting");
    assert_eq!((best.key, best.by < 0.0), ("swing-extension", true), "{:?}", n.steps);
    assert!(n.steps[0].good > 4 && n.steps[0].change[0] < Some(-0.05), "{:?}", n.steps[0]);
}

/// Beyond a cliff no single step helps; several steps are tried then.
#[test]
fn next_looks_further_where_no_single_step_helps() {
    let at = setup(&[(SettingName::CatchLoad, 36.0)]);
    let n = found(
        &at,
        &["sit-down", "walk-comfortable"],
        NextOptions { settings_pct: 1.0, ..options(vec![seen("drops-into-chair:clear")]) },
    );
    let hopeful = |s: &StepScore| s.is_setting() && s.value() > 0.0;
    assert!(!n.further.is_empty() && !n.steps.iter().any(hopeful), "no single step helps: {:?}", n.steps);
    let best = n.further.iter().find(|s| hopeful(s)).expect("one of the further moves");
    assert_eq!(best.step, Some(Step { key: "catch-load", by: -8.0 }), "{:?}", n.further);
    assert!(best.good > 4, "{best:?}");
}

#[test]
fn next_is_the_same_on_any_number_of_threads() {
    let run = || {
        let n = found(&setup(&[]), &["walk-hurried"], options(vec![seen("heel-flies-up:slight")]));
        format!("{:?}", n.findings(true))
    };
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().expect("a pool").install(run);
    assert_eq!(one, run());
}

/// A population keeps to its ranges.
#[test]
fn next_draws_stay_in_their_ranges() {
    let population =
        Population::new(&setup(&[(SwingFlexion, 4.0)]), &scenarios(&["walk-fast"]), &ranges(), (10.0, 1))
            .expect("a population");
    let mut extremes = [f64::INFINITY, f64::NEG_INFINITY];
    for draw in 0..512 {
        let pct = population.value(draw, "swing-flexion").expect("acts");
        extremes = [extremes[0].min(pct), extremes[1].max(pct)];
        let mass = population.value(draw, "mass_kg").expect("acts");
        assert!((73.0..=77.0).contains(&mass), "{mass}");
    }
    assert!(
        extremes[0] >= 0.0 && extremes[0] < 0.1 && extremes[1] <= 14.0 && extremes[1] > 13.9,
        "{extremes:?}"
    );
    assert_eq!(population.value(0, "sitting_share"), None, "acts in no walking");
}
