//! Words in every language: the languages have the same texts with the same holes, and no words of the page stand
//! outside `sim/words`.
//!
//! The rule for the page. In `index.html` every text and every `aria-label`, `title`, `placeholder` and `alt` is a
//! `{{key}}`; the name of the program stands as it is. In a module a string is words if two sequences of letters stand in it
//! with a space between them, or if it is a capitalised word; commands, markup, class lists, drawing commands, media queries,
//! fonts and names of keyboard keys are not.

use std::collections::BTreeSet;

use kneedamp::case::inputs::INPUTS;
use kneedamp::outcome::METRICS;
use kneedamp::scenario::OutcomeWord;
use kneedamp::study::adjust::{Danger, SYMPTOMS};
use kneedamp::words::{LANGUAGES, Words};

use super::{files, text};

fn holes(text: &str) -> BTreeSet<&str> {
    text.split('{').skip(1).filter_map(|rest| rest.split_once('}')).map(|(hole, _)| hole).collect()
}

#[test]
fn house_languages_have_the_same_texts_with_the_same_holes() {
    let english = Words::of(LANGUAGES[0].0).expect("English");
    assert!(english.texts.len() > 200);
    for (code, _) in LANGUAGES {
        let words = Words::of(code).expect(code);
        let [missing, extra] = [(&english.texts, &words.texts), (&words.texts, &english.texts)]
            .map(|(a, b)| a.keys().filter(|k| !b.contains_key(*k)).collect::<Vec<_>>());
        assert!(missing.is_empty(), "{code} lacks {missing:?}: English would stand in for it");
        assert!(extra.is_empty(), "{code} alone has {extra:?}");
        for (key, text) in &words.texts {
            assert!(!text.trim().is_empty(), "{code}: {key}");
            assert_eq!(holes(text), holes(&english.texts[key]), "{code}: {key}");
        }
    }
}

#[test]
fn house_languages_unknown_one_names_those_there_are() {
    let said = Words::of("tlh").expect_err("there is no such language").to_string();
    assert!(said.contains("tlh") && LANGUAGES.iter().all(|(code, _)| said.contains(code)), "{said}");
}

/// Every word of the registries that page or sheet can show has an entry in every language.
#[test]
fn house_languages_have_the_words_of_the_registries() {
    let of_outcomes = METRICS.iter().filter(|m| !m.internal).flat_map(|m| {
        let own = [m.label, m.seen_below, m.seen_above, m.seen_missing, m.not_reached];
        own.map(str::to_owned).into_iter().chain([m.table_label(), m.number_label()])
    });
    let inputs = INPUTS.iter().map(|i| i.label.to_owned());
    let symptoms = SYMPTOMS.iter().flat_map(|s| {
        let first = s.rule_out_first.iter().copied();
        first.chain([s.description]).map(str::to_owned)
    });
    let words = OutcomeWord::ALL.iter().map(|w| w.as_str().to_owned());
    let dangers = Danger::ALL.iter().map(|d| d.as_str().to_owned());
    let all: BTreeSet<String> = of_outcomes
        .chain(inputs)
        .chain(symptoms)
        .chain(words)
        .chain(dangers)
        .filter(|t| !t.is_empty())
        .collect();
    assert!(all.len() > 150, "{}", all.len());
    for (code, _) in LANGUAGES {
        let words = Words::of(code).expect(code);
        let missing: Vec<&String> = all.iter().filter(|t| words.translated(t).is_none()).collect();
        assert!(missing.is_empty(), "{code} has no words for {missing:#?}");
    }
}

#[test]
fn house_page_has_no_words_of_its_own() {
    let found = in_document(&text("sim/serve/page/index.html"));
    assert!(found.is_empty(), "index.html: {found:?}");
    for (name, module) in files("sim/serve/page", &["js"]) {
        if !name.contains("/uplot/") {
            let found = in_module(&module);
            assert!(found.is_empty(), "{name}: {found:#?}");
        }
    }
}

#[test]
fn house_keys_of_the_page_have_texts() {
    let english = Words::of(LANGUAGES[0].0).expect("English");
    let document = text("sim/serve/page/index.html");
    let in_document =
        document.split("{{").skip(1).filter_map(|p| p.split_once("}}")).map(|(key, _)| key.to_owned());
    let mut keys: BTreeSet<String> =
        in_document.filter(|k| !["lang", "words"].contains(&k.as_str())).collect();
    for (name, module) in files("sim/serve/page", &["js"]) {
        if !name.contains("/uplot/") {
            let said = strings(&module)
                .into_iter()
                .filter(|(before, key)| before.ends_with("say(") && !key.ends_with('.'));
            keys.extend(said.map(|(_, key)| key));
        }
    }
    assert!(keys.len() > 150, "{}", keys.len());
    let missing: Vec<&String> =
        keys.iter().filter(|k| !english.texts.contains_key(&format!("page.{k}"))).collect();
    assert!(missing.is_empty(), "no text for {missing:?}");
}

#[test]
fn house_words_that_are_planted_are_found() {
    let document = in_document(
        "<p title=\"A hint\">kneedamp {{a.b}} and more<button aria-label='{{c}}'>{{d}}</button></p>",
    );
    assert_eq!(document, ["A hint", "kneedamp  and more"]);
    let module = "make(\"p\", { class: \"fine more\" }, say(\"a.b\"), \"Nobody translates this.\"); // no words \"here or\"\n\
                  b.textContent = on ? 'Play' : `${\"to be found\"} or not ${n}`; x.replace(/ \"at all\" /, \"M0 0L1 1\");";
    assert_eq!(in_module(module), ["Nobody translates this.", "Play", "to be found", " or not "]);
}

/// Texts and read-aloud attributes of a document that hold words beside keys.
fn in_document(document: &str) -> Vec<String> {
    let keys_out = |text: &str| {
        let mut parts = text.split("{{");
        let first = parts.next().unwrap_or_default().to_owned();
        first + &parts.map(|p| p.split_once("}}").map_or(p, |(_, rest)| rest)).collect::<String>()
    };
    let mut found = Vec::new();
    for part in keys_out(document).split('<').skip(1) {
        let (tag, between) = part.split_once('>').unwrap_or((part, ""));
        for name in ["aria-label", "title", "placeholder", "alt"] {
            for quote in ['"', '\''] {
                let begin = format!(" {name}={quote}");
                let values = tag.split(begin.as_str()).skip(1);
                found.extend(values.filter_map(|v| v.split(quote).next()).map(str::to_owned));
            }
        }
        if !tag.starts_with('!') {
            found.push(between.trim().to_owned());
        }
    }
    let letters = |t: &str| t.replace("kneedamp", "").chars().filter(|c| c.is_alphabetic()).count();
    found.retain(|t| letters(t) > 1);
    found
}

/// What stands before a string that is no words.
const NO_WORDS_AFTER: [&str; 13] = [
    "=== ",
    "say(",
    "nameOf(",
    "class: ",
    "viewBox: ",
    "matchMedia(",
    "querySelector(",
    "querySelectorAll(",
    "shape(",
    "font = ",
    "accept: ",
    "viewBox\", ",
    "import ",
];
const KEYS: [&str; 11] = [
    "ArrowRight",
    "ArrowUp",
    "ArrowLeft",
    "ArrowDown",
    "PageUp",
    "PageDown",
    "Home",
    "End",
    "Backspace",
    "Escape",
    "Enter",
];

fn in_module(module: &str) -> Vec<String> {
    strings(module)
        .into_iter()
        .filter(|(before, text)| {
            let markup = text.starts_with("kneedamp ")
                || text.contains("=\"")
                || text.starts_with('<')
                || text.contains("system-ui")
                || text.contains("px ");
            let exempt = NO_WORDS_AFTER.iter().any(|b| before.ends_with(b)) || KEYS.contains(&text.as_str());
            !markup && !exempt && is_words(text)
        })
        .map(|(_, text)| text)
        .collect()
}

fn is_words(text: &str) -> bool {
    let word = |w: &&str| {
        w.trim_matches(|c: char| !c.is_alphabetic()).chars().filter(|c| c.is_alphabetic()).count() > 1
    };
    let plain =
        |w: &&str| word(w) && !w.contains(['_', '[', '/', '(']) && !w.chars().any(|c| c.is_ascii_digit());
    let capitalised = text.chars().next().is_some_and(char::is_uppercase)
        && text.chars().skip(1).all(char::is_lowercase)
        && text.len() > 1;
    text.split(' ').filter(plain).count() > 1 || capitalised
}

/// Every string of a module with what stands before it; holes of templates left out, their own strings taken.
fn strings(module: &str) -> Vec<(String, String)> {
    let chars: Vec<char> = module.chars().collect();
    let mut found = Vec::new();
    code(&chars, 0, false, &mut found);
    found
}

/// Reads code from a place to its end, or to the brace that closes a hole; gives the place after it.
fn code(chars: &[char], mut at: usize, in_hole: bool, found: &mut Vec<(String, String)>) -> usize {
    let mut depth = 0;
    while at < chars.len() {
        let (c, next) = (chars[at], chars.get(at + 1).copied().unwrap_or(' '));
        let before: String = chars[at.saturating_sub(24)..at].iter().collect();
        match c {
            '/' if next == '/' => at = until(chars, at, "\n"),
            '/' if next == '*' => at = until(chars, at + 2, "*/"),
            '/' if before.trim_end().ends_with(['(', ',', '=', ':', '&', '|', '?']) => {
                at += 1;
                let mut in_class = false;
                while at < chars.len() && (in_class || chars[at] != '/') {
                    in_class = match chars[at] {
                        '[' => true,
                        ']' => false,
                        _ => in_class,
                    };
                    at += if chars[at] == '\\' { 2 } else { 1 };
                }
                at += 1;
            }
            '"' | '\'' | '`' => at = string(chars, at, before, found),
            '}' if in_hole && depth == 0 => return at + 1,
            _ => {
                depth += match c {
                    '{' => 1,
                    '}' => -1,
                    _ => 0,
                };
                at += 1;
            }
        }
    }
    at
}

fn string(chars: &[char], mut at: usize, before: String, found: &mut Vec<(String, String)>) -> usize {
    let (quote, place) = (chars[at], found.len());
    let mut text = String::new();
    at += 1;
    while at < chars.len() && chars[at] != quote {
        match (chars[at], chars.get(at + 1)) {
            ('\\', _) => at += 2,
            ('$', Some('{')) if quote == '`' => at = code(chars, at + 2, true, found),
            (c, _) => {
                text.push(c);
                at += 1;
            }
        }
    }
    if quote == '`' {
        found.push((before, text))
    } else {
        found.insert(place, (before, text))
    }
    at + 1
}

fn until(chars: &[char], from: usize, end: &str) -> usize {
    let end: Vec<char> = end.chars().collect();
    (from..chars.len()).find(|i| chars[*i..].starts_with(&end)).map_or(chars.len(), |i| i + end.len())
}
