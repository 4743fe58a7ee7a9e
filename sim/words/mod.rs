//! The words of page, lessons and sheet: one file per language, `en.yaml` and `de.yaml`.
//!
//! A text is asked for by its key (`page.player.play`) and may have holes (`{count}`). What the studies say in English is
//! not asked for by key: [`Words::said`] reads the finished sentence and writes it in the language of the page, with the
//! templates under `engine` (`catalogue`). So nothing below knows of languages, and no terminal output depends on one.
//! tests/house/languages.rs finds words outside these files and keys that a language lacks.

mod catalogue;

use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde_json::{Map, Value as Json, json};

use crate::error::SimError;
use crate::library::read_map;
use catalogue::Catalogue;

/// The languages: code and file. The first is complete and stands in where another lacks a text.
pub const LANGUAGES: [(&str, &str); 2] = [("en", include_str!("en.yaml")), ("de", include_str!("de.yaml"))];

static ALL: LazyLock<Result<Vec<Words>, SimError>> =
    LazyLock::new(|| LANGUAGES.iter().map(|(code, file)| Words::read(code, file)).collect());

/// All words of one language.
#[derive(Debug)]
pub struct Words {
    /// As in `?lang=` and `<html lang>`.
    pub code: &'static str,
    /// Texts by key.
    pub texts: BTreeMap<String, String>,
    /// What the studies say.
    catalogue: Catalogue,
}

impl Words {
    /// The words of a language.
    ///
    /// ```
    /// use kneedamp::words::Words;
    /// assert_eq!(Words::of("de").unwrap().said("flexion at heel contact 4.2°"), "Beugung bei Fersenauftritt 4,2°");
    /// assert!(Words::of("xx").unwrap_err().to_string().contains("known: en, de"));
    /// ```
    ///
    /// # Errors
    /// A language that there is not; the message names those that there are.
    pub fn of(code: &str) -> Result<&'static Self, SimError> {
        let all = ALL.as_ref().map_err(Clone::clone)?;
        all.iter().find(|w| w.code == code).ok_or_else(|| SimError::Unknown {
            kind: "language",
            name: code.to_owned(),
            known: LANGUAGES.map(|l| l.0).join(", "),
        })
    }

    fn read(code: &'static str, file: &str) -> Result<Self, SimError> {
        let mut all: Map<String, Json> = read_map(file, &format!("words {code}"))?;
        let engine = all.remove("engine").unwrap_or_default();
        let names = all.remove("names").unwrap_or_default();
        let mut texts = BTreeMap::new();
        flatten("", &Json::Object(all), &mut texts);
        let strings =
            |v: &Json| v.as_array().map_or_else(Vec::new, |l| l.iter().filter_map(as_text).collect());
        let pairs = engine.as_object().map_or_else(Vec::new, |m| {
            m.iter().filter_map(|(k, v)| Some((k.clone(), as_text(v)?))).collect()
        });
        Ok(Self { code, texts, catalogue: Catalogue::new(pairs, strings(&names)) })
    }

    fn is_english(&self) -> bool {
        self.code == LANGUAGES[0].0
    }

    /// A text by key; in English where this language lacks it, the key where no language has it.
    #[must_use]
    pub fn text<'a>(&'a self, key: &'a str) -> &'a str {
        let english = || ALL.as_ref().ok().and_then(|all| all[0].texts.get(key));
        self.texts.get(key).or_else(english).map_or(key, String::as_str)
    }

    /// A text of a lesson: `title`, `answers.holds.text`.
    #[must_use]
    pub fn lesson(&self, number: u8, what: &str) -> String {
        self.text(&format!("lessons.{number}.{what}")).to_owned()
    }

    /// A text of a challenge.
    #[must_use]
    pub fn challenge(&self, number: u8, what: &str) -> String {
        self.text(&format!("challenges.{number}.{what}")).to_owned()
    }

    /// A text with values in its holes.
    #[must_use]
    pub fn filled(&self, key: &str, values: &[(&str, &str)]) -> String {
        let put = |text: String, (name, value): &(&str, &str)| text.replace(&format!("{{{name}}}"), value);
        values.iter().fold(self.text(key).to_owned(), put)
    }

    /// What a study says, in this language; unchanged where the language has no words for it.
    #[must_use]
    pub fn said(&self, english: &str) -> String {
        self.translated(english).unwrap_or_else(|| english.to_owned())
    }

    /// The same, none where the language has no words for it.
    #[must_use]
    pub fn translated(&self, english: &str) -> Option<String> {
        if self.is_english() { Some(english.to_owned()) } else { self.catalogue.translated(english) }
    }

    /// The document of the page, its `{{keys}}` replaced by texts, and the texts of its modules in it.
    #[must_use]
    pub fn document(&self, template: &str) -> String {
        let mut out = String::new();
        let mut rest = template;
        while let Some((before, (key, after))) =
            rest.split_once("{{").and_then(|(b, a)| Some((b, a.split_once("}}")?)))
        {
            out.push_str(before);
            out.push_str(&match key {
                "lang" => self.code.to_owned(),
                "words" => self.of_the_page().to_string().replace("</", "<\\/"),
                key => escaped(self.text(&format!("page.{key}"))),
            });
            rest = after;
        }
        out + rest
    }

    /// The texts of the page's modules: those of `page` without that prefix.
    fn of_the_page(&self) -> Json {
        let english = ALL.as_ref().map_or_else(|_| &self.texts, |all| &all[0].texts);
        let texts: Map<String, Json> = english
            .keys()
            .filter_map(|key| Some((key.strip_prefix("page.")?.to_owned(), json!(self.text(key)))))
            .collect();
        json!({ "lang": self.code, "texts": texts })
    }

    /// An error in this language.
    #[must_use]
    pub fn error(&self, error: &SimError) -> SimError {
        SimError::Usage(self.said(&error.to_string()))
    }

    /// Puts the texts of all word fields of an answer into this language.
    #[must_use]
    pub fn answer(&self, mut answer: Json) -> Json {
        if !self.is_english() {
            self.put(&mut answer, false);
        }
        answer
    }

    fn put(&self, value: &mut Json, words: bool) {
        match value {
            Json::String(text) if words => *text = self.said(text),
            Json::Array(items) => items.iter_mut().for_each(|v| self.put(v, words)),
            Json::Object(fields) => fields.iter_mut().for_each(|(key, v)| self.put(v, is_words(words, key))),
            _ => {}
        }
    }
}

/// Where a question or an address names no language.
#[must_use]
pub fn first_language() -> String {
    LANGUAGES[0].0.to_owned()
}

/// Fields of the page's data that hold words, with all below them but [`KEY_FIELDS`]; every other text is a key or a name.
const WORD_FIELDS: [&str; 21] = [
    "about",
    "asked",
    "bounds",
    "caution",
    "closest",
    "columns",
    "danger",
    "error",
    "headline",
    "inputs",
    "label",
    "limits",
    "noticed",
    "notes",
    "outcomes",
    "rows",
    "said",
    "seen",
    "text",
    "unsafe_by",
    "worst",
];
/// Fields that hold no words, wherever they stand.
const KEY_FIELDS: [&str; 3] = ["key", "name", "scenario"];

/// Whether a field of the page's data holds words, below one that does or not.
#[must_use]
pub fn is_words(below: bool, field: &str) -> bool {
    (below || WORD_FIELDS.contains(&field)) && !KEY_FIELDS.contains(&field)
}

fn as_text(value: &Json) -> Option<String> {
    match value {
        Json::String(s) => Some(s.clone()),
        Json::Number(n) => Some(n.to_string()),
        _ => None,
    }
}

fn flatten(at: &str, value: &Json, texts: &mut BTreeMap<String, String>) {
    let below = |key: &str| if at.is_empty() { key.to_owned() } else { format!("{at}.{key}") };
    match value {
        Json::Object(fields) => fields.iter().for_each(|(key, v)| flatten(&below(key), v, texts)),
        Json::Array(items) => {
            items.iter().enumerate().for_each(|(i, v)| flatten(&below(&i.to_string()), v, texts))
        }
        other => texts.extend(as_text(other).map(|text| (at.to_owned(), text))),
    }
}

/// Text for HTML.
fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('"', "&quot;")
}
