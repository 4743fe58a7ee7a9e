//! The engine of the lesson file: the questions that the page asks, answered in the browser by the same code as behind
//! the routes of `kneedamp serve`.
//!
//! Three functions. [`room`] gives room for a question, [`ask`] takes it and gives the answer, [`release`] takes the
//! answer back. A question is its name, a line break and its body; an answer is its length as four bytes, the lowest
//! first, and a JSON text, `{"error"}` where there is none. The first question is `begin` with the user's own files; the
//! others are those of `kneedamp::serve::questions`. The exported symbols are why this is a crate of its own: the
//! library forbids what they need.

use std::sync::OnceLock;

use kneedamp::library::{Library, UserFile};
use kneedamp::serve::questions::{Answers, Question};
use kneedamp::teaching::ModelSet;

/// Bytes in front of an answer that hold its length.
const LENGTH: usize = 4;

/// The models, once begun.
static ANSWERS: OnceLock<Answers> = OnceLock::new();

/// Which sources this was made from, for the program that puts it in a file.
#[cfg_attr(target_family = "wasm", unsafe(link_section = "kneedamp-sources"))]
#[used]
static SOURCES: [u8; kneedamp::SOURCES.len()] = {
    let mut bytes = [0; kneedamp::SOURCES.len()];
    bytes.copy_from_slice(kneedamp::SOURCES.as_bytes());
    bytes
};

/// Room for a question of this many bytes.
#[unsafe(no_mangle)]
pub extern "C" fn room(length: usize) -> *mut u8 {
    Box::into_raw(vec![0_u8; length].into_boxed_slice()).cast()
}

/// Answers a question, and takes its room.
///
/// # Safety
/// The room is one that [`room`] gave with this length, and is not used again.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn ask(question: *mut u8, length: usize) -> *mut u8 {
    // SAFETY: as this function asks for
    let question = unsafe { Box::from_raw(std::ptr::slice_from_raw_parts_mut(question, length)) };
    let text = answer(&question).unwrap_or_else(|why| serde_json::json!({ "error": why }).to_string());
    let length = u32::try_from(text.len()).unwrap_or(0).to_le_bytes();
    let bytes: Vec<u8> = length.into_iter().chain(text.into_bytes()).collect();
    Box::into_raw(bytes.into_boxed_slice()).cast()
}

/// Takes an answer back.
///
/// # Safety
/// It is one that [`ask`] gave, and is not used again.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn release(answer: *mut u8) {
    // SAFETY: an answer begins with its length
    unsafe {
        let length = u32::from_le_bytes(*answer.cast::<[u8; LENGTH]>()) as usize;
        drop(Box::from_raw(std::ptr::slice_from_raw_parts_mut(answer, LENGTH + length)));
    }
}

fn answer(question: &[u8]) -> Result<String, String> {
    let end = question.iter().position(|b| *b == b'\n').unwrap_or(question.len());
    let name = std::str::from_utf8(&question[..end]).map_err(|e| e.to_string())?;
    let body = question.get(end + 1..).unwrap_or_default();
    if name == "begin" {
        return begin(body);
    }
    let answers = ANSWERS.get().ok_or("the engine has not begun")?;
    answers.to(&Question::read(name, body)?).map_err(|e| e.to_string())
}

/// Reads the models, with the user's own files among them.
fn begin(body: &[u8]) -> Result<String, String> {
    let handed_over: Vec<UserFile> = serde_json::from_slice(body).map_err(|e| e.to_string())?;
    let library = Library { handed_over, ..Library::default() };
    let answers = ModelSet::of(&library).and_then(Answers::of).map_err(|e| e.to_string())?;
    ANSWERS.set(answers).map_err(|_| "the engine has begun already")?;
    Ok("{}".into())
}
