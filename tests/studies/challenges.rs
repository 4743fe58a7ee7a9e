//! Challenges of the page: each can be won with the settings that may be turned, no start has won already, goals pull
//! against each other, and trials are judged as those of `adjust`.

use crate::page::models;
use kneedamp::outcome::Assessment;
use kneedamp::study::adjust::{Danger, assess};
use kneedamp::teaching::challenge_session::{scenarios, session, start};
use kneedamp::teaching::challenges::{CHALLENGES, Challenge, scenario_with_goals};
use kneedamp::teaching::model_set::ModelSet;
use kneedamp::units::Setting;

/// A challenge at positions of the settings that may be turned, in its scenarios; none where it cannot run.
fn tried(models: &ModelSet, c: &Challenge, at: &[f64]) -> Option<Vec<Assessment>> {
    let mut pairs: Vec<String> = c
        .start
        .split(',')
        .filter(|pair| !c.turns.iter().any(|t| pair.starts_with(&format!("{t}="))))
        .map(str::to_owned)
        .collect();
    pairs.extend(c.turns.iter().zip(at).map(|(t, v)| format!("{t}={v}")));
    let text = pairs.join(",");
    let run = |s: &&str| {
        let answer = models.answer(&c.scenario_name(s), &[text.as_str()], 2).expect("a good question");
        answer.legs[0].as_ref().ok().map(|l| l.assessment.clone())
    };
    c.scenarios.iter().map(run).collect()
}

fn won(found: &[Assessment]) -> bool {
    found.iter().all(Assessment::holds)
}

fn at_start(models: &ModelSet, c: &Challenge) -> Vec<f64> {
    let settings = start(models, c).expect("a good start").resolve().expect("resolves").knee.settings;
    c.turns.iter().map(|t| settings.get(*t).expect("the knee has it").pct()).collect()
}

#[test]
fn studies_challenges_can_be_won_and_are_not_won_at_the_start() {
    let models = models();
    assert!(CHALLENGES.len() >= 4);
    for (i, c) in CHALLENGES.iter().enumerate() {
        assert_eq!(usize::from(c.number), i + 1);
        assert!(
            !won(&tried(&models, c, &at_start(&models, c)).expect("runs")),
            "{}: won at the start",
            c.number
        );
        let steps: Vec<f64> = (0..=20).map(|n| 5.0 * f64::from(n)).collect();
        let places: Vec<Vec<f64>> = match c.turns.len() {
            1 => steps.iter().map(|a| vec![*a]).collect(),
            2 => steps.iter().flat_map(|a| steps.iter().map(move |b| vec![*a, *b])).collect(),
            n => panic!("{n} settings: extend this search"),
        };
        let winning = places.iter().filter(|p| tried(&models, c, p).is_some_and(|f| won(&f))).count();
        println!("challenge {}: {winning} of {} positions win", c.number, places.len());
        assert!(winning > 0, "{} cannot be won", c.number);
        // it can be missed as well
        assert!(2 * winning < places.len(), "{} is won nearly everywhere", c.number);
    }
}

#[test]
fn studies_challenges_have_goals_that_pull_against_each_other() {
    let models = models();
    // closing swing extension takes from the knock and from the time to be straight
    let c = &CHALLENGES[0];
    let [one, two] = [20.0, 50.0].map(|e| tried(&models, c, &[10.0, e]).expect("runs").remove(0));
    let n = |a: &Assessment, key| a.outcomes.number(key).expect("a number");
    assert!(n(&two, "terminal_energy_j") < n(&one, "terminal_energy_j") - 1.0);
    assert!(n(&two, "extension_margin_ms") < n(&one, "extension_margin_ms") - 20.0);
    // lowering the catch load holds the light person on the way to the chair, and no longer lets go in walking
    let c = &CHALLENGES[2];
    let [high, low] = [35.0, 2.0].map(|load| tried(&models, c, &[load, 45.0]).expect("runs"));
    assert!(!high[0].holds() && high[1].holds() && low[0].holds() && !low[1].holds());
}

#[test]
fn studies_challenges_replace_the_limit_of_an_outcome_and_keep_the_others() {
    let models = models();
    for c in CHALLENGES {
        for (with, name) in scenarios(&models, c).expect("shipped").iter().zip(c.scenarios) {
            let plain = models.scenario(name).expect("shipped");
            let goals: Vec<&str> =
                c.goals.iter().filter(|g| g.scenario == *name).map(|g| g.outcome).collect();
            for limit in &plain.limits {
                assert!(
                    with.limits.contains(limit) || goals.contains(&limit.outcome.as_str()),
                    "{}",
                    limit.outcome
                );
            }
            for goal in &goals {
                assert!(plain.limits.iter().any(|l| l.outcome == *goal), "{goal} is no outcome of {name}");
                assert_eq!(
                    with.limits.iter().filter(|l| l.outcome == *goal && l.source.contains("goal")).count(),
                    1
                );
            }
            assert_eq!(scenario_with_goals(&models.scenarios, &with.name).as_ref(), Some(with));
        }
    }
    for name in ["walk-fast", "walk-fast@challenge-9", "stand@challenge-1", "walk-fast@challenge-x"] {
        assert!(scenario_with_goals(&models.scenarios, name).is_none(), "{name}");
    }
    assert!(models.answer("walk-fast@challenge-9", &[""], 2).is_err());
}

/// The page takes the danger from the run that it shows, `adjust` from a trial of its own: both say the same, at the start
/// and at the ends of the settings.
#[test]
fn studies_challenges_count_unsafe_trials_as_adjust_does() {
    let models = models();
    let mut dangerous = 0;
    for c in CHALLENGES {
        let setup = start(&models, c).expect("a good start");
        for at in [at_start(&models, c), vec![0.0; c.turns.len()], vec![100.0; c.turns.len()]] {
            let mut moved = setup.clone();
            for (turn, pct) in c.turns.iter().zip(&at) {
                moved.settings.set(*turn, Setting::clamped(pct / 100.0));
            }
            let page = tried(&models, c, &at).expect("runs");
            for (scenario, shown) in scenarios(&models, c).expect("shipped").iter().zip(&page) {
                let trial = moved.paced_for(scenario).trial(scenario).expect("a good trial");
                let danger = assess(trial).expect("runs").danger;
                assert_eq!(Danger::of(&shown.outcomes), danger, "{}, {at:?}", scenario.name);
                dangerous += usize::from(danger.is_some());
            }
        }
        let found = session(&models, c).expect("a session");
        println!(
            "challenge {}: adjust needs {} trials, {} unsafe",
            c.number,
            found.trials,
            found.unsafe_trials()
        );
        assert!(found.trials >= c.scenarios.len());
    }
    assert!(dangerous > 0);
}
