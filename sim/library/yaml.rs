//! Reading and writing models as YAML. The only file that names the YAML crate.

use std::io::Read;
use std::path::Path;

use serde::{Serialize, Serializer};
use serde_json::Value as Json;

use super::error_lines::{clipped, in_text};
use super::kind::{Kind, Model};
use crate::body::{Person, Prosthesis};
use crate::error::SimError;
use crate::joint::KneeFile;
use crate::scenario::uncertainty_file::UncertaintyFile;
use crate::scenario::{DriveFile, Scenario};
use crate::units::number_hint;

/// Files larger than this are refused before parsing, bytes.
pub const LARGEST_FILE: u64 = 256 * 1024;
/// Tables of measurements may be so large, bytes: minutes of walking at a thousand samples a second.
const LARGEST_TABLE: u64 = 16 * 1024 * 1024;

/// Results may be so large, bytes: some ten times what `run` writes of all scenarios.
const LARGEST_RESULT: u64 = 4 * 1024 * 1024;

/// Where the shell puts what it pipes in: there the writer is at work already.
const PIPED_IN: [&str; 3] = ["/dev/stdin", "/dev/fd/", "/proc/self/fd/"];

/// Reads a text file of at most [`LARGEST_FILE`] bytes.
///
/// # Errors
/// Not readable, not a file (a named pipe would wait for its writer), too large, not UTF-8.
pub fn read_text(path: &Path) -> Result<String, SimError> {
    read_up_to(path, LARGEST_FILE)
}

/// Reads a table of measurements, of at most 16 MiB.
///
/// # Errors
/// As [`read_text`].
pub fn read_table(path: &Path) -> Result<String, SimError> {
    read_up_to(path, LARGEST_TABLE)
}

/// Reads a result, of at most 4 MiB.
///
/// # Errors
/// As [`read_text`].
pub fn read_result(path: &Path) -> Result<String, SimError> {
    read_up_to(path, LARGEST_RESULT)
}

fn read_up_to(path: &Path, most: u64) -> Result<String, SimError> {
    let failed = |why: String| SimError::File { path: path.display().to_string(), why };
    let piped_in = PIPED_IN.iter().any(|p| path.to_string_lossy().starts_with(p));
    if !piped_in && !std::fs::metadata(path).map_err(|e| failed(e.to_string()))?.is_file() {
        return Err(failed("not a file with text: a folder, a named pipe or a device".into()));
    }
    let file = std::fs::File::open(path).map_err(|e| failed(e.to_string()))?;
    let mut bytes = Vec::new();
    file.take(most + 1).read_to_end(&mut bytes).map_err(|e| failed(e.to_string()))?;
    if bytes.len() as u64 > most {
        return Err(failed(format!("larger than {} KiB", most / 1024)));
    }
    let text = String::from_utf8(bytes)
        .map_err(|e| failed(format!("not UTF-8 text (byte {})", e.utf8_error().valid_up_to())))?;
    Ok(text.strip_prefix('\u{feff}').map_or_else(|| text.clone(), str::to_owned))
}

/// Parses and checks a model; errors name file, line and field.
///
/// # Errors
/// What is wrong and where.
pub fn parse<M: Model>(text: &str, origin: &str) -> Result<M, SimError> {
    let in_file = |line: Option<u64>, cause: SimError| SimError::InFile {
        file: origin.to_owned(),
        line,
        cause: Box::new(cause),
    };
    if text.trim().is_empty() {
        return Err(in_file(
            None,
            SimError::Syntax(format!("the file is empty; a {} is wanted", M::KIND.as_str())),
        ));
    }
    let tree: Option<Json> = serde_yaml::from_str_with_options(text, options()).ok();
    if let Some(other) = kind_of(text, tree.as_ref()).1.filter(|k| *k != M::KIND) {
        return Err(in_file(None, SimError::Syntax(format!("this file {}", M::KIND.but_is(other)))));
    }
    let model: M = serde_yaml::from_str_with_options(text, options()).map_err(|e| {
        let line = e.location().map(|l| l.line()).filter(|&l| l > 0);
        let hint = line.and_then(|l| hint_in_line(text, l)).map_or_else(String::new, |h| format!("; {h}"));
        // the reader's advice to its programmer is none for the user
        let said =
            e.without_snippet().to_string().replace(", set DuplicateKeyPolicy in Options if acceptable", "");
        in_file(line, SimError::Syntax(said + &hint))
    })?;
    tree.map_or(Ok(()), |tree| check_texts(&tree, "")).map_err(|e| in_text(text, origin, e))?;
    model.check_model().map_err(|e| in_text(text, origin, e))?;
    Ok(model)
}

/// Reads a built-in file that is no model.
///
/// # Errors
/// What is wrong in it.
pub fn read_map<T: serde::de::DeserializeOwned>(text: &str, origin: &str) -> Result<T, SimError> {
    serde_yaml::from_str_with_options(text, options()).map_err(|e| SimError::Syntax(format!("{origin}: {e}")))
}

/// Refuses control characters, which would act on a terminal or break a picture; longer texts may have line breaks.
///
/// # Errors
/// The first one, with its field.
pub fn check_texts(tree: &Json, field: &str) -> Result<(), SimError> {
    match tree {
        Json::Object(map) => map.iter().try_for_each(|(key, value)| {
            let field = if field.is_empty() { key.clone() } else { format!("{field}.{key}") };
            check_texts(value, &field)
        }),
        Json::Array(list) => {
            list.iter().enumerate().try_for_each(|(i, value)| check_texts(value, &format!("{field}[{i}]")))
        }
        Json::String(said) => {
            let one_line = field == "name" || field.ends_with("label");
            let breaks = |c: &char| !one_line && ['\n', '\t'].contains(c);
            match said.chars().find(|c| (c.is_control() || turns_the_line(*c)) && !breaks(c)) {
                None => Ok(()),
                Some(c) => Err(SimError::Inconsistent {
                    field: field.to_owned(),
                    why: format!("control character U+{:04X}; plain text is wanted", u32::from(c)),
                }),
            }
        }
        _ => Ok(()),
    }
}

/// Characters that turn the direction of a line, or break it.
fn turns_the_line(c: char) -> bool {
    matches!(c, '\u{2028}' | '\u{2029}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// How to write the number behind the key of a line; none where it is written well.
fn hint_in_line(text: &str, line: u64) -> Option<String> {
    let line = text.lines().nth(usize::try_from(line).ok()?.checked_sub(1)?)?;
    let value = line.split_once(": ")?.1.split(" #").next()?.trim();
    if value.parse::<f64>().is_ok() { None } else { number_hint(value, "") }
}

/// What stands behind `kind:`, in a text that cannot be parsed at the start of a line, and the kind that it names.
fn kind_of(text: &str, tree: Option<&Json>) -> (Option<String>, Option<Kind>) {
    let at_start = || text.lines().find_map(|l| l.strip_prefix("kind:"));
    let written = match tree {
        Some(tree) => tree.get("kind").map(|k| k.as_str().map_or_else(|| k.to_string(), str::to_owned)),
        None => at_start().map(|v| v.split('#').next().unwrap_or("").trim().to_owned()),
    };
    let kind = Kind::ALL.into_iter().find(|k| written.as_deref() == Some(k.as_str()));
    (written, kind)
}

/// Checks a file of any kind; gives the kind.
///
/// # Errors
/// As [`parse`]; a file that does not begin with a known `kind`.
pub fn check_text(text: &str, origin: &str) -> Result<Kind, SimError> {
    let tree: Option<Json> = serde_yaml::from_str_with_options(text, options()).ok();
    let (written, kind) = kind_of(text, tree.as_ref());
    match kind {
        Some(Kind::Knee) => parse::<KneeFile>(text, origin).map(|_| Kind::Knee),
        Some(Kind::Person) => parse::<Person>(text, origin).map(|_| Kind::Person),
        Some(Kind::Prosthesis) => parse::<Prosthesis>(text, origin).map(|_| Kind::Prosthesis),
        Some(Kind::Drive) => parse::<DriveFile>(text, origin).map(|_| Kind::Drive),
        Some(Kind::Scenario) => parse::<Scenario>(text, origin).map(|_| Kind::Scenario),
        Some(Kind::Uncertainty) => parse::<UncertaintyFile>(text, origin).map(|_| Kind::Uncertainty),
        None => Err(SimError::InFile {
            file: origin.to_owned(),
            line: None,
            cause: Box::new(SimError::Inconsistent {
                field: "kind".into(),
                why: format!(
                    "{} one of: knee, person, prosthesis, drive, uncertainty, scenario",
                    written.map_or("missing; wanted is".to_owned(), |w| format!(
                        "'{}' is none; wanted is",
                        clipped(&w)
                    ))
                ),
            }),
        }),
    }
}

fn options() -> serde_yaml::Options {
    let budget = serde_yaml::budget! {
        max_aliases: 0,
        max_anchors: 0,
        max_depth: 20,
        max_documents: 1,
        max_nodes: 20_000,
        max_events: 50_000,
    };
    serde_yaml::options! {
        budget: budget,
        with_snippet: false,
        strict_booleans: true,
    }
}

/// A model as YAML, with each list of numbers on one line.
///
/// # Errors
/// A value that YAML cannot express.
pub fn to_yaml(model: &impl Serialize) -> Result<String, SimError> {
    let tree = serde_json::to_value(model).map_err(|e| SimError::Syntax(e.to_string()))?;
    serde_yaml::to_string(&Layout(&tree)).map_err(|e| SimError::Syntax(e.to_string()))
}

/// A tree of values whose lists of numbers are written on one line.
struct Layout<'a>(&'a Json);

impl Serialize for Layout<'_> {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        match self.0 {
            Json::Array(list) if list.iter().all(Json::is_number) => serde_yaml::FlowSeq(list).serialize(s),
            Json::Array(list) => s.collect_seq(list.iter().map(Layout)),
            Json::Object(map) => s.collect_map(map.iter().map(|(key, value)| (key, Layout(value)))),
            other => other.serialize(s),
        }
    }
}
