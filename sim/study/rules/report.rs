//! The result of the study as sentences and tables.

use super::evidence::RunSpec;
use super::population::{POPULATION, Range, STEPS};
use super::rule::Rule;
use super::table::RULES;
use super::tally::{RuleTally, RuleVerdict};
use super::{RulesResult, RulesStudy};
use crate::findings::{Cell, Findings, Table};
use crate::study::text::count;

impl RulesResult {
    /// As findings. `command` writes the command that repeats a run of a counter-example.
    #[must_use]
    pub fn findings(&self, study: &RulesStudy, command: impl Fn(&RunSpec) -> String) -> Findings {
        Findings {
            text: self.text(study),
            tables: vec![
                self.results(),
                self.undecided(),
                self.statements(),
                ranges("population", "inputs, drawn evenly", POPULATION),
                ranges("steps", "how far rules move an input", STEPS),
                self.counter_examples(command),
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
             whole interval of 95 % of a share above one half; contradicted is what is opposite for most, and throughout. A \
             sample that disagrees is looked at again over the whole range of the input: where the effect turns, or where \
             another value of a judged edge would decide otherwise, the rule depends where. The effect \
             is the median over the samples that decide; positive is in the direction of the rule. Two values seen \
             are those with the input lower and higher."
                .into(),
        );
        if let Some(t) = self.tallies.iter().find(|t| t.rule.runs_sessions()) {
            text.push(format!(
                "Rules 16 and 17 compare two whole fitting sessions of `adjust`, over all its scenarios, for {}: fewer \
                 steps or unsafe trials do not mean a better fit at the end.",
                count(study.samples_for(t.rule), "sampled input"),
            ));
        }
        let fixed = study.fixed();
        if !fixed.is_empty() {
            text.push(format!("Held as given, not sampled: {}.", fixed.join(", ")));
        }
        text
    }

    /// How many statements have each verdict, and the names of those that did not hold.
    fn headline(&self, study: &RulesStudy) -> String {
        let which = |is: fn(RuleVerdict) -> bool| self.tallies.iter().filter(move |t| is(t.verdict()));
        let number = |is: fn(RuleVerdict) -> bool| which(is).count();
        let named = |is: fn(RuleVerdict) -> bool, verdict: &str| {
            let names: Vec<String> = which(is).map(RuleTally::name).collect();
            let list = if names.is_empty() { String::new() } else { format!(" ({})", names.join(", ")) };
            format!("{} {verdict}{list}", names.len())
        };
        let as_claimed = |v| matches!(v, RuleVerdict::Happens | RuleVerdict::MostNotAll);
        let undecided = |v| matches!(v, RuleVerdict::NeverHappened | RuleVerdict::Nothing);
        let neither = |v| matches!(v, RuleVerdict::Half | RuleVerdict::Never | RuleVerdict::NoMajority);
        format!(
            "{} tried on {}, seed {}: {} held every time, {} for most, {} as far as claimed; {}; {}; {}; {}; {}.",
            count(self.tallies.len(), "statement"),
            count(study.samples, "sampled input"),
            study.seed,
            number(|v| v == RuleVerdict::EveryTime),
            number(|v| v == RuleVerdict::Most),
            number(as_claimed),
            named(|v| v == RuleVerdict::DependsWhere, "depend where"),
            named(neither, "neither held nor contradicted for most"),
            named(|v| v == RuleVerdict::HardlyActs, "hardly act"),
            named(RuleVerdict::contradicts, "contradicted for most or all"),
            named(undecided, "decided nothing or never happened"),
        )
    }

    fn results(&self) -> Table {
        let row = |t: &RuleTally| {
            let undecided: usize = t.undecided.values().sum();
            let ((low, high), (opposite_low, opposite_high)) = (t.interval(), t.opposite_interval());
            let pct = |v: f64| if t.decided() > 0 { Cell::Number(100.0 * v, 1) } else { Cell::Empty };
            let number = |n: usize| Cell::Number(n as f64, 0);
            vec![
                Cell::text(t.rule.id),
                Cell::text(t.catch_load.as_str()),
                number(t.agree),
                number(t.opposite),
                number(t.agree_elsewhere),
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
                "agree_elsewhere",
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
                    Cell::text(t.catch_load.as_str()),
                    Cell::Number(*n as f64, 0),
                    Cell::text(*why),
                ]
            })
        });
        let columns = ["rule", "catch_load", "samples", "because"];
        Table::new("undecided", "samples that decide nothing", &columns, rows.collect())
    }

    fn counter_examples(&self, command: impl Fn(&RunSpec) -> String) -> Table {
        let rows = self
            .tallies
            .iter()
            .filter_map(|t| t.counter_example.as_ref().map(|c| (t, c)))
            .flat_map(|(t, (sample, evidence))| {
                let command = &command;
                evidence.runs.iter().enumerate().map(move |(i, run)| {
                    vec![
                        Cell::text(t.rule.id),
                        Cell::text(t.catch_load.as_str()),
                        Cell::Number(*sample as f64, 0),
                        if i == 0 { Cell::text(evidence.description.clone()) } else { Cell::Empty },
                        Cell::text(command(run)),
                    ]
                })
            })
            .collect();
        let columns = ["rule", "catch_load", "sample", "seen", "command"];
        Table::new("counter_examples", "strongest counter-examples", &columns, rows)
    }

    fn statements(&self) -> Table {
        let tested = |r: &&Rule| self.tallies.iter().any(|t| t.rule.id == r.id);
        let row = |r: &Rule| {
            let cells = [r.id, r.source, r.changed, r.compared(), r.scenario];
            cells.into_iter().map(Cell::text).collect::<Vec<_>>()
        };
        let columns = ["rule", "source", "changed", "compared", "scenario"];
        Table::new(
            "statements",
            "how each is tried",
            &columns,
            RULES.iter().filter(tested).map(row).collect(),
        )
    }
}

impl RuleTally {
    /// `8d (scaled)`.
    fn name(&self) -> String {
        format!("{} ({})", self.rule.id, self.catch_load.as_str())
    }
}

/// The median effect; in words where one value is never reached.
fn effect(t: &RuleTally) -> Cell {
    match t.median_effect {
        Some(v) if v.is_infinite() => {
            Cell::text(if v > 0.0 { "one never, as the rule says" } else { "one never, the other way" })
        }
        v => Cell::number(v, if t.rule.effect_unit() == "m/s" { 3 } else { 2 }),
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
