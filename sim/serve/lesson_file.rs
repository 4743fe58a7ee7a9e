//! The lesson file: the page in one document that opens from disk without a server and without a network. It carries
//! the engine, and then does all that the page does but the teaching sheet; or, where no engine was built, the grids of
//! all lessons computed beforehand. Its policy allows exactly its own script and style, by hash, and the engine. A page
//! of a course may show it in a frame.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use rayon::prelude::*;
use serde_json::{Map, Value as Json, json};
use sha2::{Digest, Sha256};

use super::assets::{DOCUMENT, MODULES, PLOTTING, STYLE};
use super::built_engine::BuiltEngine;
use super::questions;
use crate::error::SimError;
use crate::library::UserFile;
use crate::report::{page_data, teaching_data};
use crate::study::Tick;
use crate::teaching::lessons::LESSONS;
use crate::teaching::model_set::ModelSet;
use crate::words::Words;

/// Frames of an animation.
const FRAMES: usize = 120;
/// What the page asks first, both legs alike: its answer is in the file, so that the first picture does not wait for the
/// engine.
const OPENING: (&str, &str) = ("walk-comfortable", "speed_m_per_s=1.1");
/// A repeated value at least this long as text is written once and then referred to.
const SHARED_FROM: usize = 20;

/// One scenario with one text.
type Key = (&'static str, String);

/// Number of runs in the file.
#[must_use]
pub fn runs() -> usize {
    wanted().len()
}

/// Every run, and the first variants that it is compared with.
fn wanted() -> BTreeMap<Key, BTreeSet<&'static str>> {
    let mut all: BTreeMap<Key, BTreeSet<&'static str>> = BTreeMap::new();
    for lesson in LESSONS {
        let variants = lesson.variants.iter().map(|v| (*v).to_owned());
        let texts: BTreeSet<String> = lesson.grid().texts().into_iter().chain(variants).collect();
        for scenario in lesson.scenarios {
            for text in &texts {
                all.entry((scenario, text.clone())).or_default().insert(lesson.variants[0]);
            }
        }
    }
    all
}

/// The file with the engine in it, and the user's own files, which it reads again.
///
/// # Errors
/// A model set that is wrong in itself, or a document that is not laid out as expected.
pub fn with_engine(
    models: &ModelSet,
    words: &Words,
    files: &[UserFile],
    engine: &BuiltEngine,
) -> Result<String, SimError> {
    let (scenario, leg) = OPENING;
    let legs = [leg, leg];
    let data = json!({
        "start": words.answer(page_data::start(models, words)?),
        "files": files,
        "opening": {
            "scenario": scenario,
            "legs": legs,
            "answer": words.answer(page_data::answer(&models.answer(scenario, &legs, questions::FRAMES)?)),
        },
    });
    document(words, &data.to_string(), Some(&engine.packed()?))
}

/// The file with the grids in it.
///
/// # Errors
/// A run that fails, or a document that is not laid out as expected.
pub fn with_grids(models: &ModelSet, words: &Words, tick: Tick) -> Result<String, SimError> {
    let wanted: Vec<(Key, BTreeSet<&str>)> = wanted().into_iter().collect();
    let parts = wanted
        .into_par_iter()
        .map(|((scenario, text), firsts)| {
            let mut leg = Json::Null;
            let mut noticed = Vec::new();
            for first in firsts {
                let answer = models.answer(scenario, &[first, text.as_str()], FRAMES)?;
                leg = words.answer(page_data::leg(&answer.legs[1]));
                noticed.push((
                    format!("{scenario}|{first}|{text}"),
                    json!(answer.noticed[1].as_ref().map(|n| words.said(n))),
                ));
            }
            tick();
            Ok((format!("{scenario}|{text}"), leg, noticed))
        })
        .collect::<Result<Vec<_>, SimError>>()?;
    let (mut runs, mut noticed) = (Map::new(), Map::new());
    for (key, leg, observations) in parts {
        runs.insert(key, leg);
        noticed.extend(observations);
    }
    // what is told after the guess
    let results = LESSONS
        .par_iter()
        .map(|l| {
            let result = teaching_data::result(models, words, "lesson", l.number)?;
            Ok((format!("lesson|{}", l.number), words.answer(result)))
        })
        .collect::<Result<Vec<_>, SimError>>()?;
    // challenges need any setting, and this file looks its runs up
    let mut start = page_data::start(models, words)?;
    start["challenges"] = json!([]);
    let mut shared = Shared::default();
    shared.count(&json!([runs, noticed]));
    let data = json!({
        "start": words.answer(start),
        "runs": shared.put(Json::Object(runs)),
        "noticed": shared.put(Json::Object(noticed)),
        "results": results.into_iter().collect::<Map<_, _>>(),
        "shared": shared.all,
    });
    document(words, &data.to_string(), None)
}

/// Values that occur more than once: written once, then referred to as `{"$": number}`.
#[derive(Default)]
struct Shared {
    all: Vec<Json>,
    times: HashMap<String, usize>,
    known: HashMap<String, usize>,
}

impl Shared {
    /// Counts a value and every value in it.
    fn count(&mut self, value: &Json) {
        match value {
            Json::Array(items) => items.iter().for_each(|v| self.count(v)),
            Json::Object(fields) => fields.values().for_each(|v| self.count(v)),
            _ => {}
        }
        if let Some(text) = Self::worth_it(value) {
            *self.times.entry(text).or_default() += 1;
        }
    }

    /// Its text, where that is longer than a reference.
    fn worth_it(value: &Json) -> Option<String> {
        let text = value.to_string();
        (text.len() >= SHARED_FROM).then_some(text)
    }

    fn put(&mut self, value: Json) -> Json {
        let text = Self::worth_it(&value);
        let often = text.as_ref().and_then(|t| self.times.get(t)).is_some_and(|n| *n > 1);
        if let Some(number) = text.as_ref().filter(|_| often).and_then(|t| self.known.get(t)) {
            return json!({ "$": number });
        }
        let inner = match value {
            Json::Array(items) => items.into_iter().map(|v| self.put(v)).collect(),
            Json::Object(fields) => fields.into_iter().map(|(k, v)| (k, self.put(v))).collect(),
            other => other,
        };
        match text.filter(|_| often) {
            None => inner,
            Some(text) => {
                let number = self.all.len();
                self.all.push(inner);
                self.known.insert(text, number);
                json!({ "$": number })
            }
        }
    }
}

/// The page with everything inside.
fn document(words: &Words, data: &str, engine: Option<&str>) -> Result<String, SimError> {
    let style = format!("\n{}\n{STYLE}\n", PLOTTING[1]);
    let script = format!("\n{}\n{}\n", PLOTTING[0], bundle());
    let [may_compile, may_work] =
        if engine.is_some() { [" 'wasm-unsafe-eval'", "worker-src blob:; "] } else { ["", ""] };
    let policy = format!(
        "default-src 'none'; script-src '{}'{may_compile}; {may_work}style-src '{}'; img-src data: blob:; \
         base-uri 'none'; form-action 'none'",
        hash(&script),
        hash(&style)
    );
    // the policy must come before the style and the script
    let head = format!(
        "<meta http-equiv=\"Content-Security-Policy\" content=\"{policy}\">\n<!--\nThe plotting library in this file, \
         uPlot, is under this licence:\n\n{}\n-->\n<style>{style}</style>",
        PLOTTING[2].replace("--", "- -")
    );
    let engine = engine.map_or_else(String::new, |text| {
        format!("<script type=\"application/wasm\" id=\"engine\">{text}</script>\n")
    });
    let foot = format!(
        "<script type=\"application/json\" id=\"precomputed\">{}</script>\n{engine}<script type=\"module\">{script}</script>",
        data.replace("</", "<\\/")
    );
    let document = between(&words.document(DOCUMENT), "<!-- style: begin -->", "<!-- style: end -->", &head)?;
    between(&document, "<!-- script: begin -->", "<!-- script: end -->", &foot)
}

/// All modules as one: they import from each other only, one line per import. Lines of comment and indents stay in the
/// sources; no text in them goes over a line's end.
fn bundle() -> String {
    let line = |l: &str| -> Option<String> {
        let l = l.trim_start();
        if l.starts_with("import ") || l.starts_with("// ") {
            None
        } else {
            Some(l.strip_prefix("export ").unwrap_or(l).to_owned())
        }
    };
    let text: Vec<String> = MODULES.iter().flat_map(|m| m.1.lines().filter_map(line)).collect();
    text.join("\n")
}

fn between(text: &str, begin: &str, end: &str, new: &str) -> Result<String, SimError> {
    let missing =
        || SimError::Inconsistent { field: "page".into(), why: format!("no '{begin}' … '{end}'") };
    let (before, rest) = text.split_once(begin).ok_or_else(missing)?;
    let (_, after) = rest.split_once(end).ok_or_else(missing)?;
    Ok(format!("{before}{new}{after}"))
}

/// As a content policy names it.
fn hash(text: &str) -> String {
    format!("sha256-{}", STANDARD.encode(Sha256::digest(text.as_bytes())))
}
