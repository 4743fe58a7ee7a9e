//! Variants: changes of a base set-up, written as `KEY=VALUE,…`.
//!
//! A key is an input of [`INPUTS`], or `person`, `prosthesis`, `knee` with a name or path. [`parse`] gives the
//! changes as written, [`Variant::resolve`] reads their models. Models are replaced first, then values in the
//! order written: `mass_kg=60,person=50-kg` is that person at 60 kg.

use super::inputs::{INPUTS, Input};
use super::setup::{Case, Setup};
use crate::body::{Person, Prosthesis};
use crate::error::SimError;
use crate::joint::{KneeFile, SettingName};
use crate::scenario::Scenario;
use crate::units::{comma_hint, number};

/// A model that a variant can exchange.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Model {
    /// The person.
    Person,
    /// The prosthesis below the knee axis.
    Prosthesis,
    /// The knee.
    Knee,
}

impl Model {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Person, Self::Prosthesis, Self::Knee];

    /// Key in a variant.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Person => "person",
            Self::Prosthesis => "prosthesis",
            Self::Knee => "knee",
        }
    }
}

/// One change as written; a model is still a name.
#[derive(Debug, Clone)]
pub enum WrittenChange {
    /// A model by name or path.
    Model(Model, String),
    /// A value of an input.
    Value(&'static Input, f64),
}

/// One change.
#[derive(Debug, Clone)]
pub enum Change {
    /// Another person.
    Person(Box<Person>),
    /// Another prosthesis.
    Prosthesis(Box<Prosthesis>),
    /// Another knee.
    Knee(Box<KneeFile>),
    /// Another value of an input.
    Value(&'static Input, f64),
}

/// Changes of a base set-up.
#[derive(Debug, Clone, Default)]
pub struct Variant {
    /// As written; empty for the base itself.
    pub written: String,
    /// Changes.
    pub changes: Vec<Change>,
}

/// Parses `KEY=VALUE,…`; an empty text changes nothing.
///
/// # Errors
/// No `=`, an unknown key, a key given twice, a value that is no number or outside its range.
///
/// ```
/// use kneedamp::case::variant::parse;
/// assert_eq!(parse("swing-flexion=80, person=50-kg").unwrap().len(), 2);
/// assert!(parse("").unwrap().is_empty());
/// assert!(parse("swing-flexion=180").is_err());
/// ```
pub fn parse(text: &str) -> Result<Vec<WrittenChange>, SimError> {
    let mut written: Vec<WrittenChange> = Vec::new();
    if text.trim().is_empty() {
        return Ok(written);
    }
    let mut before = None;
    for pair in text.split(',').map(str::trim) {
        let one = parse_pair(pair, before.replace(pair))?;
        if written.iter().any(|w| w.key() == one.key()) {
            return Err(SimError::Usage(format!("{} is given twice", one.key())));
        }
        written.push(one);
    }
    Ok(written)
}

fn parse_pair(pair: &str, before: Option<&str>) -> Result<WrittenChange, SimError> {
    let usage = || {
        let hint = comma_hint(before, pair);
        SimError::Usage(format!("'{}': wanted KEY=VALUE{hint}; keys: {}", cut(pair), known()))
    };
    let (key, value) = pair.split_once('=').ok_or_else(usage)?;
    let (key, value) = (key.trim(), value.trim());
    if let Some(model) = Model::ALL.into_iter().find(|m| m.as_str() == key) {
        return if value.is_empty() {
            Err(usage())
        } else {
            Ok(WrittenChange::Model(model, value.to_owned()))
        };
    }
    let input = INPUTS.iter().find(|i| i.key == key).ok_or_else(|| SimError::Unknown {
        kind: "input",
        name: cut(key),
        known: known(),
    })?;
    Ok(WrittenChange::Value(input, number(key, value, input.least..=input.most, input.unit)?))
}

/// The first 60 characters of a wrong text, for its error.
fn cut(text: &str) -> String {
    text.chars().take(60).collect()
}

fn known() -> String {
    let models = Model::ALL.into_iter().map(Model::as_str);
    models.chain(INPUTS.iter().map(|i| i.key)).collect::<Vec<_>>().join(", ")
}

impl WrittenChange {
    fn key(&self) -> &'static str {
        match self {
            Self::Model(m, _) => m.as_str(),
            Self::Value(i, _) => i.key,
        }
    }
}

impl Change {
    /// The changed item and its value, in words.
    #[must_use]
    pub fn in_words(&self) -> String {
        match self {
            Self::Person(p) => format!("person {} ({:.0} kg, {:.2} m)", p.name, p.mass_kg, p.stature_m()),
            Self::Prosthesis(p) => format!("prosthesis {}", p.name),
            Self::Knee(k) => format!("knee {}", k.name),
            Self::Value(i, v) => {
                let name = if SettingName::parse(i.key).is_some() { i.key } else { i.label };
                format!("{name} {v} {}", i.unit).trim_end().to_owned()
            }
        }
    }

    /// Its key.
    #[must_use]
    pub fn key(&self) -> &'static str {
        match self {
            Self::Person(_) => Model::Person.as_str(),
            Self::Prosthesis(_) => Model::Prosthesis.as_str(),
            Self::Knee(_) => Model::Knee.as_str(),
            Self::Value(i, _) => i.key,
        }
    }

    fn model(&self, setup: &mut Setup) {
        match self {
            Self::Person(p) => setup.person = (**p).clone(),
            Self::Prosthesis(p) => setup.prosthesis = (**p).clone(),
            Self::Knee(k) => setup.knee = (**k).clone(),
            Self::Value(..) => {}
        }
    }
}

impl Variant {
    /// The text as written, or a word for the base.
    #[must_use]
    pub fn name(&self) -> &str {
        if self.written.is_empty() { "as it is" } else { &self.written }
    }

    /// The base with these changes, in a scenario.
    ///
    /// # Errors
    /// A value outside its range.
    pub fn case(&self, base: &Setup, scenario: &Scenario) -> Result<Case, SimError> {
        let mut case = Case { setup: base.clone(), scenario: scenario.clone() };
        for change in &self.changes {
            change.model(&mut case.setup);
        }
        for change in &self.changes {
            if let Change::Value(input, value) = change {
                case.set(input.key, *value)?;
            }
        }
        Ok(case)
    }

    /// The variant of a parsed text; `read` gives the model of a name.
    ///
    /// # Errors
    /// Those of `read`.
    pub fn resolve(
        text: &str,
        written: Vec<WrittenChange>,
        read: impl Fn(Model, &str) -> Result<Change, SimError>,
    ) -> Result<Self, SimError> {
        let change = |w: WrittenChange| match w {
            WrittenChange::Value(input, value) => Ok(Change::Value(input, value)),
            WrittenChange::Model(model, name) => read(model, &name),
        };
        let changes = written.into_iter().map(change).collect::<Result<_, _>>()?;
        Ok(Self { written: text.trim().to_owned(), changes })
    }

    /// A variant of values only, without models.
    ///
    /// # Errors
    /// As [`parse`]; a model.
    pub fn of_values(text: &str) -> Result<Self, SimError> {
        let refuse = |m: Model, _: &str| Err(SimError::Usage(format!("{} is no value", m.as_str())));
        Self::resolve(text, parse(text)?, refuse)
    }

    /// In words, the values of this variant and those of the set-up `now`, as `a → b`.
    #[must_use]
    pub fn from_to(&self, now: &Setup, scenario: &Scenario) -> String {
        let case = Case { setup: now.clone(), scenario: scenario.clone() };
        let from_to = |c: &Change| {
            let to = match c {
                Change::Person(_) => format!("person {}", now.person.name),
                Change::Prosthesis(_) => format!("prosthesis {}", now.prosthesis.name),
                Change::Knee(_) => format!("knee {}", now.knee.name),
                Change::Value(i, _) => case.get(i.key).map_or_else(
                    || "as it is".into(),
                    // no setting needs more than four decimals
                    |v| format!("{} {}", (v * 1e4).round() / 1e4, i.unit).trim_end().to_owned(),
                ),
            };
            format!("{} → {to}", c.in_words())
        };
        self.changes.iter().map(from_to).collect::<Vec<_>>().join("; ")
    }

    /// Each change on its own, in order.
    #[must_use]
    pub fn one_by_one(&self) -> Vec<Self> {
        let alone = |c: &Change| Self { written: c.key().to_owned(), changes: vec![c.clone()] };
        self.changes.iter().map(alone).collect()
    }
}
