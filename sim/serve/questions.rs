//! The questions of the page and their answers as JSON. Behind the routes of `serve` and in the engine of the lesson
//! file, so that both say the same.

use std::time::Instant;

use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::Value as Json;

use super::measured::AskMeasured;
use crate::error::SimError;
use crate::library::{Kind, Library, parse};
use crate::report::{page_data, teaching_data};
use crate::scenario::uncertainty_file::UncertaintyFile;
use crate::teaching::model_set::ModelSet;
use crate::words::{Words, first_language};

/// Frames of an animation.
pub const FRAMES: usize = 400;

/// What is asked.
#[derive(Debug)]
pub enum Question {
    /// `answer`: legs in a scenario.
    Legs(AskLegs),
    /// `result`: which answer of a lesson is right, or what `adjust` needs for a challenge.
    Result(AskResult),
    /// `curve`: a measured curve beside the model.
    Curve(AskMeasured),
    /// `next`: ranked steps.
    Next(AskMeasured),
}

/// A scenario, and the changes of each leg as `KEY=VALUE,…`.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AskLegs {
    scenario: String,
    legs: Vec<String>,
    #[serde(default = "first_language")]
    lang: String,
}

/// A lesson or a challenge, and its number.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AskResult {
    of: String,
    number: u8,
    #[serde(default = "first_language")]
    lang: String,
}

impl Question {
    /// Reads the body of a question of this name.
    ///
    /// # Errors
    /// Why it is no question.
    pub fn read(name: &str, body: &[u8]) -> Result<Self, String> {
        fn of<Q: DeserializeOwned>(body: &[u8]) -> Result<Q, String> {
            serde_json::from_slice(body).map_err(|e| format!("not a question: {e}"))
        }
        match name {
            "answer" => of(body).map(Self::Legs),
            "result" => of(body).map(Self::Result),
            "curve" => of(body).map(Self::Curve),
            "next" => of(body).map(Self::Next),
            _ => Err(format!("'{name}' cannot be asked")),
        }
    }

    /// The words of the language that the answer is wanted in.
    fn words(&self) -> Result<&'static Words, SimError> {
        Words::of(match self {
            Self::Legs(ask) => &ask.lang,
            Self::Result(ask) => &ask.lang,
            Self::Curve(ask) | Self::Next(ask) => &ask.lang,
        })
    }
}

/// Everything that answers need.
#[derive(Debug)]
pub struct Answers {
    /// Models and scenarios.
    pub models: ModelSet,
    /// The shipped ranges of what is uncertain.
    ranges: UncertaintyFile,
}

impl Answers {
    /// From these models.
    ///
    /// # Errors
    /// The shipped ranges are part of the program; one that is wrong in itself.
    pub fn of(models: ModelSet) -> Result<Self, SimError> {
        let (text, origin) = Library::default().text(Kind::Uncertainty, "default")?;
        Ok(Self { models, ranges: parse(&text, &origin)? })
    }

    /// The same for an answer that has to be there at this instant.
    #[must_use]
    pub fn until(&self, deadline: Instant) -> Self {
        Self { models: self.models.until(deadline), ranges: self.ranges.clone() }
    }

    /// The answer as JSON, in the language of the question.
    ///
    /// # Errors
    /// What is wrong in the question; a run that fails as a whole; [`SimError::Stopped`] after the deadline.
    pub fn to(&self, question: &Question) -> Result<String, SimError> {
        let words = question.words()?;
        match self.found(question, words) {
            Ok(answer) => Ok(words.answer(answer).to_string()),
            Err(e @ SimError::Stopped) => Err(e),
            Err(e) => Err(words.error(&e)),
        }
    }

    fn found(&self, question: &Question, words: &Words) -> Result<Json, SimError> {
        match question {
            Question::Legs(ask) => {
                Ok(page_data::answer(&self.models.answer(&ask.scenario, &ask.legs, FRAMES)?))
            }
            Question::Result(ask) => teaching_data::result(&self.models, words, &ask.of, ask.number),
            Question::Curve(ask) => ask.curve(&self.models),
            Question::Next(ask) => ask.steps(&self.models, &self.ranges),
        }
    }
}
