//! What a lesson is; its runs, what its answers ask of them, and the numbers with which its words are filled. Which answer
//! is right is read off the runs; no row of the registry says it.

use super::model_set::{LegRunView, LegRuns, ModelSet};
use crate::error::SimError;
use crate::outcome::{Assessment, LimitVerdict, Metric, OutcomeWord, Value, metric};

/// Letters of the variants.
const LETTERS: &str = "ABCD";
/// An answer needs no picture of the motion: its first and last frame.
const FRAMES: usize = 2;

/// An answer to choose before the reveal.
#[derive(Debug, Clone, Copy)]
pub struct Answer {
    /// Its key among the words of the lesson: what it says, and what is told to who has chosen it, right or not, a template
    /// of [`LessonRuns::fill`].
    pub key: &'static str,
    /// Whether the runs bear it out.
    pub is_right: fn(&LessonRuns) -> bool,
}

/// The run that the question is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct About {
    /// Scenario by name.
    pub scenario: &'static str,
    /// Place of the variant in the lesson, 0 is A.
    pub variant: usize,
}

/// One lesson.
#[derive(Debug, Clone, Copy)]
pub struct Lesson {
    /// Number, from 1.
    pub number: u8,
    /// Which run the question is about.
    pub about: About,
    /// Three or four answers, of which the runs bear out exactly one.
    pub answers: &'static [Answer],
    /// Scenario and outcome of each number that the question is about.
    pub asked: &'static [(&'static str, &'static str)],
    /// Scenarios by name.
    pub scenarios: &'static [&'static str],
    /// Two to four variants as `KEY=VALUE,…`, the first the one compared with.
    pub variants: &'static [&'static str],
}

/// Every variant of a lesson in each of its scenarios.
#[derive(Debug)]
pub struct LessonRuns {
    /// The lesson.
    pub lesson: &'static Lesson,
    runs: Vec<LegRuns>,
}

/// An outcome that a lesson's question is about: its limits, and each variant's value.
#[derive(Debug, PartialEq, Eq)]
pub struct AskedRow {
    /// Scenario.
    pub scenario: &'static str,
    /// The outcome, for people.
    pub label: String,
    /// Its limits; empty where it has none.
    pub bounds: String,
    /// Value of each variant, with the verdict where a limit does not hold.
    pub values: Vec<String>,
}

impl LessonRuns {
    /// Runs a lesson.
    ///
    /// # Errors
    /// As [`ModelSet::answer`].
    pub fn of(models: &ModelSet, lesson: &'static Lesson) -> Result<Self, SimError> {
        let run = |s: &&str| models.answer(s, lesson.variants, FRAMES);
        Ok(Self { lesson, runs: lesson.scenarios.iter().map(run).collect::<Result<_, _>>()? })
    }

    fn view(&self, scenario: &str, letter: char) -> Option<&LegRunView> {
        let legs = self.runs.iter().find(|r| r.scenario.name == scenario)?;
        legs.legs.get(LETTERS.find(letter)?)?.as_ref().ok().map(AsRef::as_ref)
    }

    fn assessment(&self, scenario: &str, letter: char) -> Option<&Assessment> {
        self.view(scenario, letter).map(|v| &v.assessment)
    }

    fn value(&self, scenario: &str, letter: char, outcome: &str) -> Option<Value> {
        self.assessment(scenario, letter)?.outcomes.get(outcome)
    }

    /// A number; NaN where there is none, with which every comparison is false.
    #[must_use]
    pub fn number(&self, scenario: &str, letter: char, outcome: &str) -> f64 {
        self.value(scenario, letter, outcome).and_then(Value::as_number).unwrap_or(f64::NAN)
    }

    /// How much more an outcome is than that of the first variant.
    #[must_use]
    pub fn more(&self, scenario: &str, letter: char, outcome: &str) -> f64 {
        self.number(scenario, letter, outcome) - self.number(scenario, 'A', outcome)
    }

    /// An outcome is a word.
    #[must_use]
    pub fn is(&self, scenario: &str, letter: char, outcome: &str, word: OutcomeWord) -> bool {
        self.value(scenario, letter, outcome).and_then(Value::as_word) == Some(word)
    }

    /// Every limit holds.
    #[must_use]
    pub fn holds(&self, scenario: &str, letter: char) -> bool {
        self.assessment(scenario, letter).is_some_and(Assessment::holds)
    }

    /// The limits of an outcome are there and hold.
    #[must_use]
    pub fn meets(&self, scenario: &str, letter: char, outcome: &str) -> bool {
        let mut limits = self.limits(scenario, letter, outcome).peekable();
        limits.peek().is_some() && limits.all(LimitVerdict::holds)
    }

    /// A limit of an outcome does not hold.
    #[must_use]
    pub fn misses(&self, scenario: &str, letter: char, outcome: &str) -> bool {
        self.limits(scenario, letter, outcome).any(|l| !l.holds())
    }

    fn limits<'a>(
        &'a self,
        scenario: &str,
        letter: char,
        outcome: &'a str,
    ) -> impl Iterator<Item = &'a LimitVerdict> {
        let all = self.assessment(scenario, letter).into_iter().flat_map(Assessment::binding);
        all.filter(move |l| l.limit.outcome == outcome)
    }

    /// Which answers of the lesson the runs bear out.
    #[must_use]
    pub fn right(&self) -> Vec<bool> {
        self.lesson.answers.iter().map(|a| (a.is_right)(self)).collect()
    }

    /// The outcomes that the question is about.
    ///
    /// # Errors
    /// An outcome that the registry does not have.
    pub fn asked(&self) -> Result<Vec<AskedRow>, SimError> {
        let row = |(scenario, outcome): &(&'static str, &'static str)| {
            let m = known(outcome)?;
            let cell = |letter: char| {
                let value =
                    self.value(scenario, letter, outcome).map_or("none".to_owned(), |v| m.say_short(v));
                match self.limits(scenario, letter, outcome).find(|l| !l.holds()) {
                    Some(limit) => format!("{value} ({})", limit.in_words()),
                    None => value,
                }
            };
            let letters = LETTERS.chars().take(self.lesson.variants.len());
            let bounds = self.limits(scenario, 'A', outcome).map(LimitVerdict::bounds).collect::<Vec<_>>();
            Ok(AskedRow {
                scenario,
                label: m.table_label().to_owned(),
                bounds: bounds.join(", "),
                values: letters.map(cell).collect(),
            })
        };
        self.lesson.asked.iter().map(row).collect()
    }

    /// Fills `{walk-fast.B.terminal_energy_j}` with a value, `{walk-fast.B-A.peak_flexion_deg}` with a difference, and
    /// `{walk-fast.limit.terminal_energy_j}` with the limit, each as `say` writes it.
    ///
    /// # Errors
    /// A hole that the runs cannot fill.
    pub fn fill(&self, template: &str, say: &dyn Fn(&str) -> String) -> Result<String, SimError> {
        let mut out = String::new();
        let mut rest = template;
        while let Some((before, after)) = rest.split_once('{') {
            let hole = |_| SimError::Usage(format!("lesson {}: no number for {after}", self.lesson.number));
            let (name, then) = after.split_once('}').ok_or(()).map_err(hole)?;
            out.push_str(before);
            out.push_str(&say(&self.hole(name).ok_or(()).map_err(hole)?));
            rest = then;
        }
        Ok(out + rest)
    }

    fn hole(&self, name: &str) -> Option<String> {
        let mut parts = name.split('.');
        let (scenario, what, outcome) = (parts.next()?, parts.next()?, parts.next()?);
        let m = metric(outcome)?;
        if what == "limit" {
            return Some(self.limits(scenario, 'A', outcome).next()?.bounds());
        }
        let mut letters = what.split('-').map(|l| l.chars().next());
        let letter = letters.next()??;
        let value = self.value(scenario, letter, outcome)?;
        Some(match letters.next() {
            Some(other) => m.say_difference(value.as_number()? - self.number(scenario, other?, outcome)),
            None => m.say(value),
        })
    }
}

fn known(outcome: &str) -> Result<&'static Metric, SimError> {
    metric(outcome).ok_or_else(|| SimError::Usage(format!("no outcome {outcome}")))
}
