//! Variants: what is changed against a base, written as `KEY=VALUE,…`.
//!
//! A key is an input of [`INPUTS`], or `person`, `prosthesis`, `knee` with a name or path.
//! Reading a text gives [`Wanted`] changes; whoever can read files turns them into [`Change`]s. Models are
//! put in first, then values in the order written, so that `mass_kg=60,person=50-kg` is that person at 60 kg.

use super::inputs::{Case, INPUTS, Input};
use super::setup::Setup;
use crate::body::{Person, Prosthesis};
use crate::error::SimError;
use crate::joint::{KneeFile, SettingName};
use crate::scenario::Scenario;
use crate::units::within;

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

/// One change as written.
#[derive(Debug, Clone)]
pub enum Wanted {
    /// A model by name or path.
    Model(Model, String),
    /// A value of an input.
    Value(&'static Input, f64),
}

/// One change that can be made.
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

/// What is changed against a base.
#[derive(Debug, Clone, Default)]
pub struct Variant {
    /// As written; empty for the base itself.
    pub written: String,
    /// Changes.
    pub changes: Vec<Change>,
}

/// Reads `KEY=VALUE,…`; an empty text changes nothing.
///
/// # Errors
/// No `=`, an unknown key, a key given twice, a value that is no number or outside its range.
///
/// ```
/// use crate::case::variant::parse;
/// assert_eq!(parse("swing-flexion=80, person=50-kg").unwrap().len(), 2);
/// assert!(parse("").unwrap().is_empty());
/// assert!(parse("swing-flexion=180").is_err());
/// ```
pub fn parse(text: &str) -> Result<Vec<Wanted>, SimError> {
    let mut wanted: Vec<Wanted> = Vec::new();
    if text.trim().is_empty() {
        return Ok(wanted);
    }
    for pair in text.split(',') {
        let one = parse_pair(pair.trim())?;
        if wanted.iter().any(|w| w.key() == one.key()) {
            return Err(SimError::Usage(format!("{} is given twice", one.key())));
        }
        wanted.push(one);
    }
    Ok(wanted)
}

fn parse_pair(pair: &str) -> Result<Wanted, SimError> {
    let usage = || SimError::Usage(format!("'{}': wanted KEY=VALUE; keys: {}", cut(pair), known()));
    let (key, value) = pair.split_once('=').ok_or_else(usage)?;
    let (key, value) = (key.trim(), value.trim());
    if let Some(model) = Model::ALL.into_iter().find(|m| m.as_str() == key) {
        return if value.is_empty() { Err(usage()) } else { Ok(Wanted::Model(model, value.to_owned())) };
    }
    let input = INPUTS.iter().find(|i| i.key == key).ok_or_else(|| SimError::Unknown {
        kind: "input",
        name: cut(key),
        known: known(),
    })?;
    let number: f64 = value.trim_end_matches('%').parse().map_err(|_| SimError::OutOfRange {
        field: key.to_owned(),
        value: format!("'{}'", cut(value)),
        allowed: format!("{} to {}", input.least, input.most),
    })?;
    Ok(Wanted::Value(input, within(key, number, input.least..=input.most)?))
}

/// What is said back of a text that is wrong: its first 60 characters.
fn cut(text: &str) -> String {
    text.chars().take(60).collect()
}

fn known() -> String {
    let models = Model::ALL.into_iter().map(Model::as_str);
    models.chain(INPUTS.iter().map(|i| i.key)).collect::<Vec<_>>().join(", ")
}

impl Wanted {
    fn key(&self) -> &'static str {
        match self {
            Self::Model(m, _) => m.as_str(),
            Self::Value(i, _) => i.key,
        }
    }
}

impl Change {
    /// What is changed to what, in words.
    #[must_use]
    pub fn said(&self) -> String {
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
    /// As written, or a word for the base.
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

    /// A variant that names values only, no models.
    ///
    /// # Errors
    /// As [`parse`]; a model, which only whoever reads files can give.
    pub fn of_values(text: &str) -> Result<Self, SimError> {
        let value = |w: Wanted| match w {
            Wanted::Value(input, value) => Ok(Change::Value(input, value)),
            Wanted::Model(m, _) => Err(SimError::Usage(format!("{} is no value", m.as_str()))),
        };
        let changes = parse(text)?.into_iter().map(value).collect::<Result<_, _>>()?;
        Ok(Self { written: text.trim().to_owned(), changes })
    }

    /// What it was with these changes and what the set-up is without them, in words.
    #[must_use]
    pub fn from_to(&self, now: &Setup, scenario: &Scenario) -> String {
        let case = Case { setup: now.clone(), scenario: scenario.clone() };
        let said = |c: &Change| {
            let to = match c {
                Change::Person(_) => format!("person {}", now.person.name),
                Change::Prosthesis(_) => format!("prosthesis {}", now.prosthesis.name),
                Change::Knee(_) => format!("knee {}", now.knee.name),
                Change::Value(i, _) => case.get(i.key).map_or_else(
                    || "as it is".into(),
                    // four digits are more than anyone sets
                    |v| format!("{} {}", (v * 1e4).round() / 1e4, i.unit).trim_end().to_owned(),
                ),
            };
            format!("{} → {to}", c.said())
        };
        self.changes.iter().map(said).collect::<Vec<_>>().join("; ")
    }

    /// Each change on its own, in order.
    #[must_use]
    pub fn one_by_one(&self) -> Vec<Self> {
        let alone = |c: &Change| Self { written: c.key().to_owned(), changes: vec![c.clone()] };
        self.changes.iter().map(alone).collect()
    }
}
