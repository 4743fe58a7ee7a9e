//! Words that an outcome can be, and that a limit can allow.

use std::borrow::Borrow;
use std::fmt;

use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};

/// A word that an outcome can be.
///
/// ```
/// use kneedamp::scenario::OutcomeWord;
/// assert!(OutcomeWord::ALL.iter().all(|w| OutcomeWord::parse(w.as_str()) == Some(*w)));
/// assert_eq!(OutcomeWord::parse("cought"), None);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OutcomeWord {
    /// A landing on a knee that stays straight.
    Straight,
    /// A landing on a knee that bends and stops bending.
    Caught,
    /// A landing on a knee that bends far or still bends at the end.
    Doubtful,
    /// The knee folds.
    GivesWay,
    /// The knee bends under load until the other foot lands.
    Yields,
    /// The knee hardly bends.
    Holds,
    /// The hip stops moving forward.
    Stalls,
    /// Yes.
    Yes,
    /// No.
    No,
}

impl OutcomeWord {
    /// All words.
    pub const ALL: [Self; 9] = [
        Self::Straight,
        Self::Caught,
        Self::Doubtful,
        Self::GivesWay,
        Self::Yields,
        Self::Holds,
        Self::Stalls,
        Self::Yes,
        Self::No,
    ];

    /// The word in scenario files and reports.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Straight => "straight",
            Self::Caught => "caught",
            Self::Doubtful => "doubtful",
            Self::GivesWay => "gives way",
            Self::Yields => "yields",
            Self::Holds => "holds",
            Self::Stalls => "stalls",
            Self::Yes => "yes",
            Self::No => "no",
        }
    }

    /// The word of this text.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|w| w.as_str() == text)
    }
}

impl fmt::Display for OutcomeWord {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

impl From<OutcomeWord> for String {
    fn from(word: OutcomeWord) -> Self {
        word.as_str().to_owned()
    }
}

/// For `join` on a list of words.
impl Borrow<str> for OutcomeWord {
    fn borrow(&self) -> &str {
        self.as_str()
    }
}

impl Serialize for OutcomeWord {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.as_str())
    }
}

impl<'de> Deserialize<'de> for OutcomeWord {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        Self::parse(&text).ok_or_else(|| {
            D::Error::custom(format!("'{text}' is none of the words {}", Self::ALL.join(", ")))
        })
    }
}

#[cfg(feature = "app")]
impl schemars::JsonSchema for OutcomeWord {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "OutcomeWord".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        let words = Self::ALL.map(Self::as_str);
        schemars::json_schema!({ "type": "string", "enum": words })
    }
}
