//! An uncertainty study in words and tables.

use super::ranges::Uncertain;
use super::{DECIDES, LimitShare, OutcomeBand, UncertaintyResult};
use crate::findings::{Cell, Findings, Table};
use crate::numerics::intervals::wilson_95;
use crate::numerics::sobol::{Estimate, REPEATS};
use crate::outcome::metric;

/// What is said of indices that the samples do not tell.
const CANNOT_TELL: &str = "cannot tell from these samples";

/// Total indices below this are left out of the table of indices.
const SHOWN_FROM: f64 = 0.1;

impl UncertaintyResult {
    /// Sentences, bands, limits, indices and ranges.
    #[must_use]
    pub fn findings(&self) -> Findings {
        let mut tables = vec![self.bands()];
        if !self.limits.is_empty() {
            tables.push(self.limits_table());
        }
        if self.outcomes.iter().any(|o| !o.words.is_empty()) {
            tables.push(self.words());
        }
        tables.extend([self.indices_table(), self.inputs_table()]);
        Findings { text: self.text(), tables, plots: vec![] }
    }

    fn text(&self) -> Vec<String> {
        let study = &self.study;
        let of = |mark: &str| -> Vec<String> {
            let marked = self.outcomes.iter().filter(|o| o.mark() == mark);
            marked.map(|o| format!("“{}”", o.metric.label)).collect()
        };
        let (decided, open) =
            (of("[J]"), [of("[J] within the error"), of("not [J] within the error")].concat());
        let varied = self.outcomes.iter().filter(|o| o.indices.is_some()).count();
        let mut text = vec![
            format!(
                "{}: {} uncertain inputs with the ranges '{}', base size {}, {} runs, seed {}.",
                study.case.scenario.name,
                self.inputs.len(),
                study.file.name,
                study.samples,
                self.runs,
                study.seed,
            ),
            format!(
                "[J] Values of judgement together take part in at least {:.0} % of the variance of {} of {varied} \
                 outcomes{}.{}",
                100.0 * DECIDES,
                decided.len(),
                if decided.is_empty() { String::new() } else { format!(": {}", decided.join(", ")) },
                if open.is_empty() {
                    String::new()
                } else {
                    format!(" Undecided, within the sampling error of it: {}.", open.join(", "))
                },
            ),
            format!(
                "What the model shows: the bands say what these ranges do to the outcomes, not how far the model is \
                 from a person. An index is a share of variance: first, what an input explains alone; total, what \
                 it takes part in. Plus-minus is the sampling error, 95 %, from {REPEATS} bootstraps, which overstate \
                 it: an index smaller than its error cannot be told from none. Shares of points carry the interval of \
                 independent draws; these points are spread more evenly."
            ),
        ];
        for o in self.outcomes.iter().filter(|o| o.indices.is_some() && o.complete < study.samples) {
            text.push(format!(
                "Indices of “{}” are of the {} of {} rows in which it is always reached.",
                o.metric.label, o.complete, study.samples
            ));
        }
        let untold: Vec<String> = self
            .outcomes
            .iter()
            .filter(|o| o.indices.as_ref().is_some_and(|x| x.total.iter().any(|e| !e.tells())))
            .map(|o| format!("“{}”", o.metric.label))
            .collect();
        if !untold.is_empty() {
            text.push(format!(
                "These samples cannot tell some indices of {}: their error is half of the variance or more, and they \
                 are left out. More samples may tell them.",
                untold.join(", ")
            ));
        }
        let cut: Vec<String> = self.inputs.iter().filter_map(Uncertain::cut).collect();
        if !cut.is_empty() {
            text.push(format!("Ranges that reach beyond what an input takes: {}.", cut.join("; ")));
        }
        if !self.without_effect.is_empty() {
            text.push(format!("Without effect in this case: {}.", self.without_effect.join(", ")));
        }
        for (why, n) in &self.failed {
            text.push(format!("{n} of {} runs could not be followed: {why}.", self.runs));
        }
        text
    }

    fn share(&self, n: usize) -> Cell {
        Cell::Number(100.0 * n as f64 / self.points as f64, 1)
    }

    fn bands(&self) -> Table {
        let row = |o: &OutcomeBand| {
            let decimals = o.metric.decimals;
            let band = |share| Cell::number(o.quantile(share), decimals);
            let most = o.most();
            let judged = o.judged();
            vec![
                Cell::text(o.metric.key),
                band(0.05),
                band(0.5),
                band(0.95),
                Cell::text(o.metric.unit),
                self.share(o.reached),
                most.map_or(Cell::Empty, |(i, e)| {
                    Cell::text(if e.tells() { self.inputs[i].input.key } else { CANNOT_TELL })
                }),
                total(most.map(|m| m.1)),
                error(most.map(|m| m.1)),
                total(judged),
                error(judged),
                Cell::text(o.mark()),
            ]
        };
        let columns = [
            "outcome",
            "pct_5",
            "pct_50",
            "pct_95",
            "unit",
            "reached_pct",
            "most_by",
            "total",
            "total_error",
            "judged_together",
            "judged_error",
            "decided_by_judgement",
        ];
        Table::new("outcomes", "outcomes: 5, 50, 95 % and what decides them", &columns, self.reported(row))
    }

    /// Rows of the outcomes that were ever reached.
    fn reported(&self, row: impl Fn(&OutcomeBand) -> Vec<Cell>) -> Vec<Vec<Cell>> {
        self.outcomes.iter().filter(|o| o.reached > 0).map(row).collect()
    }

    fn limits_table(&self) -> Table {
        let share = |n: usize| {
            let (low, high) = wilson_95(n, self.points);
            [self.share(n), Cell::Number(100.0 * low, 1), Cell::Number(100.0 * high, 1)]
        };
        let row = |l: &LimitShare| {
            let m = metric(&l.limit.outcome);
            let decimals = m.map_or(2, |m| m.decimals);
            let mut row = vec![
                Cell::text(l.limit.outcome.clone()),
                Cell::number(l.limit.min, decimals),
                Cell::number(l.limit.max, decimals),
                Cell::text(l.limit.allowed.join(" or ")),
            ];
            row.extend(share(l.holds));
            row.extend([self.share(l.doubtful), Cell::text(l.limit.severity.as_str())]);
            row
        };
        let mut rows: Vec<Vec<Cell>> = self.limits.iter().map(row).collect();
        let mut all = vec![Cell::text("all limits together"), Cell::Empty, Cell::Empty, Cell::text("")];
        all.extend(share(self.all_hold));
        all.extend([self.share(self.all_doubtful), Cell::text("")]);
        rows.push(all);
        let columns = [
            "outcome",
            "min",
            "max",
            "allowed",
            "within_pct",
            "low_95_pct",
            "high_95_pct",
            "doubtful_pct",
            "severity",
        ];
        let title = "share of the points at which each limit is within, and doubtful";
        Table::new("limits", title, &columns, rows)
    }

    fn words(&self) -> Table {
        let rows = self.outcomes.iter().flat_map(|o| {
            o.words.iter().map(|(w, n)| vec![Cell::text(o.metric.key), Cell::text(*w), self.share(*n)])
        });
        Table::new("words", "outcomes in words", &["outcome", "word", "share_pct"], rows.collect())
    }

    fn indices_table(&self) -> Table {
        let all = self.study.list_all;
        let mut rows = Vec::new();
        for o in &self.outcomes {
            let Some(x) = &o.indices else { continue };
            // the last index is that of all judged inputs together
            let mut places: Vec<usize> = (0..x.total.len().saturating_sub(1)).collect();
            places.sort_by(|&a, &b| x.total[b].value.total_cmp(&x.total[a].value));
            let shown = |i: &usize| all || (x.total[*i].tells() && x.total[*i].value >= SHOWN_FROM);
            for i in places.into_iter().filter(shown) {
                let input = self.inputs[i].input;
                rows.push(vec![
                    Cell::text(o.metric.key),
                    Cell::text(input.key),
                    Cell::text(if input.judged { "[J]" } else { "" }),
                    total(Some(x.first[i])),
                    error(Some(x.first[i])),
                    total(Some(x.total[i])),
                    error(Some(x.total[i])),
                ]);
            }
        }
        let columns = ["outcome", "input", "judged", "first", "first_error", "total", "total_error"];
        let from = if all { String::new() } else { format!(", total from {SHOWN_FROM} on") };
        Table::new("indices", &format!("Sobol' indices{from}"), &columns, rows)
    }

    fn inputs_table(&self) -> Table {
        let row = |u: &Uncertain| {
            vec![
                Cell::text(u.input.key),
                Cell::Number(u.low, 3),
                Cell::Number(u.high, 3),
                Cell::text(u.input.unit),
                Cell::text(if u.input.judged { "[J]" } else { "" }),
                Cell::text(u.why.clone()),
            ]
        };
        let columns = ["input", "low", "high", "unit", "judged", "why"];
        Table::new("ranges", "inputs and their ranges", &columns, self.inputs.iter().map(row).collect())
    }
}

impl OutcomeBand {
    /// Whether judgement decides it, and whether that is within the sampling error.
    fn mark(&self) -> &'static str {
        let Some(e) = self.judged() else { return "" };
        if !e.tells() {
            return CANNOT_TELL;
        }
        match (e.value >= DECIDES, (e.value - DECIDES).abs() < e.error) {
            (true, false) => "[J]",
            (true, true) => "[J] within the error",
            (false, true) => "not [J] within the error",
            (false, false) => "",
        }
    }
}

/// Empty where the samples do not tell it.
fn total(e: Option<Estimate>) -> Cell {
    Cell::number(e.filter(|e| e.tells()).map(|e| e.value), 2)
}

fn error(e: Option<Estimate>) -> Cell {
    Cell::number(e.filter(|e| e.tells()).map(|e| e.error), 2)
}
