//! Everything that the page shows has words in every language.

use kneedamp::joint::SettingName;
use kneedamp::report::{page_data, teaching_data};
use kneedamp::teaching::challenges::CHALLENGES;
use kneedamp::teaching::lessons::LESSONS;
use kneedamp::words::{LANGUAGES, Words, is_words};
use serde_json::Value as Json;

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
    for (code, _) in LANGUAGES {
        let words = Words::of(code).expect(code);
        let missing: Vec<&String> = shown.iter().filter(|t| words.translated(t).is_none()).collect();
        assert!(missing.is_empty(), "{code}: {missing:#?}");
    }
}
