//! The eight lessons still show what their titles say. Each statement can fail: it is read off runs.

use super::compare::compared;
use crate::page::models;
use kneedamp::outcome::{Assessment, OutcomeWord, TrialVerdict};
use kneedamp::teaching::lesson_runs::LessonRuns;
use kneedamp::teaching::lessons::{LESSONS, Lesson, lesson};
use kneedamp::teaching::model_set::ModelSet;
use kneedamp::words::{LANGUAGES, Words};

/// Runs of a lesson in one of its scenarios, A first.
fn runs(number: u8, scenario: &str) -> Vec<Assessment> {
    let l = lesson(number).expect("a lesson");
    let found = compared(l.variants, &[scenario]).expect("runs");
    found.scenarios[0].runs.iter().map(|r| r.as_ref().expect("ran").assessment.clone()).collect()
}

fn n(a: &Assessment, key: &str) -> f64 {
    a.outcomes.number(key).unwrap_or_else(|| panic!("{key} is no number"))
}

/// A text of a lesson in English.
fn english(number: u8, what: &str) -> String {
    Words::of("en").expect("English").lesson(number, what)
}

fn word(a: &Assessment, key: &str) -> OutcomeWord {
    a.outcomes.get(key).and_then(kneedamp::outcome::Value::as_word).expect("a word")
}

#[test]
fn studies_lessons_are_numbered_and_complete() {
    assert_eq!(LESSONS.iter().map(|l| l.number).collect::<Vec<_>>(), (1..=8).collect::<Vec<_>>());
    for l in LESSONS {
        for what in ["title", "situation", "watch", "question", "why", "consider"] {
            let text = english(l.number, what);
            assert!(text.len() > 8 && !text.starts_with("lessons."), "{}: {text}", l.number);
        }
        assert!((2..=4).contains(&l.variants.len()) && !l.scenarios.is_empty());
        let found = compared(l.variants, l.scenarios).expect("every lesson runs");
        assert!(found.scenarios.iter().all(|s| s.runs.iter().all(Result::is_ok)), "{}", l.number);
        assert!(!found.findings().text.iter().any(|t| t.contains("No outcome differs")), "{}", l.number);
    }
}

/// The class cannot guess from the lesson before: some answers are that it holds, some that it does not.
#[test]
fn studies_lessons_are_not_all_answered_alike() {
    let answers: Vec<TrialVerdict> =
        LESSONS.iter().map(|l| runs(l.number, l.about.scenario)[l.about.variant].verdict()).collect();
    let within = answers.iter().filter(|v| **v == TrialVerdict::Within).count();
    assert!(within >= 3 && answers.len() - within >= 3, "{answers:?}");
}

/// Each lesson asks its own question; the runs bear out exactly one of its answers, not always the same one, and in
/// several lessons it is that the limits hold.
#[test]
fn studies_lessons_have_one_right_answer() {
    let models = models();
    let (mut places, mut holding) = ([0; 4], 0);
    for l in LESSONS {
        let found = LessonRuns::of(&models, l).expect("runs");
        let answers = found.right();
        assert!((3..=4).contains(&answers.len()), "lesson {}", l.number);
        let right: Vec<usize> = (0..answers.len()).filter(|i| answers[*i]).collect();
        let text = |key: &str| english(l.number, &format!("answers.{key}.text"));
        println!(
            "lesson {}: {}",
            l.number,
            right.iter().map(|i| text(l.answers[*i].key)).collect::<Vec<_>>().join(" / ")
        );
        assert_eq!(right.len(), 1, "lesson {}: {right:?}", l.number);
        places[right[0]] += 1;
        holding += usize::from(text(l.answers[right[0]].key).contains("hold"));
        for answer in l.answers {
            for (code, _) in LANGUAGES {
                let words = Words::of(code).expect(code);
                let template = words.lesson(l.number, &format!("answers.{}.explanation", answer.key));
                let explanation = found.fill(&template, &|v| words.said(v)).expect("every hole has a number");
                let numbers = explanation.chars().any(|c| c.is_ascii_digit() || "\"„".contains(c));
                assert!(numbers && !explanation.contains('{'), "{explanation}");
            }
            let text = text(answer.key);
            let alike = |o: &Lesson| {
                o.answers
                    .iter()
                    .filter(|a| english(o.number, &format!("answers.{}.text", a.key)) == text)
                    .count()
            };
            assert_eq!(LESSONS.iter().map(alike).sum::<usize>(), 1, "{text}");
        }
        assert!(
            LESSONS.iter().filter(|o| english(o.number, "question") == english(l.number, "question")).count()
                == 1
        );
        assert!(found.asked().expect("known outcomes").iter().all(|r| r.values.len() == l.variants.len()));
    }
    assert!(places.iter().all(|n| *n >= 1 && *n <= 3), "right answers by place: {places:?}");
    assert!(holding >= 3, "{holding} lessons in which something holds");
}

/// What the explanations of the other answers say besides their numbers was written beside these right answers: where one
/// changes, the words of its lesson have to be read again.
#[test]
fn studies_lessons_words_were_written_beside_these_answers() {
    let written_beside = ["late", "harder", "held", "holds", "lot", "holds", "ramp", "less_holds"];
    let models = models();
    for (l, key) in LESSONS.iter().zip(written_beside) {
        let right = LessonRuns::of(&models, l).expect("runs").right();
        let answer = l.answers.iter().zip(right).find(|(_, right)| *right).expect("one").0;
        assert_eq!(answer.key, key, "lesson {}", l.number);
    }
}

/// With other settings another answer would be right: the answer is read off the runs.
#[test]
fn studies_lessons_judge_by_the_runs() {
    let mut other = models();
    let open = other
        .variant("person=100-kg,swing-flexion=0,swing-extension=0,stance-yield=0,catch-load=60")
        .expect("good");
    other.base = open.case(&other.base, &other.scenarios[0]).expect("good").setup;
    let right = |models: &ModelSet, l| -> Vec<bool> { LessonRuns::of(models, l).expect("runs").right() };
    let shipped = models();
    let changed = LESSONS.iter().filter(|l| right(&shipped, l) != right(&other, l)).count();
    assert!(changed >= 3, "{changed} lessons answer otherwise");
}

#[test]
fn studies_lesson_1_fine_at_a_stroll_late_in_a_hurry() {
    let (slow, fast) = (runs(1, "walk-slow"), runs(1, "walk-hurried"));
    assert!(slow.iter().all(Assessment::holds) && fast[0].holds());
    assert_eq!(fast[1].verdict(), TrialVerdict::Outside);
    assert!(n(&fast[1], "extension_margin_ms") < 0.0 && n(&slow[1], "extension_margin_ms") > 40.0);
    let rise = |r: &[Assessment]| n(&r[1], "peak_flexion_deg") - n(&r[0], "peak_flexion_deg");
    assert!(rise(&fast) > rise(&slow));
}

#[test]
fn studies_lesson_2_stiff_and_scuffing_yet_a_harder_knock() {
    let r = runs(2, "walk-fast");
    for closed in &r[1..] {
        assert!(n(closed, "toe_height_loss_mm") > n(&r[0], "toe_height_loss_mm") + 10.0);
        assert!(n(closed, "peak_flexion_deg") < n(&r[0], "peak_flexion_deg") - 10.0);
        assert!(n(closed, "terminal_energy_j") > 2.0 * n(&r[0], "terminal_energy_j"));
    }
}

#[test]
fn studies_lesson_3_the_quiet_trap() {
    for scenario in ["walk-comfortable", "walk-fast"] {
        let r = runs(3, scenario);
        assert!(r[0].holds());
        for quiet in &r[1..] {
            assert!(quiet.outcomes.number("terminal_energy_j").is_none(), "no knock");
            assert!(n(quiet, "heel_contact_flexion_deg") > 5.0);
        }
        assert_eq!(r[2].verdict(), TrialVerdict::Outside);
        assert_ne!(word(&r[2], "landing"), OutcomeWord::Straight);
        assert!(n(&r[2], "landing_max_flexion_deg") > 15.0);
    }
}

#[test]
fn studies_lesson_4_the_knock() {
    for scenario in ["walk-comfortable", "walk-fast"] {
        let r = runs(4, scenario);
        assert!(n(&r[2], "terminal_energy_j") > 2.5 && n(&r[0], "terminal_energy_j") < 2.5);
        for key in ["terminal_energy_j", "extension_margin_ms", "heel_contact_flexion_deg"] {
            assert!(n(&r[0], key) < n(&r[1], key) && n(&r[1], key) < n(&r[2], key), "{key}");
        }
    }
}

#[test]
fn studies_lesson_5_a_cliff_not_a_slope() {
    let r = runs(5, "walk-comfortable");
    let peak = |a: &Assessment| n(a, "peak_flexion_deg");
    let beyond = compared(&["catch-load=12", "catch-load=14"], &["walk-comfortable"]).expect("runs");
    let beyond: Vec<f64> =
        beyond.scenarios[0].runs.iter().map(|x| peak(&x.as_ref().expect("ran").assessment)).collect();
    assert!((peak(&r[0]) - beyond[0]).abs() < 1.0 && (beyond[0] - beyond[1]).abs() < 1.0, "flat above");
    assert!(peak(&r[0]) - peak(&r[1]) > 20.0, "one step takes more than twenty degrees");
    assert!(peak(&r[2]) > peak(&r[0]) - 5.0, "the edge moves with effort: less lets go");
}

#[test]
fn studies_lesson_6_two_people_one_joint() {
    let r = runs(6, "sit-down");
    assert!(r[0].holds() && !r[1].holds() && r[2].holds());
    assert!(n(&r[1], "sit_time_s") < 1.0 && n(&r[0], "sit_time_s") > 1.4);
    assert_eq!((word(&r[0], "supported"), word(&r[1], "supported")), (OutcomeWord::Yes, OutcomeWord::No));
}

#[test]
fn studies_lesson_7_one_valve_three_jobs() {
    let l = lesson(7).expect("a lesson");
    let all: Vec<Vec<Assessment>> = l.scenarios.iter().map(|s| runs(7, s)).collect();
    assert!(all.iter().all(|r| r[0].holds()), "one position serves all three");
    for other in 1..l.variants.len() {
        assert!(all.iter().any(|r| !r[other].holds()), "{}", l.variants[other]);
    }
    // not all at the same position
    assert!(all[1][2].holds() && !all[0][2].holds() && !all[2][2].holds());
}

#[test]
fn studies_lesson_8_new_boots_and_a_cold_morning() {
    for scenario in ["walk-comfortable", "walk-fast"] {
        let r = runs(8, scenario);
        let lost = |i: usize| n(&r[0], "extension_margin_ms") - n(&r[i], "extension_margin_ms");
        let (boots, cold, both) = (lost(1), lost(2), lost(3));
        assert!(boots > 0.0 && cold > 0.0 && both > 0.0, "{boots} {cold} {both}");
        assert!(both < boots + cold, "the one partly hides the other: {boots} {cold} {both}");
        let rise = |i: usize| n(&r[i], "peak_flexion_deg") - n(&r[0], "peak_flexion_deg");
        assert!(rise(1) > 1.0 && rise(2) < -1.0 && rise(3).abs() < 1.0);
    }
}
