//! What was found of the rules as sentences and tables, and counter-examples as commands.

use super::population::{POPULATION, Range, STEPS};
use super::table::Test;
use super::trying::{Joint, Run};
use super::{RULES, Rule, RulesFound, RulesStudy, Tally};
use crate::findings::{Cell, Findings, Table};
use crate::joint::SettingName;

impl RulesFound {
    /// As findings.
    #[must_use]
    pub fn findings(&self, study: &RulesStudy) -> Findings {
        Findings {
            text: self.text(study),
            tables: vec![
                self.results(),
                self.statements(),
                ranges("population", "inputs, drawn evenly", POPULATION),
                ranges("steps", "how far rules move an input", STEPS),
                self.counter_examples(study),
            ],
            plots: vec![],
        }
    }

    fn tried(&self) -> impl Iterator<Item = &Tally> {
        self.tallies.iter().filter(|t| !matches!(t.rule.test, Test::Elsewhere(_)))
    }

    fn text(&self, study: &RulesStudy) -> Vec<String> {
        let tried = self.tried().count();
        let every = self.tried().filter(|t| t.verdict() == "held every time").count();
        let contradicted: Vec<String> = self
            .tried()
            .filter(|t| t.contradicted())
            .map(|t| format!("{} ({})", t.rule.id, t.catch.as_str()))
            .collect();
        let mut text = vec![format!(
            "{tried} statements tried on {} sampled inputs each, seed {}: {every} held every time, {} contradicted \
             more often than not{}.",
            study.samples,
            study.seed,
            contradicted.len(),
            if contradicted.is_empty() { String::new() } else { format!(": {}", contradicted.join(", ")) },
        )];
        text.push(
            "What the model shows: shares are shares of sampled inputs, not of people; the interval says how well \
             the share is known, not how good the model is. A rule that the model contradicts may be wrong, or \
             the model may be: the counter-example shows where to look."
                .into(),
        );
        text.push(
            "Catch load 'as sampled' is drawn over the joint's whole range, 'scaled' to 0.22 to 0.28 of body weight. \
             The share is of the samples that decide: agreeing, opposite, or without difference. The effect is the \
             median over these, where it is a number; positive is in the direction of the rule. Two values seen are \
             those with the input lower and higher."
                .into(),
        );
        if self.tallies.iter().any(|t| matches!(t.rule.test, Test::Elsewhere(_))) {
            text.push(
                "Rules 16 and 17 compare whole fitting sessions: a matter of `adjust`, not evaluated here."
                    .into(),
            );
        }
        let mut held: Vec<&str> = study.bench.held.iter().map(String::as_str).collect();
        held.sort_unstable();
        if !held.is_empty() {
            text.push(format!("Held as given, not sampled: {}.", held.join(", ")));
        }
        text
    }

    fn results(&self) -> Table {
        let row = |t: &Tally| {
            let undecided: usize = t.undecided.values().sum();
            let (low, high) = t.interval();
            let pct = |v: f64| if t.decided > 0 { Cell::Number(100.0 * v, 1) } else { Cell::Empty };
            let here = !matches!(t.rule.test, Test::Elsewhere(_));
            let count = |n: usize| if here { Cell::Number(n as f64, 0) } else { Cell::Empty };
            vec![
                Cell::text(t.rule.id),
                Cell::text(if here { t.catch.as_str() } else { "" }),
                count(t.agree),
                count(t.no_difference),
                count(t.decided),
                Cell::number(t.share().map(|s| 100.0 * s), 1),
                pct(low),
                pct(high),
                Cell::number(t.median_effect, if t.rule.effect_unit() == "m/s" { 3 } else { 2 }),
                Cell::text(t.rule.effect_unit()),
                count(undecided),
                Cell::text(t.verdict()),
                Cell::text(t.rule.statement),
            ]
        };
        table(
            "rules",
            "rules of the trade",
            &[
                "rule",
                "catch_load",
                "agree",
                "no_difference",
                "decided",
                "share_pct",
                "low_95_pct",
                "high_95_pct",
                "effect",
                "effect_unit",
                "undecided",
                "verdict",
                "statement",
            ],
            self.tallies.iter().map(row).collect(),
        )
    }

    fn counter_examples(&self, study: &RulesStudy) -> Table {
        let rows = self
            .tallies
            .iter()
            .filter_map(|t| t.counter.as_ref().map(|c| (t, c)))
            .flat_map(|(t, (sample, seen))| {
                seen.runs.iter().enumerate().map(move |(i, run)| {
                    vec![
                        Cell::text(t.rule.id),
                        Cell::text(t.catch.as_str()),
                        Cell::Number(*sample as f64, 0),
                        if i == 0 { Cell::text(seen.said.clone()) } else { Cell::Empty },
                        Cell::text(command(study, run)),
                    ]
                })
            })
            .collect();
        let columns = ["rule", "catch_load", "sample", "seen", "command"];
        table("counter_examples", "strongest counter-examples", &columns, rows)
    }

    fn statements(&self) -> Table {
        let tried = |r: &&Rule| self.tallies.iter().any(|t| t.rule.id == r.id);
        let row = |r: &Rule| {
            let reasons = self
                .tallies
                .iter()
                .filter(|t| t.rule.id == r.id)
                .flat_map(|t| &t.undecided)
                .max_by_key(|(_, n)| **n)
                .filter(|_| !matches!(r.test, Test::Elsewhere(_)));
            vec![
                Cell::text(r.id),
                Cell::text(r.source),
                Cell::text(r.changed),
                Cell::text(r.compared()),
                Cell::text(if matches!(r.test, Test::Elsewhere(_)) { "" } else { r.scenario }),
                reasons.map_or(Cell::Empty, |(why, _)| Cell::text(*why)),
            ]
        };
        let columns = ["rule", "source", "changed", "compared", "scenario", "undecided_mostly_because"];
        table("statements", "how each is tried", &columns, RULES.iter().filter(tried).map(row).collect())
    }
}

impl Rule {
    /// What is compared.
    #[must_use]
    pub fn compared(&self) -> &'static str {
        match self.test {
            Test::Move { read, .. } => read.key(),
            _ => self.outcome,
        }
    }

    /// Unit of the effect.
    #[must_use]
    pub fn effect_unit(&self) -> &'static str {
        match self.test {
            Test::Move { read, .. } => read.unit(),
            _ => self.unit,
        }
    }
}

/// The command that runs it again.
fn command(study: &RulesStudy, run: &Run) -> String {
    let (names, setup) = (&study.bench.names, &study.bench.setup);
    let mut words = vec!["kneedamp".to_owned(), "run".into(), run.scenario.into()];
    let mut option = |name: &str, value: String| words.extend([name.to_owned(), value]);
    option("--person", names.person.clone());
    let prosthesis = run.prosthesis.and_then(|i| names.prostheses.get(i)).unwrap_or(&names.prosthesis);
    option("--prosthesis", prosthesis.clone());
    let own = run.joint == Joint::Own;
    option("--knee", if own { names.knee.clone() } else { names.friction_knee.clone() });
    let settings: Vec<String> = SettingName::ALL
        .into_iter()
        .filter_map(|n| {
            let given = setup.settings.get(n).map(|s| s.pct());
            run.values.get(n.as_str()).copied().or(given).map(|pct| format!("{n}={pct}"))
        })
        .collect();
    if !settings.is_empty() {
        option("--set", settings.join(","));
    }
    let walks = run.scenario.starts_with("walk");
    let hurried = run.scenario == super::table::CROWD;
    let pace = |key: &str, given: Option<f64>| {
        run.values.get(key).copied().or(given.filter(|_| !hurried)).filter(|_| walks)
    };
    if let Some(v) = pace("speed_m_per_s", setup.speed_m_per_s) {
        option("--speed", v.to_string());
    }
    if let Some(v) = pace("cadence_steps_per_min", setup.cadence_steps_per_min) {
        option("--cadence", v.to_string());
    }
    if let Some(v) = run.values.get("temperature_c").copied().or(setup.temperature_c) {
        option("--temperature", v.to_string());
    }
    let shift = setup.alignment.foot_shift_m;
    if shift.abs() > 0.0 && !run.values.contains_key("foot_shift_m") {
        option("--foot-shift", (1e3 * shift).to_string());
    }
    if let Some(folder) = &names.library {
        option("--library", folder.clone());
    }
    const OPTIONS: [&str; 3] = ["speed_m_per_s", "cadence_steps_per_min", "temperature_c"];
    let others: Vec<String> = run
        .values
        .iter()
        .filter(|(k, _)| SettingName::parse(k).is_none() && !OPTIONS.contains(*k))
        .map(|(k, v)| format!("{k}={v}"))
        .collect();
    if !others.is_empty() {
        option("--input", others.join(","));
    }
    words.iter().map(|w| quoted(w)).collect::<Vec<_>>().join(" ")
}

/// A word as a shell takes it.
fn quoted(word: &str) -> String {
    if word.chars().all(|c| c.is_alphanumeric() || "-_.,=/:".contains(c)) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', r"'\''"))
    }
}

fn ranges(key: &str, title: &str, of: &[Range]) -> Table {
    let row = |r: &Range| {
        vec![
            Cell::text(r.key),
            Cell::Number(r.low, r.decimals.min(2)),
            Cell::Number(r.high, r.decimals.min(2)),
            Cell::text(r.unit),
            Cell::text(r.why),
        ]
    };
    table(key, title, &["input", "low", "high", "unit", "why"], of.iter().map(row).collect())
}

fn table(key: &str, title: &str, columns: &[&str], rows: Vec<Vec<Cell>>) -> Table {
    Table {
        key: key.into(),
        title: title.into(),
        columns: columns.iter().map(|c| (*c).to_owned()).collect(),
        rows,
    }
}
