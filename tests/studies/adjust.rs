//! The fitting session, the search it is compared with, and symptoms, against independent calculations.

use approx::assert_abs_diff_eq;
use std::collections::BTreeSet;

use serde_json::json;

use crate::common::{self, library};
use crate::golden;
use kneedamp::case::setup::Setup;
use kneedamp::joint::SettingName::{self, CatchLoad, StanceYield, SwingExtension, SwingFlexion};
use kneedamp::library::Kind;
use kneedamp::outcome::{Assessment, OutcomeWord, Value};
use kneedamp::scenario::{ActivityKind, Scenario, Severity};
use kneedamp::study::adjust::{
    Danger, DiagnosisReport, Direction, LogEntry, MoveResult, Order, Presence, ReportLevel, SYMPTOMS,
    SearchOptions, Session, SessionEnd, SessionOptions, SessionReport, Situation, StepOutcome, diagnose,
    run_session, search, symptom_by_name, symptom_of_limit,
};
use kneedamp::units::Setting;

fn setup(person: &str, sets: &[(SettingName, f64)]) -> Setup {
    let mut setup = common::setup(person, "built-in");
    for (name, pct) in sets {
        setup.settings.set(*name, Setting::from_pct("test", *pct).expect("percent"));
    }
    setup
}

fn scenarios(names: &[&str]) -> Vec<Scenario> {
    names.iter().map(|n| library().scenario(n).expect("scenario")).collect()
}

fn all() -> Vec<Scenario> {
    let l = library();
    let all = l.names(Kind::Scenario).into_iter().map(|n| l.scenario(&n).expect("scenario"));
    all.filter(|s| !s.by_name_only).collect()
}

/// The assessment that `run` gives, at its own precision.
fn assess(setup: &Setup, scenario: &Scenario) -> Assessment {
    Assessment::of(&setup.trial(scenario).expect("resolves")).expect("runs")
}

fn session_with(setup: &Setup, scenarios: &[Scenario], options: &SessionOptions) -> Session {
    run_session(setup, scenarios, options, &|| ()).expect("a session")
}

fn default_session(setup: &Setup, scenarios: &[Scenario]) -> Session {
    session_with(setup, scenarios, &SessionOptions::default())
}

/// One scenario, one setting that acts on it: the same by a loop of its own.
#[test]
fn adjust_chair_alone_as_by_hand() {
    let chair = &scenarios(&["sit-down"]);
    let (mut trials, mut drops, mut at) = (0, 0, 0.0);
    let end = loop {
        let a = assess(&setup("75-kg", &[(StanceYield, at)]), &chair[0]);
        trials += 1;
        drops += usize::from(a.outcomes.number("seat_speed_m_per_s").expect("sits") > 0.6);
        if a.holds() {
            break at;
        }
        at += 5.0; // the joint's own step
    };
    assert!(drops > 2 && end > 20.0, "the case says something: {drops} drops, {end} %");
    let s = default_session(&setup("75-kg", &[(StanceYield, 0.0)]), chair);
    assert_eq!((s.trials, s.steps, s.kept_steps), (trials, trials - 1, trials - 1));
    assert_eq!(s.end.pct(StanceYield).map(f64::round), Some(end));
    assert_eq!(s.unsafe_by.get(&Danger::Drop), Some(&drops));
    assert_eq!((s.unsafe_trials(), s.ended), (drops, SessionEnd::AllWithinLimits));
}

#[test]
fn adjust_one_step_mends_comfortable_walking() {
    let walk = scenarios(&["walk-comfortable"]);
    let too_stiff = [(SwingFlexion, 82.0)];
    let s = default_session(&setup("75-kg", &too_stiff), &walk);
    // landing and walking are one trial; one step less of swing flexion is the second
    assert_eq!((s.trials, s.steps, s.kept_steps, s.ended), (2, 1, 1, SessionEnd::AllWithinLimits));
    let change = s.log.iter().find_map(|e| e.change).expect("a change");
    assert_eq!((change.adjustment.setting, change.adjustment.direction), (SwingFlexion, Direction::Less));
    assert_abs_diff_eq!(change.from_pct - change.to_pct, 5.0, epsilon = 1e-6);
    // and with a step of one point it takes as many as the outcome needs
    let by_one = SessionOptions { step_pct: Some(1.0), ..SessionOptions::default() };
    let s = session_with(&setup("75-kg", &too_stiff), &walk, &by_one);
    let start = s.start.pct(SwingFlexion).expect("has it");
    let needed = (0..20)
        .find(|n| assess(&setup("75-kg", &[(SwingFlexion, start - f64::from(*n))]), &walk[0]).holds())
        .expect("some step mends it");
    assert_eq!(s.kept_steps, usize::try_from(needed).expect("counts"));
}

/// The stage's scenario and whether only its landing is looked at.
fn scenario_of<'s>(all: &'s [Scenario], activity: &str) -> (&'s Scenario, bool) {
    let name = activity.trim_end_matches(" again");
    match all.iter().find(|s| s.name == name) {
        Some(s) => (s, false),
        None => (all.iter().find(|s| s.activity.kind() == ActivityKind::Walk).expect("walks"), true),
    }
}

/// Every kept change, replayed: all that was right is right, or the worst margin is better.
#[test]
fn adjust_kept_changes_keep_their_promise() {
    let all = all();
    let s = default_session(&setup("75-kg", &[(SwingFlexion, 85.0)]), &all);
    let mut now = setup("75-kg", &[(SwingFlexion, 85.0)]);
    let mut looked: BTreeSet<(String, bool)> = BTreeSet::new();
    let mut kept = 0;
    for LogEntry { activity, change, outcome, .. } in &s.log {
        let (scenario, landing) = scenario_of(&all, activity);
        looked.insert((scenario.name.clone(), landing));
        let (Some(c), StepOutcome::Kept | StepOutcome::Compromise(_)) = (change, outcome) else { continue };
        kept += c.steps;
        let mut next = now.clone();
        next.settings.set(c.adjustment.setting, Setting::from_pct("to", c.to_pct).expect("percent"));
        let (mut broken, mut worst) = (0, [f64::INFINITY; 2]);
        for (name, landing) in &looked {
            let whole = looked.contains(&(name.clone(), false));
            if *landing && whole {
                continue;
            }
            let scenario = &scenario_of(&all, name).0;
            let [a, b] = [&now, &next].map(|s| assess(s, scenario));
            for (x, y) in a.binding().zip(b.binding()).filter(|(x, _)| whole || x.limit.outcome == "landing")
            {
                broken += usize::from(x.holds() && !y.holds());
                worst = [worst[0].min(x.relative_margin), worst[1].min(y.relative_margin)];
            }
        }
        if *outcome == StepOutcome::Kept {
            assert_eq!(broken, 0, "{activity}: {c:?}");
        } else {
            assert!(broken > 0 && worst[1] > worst[0], "{activity}: {c:?}: {worst:?}");
        }
        now = next;
    }
    assert!(kept > 3 && kept == s.kept_steps, "{kept}");
    for name in SettingName::ALL {
        let by_replay = now.resolve().expect("resolves").knee.settings.get(name).map(Setting::pct);
        assert!((by_replay.expect("set") - s.end.pct(name).expect("set")).abs() < 1e-5, "{name}");
    }
}

/// The limits it says it cannot mend are those that `run` finds broken at its end.
#[test]
fn adjust_says_what_it_cannot_mend() {
    let all = all();
    for person in ["50-kg", "75-kg", "100-kg"] {
        let mut setup = setup(person, &[]);
        let s = default_session(&setup, &all);
        setup.settings = s.end.settings();
        let mut broken = Vec::new();
        for scenario in &all {
            let a = assess(&setup, scenario);
            broken.extend(
                a.binding().filter(|l| !l.holds()).map(|l| (scenario.name.clone(), l.limit.outcome.clone())),
            );
        }
        let mut said: Vec<_> =
            s.unmet.iter().map(|u| (all[u.scenario].name.clone(), u.limit.outcome.clone())).collect();
        broken.sort();
        said.sort();
        assert_eq!(said, broken, "{person}");
        assert_eq!(s.ended == SessionEnd::AllWithinLimits, broken.is_empty(), "{person}");
    }
}

#[test]
fn adjust_trials_are_bounded_and_counted_once() {
    let all = all();
    for max_trials in [1, 7, 15] {
        let options = SessionOptions { max_trials, ..SessionOptions::default() };
        let s = session_with(&setup("100-kg", &[(SwingFlexion, 0.0)]), &all, &options);
        assert_eq!((s.trials, s.ended), (max_trials, SessionEnd::OutOfTrials));
        assert_eq!(s.final_results.len(), all.len(), "the report is whole all the same");
    }
    // settings that are right: one trial each, walking being one with its landing
    let right = scenarios(&["stand", "stumble", "walk-slow", "sit-down", "ramp-down-8-deg"]);
    let s = default_session(&setup("75-kg", &[]), &right);
    assert_eq!((s.trials, s.steps, s.ended), (5, 0, SessionEnd::AllWithinLimits));
}

#[test]
fn adjust_order_is_followed() {
    let all = scenarios(&["walk-comfortable", "walk-hurried", "sit-down"]);
    let order = |settings: &[SettingName], activities: &[&str]| SessionOptions {
        order: Order {
            settings: settings.to_vec(),
            activities: activities.iter().map(|a| (*a).to_owned()).collect(),
        },
        ..SessionOptions::default()
    };
    let start = setup("75-kg", &[(SwingFlexion, 20.0), (SwingExtension, 80.0)]);
    for first in [SwingFlexion, SwingExtension] {
        let s = session_with(&start, &all, &order(&[first], &["sit-down", "walk-hurried"]));
        let change = s.log.iter().find_map(|e| e.change).expect("a change");
        assert_eq!(change.adjustment.setting, first);
        assert_eq!(s.log[0].activity, "sit-down");
    }
    let wrong = run_session(&start, &all, &order(&[], &["swimming"]), &|| ()).expect_err("unknown");
    assert!(wrong.to_string().contains("swimming") && wrong.to_string().contains("walk-hurried"));
}

/// Every way in which a shipped limit can be broken has a name, and what names it has rules or says why not.
#[test]
fn adjust_every_broken_limit_is_a_symptom() {
    for scenario in all() {
        let kind = scenario.activity.kind();
        for limit in scenario.limits.iter().filter(|l| l.severity == Severity::Limit) {
            let words = kneedamp::outcome::metric(&limit.outcome).expect("an outcome").words;
            let mut values: Vec<Value> =
                words.iter().filter(|w| !limit.allowed.contains(w)).map(|w| Value::Word(*w)).collect();
            values.extend(limit.min.map(|m| Value::Number(m - 1.0)));
            values.extend(limit.max.map(|m| Value::Number(m + 1.0)));
            values.push(Value::NotReached);
            for value in values {
                // words that this activity never says, and outcomes that are always there
                let strange = match (kind, value) {
                    (ActivityKind::Ramp | ActivityKind::Stairs, Value::Word(w)) => {
                        [OutcomeWord::Straight, OutcomeWord::Caught, OutcomeWord::Doubtful].contains(&w)
                    }
                    (ActivityKind::Stumble, Value::Word(w)) => {
                        [OutcomeWord::Holds, OutcomeWord::Stalls].contains(&w)
                    }
                    (_, Value::NotReached) => ![
                        "extension_margin_ms",
                        "terminal_energy_j",
                        "sit_time_s",
                        "seat_speed_m_per_s",
                        "body_drop_speed_m_per_s",
                        "hip_past_edge_m",
                        "support_after_ms",
                        "knee_flexion_at_other_foot_contact_deg",
                        "landing_late",
                    ]
                    .contains(&limit.outcome.as_str()),
                    _ => false,
                };
                for (was_straight, gave_way) in [(false, false), (true, false), (false, true)] {
                    let found = symptom_of_limit(kind, limit, value, Situation { was_straight, gave_way });
                    assert!(found.is_some() || strange, "{}: {} {value:?}", scenario.name, limit.outcome);
                }
            }
        }
    }
    let names: BTreeSet<&str> = SYMPTOMS.iter().map(|s| s.name).collect();
    assert_eq!(names.len(), SYMPTOMS.len());
    for s in SYMPTOMS {
        assert!(s.name.chars().all(|c| c.is_ascii_lowercase() || c == '-'), "{}", s.name);
        assert!(
            !s.rule_out_first.is_empty() && !s.other_causes.is_empty() && !s.indicators.is_empty(),
            "{}",
            s.name
        );
        assert!(
            s.indicators.iter().all(|(i, _)| kneedamp::outcome::metric(i.outcome()).is_some()),
            "{}",
            s.name
        );
    }
}

/// Bent at landing means opposite things: late, or early and bent again.
#[test]
fn adjust_late_and_bent_again_are_told_apart() {
    let walk = &scenarios(&["walk-comfortable"])[0];
    let limit = walk.limits.iter().find(|l| l.outcome == "heel_contact_flexion_deg").expect("a limit");
    let name = |was_straight| {
        let situation = Situation { was_straight, gave_way: false };
        symptom_of_limit(ActivityKind::Walk, limit, Value::Number(9.0), situation).expect("a symptom")
    };
    assert_eq!(name(false).adjustments[0].direction, Direction::Less);
    assert_eq!(name(true).adjustments[0].direction, Direction::More);
    assert_ne!(name(false).name, name(true).name);
}

/// Against a scan of its own over the yield, and on any number of threads.
#[test]
fn adjust_search_is_no_worse_than_a_scan() {
    let chair = scenarios(&["sit-down"]);
    let base = setup("75-kg", &[(StanceYield, 0.0)]);
    let start = default_session(&base, &[]).start;
    let by_scan = (0..=200)
        .map(|i| {
            let a = assess(&setup("75-kg", &[(StanceYield, f64::from(i) / 2.0)]), &chair[0]);
            a.binding().map(|l| l.relative_margin).fold(f64::INFINITY, f64::min)
        })
        .fold(f64::NEG_INFINITY, f64::max);
    let on = |threads: usize| {
        let pool = rayon_pool(threads);
        pool.install(|| {
            search(
                &base,
                &chair,
                &[start],
                SearchOptions { starts: 2, seed: 7, ..SearchOptions::default() },
                &|| (),
            )
            .expect("searches")
        })
    };
    let [one, three] = [1, 3].map(on);
    // other settings help too, so that it may be better than the scan of one; what it claims is so
    assert!(one.worst >= by_scan - 1e-3, "{} and {by_scan}", one.worst);
    let mut there = base.clone();
    there.settings = one.at.settings();
    let worst = assess(&there, &chair[0]).binding().map(|l| l.relative_margin).fold(f64::INFINITY, f64::min);
    assert!((worst - one.worst).abs() < 1e-4, "{worst} and {}", one.worst);
    assert_eq!((one.at, one.positions), (three.at, three.positions));
}

fn rayon_pool(threads: usize) -> rayon::ThreadPool {
    rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads")
}

#[test]
fn adjust_search_is_never_below_the_session() {
    let few = scenarios(&["walk-hurried", "stairs-down"]);
    let s = default_session(&setup("75-kg", &[]), &few);
    let best = search(
        &setup("75-kg", &[]),
        &few,
        &[s.end],
        SearchOptions { starts: 0, ..SearchOptions::default() },
        &|| (),
    )
    .expect("searches");
    assert!(best.worst >= s.worst() - 1e-9, "{} and {}", best.worst, s.worst());
}

#[test]
fn adjust_seen_confirms_by_simulation() {
    let two = scenarios(&["sit-down", "stairs-down"]);
    let drops = symptom_by_name("drops-into-chair").expect("known");
    let e = diagnose(&setup("75-kg", &[(StanceYield, 0.0)]), &two, drops, None, &|| ()).expect("a diagnosis");
    assert!(e.shown());
    let at = |pct: f64| {
        let a = assess(&setup("75-kg", &[(StanceYield, pct)]), &two[0]);
        a.outcomes.number(e.target.as_ref().expect("a target").1).expect("sits")
    };
    let [one, several] = [&e.moves[0], &e.moves[1]];
    assert_eq!(
        (one.adjustment.setting, one.adjustment.direction, one.steps, several.steps),
        (StanceYield, Direction::More, 1, 4)
    );
    for (m, pct) in [(one, 5.0), (several, 20.0)] {
        assert_eq!(m.result, MoveResult::Confirmed);
        let after = m.after.as_number().expect("a number");
        assert!((after - at(pct)).abs() < 1e-4 * after.abs(), "{after} and {}", at(pct));
    }
    // sixteen steps from open mend it, at what price elsewhere is said
    let e = diagnose(&setup("75-kg", &[(StanceYield, 30.0)]), &two, drops, Some(10.0), &|| ())
        .expect("a diagnosis");
    let broken = |pct: f64| !assess(&setup("75-kg", &[(StanceYield, pct)]), &two[1]).holds();
    assert_eq!(!e.moves[1].breaks.is_empty(), broken(70.0) && !broken(30.0));
}

#[test]
fn adjust_seen_can_refute_and_can_miss() {
    let all = all();
    let look = |name: &str, setup: &Setup| {
        diagnose(setup, &all, symptom_by_name(name).expect("known"), None, &|| ()).expect("a diagnosis")
    };
    // not there: nearest is said, and the rules are tried all the same
    let e = look("knee-bends-again", &setup("75-kg", &[]));
    assert!(
        matches!(&e.presence, Presence::NotShown(Some(near)) if near.contains("flexion at heel contact"))
    );
    let last = e.moves.last().expect("moves");
    assert_eq!(
        (last.adjustment.setting, last.adjustment.direction, last.result),
        (SwingExtension, Direction::Less, MoveResult::Refuted)
    );
    let before = e.target.as_ref().expect("a target").2.as_number().expect("a number");
    assert!(last.after.as_number().expect("a number") > before + 1.0);
    // at the end of the range there is no room
    let e = look("heel-hardly-rises", &setup("75-kg", &[(SwingFlexion, 0.0)]));
    assert!(e.moves[..2].iter().all(|m| m.result == MoveResult::NoRoom));
    // no such activity
    let chair = scenarios(&["sit-down"]);
    let e =
        diagnose(&setup("75-kg", &[]), &chair, symptom_by_name("toe-drags").expect("known"), None, &|| ())
            .expect("a diagnosis");
    assert_eq!((e.presence, e.moves.len()), (Presence::NotTested, 0));
}

/// A valve that never lets go in walking: a few steps of catch load do not mend it, more do.
#[test]
fn adjust_seen_looks_beyond_a_cliff() {
    let walk = scenarios(&["walk-comfortable"]);
    let drags = symptom_by_name("toe-drags").expect("known");
    let e = diagnose(&setup("75-kg", &[(CatchLoad, 0.0)]), &walk, drags, None, &|| ()).expect("a diagnosis");
    assert!(e.shown());
    let moves: Vec<_> = e.moves.iter().filter(|m| m.adjustment.setting == CatchLoad).collect();
    let [one, several, far] = moves.as_slice() else { panic!("three moves: {moves:?}") };
    assert_eq!((one.steps, several.steps), (1, 4));
    for near in [one, several] {
        assert!(!matches!(near.result, MoveResult::Resolved | MoveResult::Refuted), "{near:?}");
    }
    assert!(far.steps > 4 && far.result == MoveResult::Resolved, "{far:?}");
    let [_, to] = far.pct.expect("a setting");
    let peak = |pct: f64| {
        let a = assess(&setup("75-kg", &[(CatchLoad, pct)]), &walk[0]);
        a.outcomes.number("peak_flexion_deg").expect("walks")
    };
    assert!(peak(to) > 40.0 && peak(several.pct.expect("a setting")[1]) < 40.0, "the cliff lies between");
    let text = DiagnosisReport(std::slice::from_ref(&e)).findings(false).text.join(" ");
    assert!(text.contains(&format!("After {} steps", far.steps)), "{text}");
}

#[test]
fn adjust_never_straight_is_worse_than_late() {
    let walk = &scenarios(&["walk-hurried"])[0];
    let limit = walk.limits.iter().find(|l| l.outcome == "extension_margin_ms").expect("a limit");
    let at = |v| kneedamp::outcome::LimitVerdict::of(limit, v).relative_margin;
    assert_abs_diff_eq!(at(Value::NotReached), kneedamp::outcome::MISSED, epsilon = 1e-12);
    // 15 % of a stride of 1.1 s after heel contact is as late as can be timed
    assert!(at(Value::Number(-165.0)) > at(Value::NotReached));
    assert_abs_diff_eq!(at(Value::Number(30.0)), 0.5, epsilon = 1e-12);
}

/// A session and an examination of the built-in example, as JSON. The best settings of a search are left
/// out: along a ridge the last digits decide where it ends.
#[test]
fn golden_study_adjust() {
    let all = all();
    let setup = setup("75-kg", &[(SwingFlexion, 0.0), (SwingExtension, 0.0)]);
    let s = default_session(&setup, &all);
    let report = SessionReport { scenarios: &all, session: &s, best: None }.findings(ReportLevel::Data);
    let diagnoses = ["heel-hardly-rises", "stiff-on-stairs"].map(|name| {
        diagnose(&setup, &all, symptom_by_name(name).expect("known"), None, &|| ()).expect("a diagnosis")
    });
    let found = json!({
        "session": golden::plain("adjust", &report),
        "seen": golden::plain("adjust --seen", &DiagnosisReport(&diagnoses).findings(true)),
    });
    golden::study("adjust", &found, 1e-5);
}

/// Only steps that were walked count: those of the log.
#[test]
fn adjust_counts_the_steps_of_its_log() {
    let scenarios = all();
    for set in [[SwingFlexion, SwingExtension], [StanceYield, SwingExtension]].map(|s| s.map(|n| (n, 0.0))) {
        let session = run_session(&setup("75-kg", &set), &scenarios, &SessionOptions::default(), &|| ())
            .expect("a session");
        let logged: usize = session.log.iter().filter_map(|e| e.change.as_ref()).map(|c| c.steps).sum();
        assert!(logged > 0);
        assert_eq!(session.steps, logged);
    }
}

/// A knock that cannot happen, because the knee is never straight, has not got worse.
#[test]
fn adjust_seen_nothing_left_of_what_was_too_much_is_no_refutation() {
    let walk = scenarios(&["walk-comfortable", "walk-slow"]);
    let knock = symptom_by_name("knock-at-the-end").expect("known");
    let e = diagnose(&setup("75-kg", &[(SettingName::SwingExtension, 60.0)]), &walk, knock, None, &|| ())
        .expect("a diagnosis");
    let gone: Vec<_> = e.moves.iter().filter(|m| m.after == Value::NotReached).collect();
    assert!(!gone.is_empty(), "more resistance against straightening leaves it bent");
    assert!(gone.iter().all(|t| t.result != MoveResult::Refuted), "{gone:?}");
}
