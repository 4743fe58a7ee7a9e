//! The sliders of each lesson and their steps. The lesson file computes every combination beforehand, so the
//! steps are coarse and few; the page uses the same ones. An empty value leaves the input as it is. Every
//! variant of a lesson lies on its grid (tests/page/lessons.rs).

use super::lessons::Lesson;
use crate::case::inputs::{Case, input};
use crate::case::setup::Setup;
use crate::error::SimError;
use crate::joint::SettingName;
use crate::scenario::Scenario;

/// One input with its values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Slider {
    /// Key as in a variant.
    pub key: &'static str,
    /// Values in order; an empty one leaves the input as it is.
    pub values: &'static [&'static str],
}

/// The sliders of a lesson.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Grid {
    /// One or two inputs.
    pub sliders: &'static [Slider],
}

const FIVES: &[&str] = &[
    "0", "5", "10", "15", "20", "25", "30", "35", "40", "45", "50", "55", "60", "65", "70", "75", "80", "85",
    "90", "95", "100",
];

/// The flexion valve of the built-in knee stands at one of the steps.
const FLEXION: &[&str] = &[
    "0", "5", "10", "15", "20", "25", "30", "35", "40", "45", "", "55", "60", "65", "70", "75", "80", "85",
    "90", "95", "100",
];

/// The extension valve of the built-in knee lies between two of the steps.
const EXTENSION: &[&str] = &[
    "0", "5", "10", "15", "20", "25", "30", "35", "40", "45", "50", "", "55", "60", "65", "70", "75", "80",
    "85", "90", "95", "100",
];

const SWING_FLEXION: Grid = Grid { sliders: &[Slider { key: "swing-flexion", values: FLEXION }] };

const SWING_EXTENSION: Grid = Grid { sliders: &[Slider { key: "swing-extension", values: EXTENSION }] };

const CATCH: Grid = Grid {
    sliders: &[
        Slider {
            key: "catch-load",
            values: &[
                "0", "2", "4", "6", "8", "10", "12", "14", "16", "18", "20", "22", "24", "26", "28", "30",
            ],
        },
        Slider { key: "user_effort_n_m_per_kg", values: &["0.1", "", "0.3"] },
    ],
};

const PEOPLE: Grid = Grid {
    sliders: &[
        Slider { key: "person", values: &["50-kg", "75-kg", "100-kg"] },
        Slider { key: "catch-load", values: &["0", "5", "10", "15", "", "25", "30", "35", "40", "45", "50"] },
    ],
};

const YIELD: Grid = Grid { sliders: &[Slider { key: "stance-yield", values: FIVES }] };

const BOOTS: Grid = Grid {
    sliders: &[
        Slider { key: "foot_extra_mass_kg", values: &["", "0.25", "0.5", "0.75", "1"] },
        Slider { key: "temperature_c", values: &["0", "10", "20", "", "40"] },
    ],
};

impl Lesson {
    /// Its sliders.
    #[must_use]
    pub fn grid(&self) -> Grid {
        match self.number {
            1 | 2 => SWING_FLEXION,
            3 | 4 => SWING_EXTENSION,
            5 => CATCH,
            6 => PEOPLE,
            7 => YIELD,
            _ => BOOTS,
        }
    }
}

impl Grid {
    /// Every combination as `KEY=VALUE,…`.
    ///
    /// ```
    /// let texts = kneedamp::teaching::lessons::lesson(8).unwrap().grid().texts();
    /// assert!(texts.contains(&String::new()));
    /// assert!(texts.contains(&"foot_extra_mass_kg=0.5,temperature_c=0".to_owned()));
    /// ```
    #[must_use]
    pub fn texts(&self) -> Vec<String> {
        let mut all = vec![String::new()];
        for slider in self.sliders {
            all = all
                .iter()
                .flat_map(|before| slider.values.iter().map(move |v| joined(before, slider.key, v)))
                .collect();
        }
        all
    }
}

fn joined(before: &str, key: &str, value: &str) -> String {
    match (before.is_empty(), value.is_empty()) {
        (_, true) => before.to_owned(),
        (true, false) => format!("{key}={value}"),
        (false, false) => format!("{before},{key}={value}"),
    }
}

impl Slider {
    /// What it is, for people.
    #[must_use]
    pub fn label(&self) -> &'static str {
        input(self.key).map_or("person", |i| i.label)
    }

    /// The values in words; for an empty one, the value of the set-up.
    ///
    /// # Errors
    /// A set-up that is wrong in itself.
    pub fn values_in_words(&self, setup: &Setup, scenario: &Scenario) -> Result<Vec<String>, SimError> {
        let unit = input(self.key).map_or("", |i| i.unit);
        let case = Case { setup: setup.clone(), scenario: scenario.clone() };
        let resolved = setup.resolve()?;
        let own = match SettingName::parse(self.key) {
            Some(name) => resolved.knee.settings.get(name).map(|s| s.pct().round()),
            None => case.get(self.key),
        };
        let own = own.map_or("as it is".to_owned(), |v| format!("{v} {unit}, as it is"));
        let in_words =
            |v: &&str| if v.is_empty() { own.clone() } else { format!("{v} {unit}").trim_end().to_owned() };
        Ok(self.values.iter().map(in_words).collect())
    }
}
