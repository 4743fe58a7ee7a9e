//! What `run` and `adjust` advise: every remedy named is run again by itself.

use crate::commands::{json, stdout, unwrapped};
use crate::common::{self, library};
use kneedamp::case::setup::Setup;
use kneedamp::joint::SettingName::{self, CatchLoad, StanceYield, SwingExtension, SwingFlexion};
use kneedamp::library::Kind;
use kneedamp::motion::Motion;
use kneedamp::outcome::{Assessment, LimitVerdict, OutcomeWord, Reading, Value, Verdict};
use kneedamp::scenario::Scenario;
use kneedamp::study::adjust::{
    MoveResult, SessionOptions, StepOutcome, diagnose, run_session, symptom_by_name,
};
use kneedamp::study::survey::{Survey, survey};
use kneedamp::study::{SettingSensitivity, adjust::DiagnosisReport};
use kneedamp::units::Setting;

fn set(setup: &mut Setup, name: SettingName, pct: f64) {
    setup.settings.set(name, Setting::from_pct("test", pct).expect("percent"));
}

fn setup(person: &str, sets: &[(SettingName, f64)]) -> Setup {
    let mut setup = common::setup(person, "built-in");
    sets.iter().for_each(|(name, pct)| set(&mut setup, *name, *pct));
    setup
}

fn all() -> Vec<Scenario> {
    let l = library();
    let all = l.names(Kind::Scenario).into_iter().map(|n| l.scenario(&n).expect("scenario"));
    all.filter(|s| !s.by_name_only).collect()
}

fn scenario(name: &str) -> Scenario {
    library().scenario(name).expect("scenario")
}

fn assess(setup: &Setup, scenario: &Scenario) -> Assessment {
    Assessment::of(&setup.trial(scenario).expect("resolves")).expect("runs")
}

/// The set-up after a move that a survey names.
fn after(setup: &Setup, m: &SettingSensitivity) -> Setup {
    let now = setup.resolve().expect("resolves").knee.settings.get(m.setting).expect("a setting");
    let mut moved = setup.clone();
    set(&mut moved, m.setting, now.pct() + m.moved_pct);
    moved
}

/// The remedy of a closed valve is to open it, also where the outcome is not reached and ten points show nothing.
#[test]
fn advice_opens_the_valve_that_is_closed() {
    let run = &json(&["run", "walk-fast", "--set", "swing-extension=100", "--format", "json"])["runs"][0];
    let named: Vec<_> = ["acting", "acting_without_loss"].iter().map(|k| &run[k]).collect();
    let opens = |m: &&&serde_json::Value| {
        m["setting"] == "swing-extension" && m["moved_pct"].as_f64().is_some_and(|p| p < 0.0)
    };
    let found = named.iter().find(opens).unwrap_or_else(|| panic!("{named:?}"));
    assert!(found["to"].is_number(), "{found}");

    let set_up = setup("75-kg", &[(CatchLoad, 100.0)]);
    let found = survey(set_up, all()).expect("a survey");
    for run in found.runs.iter().filter(|r| !r.holds()) {
        let result = run.result.as_ref().expect("runs");
        assert!(result.acting.is_some(), "{}: {}", run.scenario.name, result.sentence());
        assert!(!result.sentence().contains("another joint"), "{}", result.sentence());
    }
}

fn by_name<'s>(found: &'s Survey, name: &str) -> &'s Scenario {
    &found.runs.iter().find(|r| r.scenario.name == name).expect("a run").scenario
}

/// The price of the move that acts most is what a run of its own shows; the move without loss costs nothing anywhere.
#[test]
fn advice_names_the_price_and_what_costs_nothing() {
    let (mut priced, mut free) = (0, 0);
    for sets in [
        [(SwingFlexion, 0.0), (StanceYield, 40.0)],
        [(SwingExtension, 100.0), (StanceYield, 40.0)],
        [(SwingExtension, 0.0), (StanceYield, 0.0)],
        [(CatchLoad, 0.0), (StanceYield, 20.0)],
    ] {
        let found = survey(setup("75-kg", &sets), all()).expect("a survey");
        for run in found.runs.iter() {
            let r = run.result.as_ref().expect("runs");
            let Some(acting) = &r.acting else { continue };
            let moved = after(&found.setup, acting);
            for (name, _) in &acting.elsewhere {
                assert!(!assess(&moved, by_name(&found, name)).holds(), "{name}: {acting:?}");
            }
            let here = assess(&moved, &run.scenario);
            for key in &acting.breaks {
                let broken = here.limits.iter().find(|l| l.limit.outcome == *key).expect("a limit");
                assert!(!broken.holds(), "{}: {key} {acting:?}", run.scenario.name);
            }
            priced += usize::from(!acting.costs_nothing());
            let Some(move_) = &r.free else { continue };
            free += 1;
            assert!(!acting.costs_nothing(), "two moves are named only where one has a price");
            let moved = after(&found.setup, move_);
            for other in found.runs.iter().filter(|o| o.holds()) {
                assert!(assess(&moved, &other.scenario).holds(), "{move_:?} costs {}", other.scenario.name);
            }
            assert!(r.sentence().contains("Without loss"), "{}", r.sentence());
        }
    }
    assert!(priced > 3 && free > 1, "{priced} with a price, {free} without");
}

fn unmet(setup: &Setup) -> usize {
    all().iter().map(|s| assess(setup, s).not_within().iter().sum::<usize>()).sum()
}

/// No session ends with more limits unmet than it began with, and a return is said.
#[test]
fn advice_of_a_session_never_ends_worse() {
    let mut returned = 0;
    for (mass, stature, prosthesis, sets) in [
        (92.0, 1.83, "heavy", vec![]),
        (92.0, 1.83, "heavy", vec![(SwingExtension, 100.0)]),
        (
            92.0,
            1.83,
            "heavy",
            vec![(SwingFlexion, 0.0), (SwingExtension, 0.0), (StanceYield, 0.0), (CatchLoad, 0.0)],
        ),
        (92.0, 1.83, "heavy", vec![(CatchLoad, 60.0), (StanceYield, 10.0)]),
        (55.0, 1.62, "light", vec![(SwingFlexion, 90.0), (CatchLoad, 5.0)]),
        (110.0, 1.78, "typical", vec![(SwingExtension, 80.0), (StanceYield, 90.0)]),
        (75.0, 1.75, "heavy", vec![(CatchLoad, 100.0)]),
    ] {
        let mut start = setup("75-kg", &sets);
        (start.person.mass_kg, start.person.stature_given_m) = (mass, Some(stature));
        start.prosthesis = library().prosthesis(prosthesis).expect("a prosthesis");
        let session = run_session(&start, &all(), &SessionOptions::default(), &|| ()).expect("a session");
        let mut end = start.clone();
        for name in SettingName::ALL {
            session.end.pct(name).into_iter().for_each(|pct| set(&mut end, name, pct));
        }
        let [before, now] = [unmet(&start), unmet(&end)];
        assert!(
            now <= before,
            "{mass} kg {sets:?}: {before} limits not within at the start, {now} at the end"
        );
        assert_eq!(now, session.unmet.len(), "{mass} kg {sets:?}");
        returned += session.log.iter().filter(|e| matches!(e.outcome, StepOutcome::Returned(_))).count();
    }
    println!("{returned} sessions went back to settings they had left");
}

/// One step is one step: apart from settings that show no difference at all, a change moves on only while nothing that
/// was met is lost; and the first change after a landing bent by a closed valve opens that valve.
#[test]
fn advice_goes_to_the_cause_of_a_bent_landing() {
    let start = setup("75-kg", &[(SwingExtension, 100.0)]);
    let session = run_session(&start, &all(), &SessionOptions::default(), &|| ()).expect("a session");
    let first = session.log.iter().find_map(|e| e.change).expect("a change");
    assert_eq!(first.adjustment.setting, SwingExtension, "{:?}", session.log);
    assert!(first.to_pct < first.from_pct);
}

/// A symptom that the model does not show is not called a fault of something else.
#[test]
fn advice_says_what_the_model_does_not_reproduce() {
    let symptom = symptom_by_name("knock-at-the-end").expect("a symptom");
    let found = diagnose(&setup("75-kg", &[]), &all(), symptom, None, &|| ()).expect("a diagnosis");
    assert!(!found.shown());
    let text = DiagnosisReport(std::slice::from_ref(&found)).findings(false).text.join(" ");
    assert!(text.contains("This model does not reproduce it"), "{text}");
    assert!(text.contains("the joint may be set differently"), "{text}");
    assert!(!text.contains("look elsewhere"), "{text}");
}

/// Where the knee is never straight, what comes nearer to straight is no "no effect".
#[test]
fn advice_follows_the_flexion_where_nothing_is_reached() {
    let symptom = symptom_by_name("knee-late-straight").expect("a symptom");
    let start = setup("75-kg", &[(SwingExtension, 100.0)]);
    let found = diagnose(&start, &all(), symptom, None, &|| ()).expect("a diagnosis");
    let opening: Vec<_> = found.moves.iter().filter(|m| m.adjustment.setting == SwingExtension).collect();
    assert_eq!(opening[0].result, MoveResult::Nearer);
    assert_eq!(opening.last().expect("a move").result, MoveResult::Resolved);
    let name = &found.target.as_ref().expect("a target").0;
    let flexion = |pct: f64| {
        let a = assess(&setup("75-kg", &[(SwingExtension, pct)]), &scenario(name));
        a.outcomes.number("flexion_before_contact_deg").expect("a number")
    };
    let pct = |i: usize| opening[i].pct.expect("a setting")[1];
    assert!(flexion(pct(0)) < flexion(100.0) && flexion(pct(1)) < flexion(pct(0)));
}

/// One fault counts once: a knee that is never straight has no knock to miss, no second limit shortly before contact.
#[test]
fn advice_counts_one_fault_once() {
    let a = assess(&setup("75-kg", &[(SwingExtension, 100.0)]), &scenario("walk-fast"));
    let missed: Vec<_> = a.limits.iter().filter(|l| !l.holds()).map(|l| l.limit.outcome.as_str()).collect();
    for key in ["extension_margin_ms", "flexion_before_contact_deg", "terminal_energy_j"] {
        assert!(missed.contains(&key), "{key}: {missed:?}");
    }
    let counted: Vec<_> = a.binding().filter(|l| !l.holds()).map(|l| l.limit.outcome.as_str()).collect();
    assert_eq!(counted, ["extension_margin_ms", "heel_contact_flexion_deg"]);
    // a knee that is straight in time and bends again shortly before contact: that limit counts by itself
    let bent_again = assess(&setup("75-kg", &[(SwingExtension, 0.0)]), &scenario("walk-comfortable"));
    assert!(bent_again.limits.iter().any(|l| l.limit.outcome == "extension_margin_ms" && l.holds()));
}

/// What is seen after contact is doubtful where the foot needs more friction than a floor is asked to give, with a note.
#[test]
fn advice_doubts_a_foot_that_slips() {
    let args = [
        "run",
        "stairs-down",
        "--mass",
        "40",
        "--stature",
        "1.3",
        "--prosthesis",
        "light",
        "--set",
        "stance-yield=100",
    ];
    let run = &json(&[&args[..], &["--format", "json"]].concat())["runs"][0];
    assert!(run["outcomes"]["friction_needed"].as_f64().expect("a number") > 0.5, "{run}");
    let text = unwrapped(&stdout(&args, 0));
    assert!(text.contains("the foot may slip"), "{text}");
    // the same word, within with little friction and doubtful with much
    let limit =
        scenario("stumble").limits.into_iter().find(|l| l.outcome == "what_happens").expect("a limit");
    let judged = |friction: f64| {
        let yields = Value::Word(OutcomeWord::Yields);
        let beside = [Some(yields), Some(yields), Some(Value::Number(friction))];
        LimitVerdict::of(&limit, Reading { value: yields, beside }).verdict
    };
    assert_eq!(judged(0.2), Verdict::Within);
    assert_eq!(judged(0.6), Verdict::Doubtful);
}

/// Friction by itself: with the friction reported the force along the ground slips by the stated impulse, no more.
#[test]
fn advice_friction_is_what_keeps_the_foot() {
    let trial = setup("75-kg", &[]).trial(&scenario("stumble")).expect("resolves");
    let Motion::Stumble(found) = trial.run().expect("runs") else { panic!("a stumble") };
    let run = &found.run;
    assert!((0.05..0.5).contains(&run.friction_needed), "{}", run.friction_needed);
    let steps = 200_000;
    let h = run.trajectory.end.0 / f64::from(steps);
    let slip: f64 = (0..steps)
        .map(|i| {
            let t = (f64::from(i) + 0.5) * h;
            let f = run.system.forces(run.trajectory.mode_at(t), t, &run.trajectory.at(t));
            let slips = f.along_bw - run.friction_needed * f.across_bw;
            if f.across_bw > 0.0 { h * slips.max(0.0) } else { 0.0 }
        })
        .sum();
    assert!((slip - 0.002).abs() < 2e-4, "{slip}");
}
