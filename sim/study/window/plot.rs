//! Pictures of windows over mass and cadence and of joint maps.

use super::case_limits::{BindingLimit, LimitRef};
use super::letters::letters;
use super::map::JointMap;
use super::question::Question;
use super::{PersonWindows, SettingWindow, Windows};
use crate::findings::{CellMark, Map, MapCell, MapPanel};
use crate::joint::SettingName;
use crate::outcome::{TrialVerdict, measured_margin};
use crate::units::percent;

/// A cell with the letter of the tightest limit, a capital where a limit is broken.
fn cell(tightest: &BindingLimit, mark: CellMark, letters: &[(char, LimitRef)], note: String) -> MapCell {
    let found = letters.iter().find(|(_, limit)| Some(limit) == tightest.by.as_ref());
    let small = mark != CellMark::Outside;
    let letter = found.map_or('-', |l| if small { l.0.to_ascii_lowercase() } else { l.0 });
    MapCell { letter, margin: tightest.margin, mark, note }
}

fn mark(verdict: TrialVerdict) -> CellMark {
    match verdict {
        TrialVerdict::Within | TrialVerdict::NoLimits => CellMark::Within,
        TrialVerdict::Doubtful => CellMark::Doubtful,
        TrialVerdict::Outside => CellMark::Outside,
    }
}

/// A margin in small print; empty where it measures no distance.
fn margin(m: f64) -> String {
    measured_margin(m).map_or_else(String::new, |m| format!("{m:.2}").replace('-', "−"))
}

/// How to read a cell without a margin.
const WITHOUT_NUMBER: &str = "No number: a word that is not allowed or is doubtful, an outcome that is not reached, or \
                              far outside.";

/// Person, prosthesis, knee, settings and scenarios in two lines.
fn inputs(question: &Question, settings: &str) -> Vec<String> {
    let setup = &question.setup;
    let (person, population) = (&setup.person, !question.masses_kg.is_empty());
    let who = if population {
        "people of each mass, stature follows".to_owned()
    } else {
        format!("{:.0} kg, {:.2} m", person.mass_kg, person.stature_m())
    };
    let names: Vec<&str> = question.scenarios.iter().map(|s| s.name.as_str()).collect();
    let without = if question.without.is_empty() {
        String::new()
    } else {
        format!("; without limits on {}", question.without.join(", "))
    };
    vec![
        format!("{who}; prosthesis {}; knee {}; {settings}", setup.prosthesis.name, setup.knee.name),
        format!("{}{without}", names.join(", ")),
    ]
}

fn named(letters: Vec<(char, LimitRef)>) -> Vec<(char, String)> {
    letters.into_iter().map(|(letter, limit)| (letter, limit.label())).collect()
}

const SETTING_UNIT: &str = "% of this model's range";
const NO_MARK: &str = "% of this model's range matches no mark on any joint.";

impl JointMap {
    /// How many cells hold.
    fn result(&self) -> String {
        let [within, doubtful] = [TrialVerdict::Within, TrialVerdict::Doubtful].map(|v| self.count(v));
        let doubtful = match doubtful {
            0 => "none is doubtful".to_owned(),
            n => format!("{n} doubtful"),
        };
        match within + self.count(TrialVerdict::NoLimits) {
            0 => format!(
                "No cell holds: at each of the {} at least one limit is not within; {doubtful}.",
                self.cells.len()
            ),
            n => format!("Every limit holds in {n} of {} cells; {doubtful}.", self.cells.len()),
        }
    }

    /// The map as a picture.
    #[must_use]
    pub fn map(&self, question: &Question) -> Map {
        let letters = self.letters();
        let cells = self.cells.iter();
        let cells =
            cells.map(|c| cell(&c.tightest, mark(c.tightest.verdict), &letters, margin(c.tightest.margin)));
        let fixed: Vec<String> = self.fixed.iter().map(|(n, at)| format!("{n} {}", percent(*at))).collect();
        Map {
            title: format!("Tightest limit over {} and {}", self.x, self.y),
            inputs: inputs(question, &format!("fixed: {}", fixed.join(", "))),
            result: vec![self.result()],
            x_label: format!("{}, {SETTING_UNIT}", self.x),
            y_label: format!("{}, {SETTING_UNIT}", self.y),
            panels: vec![MapPanel {
                title: String::new(),
                xs: self.positions_pct.clone(),
                ys: self.positions_pct.clone(),
                cells: cells.collect(),
                mark: Some(self.at_pct),
            }],
            letters: named(letters),
            reading: vec![
                "Letter: the tightest limit; a capital where a limit is broken.".into(),
                "Diamond: where the settings are.".into(),
                NO_MARK.into(),
            ],
            reading_notes: vec![
                "Number: its margin in units of the limit; 0 is the edge.".into(),
                WITHOUT_NUMBER.into(),
            ],
            marks: [
                "every limit is within (framed)",
                "no limit is broken, at least one is doubtful",
                "at least one limit is broken",
            ],
        }
    }
}

impl Windows {
    /// A panel per setting over mass and cadence; with one mass and one cadence a single cell each.
    #[must_use]
    pub fn map(&self, question: &Question) -> Map {
        let settings = |c: &PersonWindows| c.settings.len();
        let tightest =
            self.people.iter().flat_map(|c| c.settings.iter().map(|s| s.best.tightest.by.as_ref()));
        let letters = letters(tightest.flatten());
        let count = self.people.first().map_or(0, settings);
        Map {
            title: "Windows over mass and cadence, the other settings fixed".into(),
            inputs: inputs(question, &self.settings_as_set()),
            result: self.without_window().into_iter().collect(),
            x_label: if question.cadences_steps_per_min.is_empty() {
                "cadence: each scenario's own".into()
            } else {
                "cadence, steps per minute".into()
            },
            y_label: "body mass, kg".into(),
            panels: (0..count).map(|i| self.panel(i, &letters)).collect(),
            letters: named(letters),
            reading: vec![
                "Letter: the tightest limit at the best position of the setting; a capital where it is outside."
                    .into(),
            ],
            reading_notes: vec![
                "Below it the window, % of this model's range (matches no mark on any joint); where there is none, \
                 the margin of the tightest limit at the best position, in units of the limit."
                    .into(),
                WITHOUT_NUMBER.into(),
            ],
            marks: [
                "there is a window (framed)",
                "no window, doubtful at the best position",
                "no window, outside at the best position",
            ],
        }
    }

    /// The settings without a window at any mass and cadence.
    fn without_window(&self) -> Option<String> {
        let count = self.people.first().map_or(0, |c| c.settings.len());
        let never = |i: &usize| self.people.iter().all(|c| c.settings[*i].all.window.is_empty());
        let names: Vec<String> =
            (0..count).filter(never).map(|i| self.people[0].settings[i].setting.to_string()).collect();
        (!names.is_empty()).then(|| format!("No window at any mass and cadence: {}.", names.join(", ")))
    }

    fn settings_as_set(&self) -> String {
        let one = |s: &SettingWindow| format!("{} {}", s.setting, percent(s.at_pct));
        let all: Vec<String> = self.people.first().map_or(vec![], |c| c.settings.iter().map(one).collect());
        format!("set to {}", all.join(", "))
    }

    fn panel(&self, i: usize, letters: &[(char, LimitRef)]) -> MapPanel {
        let (mut xs, mut ys): (Vec<f64>, Vec<f64>) = (Vec::new(), Vec::new());
        let unseen = |list: &[f64], v: f64| list.iter().all(|x| x.total_cmp(&v).is_ne());
        for person in &self.people {
            let cadence = person.cadence_steps_per_min.unwrap_or(f64::NAN);
            if unseen(&xs, cadence) {
                xs.push(cadence);
            }
            if unseen(&ys, person.person.mass_kg) {
                ys.push(person.person.mass_kg);
            }
        }
        let one = |c: &PersonWindows| {
            let s = &c.settings[i];
            let window = &s.all.window;
            let note = match window.ranges.as_slice() {
                [] => margin(s.best.tightest.margin),
                ranges => {
                    let said: Vec<String> =
                        ranges.iter().map(|p| format!("{:.0}–{:.0}", p.min_pct, p.max_pct)).collect();
                    said.join(", ")
                }
            };
            // the best position is one of the coarse scan, a window can lie between two of them
            let best = if window.is_empty() { mark(s.best.tightest.verdict) } else { CellMark::Within };
            cell(&s.best.tightest, best, letters, note)
        };
        let name: Option<SettingName> = self.people.first().map(|c| c.settings[i].setting);
        MapPanel {
            title: name.map_or_else(String::new, |n| n.to_string()),
            xs,
            ys,
            cells: self.people.iter().map(one).collect(),
            mark: None,
        }
    }
}
