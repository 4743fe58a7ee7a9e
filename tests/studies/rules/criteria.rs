//! Criteria can agree, disagree, and decide nothing where a statement makes no sense.

use super::study;
use approx::assert_abs_diff_eq;
use kneedamp::joint::SettingName;
use kneedamp::study::adjust::{Order, SessionOptions, run_session};
use kneedamp::study::rules::criteria::shared_yield::position_ranges;
use kneedamp::study::rules::evidence::{Abort, Agreement, CatchLoadMode, ExperimentResult, RunSpec};
use kneedamp::study::rules::experiment::Experiment;
use kneedamp::study::rules::measure::{MotionMeasure, NotReachedAs, compare, landing};
use kneedamp::study::rules::population::Sample;
use kneedamp::study::rules::root_find::match_position;
use kneedamp::study::rules::scenario_names::WALK;
use kneedamp::study::rules::{Fixtures, RULES, Rule, evaluate};

fn rule(id: &str) -> &'static Rule {
    RULES.iter().find(|r| r.id == id).expect("a rule")
}

fn sample(index: usize) -> Sample {
    Sample::draw(1, index, 3, &|_| false)
}

fn fixtures() -> Fixtures {
    study(1, &[], &[]).fixtures
}

/// How many of the first samples agree, disagree, show no difference, and what the others say.
fn counts(id: &str, samples: usize) -> ([usize; 3], Vec<&'static str>) {
    let fixtures = fixtures();
    let (mut counts, mut undecided) = ([0; 3], Vec::new());
    for i in 0..samples {
        match evaluate(rule(id), &Experiment::new(&fixtures, &sample(i), CatchLoadMode::AsSampled)) {
            Ok(s) => match s.agreement {
                Agreement::Agrees => counts[0] += 1,
                Agreement::Disagrees | Agreement::DisagreesHere => counts[1] += 1,
                Agreement::NoDifference => counts[2] += 1,
            },
            Err(Abort::Undecided(why)) => undecided.push(why),
            Err(Abort::Error(e)) => panic!("{id}: {e}"),
        }
    }
    (counts, undecided)
}

/// Every criterion agrees, disagrees and decides nothing somewhere among the first samples. Those that the model
/// never contradicts are tested on made-up values below.
#[test]
fn studies_rules_criteria_agree_disagree_and_decide_nothing() {
    for (id, reason) in [
        ("2b", "one of the speeds"),
        ("6a", "same peak"),
        ("6b", "not straight before"),
        ("8d", "does not close"),
        ("8g", "does not close"),
        ("9c", "takes nothing off"),
        ("10b", "lets go late"),
        ("13a", "brings the peak back"),
        ("13b", "brings the margin back"),
        ("15a", "not straight before"),
        ("15b", "not straight before"),
        ("18c", "apart at heel contact"),
    ] {
        let ([agree, opposite, _], undecided) = counts(id, 120);
        assert!(agree > 0 && opposite > 0, "{id}: {agree} agree, {opposite} do not");
        assert!(undecided.iter().any(|why| why.contains(reason)), "{id}: {undecided:?}");
    }
}

/// Where the valve stays open no statement of rule 8 is decided: the highest catch load, a light person.
#[test]
fn studies_rules_rule_8_needs_a_valve_that_closes() {
    let fixtures = fixtures();
    let mut s = sample(0);
    s.separate.insert("catch-load", 100.0);
    s.values.insert("mass_kg", 50.0);
    for r in RULES.iter().filter(|r| r.number() == 8 && !r.scenario.starts_with("stairs")) {
        match evaluate(r, &Experiment::new(&fixtures, &s, CatchLoadMode::AsSampled)) {
            Err(Abort::Undecided(why)) => assert!(why.contains("does not close"), "{}: {why}", r.id),
            other => panic!("{}: {other:?}", r.id),
        }
    }
}

/// Rule 18 compares the added flexion: a start 10° further bent that ends 8° further bent disagrees.
#[test]
fn studies_rules_bending_on_does_not_count_the_start() {
    let compared = |added: [Option<f64>; 2]| {
        compare(MotionMeasure::AddedFlexion, NotReachedAs::Most, 1.0, added, vec![])
    };
    let agreement = |result: ExperimentResult| result.expect("decided").agreement;
    assert_eq!(agreement(compared([Some(20.0), Some(18.0)])), Agreement::Disagrees);
    assert_eq!(agreement(compared([Some(20.0), Some(20.001)])), Agreement::NoDifference);
    assert_eq!(agreement(compared([Some(20.0), None])), Agreement::Agrees, "folding is the most");
    assert_eq!(agreement(compared([None, Some(20.0)])), Agreement::Disagrees);
    assert!(matches!(compared([None, None]), Err(Abort::Undecided(why)) if why.contains("folds")));
    // for a motion, by its states
    let fixtures = fixtures();
    let (mut some, mut folds) = (0, 0);
    for i in 0..40 {
        let s = sample(i);
        let t = Experiment::new(&fixtures, &s, CatchLoadMode::AsSampled);
        let Ok(motion) = t.motion(&t.base("stumble")) else { continue };
        let (run, start) = landing(&motion).expect("a stumble");
        assert_abs_diff_eq!(start, s.values["stumble_flexion_deg"], epsilon = 1e-12);
        match MotionMeasure::AddedFlexion.value(&motion) {
            Some(on) => {
                some += 1;
                let most = run
                    .trajectory
                    .nodes()
                    .map(|at| run.trajectory.at(at)[1].to_degrees())
                    .fold(0.0, f64::max);
                // between the nodes it may be a little more
                assert!(on >= most - start - 1e-9 && on < most - start + 0.5, "{on} {most} {start}");
            }
            None => folds += 1,
        }
    }
    assert!(some > 5 && folds > 0, "{some} {folds}");
}

#[test]
fn studies_rules_matching_finds_what_the_ends_hide() {
    let found = |measure: fn(f64) -> f64, target: f64, near: f64| {
        match_position(|pct| Ok::<f64, Abort>(measure(pct)), target, near).expect("no error")
    };
    // both ends lie above 4, which is passed at 25 and at 65
    let bowl = |pct: f64| (pct - 45.0).powi(2) / 100.0;
    assert_abs_diff_eq!(found(bowl, 4.0, 0.0).expect("left"), 25.0, epsilon = 0.05);
    assert_abs_diff_eq!(found(bowl, 4.0, 99.0).expect("right"), 65.0, epsilon = 0.05);
    assert!(found(bowl, -1.0, 50.0).is_none(), "never that low");
    let jump = |pct: f64| if pct < 37.3 { -60.0 } else { 40.0 + 0.1 * pct };
    assert!(found(jump, 0.0, 50.0).is_none(), "a jump is no match");
    assert_abs_diff_eq!(found(jump, 45.0, 0.0).expect("there"), 50.0, epsilon = 0.15);
    let stopped = match_position(|_| Err(Abort::Undecided("cannot run")), 1.0, 0.0);
    assert!(matches!(stopped, Err(Abort::Undecided("cannot run"))));
}

/// Where rule 13b finds no position, a dense scan does not either; and what it counts is in time.
#[test]
fn studies_rules_no_position_is_none_on_a_dense_scan() {
    let fixtures = fixtures();
    let mut checked = 0;
    for i in 0..40 {
        let s = sample(i);
        let t = Experiment::new(&fixtures, &s, CatchLoadMode::AsSampled);
        let none =
            matches!(evaluate(rule("13b"), &t), Err(Abort::Undecided(why)) if why.contains("no position"));
        if !none || checked == 3 {
            continue;
        }
        checked += 1;
        let base = t.base(WALK);
        let margin = |run: &RunSpec| MotionMeasure::MarginInTime.value(&t.motion(run).expect("runs"));
        let wanted = margin(&base).expect("in time before");
        let heavier = base.with("foot_extra_mass_kg", s.rule_draws.added_foot_mass_kg);
        let scan: Vec<f64> = (0..=100)
            .map(|pct| margin(&heavier.with("swing-extension", f64::from(pct))).unwrap_or(0.0))
            .collect();
        // a step of one point moves it by some ms: it would come close if it passed
        let closest = scan.iter().map(|ms| (ms - wanted).abs()).fold(f64::INFINITY, f64::min);
        let passes =
            scan.windows(2).any(|w| (w[0] - wanted) * (w[1] - wanted) <= 0.0 && w[1] > 0.0 && w[0] > 0.0);
        assert!(!passes, "sample {i}: wanted {wanted}, closest by {closest}");
    }
    assert_eq!(checked, 3);
}

/// Rule 6 isolates resistance: cushion, spring and catch load in newtons are those of the set-up's knee.
#[test]
fn studies_rules_both_joints_differ_in_resistance_alone() {
    let mut fixtures = fixtures();
    fixtures.friction_knee.stance.catch_load.least_n = 30.0;
    fixtures.friction_knee.stance.catch_load.greatest_n = 930.0;
    let decided =
        |s: &Sample| evaluate(rule("6a"), &Experiment::new(&fixtures, s, CatchLoadMode::ScaledToWeight)).ok();
    let (s, evidence) =
        (0..20).map(sample).find_map(|s| decided(&s).map(|evidence| (s, evidence))).expect("one decides");
    let t = Experiment::new(&fixtures, &s, CatchLoadMode::ScaledToWeight);
    let [own, .., friction] = evidence.runs.as_slice() else { panic!("runs of both joints") };
    let [own, friction] = [own, friction].map(|r| t.trial(r, false).expect("resolves").knee);
    assert_abs_diff_eq!(own.stance.catch_load_n, friction.stance.catch_load_n, epsilon = 0.01);
    assert_abs_diff_eq!(own.assist.torque_n_m, friction.assist.torque_n_m, epsilon = 1e-12);
    let [a, b] = [own.cushion, friction.cushion].map(|c| c.expect("a cushion"));
    assert_abs_diff_eq!(a.start_rad, b.start_rad, epsilon = 1e-12);
    assert_abs_diff_eq!(a.factor, b.factor, epsilon = 1e-12);
    fixtures.friction_knee.stance.catch_load.least_n = 500.0;
    let none = evaluate(rule("6a"), &Experiment::new(&fixtures, &s, CatchLoadMode::ScaledToWeight));
    assert!(matches!(none, Err(Abort::Undecided(why)) if why.contains("no such catch load")));
}

#[test]
fn studies_rules_positions_with_gaps_are_printed_as_ranges() {
    assert_eq!(position_ranges(&[15.0, 20.0, 25.0, 45.0]), "15-25, 45 %");
    assert_eq!(position_ranges(&[50.0]), "50 %");
    assert_eq!(position_ranges(&[0.0, 10.0, 15.0]), "0, 10-15 %");
}

/// Rules 16 and 17 on one sample against sessions put together by hand; the order reaches the session.
#[test]
fn studies_rules_sessions_are_those_of_adjust() {
    let fixtures = fixtures();
    let s = sample(0);
    let t = Experiment::new(&fixtures, &s, CatchLoadMode::AsSampled);
    let by_hand = |open: Option<f64>, order: &[SettingName]| {
        let mut setup = fixtures.setup.clone();
        setup.person.mass_kg = s.values["mass_kg"];
        setup.person.stature_given_m = Some(s.values["stature_m"]);
        setup.prosthesis = fixtures.prostheses[s.prosthesis.expect("drawn")].clone();
        setup.temperature_c = Some(s.values["temperature_c"]);
        for name in SettingName::ALL {
            let swing = matches!(name, SettingName::SwingFlexion | SettingName::SwingExtension);
            let pct = match (open, name) {
                (Some(pct), _) if swing => Some(pct),
                (Some(_), _) => None,
                (None, SettingName::CatchLoad) => Some(s.separate["catch-load"]),
                (None, _) => Some(s.values[name.as_str()]),
            };
            if let Some(pct) = pct {
                setup.settings.set(name, kneedamp::units::Setting::from_pct("x", pct).expect("in range"));
            }
        }
        let order = Order { settings: order.to_vec(), activities: vec![] };
        let options = SessionOptions { order, ..SessionOptions::default() };
        run_session(&setup, &fixtures.session_scenarios, &options, &|| ()).expect("a session")
    };
    let (open, closed) = (by_hand(Some(0.0), &[]), by_hand(Some(100.0), &[]));
    let evidence = evaluate(rule("16a"), &t).expect("decided");
    let fewer = closed.unsafe_trials() as f64 - open.unsafe_trials() as f64;
    assert!((evidence.effect - fewer).abs() < 1e-12, "{} {fewer}", evidence.description);
    assert_eq!(evidence.agreement, Agreement::of(fewer, 0.0));
    let first = [SettingName::SwingFlexion, SettingName::SwingExtension];
    let other = [SettingName::SwingExtension, SettingName::SwingFlexion];
    let (a, b) = (by_hand(None, &first), by_hand(None, &other));
    let evidence = evaluate(rule("17"), &t).expect("decided");
    assert!((evidence.effect - (b.steps as f64 - a.steps as f64)).abs() < 1e-12, "{}", evidence.description);
}

/// Sessions can agree and disagree, and make no difference.
#[test]
fn studies_rules_sessions_can_disagree() {
    let [a, b, order] = ["16a", "16b", "17"].map(|id| counts(id, 12).0);
    assert!(b[0] > 0 && order[1] > 0 && a[2] + order[2] > 0, "{a:?} {b:?} {order:?}");
}
