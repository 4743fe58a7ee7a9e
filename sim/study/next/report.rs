//! What is likely to help, for people and as data.

use super::population::Step;
use super::steps::StepScore;
use super::{ENOUGH, FOR_BANDS, Next, Way};
use crate::case::inputs::input;
use crate::findings::{Cell, Findings, Table};
use crate::joint::SettingName;
use crate::numerics::intervals::wilson_95;
use crate::numerics::statistics::quantile;
use crate::study::text::list;

/// Steps and clues that are named in sentences.
const NAMED: usize = 3;
/// A band that keeps more than this share of its width and centre says nothing new. \[J\]
const HARDLY_MOVED: f64 = 0.8;

/// An input before and after what was seen: medians and the middle 90 %.
struct InputBand {
    key: &'static str,
    label: &'static str,
    unit: &'static str,
    before: [f64; 3],
    after: [f64; 3],
}

impl InputBand {
    fn width(band: &[f64; 3]) -> f64 {
        band[2] - band[0]
    }

    /// A setting by its name, anything else by what it is.
    fn name(&self) -> &'static str {
        if SettingName::ALL.iter().any(|s| s.as_str() == self.key) { self.key } else { self.label }
    }

    /// How much is left of what was not known.
    fn left(&self) -> f64 {
        Self::width(&self.after) / Self::width(&self.before).max(f64::MIN_POSITIVE)
    }
}

impl Step {
    /// `swing-extension 5 % less`.
    #[must_use]
    pub fn in_words(&self) -> String {
        let unit = input(self.key).map_or("", |i| i.unit);
        let (by, unit) = if self.key == "foot_shift_m" { (1e3 * self.by, "mm") } else { (self.by, unit) };
        let name = match self.key {
            "assist_n_m" => "assist spring",
            "extension_stop_deg" => "extension stop",
            "foot_shift_m" => "foot",
            setting => setting,
        };
        let [more, less] = match self.key {
            "foot_shift_m" => ["further forward", "further back"],
            "extension_stop_deg" => ["more bent", "less bent"],
            _ => ["more", "less"],
        };
        format!("{name} {} {unit} {}", by.abs(), if by > 0.0 { more } else { less })
    }
}

impl Next {
    /// Sentences and the steps; with every table as data.
    #[must_use]
    pub fn findings(&self, with_tables: bool) -> Findings {
        let mut tables = vec![self.steps_table(with_tables)];
        if with_tables {
            tables.extend([self.way_table(), self.inputs_table(), self.clues_table()]);
        }
        Findings { text: self.sentences(), tables, plots: vec![] }
    }

    fn sentences(&self) -> Vec<String> {
        let mut seen: Vec<String> =
            self.options.observations.iter().map(super::Observation::in_words).collect();
        seen.extend(self.options.swing.iter().map(super::MeasuredSwing::in_words));
        let effective = self.weighted.effective();
        let mut text = vec![format!(
            "Told: {}. Of {} draws of everything uncertain those that explain it are worth {effective:.0} equally likely \
             ones{}.",
            seen.join("; "),
            self.weighted.draws.len(),
            if effective < ENOUGH {
                ": few, so the shares below are rough; this model hardly explains what was told"
            } else {
                ""
            }
        )];
        text.push(self.what_explains());
        text.push(self.likely_steps());
        text.push(self.best_for_the_middle());
        text.push(self.what_to_look_at());
        text.push(
            "These are shares of what the model holds plausible for a person like this, no chances of success, and no \
             prescription."
                .into(),
        );
        text
    }

    fn what_explains(&self) -> String {
        let mut bands = self.bands();
        bands.sort_by(|a, b| a.left().total_cmp(&b.left()));
        let told: Vec<String> = bands
            .iter()
            .filter(|b| b.left() < HARDLY_MOVED)
            .take(NAMED)
            .map(|b| {
                let number =
                    |v: f64| format!("{v:.3}").trim_end_matches('0').trim_end_matches('.').to_owned();
                let [low, middle, high] = b.after.map(number);
                format!("{} about {middle} ({low} to {high}) {}", b.name(), b.unit).trim_end().to_owned()
            })
            .collect();
        if told.is_empty() {
            "What was told narrows no single input much: many causes explain it alike.".into()
        } else {
            format!("It would come from: {}.", list(&told))
        }
    }

    fn likely_steps(&self) -> String {
        let chance = |n: usize, of: usize| format!("{:.0} %", 100.0 * n as f64 / of.max(1) as f64);
        let told = |s: &StepScore| {
            let step = s.step.map_or_else(String::new, |x| x.in_words());
            format!(
                "{step}: helps and loses nothing in {}, makes something unsafe in {}, everything within in {}",
                chance(s.good, s.tried),
                chance(s.harm, s.tried),
                chance(s.within, s.tried)
            )
        };
        let settings: Vec<&StepScore> = self.steps.iter().filter(|s| s.is_setting()).collect();
        let now = format!(
            "As it is, everything is within in {} of {} draws tried.",
            chance(self.now.within, self.now.tried),
            self.now.tried
        );
        let hopeful: Vec<String> =
            settings.iter().filter(|s| s.value() > 0.0).take(NAMED).map(|s| told(s)).collect();
        let mut text = if hopeful.is_empty() {
            let further: Vec<String> =
                self.further.iter().filter(|s| s.value() > 0.0).take(NAMED).map(told).collect();
            let several = if further.is_empty() {
                "Nor are several steps of one setting.".to_owned()
            } else {
                format!("Several steps in one direction: {}.", further.join("; "))
            };
            format!("{now} No single step of a setting does more good than harm. {several}")
        } else {
            format!("{now} Steps that do more good than harm, the best first: {}.", hopeful.join("; "))
        };
        let best = settings.first().map_or(0.0, |s| s.value());
        if let Some(other) = self.steps.iter().find(|s| !s.is_setting() && s.value() > best.max(0.0)) {
            text += &format!(" Better than any setting, and no valve: {}.", told(other));
        }
        text
    }

    fn best_for_the_middle(&self) -> String {
        let Way { steps, tried, within, harm } = &self.way;
        let share = |n: usize| format!("{:.0} %", 100.0 * n as f64 / (*tried).max(1) as f64);
        if steps.is_empty() {
            return "For the middle of what is plausible a search finds nothing better than the settings as they are."
                .into();
        }
        let named: Vec<String> = steps.iter().map(Step::in_words).collect();
        let most = 2 * within > *tried && 2 * harm < *within;
        format!(
            "Best for the middle of what is plausible, by a search: {}. There everything is within in {} of the draws tried, \
             and something becomes unsafe in {}: {}.",
            list(&named),
            share(*within),
            share(*harm),
            if most {
                "a direction, one setting at a time and a look after each"
            } else {
                "what was told does not say yet where to go"
            }
        )
    }

    fn what_to_look_at(&self) -> String {
        let told =
            |l: &super::Clue| format!("{} and look for {} ({:.0} %)", l.scenario, l.symptom, 100.0 * l.tells);
        match self.clues.as_slice() {
            [] => "No further look would tell more about the best step.".into(),
            clues => format!(
                "Before turning, a look that tells most about the best step (share of what is not known that it tells): {}.",
                clues.iter().take(NAMED).map(told).collect::<Vec<_>>().join("; ")
            ),
        }
    }

    fn bands(&self) -> Vec<InputBand> {
        let picked = self.weighted.pick(FOR_BANDS);
        let band = |draws: &[u32], key: &str| {
            let mut values: Vec<f64> = draws.iter().filter_map(|d| self.population.value(*d, key)).collect();
            values.sort_by(f64::total_cmp);
            Some([quantile(&values, 0.05)?, quantile(&values, 0.5)?, quantile(&values, 0.95)?])
        };
        let rows = &self.population.file.inputs;
        rows.iter()
            // a speed is a different one in every scenario
            .filter(|u| u.input != "speed_m_per_s")
            .filter_map(|u| {
                let row = input(&u.input).ok()?;
                let (before, after) = (band(&self.weighted.draws, row.key)?, band(&picked, row.key)?);
                Some(InputBand { key: row.key, label: row.label, unit: row.unit, before, after })
            })
            .collect()
    }

    fn steps_table(&self, as_data: bool) -> Table {
        let complaints = self.options.observations.iter().map(|o| o.symptom.name);
        let mut columns = vec!["step", "good", "harm", "loses a limit", "all within"];
        if as_data {
            columns = vec![
                "step",
                "good_pct",
                "harm_pct",
                "loses_pct",
                "all_within_pct",
                "good_low_95_pct",
                "good_high_95_pct",
            ];
        }
        let complaints: Vec<String> = complaints.map(|c| format!("{c}, change")).collect();
        columns.extend(complaints.iter().map(String::as_str));
        let row = |s: &StepScore| {
            let pct = |n: usize| Cell::Number(100.0 * n as f64 / s.tried.max(1) as f64, 0);
            let name = s.step.map_or_else(|| "as it is".to_owned(), |x| x.in_words());
            let mut row = vec![Cell::Text(name), pct(s.good), pct(s.harm), pct(s.loses), pct(s.within)];
            if as_data {
                let (low, high) = wilson_95(s.good, s.tried);
                row.extend([low, high].map(|v| Cell::Number(100.0 * v, 1)));
            }
            row.extend(s.change.iter().map(|c| Cell::number(*c, 2)));
            row
        };
        let rows = std::iter::once(&self.now).chain(&self.steps).chain(&self.further).map(row).collect();
        Table::new(
            "steps",
            "single steps: % of the draws tried (a complaint changes in units of its limit's scale; negative is less of it)",
            &columns,
            rows,
        )
    }

    fn way_table(&self) -> Table {
        let pct = |n: usize| Cell::Number(100.0 * n as f64 / self.way.tried.max(1) as f64, 0);
        let row = |s: &Step| {
            let change = Cell::Number(s.by, 1);
            vec![Cell::text(s.key), change, pct(self.way.within), pct(self.way.harm)]
        };
        Table::new(
            "way",
            "best for the middle of what is plausible: all changes together, and what they do in the draws tried",
            &["setting", "change_pct", "all_within_pct", "harm_pct"],
            self.way.steps.iter().map(row).collect(),
        )
    }

    fn inputs_table(&self) -> Table {
        let row = |b: InputBand| {
            let numbers = b.before.into_iter().chain(b.after).map(|v| Cell::Number(v, 4));
            [Cell::text(b.key), Cell::text(b.unit)].into_iter().chain(numbers).collect()
        };
        Table::new(
            "plausible",
            "inputs before and after what was told: the middle 90 % and the median",
            &["input", "unit", "before_5", "before_50", "before_95", "after_5", "after_50", "after_95"],
            self.bands().into_iter().map(row).collect(),
        )
    }

    fn clues_table(&self) -> Table {
        let row = |l: &super::Clue| {
            let share = |v: f64| Cell::Number(100.0 * v, 1);
            vec![Cell::text(&l.scenario), Cell::text(l.symptom), share(l.tells), share(l.seen)]
        };
        Table::new(
            "clues",
            "what to look at: share of what is not known of the best step that it tells, and how often it would be seen",
            &["scenario", "symptom", "tells_pct", "seen_pct"],
            self.clues.iter().map(row).collect(),
        )
    }
}
