//! The lesson file: self-contained, small enough, and every step of every slider is in it.

use std::collections::BTreeSet;
use std::io::Read;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use kneedamp::serve::assets::MODULES;
use kneedamp::serve::built_engine::BuiltEngine;
use kneedamp::serve::lesson_file::{with_engine, with_grids};
use kneedamp::teaching::lessons::LESSONS;
use serde_json::Value;
use sha2::{Digest, Sha256};

use super::{english, models};
use crate::commands::{kneedamp, refused};

const LARGEST: usize = 2_000_000;

#[test]
fn page_every_variant_of_a_lesson_lies_on_its_grid() {
    for lesson in LESSONS {
        let texts: BTreeSet<String> = lesson.grid().texts().into_iter().collect();
        for variant in lesson.variants {
            assert!(texts.contains(*variant), "lesson {}: {variant}", lesson.number);
        }
        let about = lesson.about;
        assert!(lesson.scenarios.contains(&about.scenario) && about.variant > 0);
        assert!(about.variant < lesson.variants.len());
        for (scenario, outcome) in lesson.asked {
            assert!(lesson.scenarios.contains(scenario), "lesson {}: {scenario}", lesson.number);
            let answer = models().answer(scenario, &[lesson.variants[about.variant]], 2).expect("runs");
            let json = kneedamp::report::page_data::answer(&answer);
            assert!(json["legs"][0]["outcomes"][outcome].is_string(), "lesson {}: {outcome}", lesson.number);
        }
    }
}

#[test]
fn page_lesson_file_is_whole() {
    let text = with_grids(&models(), english(), &|| {}).expect("computes");
    println!("the lesson file has {} bytes", text.len());
    assert!(text.len() <= LARGEST, "{} bytes", text.len());
    let data =
        text.split("id=\"precomputed\">").nth(1).and_then(|t| t.split("</script>").next()).expect("data");
    let data: Value = serde_json::from_str(&data.replace("<\\/", "</")).expect("JSON");
    for lesson in LESSONS {
        for scenario in lesson.scenarios {
            for t in lesson.grid().texts() {
                assert!(data["runs"].get(format!("{scenario}|{t}")).is_some(), "{scenario}, {t}");
                let told = format!("{scenario}|{}|{t}", lesson.variants[0]);
                assert!(data["noticed"].get(&told).is_some(), "{told}");
            }
        }
    }
    // what is told after the guess
    for lesson in LESSONS {
        let answers =
            data["results"][format!("lesson|{}", lesson.number)]["answers"].as_array().expect("answers");
        assert_eq!(answers.iter().filter(|a| a["right"] == true).count(), 1, "lesson {}", lesson.number);
        // the start does not give it away
        let put = &data["start"]["lessons"][usize::from(lesson.number) - 1];
        assert!(put["answers"].as_array().is_some_and(|a| a.iter().all(Value::is_string)), "{put}");
    }
    // challenges need any setting, and are left out
    assert_eq!(data["start"]["challenges"], serde_json::json!([]));
    // nothing is fetched: no address but the licence's and the name of the drawing language
    let rest =
        text.replace("http://www.w3.org/2000/svg", "").replace("https://github.com/leeoniya/uPlot", "");
    assert!(!rest.contains("http://") && !rest.contains("https://"));
    assert!(
        !text.contains("unsafe-inline")
            && !text.contains(" src=")
            && !text.contains("<link rel=\"stylesheet\"")
    );
    // the policy names the script and the style that stand in it
    for (tag, source) in [("<script type=\"module\">", "script-src"), ("<style>", "style-src")] {
        let end = tag.replace('<', "</").split([' ', '>']).next().expect("a tag").to_owned() + ">";
        let inside = text.split(tag).nth(1).and_then(|t| t.split(end.as_str()).next()).expect("a part");
        let hash = STANDARD.encode(Sha256::digest(inside.as_bytes()));
        assert!(text.contains(&format!("{source} 'sha256-{hash}'")), "{source}");
    }
    assert!(text.contains("The MIT License"));
}

/// The file joins the modules into one: imports on one line each, from modules before, no name twice.
#[test]
fn page_modules_can_be_joined() {
    let mut names = BTreeSet::new();
    for (i, (path, text)) in MODULES.iter().enumerate() {
        for line in text.lines() {
            if line.starts_with("import") {
                let from =
                    line.split("from \"./").nth(1).and_then(|t| t.strip_suffix("\";")).expect("one line");
                assert!(MODULES[..i].iter().any(|m| m.0 == format!("/{from}")), "{path} imports {from}");
            }
            let code = line.strip_prefix("export ").unwrap_or(line);
            for word in ["const ", "let ", "class ", "function ", "async function "] {
                if let Some(rest) = code.strip_prefix(word) {
                    let name: String =
                        rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
                    assert!(names.insert(name.clone()), "{path}: {name} is there twice");
                }
            }
        }
    }
}

#[test]
fn page_lesson_command_writes_whole_or_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("lessons.html");
    let name = file.to_str().expect("UTF-8");
    let ran = kneedamp(&["lesson", "--no-engine", "--output", name]).assert().code(0);
    let said = String::from_utf8_lossy(&ran.get_output().stderr).into_owned();
    assert!(said.contains("computed beforehand, without the engine"), "{said}");
    let text = std::fs::read_to_string(&file).expect("written");
    assert!(text.starts_with("<!doctype html>") && text.trim_end().ends_with("</html>"));
    assert!(refused(&["lesson", "--output", "no/such/folder/x.html"]).contains("no/such/folder"));
}

/// Only an engine made from the sources of this program goes into a file; one that was named and is none ends the command.
#[test]
fn page_lesson_file_carries_only_its_own_engine() {
    let with = |mark: &str| [b"\0asm\x01\0\0\0", mark.as_bytes()].concat();
    let (other, own) = ("kneedamp sources 0000000000000000", kneedamp::SOURCES);
    assert!(own.starts_with("kneedamp sources ") && own.len() == other.len() && own != other, "{own}");
    let why = |bytes: Vec<u8>| BuiltEngine::of(bytes).err().map(|e| e.to_string()).unwrap_or_default();
    assert!(why(with("")).contains("no engine"));
    assert!(why(own.into()).contains("no engine"));
    assert!(why(with(other)).contains("another version"));
    let engine = BuiltEngine::of(with(own)).expect("an engine");
    let text = with_engine(&models(), english(), &[], &engine).expect("a file");
    let packed = text.split("id=\"engine\">").nth(1).and_then(|t| t.split("</script>").next()).expect("it");
    let mut unpacked = Vec::new();
    let bytes = STANDARD.decode(packed).expect("base64");
    flate2::read::GzDecoder::new(&bytes[..]).read_to_end(&mut unpacked).expect("gzip");
    assert_eq!(unpacked, with(own));
    assert!(text.contains("'wasm-unsafe-eval'; worker-src blob:;") && !text.contains("unsafe-inline"));
    assert!(text.contains("\"start\":") && !text.contains("\"runs\":"));

    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name).to_str().expect("UTF-8").to_owned();
    std::fs::write(at("old.wasm"), with(other)).expect("written");
    for (name, said) in [("old.wasm", "another version"), ("none.wasm", "none.wasm")] {
        let refusal = refused(&["lesson", "--engine", &at(name), "--output", &at("x.html")]);
        assert!(refusal.contains(said), "{refusal}");
        assert!(!folder.path().join("x.html").exists());
    }
}
