//! What was found of the rules as sentences and tables, and counter-examples as commands.

use super::population::{POPULATION, Range, STEPS};
use super::replay_command::command;
use super::table::Test;
use super::{RULES, Rule, RulesFound, RulesStudy, Tally, Verdict};
use crate::findings::{Cell, Findings, Table};
use crate::study::text::count;

impl RulesFound {
    /// As findings.
    #[must_use]
    pub fn findings(&self, study: &RulesStudy) -> Findings {
        Findings {
            text: self.text(study),
            tables: vec![
                self.results(),
                self.undecided(),
                self.statements(),
                ranges("population", "inputs, drawn evenly", POPULATION),
                ranges("steps", "how far rules move an input", STEPS),
                self.counter_examples(study),
            ],
            plots: vec![],
        }
    }

    fn text(&self, study: &RulesStudy) -> Vec<String> {
        let mut text = vec![self.headline(study)];
        text.push(
            "What the model shows: shares are shares of sampled inputs, not of people; the interval says how well \
             the share is known, not how good the model is. A rule that the model contradicts may be wrong, or \
             the model may be: the counter-example shows where to look."
                .into(),
        );
        text.push(
            "Catch load 'as sampled' is drawn over the joint's whole range, 'scaled' to 0.22 to 0.28 of body weight. \
             Shares are of the samples that decide: agreeing, opposite, or without difference. 'Most' needs the \
             whole interval of 95 % of a share above one half; contradicted is what is opposite for most. The effect \
             is the median over the samples that decide; positive is in the direction of the rule. Two values seen \
             are those with the input lower and higher."
                .into(),
        );
        if let Some(t) = self.tallies.iter().find(|t| t.rule.takes_sessions()) {
            text.push(format!(
                "Rules 16 and 17 hold two whole fitting sessions of `adjust` against each other, over all its \
                 scenarios, for {}: fewer steps or unsafe trials say nothing of how well it fits then.",
                count(study.tried_on(t.rule), "sampled input"),
            ));
        }
        let held = study.held();
        if !held.is_empty() {
            text.push(format!("FrozenMode as given, not sampled: {}.", held.join(", ")));
        }
        text
    }

    /// How many came to what, and the names of those that did not hold.
    fn headline(&self, study: &RulesStudy) -> String {
        let which = |is: fn(Verdict) -> bool| self.tallies.iter().filter(move |t| is(t.verdict()));
        let number = |is: fn(Verdict) -> bool| which(is).count();
        let named = |is: fn(Verdict) -> bool, said: &str| {
            let names: Vec<String> = which(is).map(Tally::name).collect();
            let list = if names.is_empty() { String::new() } else { format!(" ({})", names.join(", ")) };
            format!("{} {said}{list}", names.len())
        };
        let as_claimed = |v| matches!(v, Verdict::Happens | Verdict::MostNotAll);
        let undecided = |v| matches!(v, Verdict::NeverHappened | Verdict::Nothing);
        let neither = |v| matches!(v, Verdict::Half | Verdict::Never | Verdict::NoMajority);
        format!(
            "{} tried on {}, seed {}: {} held every time, {} for most, {} as far as claimed; {}; {}; {}; {}.",
            count(self.tallies.len(), "statement"),
            count(study.samples, "sampled input"),
            study.seed,
            number(|v| v == Verdict::EveryTime),
            number(|v| v == Verdict::Most),
            number(as_claimed),
            named(neither, "neither held nor contradicted for most"),
            named(|v| v == Verdict::HardlyActs, "hardly act"),
            named(Verdict::contradicts, "contradicted for most or all"),
            named(undecided, "decided nothing or never happened"),
        )
    }

    fn results(&self) -> Table {
        let row = |t: &Tally| {
            let undecided: usize = t.undecided.values().sum();
            let ((low, high), (opposite_low, opposite_high)) = (t.interval(), t.opposite_interval());
            let pct = |v: f64| if t.decided() > 0 { Cell::Number(100.0 * v, 1) } else { Cell::Empty };
            let number = |n: usize| Cell::Number(n as f64, 0);
            vec![
                Cell::text(t.rule.id),
                Cell::text(t.catch.as_str()),
                number(t.agree),
                number(t.opposite),
                number(t.no_difference),
                number(undecided),
                Cell::number(t.share().map(|s| 100.0 * s), 1),
                pct(low),
                pct(high),
                Cell::number(t.share_of(t.opposite).map(|s| 100.0 * s), 1),
                pct(opposite_low),
                pct(opposite_high),
                effect(t),
                Cell::text(t.rule.effect_unit()),
                Cell::text(t.verdict().as_str()),
                Cell::text(t.rule.statement),
            ]
        };
        Table::new(
            "rules",
            "rules of the trade",
            &[
                "rule",
                "catch_load",
                "agree",
                "opposite",
                "no_difference",
                "undecided",
                "share_pct",
                "low_95_pct",
                "high_95_pct",
                "opposite_pct",
                "opposite_low_95_pct",
                "opposite_high_95_pct",
                "effect",
                "effect_unit",
                "verdict",
                "statement",
            ],
            self.tallies.iter().map(row).collect(),
        )
    }

    fn undecided(&self) -> Table {
        let rows = self.tallies.iter().flat_map(|t| {
            t.undecided.iter().map(move |(why, n)| {
                vec![
                    Cell::text(t.rule.id),
                    Cell::text(t.catch.as_str()),
                    Cell::Number(*n as f64, 0),
                    Cell::text(*why),
                ]
            })
        });
        let columns = ["rule", "catch_load", "samples", "because"];
        Table::new("undecided", "samples that decide nothing", &columns, rows.collect())
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
        Table::new("counter_examples", "strongest counter-examples", &columns, rows)
    }

    fn statements(&self) -> Table {
        let tried = |r: &&Rule| self.tallies.iter().any(|t| t.rule.id == r.id);
        let row = |r: &Rule| {
            let said = [r.id, r.source, r.changed, r.compared(), r.scenario];
            said.into_iter().map(Cell::text).collect::<Vec<_>>()
        };
        let columns = ["rule", "source", "recheck", "compared", "scenario"];
        Table::new("statements", "how each is tried", &columns, RULES.iter().filter(tried).map(row).collect())
    }
}

impl Tally {
    /// `8d (scaled)`.
    fn name(&self) -> String {
        format!("{} ({})", self.rule.id, self.catch.as_str())
    }
}

/// The median effect; where one reading is never reached it is not a number.
fn effect(t: &Tally) -> Cell {
    match t.median_effect {
        Some(v) if v.is_infinite() => {
            Cell::text(if v > 0.0 { "one never, as the rule says" } else { "one never, the other way" })
        }
        v => Cell::number(v, if t.rule.effect_unit() == "m/s" { 3 } else { 2 }),
    }
}

impl Rule {
    /// What is compared.
    #[must_use]
    pub fn compared(&self) -> &'static str {
        match self.test {
            Test::Move { read, .. } => read.compared(),
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
    Table::new(key, title, &["input", "low", "high", "unit", "why"], of.iter().map(row).collect())
}
