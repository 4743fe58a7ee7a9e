//! Everything that the page shows has words in every language.

use kneedamp::joint::SettingName;
use kneedamp::report::{page_data, teaching_data};
use kneedamp::serve::questions::{Answers, Question};
use kneedamp::teaching::challenges::CHALLENGES;
use kneedamp::teaching::lessons::LESSONS;
use kneedamp::words::{LANGUAGES, Words, is_words};
use serde_json::{Value as Json, json};

use super::{english, models};

fn collect(value: &Json, words: bool, found: &mut Vec<String>) {
    match value {
        Json::String(text) if words && !text.is_empty() => found.push(text.clone()),
        Json::Array(items) => items.iter().for_each(|v| collect(v, words, found)),
        Json::Object(fields) => fields.iter().for_each(|(key, v)| collect(v, is_words(words, key), found)),
        _ => {}
    }
}

#[test]
fn page_shows_no_english_in_another_language() {
    let models = models();
    let mut shown = Vec::new();
    collect(&page_data::start(&models, english()).expect("good models"), false, &mut shown);
    for l in LESSONS {
        for s in l.scenarios {
            collect(&page_data::answer(&models.answer(s, l.variants, 3).expect("runs")), false, &mut shown);
        }
        collect(
            &teaching_data::result(&models, english(), "lesson", l.number).expect("runs"),
            false,
            &mut shown,
        );
    }
    for c in CHALLENGES {
        collect(
            &teaching_data::result(&models, english(), "challenge", c.number).expect("runs"),
            false,
            &mut shown,
        );
    }
    let ends = |pct: u8| SettingName::ALL.map(|n| format!("{n}={pct}")).join(",");
    let others = ["knee=linear", "person=50-kg,temperature_c=0", "foot_shift_m=-0.02,prosthesis=heavy"]
        .map(str::to_owned);
    let legs: Vec<String> = [String::new(), ends(0), ends(100)].into_iter().chain(others).collect();
    for s in &models.scenarios {
        for other in &legs[1..] {
            let answer = models.answer(&s.name, &[legs[0].as_str(), other], 3).expect("runs");
            collect(&page_data::answer(&answer), false, &mut shown);
        }
    }
    shown.sort();
    shown.dedup();
    assert!(shown.len() > 1000, "{}", shown.len());
    lacking(&shown);
}

/// What the page says of a measured curve, of symptoms and of what is wrong in a question.
#[test]
fn page_answers_about_a_measurement_in_another_language() {
    let answers = Answers::of(models()).expect("good models");
    let ask = |name: &str, question: &Json| {
        let question = Question::read(name, question.to_string().as_bytes()).expect("a question");
        answers.to(&question)
    };
    let table = std::fs::read_to_string("docs/examples/walk.csv").expect("shipped");
    let with = |more: Json| {
        let mut all = json!({ "scenario": "walk-comfortable", "leg": "speed_m_per_s=1.2", "table": table });
        all.as_object_mut().expect("fields").extend(more.as_object().expect("fields").clone());
        all
    };
    let mut shown = Vec::new();
    let mut good = |name: &str, question: &Json| {
        let found: Json = serde_json::from_str(&ask(name, question).expect("an answer")).expect("JSON");
        collect(&found, false, &mut shown);
    };
    good("curve", &with(json!({})));
    good("next", &with(json!({ "seen": ["heel-flies-up:clear", "knock-at-the-end@walk-fast"] })));
    good(
        "next",
        &with(
            json!({ "table": "", "seen": ["knee-late-straight:slight@walk-hurried"], "not_seen": ["toe-drags"] }),
        ),
    );
    for (name, question) in [
        ("curve", with(json!({ "table": "a,b\n1,2\n" }))),
        ("curve", with(json!({ "table": "" }))),
        ("curve", with(json!({ "table": "time_s,knee_deg\n0,1\n0.01,x\n" }))),
        ("curve", with(json!({ "table": "time_s,knee_deg\n0,1\n0.01,2\n" }))),
        ("curve", with(json!({ "scenario": "sit-down", "leg": "" }))),
        ("curve", with(json!({ "columns": ["knee=x"] }))),
        ("next", with(json!({ "table": "" }))),
        ("answer", json!({ "scenario": "walk-fast", "legs": ["swing-flexion=200"] })),
        ("answer", json!({ "scenario": "walk-fast", "legs": ["swing-flexion=x"] })),
        ("answer", json!({ "scenario": "walk-fast", "legs": ["nothing=1"] })),
        ("answer", json!({ "scenario": "nowhere", "legs": [""] })),
    ] {
        match ask(name, &question) {
            Err(e) => shown.push(e.to_string()),
            Ok(answer) => collect(&serde_json::from_str(&answer).expect("JSON"), false, &mut shown),
        }
    }
    lacking(&shown);
}

/// Every language has words for these texts.
fn lacking(shown: &[String]) {
    for (code, _) in LANGUAGES {
        let words = Words::of(code).expect(code);
        let missing: Vec<&String> = shown.iter().filter(|t| words.translated(t).is_none()).collect();
        assert!(missing.is_empty(), "{code}: {missing:#?}");
    }
}
