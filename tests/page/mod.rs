//! The page: what it is shown, what its lessons hold, and how its server takes hostile requests. The page in a
//! real browser: tests/page/browser.mjs.

mod animation;
mod figure;
mod languages;
mod lessons;
mod measured;
mod page_data;
mod program;
mod security;
mod sound_leg;
mod styles;

use kneedamp::case::setup::Setup;
use kneedamp::library::{Kind, Library};
use kneedamp::teaching::model_set::ModelSet;
use kneedamp::teaching::model_set::RunCache;
use kneedamp::words::Words;

/// The first language.
pub fn english() -> &'static Words {
    Words::of("en").expect("English")
}

/// The models of everything that is built in.
pub fn models() -> ModelSet {
    let library = Library::default();
    let setup = Setup::new(
        library.person("75-kg").expect("shipped"),
        library.prosthesis("typical").expect("shipped"),
        library.knee("built-in").expect("shipped"),
        library.walking_drive("users-2020").expect("shipped"),
    );
    let names = |kind| library.names(kind);
    ModelSet {
        base: setup,
        scenarios: names(Kind::Scenario)
            .iter()
            .map(|n| library.scenario(n).expect("shipped"))
            .filter(|s| !s.by_name_only)
            .collect(),
        people: names(Kind::Person).iter().map(|n| library.person(n).expect("shipped")).collect(),
        prostheses: names(Kind::Prosthesis).iter().map(|n| library.prosthesis(n).expect("shipped")).collect(),
        knees: names(Kind::Knee).iter().map(|n| library.knee(n).expect("shipped")).collect(),
        cache: RunCache::default(),
    }
}
