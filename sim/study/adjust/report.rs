//! The full report of a session: the log, how it ended, how far from the best settings found, which limits no
//! setting brings back.

use super::narrative;
use super::search::BestFound;
use super::session::{SessionEnd, UnmetLimit};
use super::symptoms::Symptom;
use super::text::limit_text;
use super::trials::{Danger, TrialResult};
use crate::findings::{Cell, Findings, Table};
use crate::outcome::{LimitVerdict, MISSED, metric};
use crate::study::text::count;

pub use super::summary::SessionReport;

/// How much a report tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReportLevel {
    /// The answer, on one screen.
    Answer,
    /// Every step in sentences, and all tables but the log.
    Full,
    /// The same, with the log and the limits not within as tables.
    Data,
}

impl SessionReport<'_> {
    /// As findings.
    #[must_use]
    pub fn findings(&self, level: ReportLevel) -> Findings {
        match level {
            ReportLevel::Answer => self.answer(),
            ReportLevel::Full => self.full(false),
            ReportLevel::Data => self.full(true),
        }
    }

    fn full(&self, with_log: bool) -> Findings {
        let s = self.session;
        let mut text = vec![
            format!("A fitting session in simulation, with an invented person. It starts at {}.", s.start),
            "A trial is one run of one scenario. It is unsafe if the knee gives way, if a landing or stumble is \
             doubtful, if the person drops into the chair, or if the stance valve never supports."
                .to_owned(),
        ];
        text.extend(narrative::sentences(&s.log));
        text.push(self.ending());
        text.extend(self.gap(true));
        text.extend(self.not_followed());
        text.extend(self.unmet_by_symptom());
        text.extend(self.beyond_settings());
        let mut tables = Vec::new();
        if with_log {
            tables.extend([narrative::table(&s.log), self.unmet()]);
        }
        tables.extend([self.settings(), self.closest(), self.counts()]);
        Findings { text, tables, plots: vec![] }
    }

    fn ending(&self) -> String {
        let s = self.session;
        let how = match s.ended {
            SessionEnd::AllWithinLimits => "Everything tested is within limits",
            SessionEnd::NothingHelps => {
                "The session ends: something is not right, and no rule of thumb helps"
            }
            SessionEnd::OutOfTrials => "The session is broken off: no trial is left",
        };
        format!(
            "{how}. What the model shows: {}, after {}, {} of them unsafe{}; {}, {} of them kept.",
            s.end,
            count(s.trials, "trial"),
            s.unsafe_trials(),
            self.unsafe_reasons(),
            count(s.steps, "step"),
            s.kept_steps,
        )
    }

    /// Limits that are not within at the end, by symptom.
    fn unmet_by_symptom(&self) -> Vec<String> {
        let mut symptoms: Vec<Option<&'static Symptom>> = Vec::new();
        for u in &self.session.unmet {
            if !symptoms.contains(&u.symptom) {
                symptoms.push(u.symptom);
            }
        }
        symptoms.into_iter().map(|s| self.unmet_symptom(s)).collect()
    }

    fn unmet_symptom(&self, symptom: Option<&'static Symptom>) -> String {
        let of: Vec<&UnmetLimit> = self.session.unmet.iter().filter(|u| u.symptom == symptom).collect();
        let name = |u: &UnmetLimit| &self.scenarios[u.scenario].name;
        let observed: Vec<String> = of.iter().map(|u| format!("{}: {}", name(u), u.observed)).collect();
        let mut out = match symptom {
            // broken off: nothing has been shown about what settings can do
            Some(s) if self.session.ended == SessionEnd::OutOfTrials => {
                format!("Not right yet: {} ({}).", s.description, observed.join("; "))
            }
            Some(s) => format!("No rule of thumb mends: {} ({}).", s.description, observed.join("; ")),
            None => format!("Not right, and no rule of thumb is about it: {}.", observed.join("; ")),
        };
        // the last activity that tried it knows most
        if let Some(last) = of.iter().rev().find(|u| !u.tried.is_empty()) {
            out += &format!(" Tried from here in {}: {}.", name(last), last.tried.join("; "));
        }
        if let Some(best) = self.best {
            let holds: Vec<bool> = of.iter().filter_map(|u| Some(at_best(best, u)?.holds())).collect();
            out += match (holds.iter().all(|h| *h), holds.iter().any(|h| *h)) {
                (true, _) => {
                    " At the best settings found all of it is right: single steps do not lead there."
                }
                (false, true) => " At the best settings found part of it is right.",
                (false, false) => " At the best settings found it is not right either.",
            };
        }
        match symptom {
            Some(s) => format!("{out} Look at: {}.", s.other_causes.join("; ")),
            None => out,
        }
    }

    fn unmet(&self) -> Table {
        let rows = self
            .session
            .unmet
            .iter()
            .map(|u| {
                let best = self.best.and_then(|b| at_best(b, u));
                vec![
                    Cell::text(&self.scenarios[u.scenario].name),
                    u.symptom.map_or(Cell::Empty, |s| Cell::text(s.name)),
                    Cell::text(&u.limit.outcome),
                    Cell::text(&u.observed),
                    Cell::Text(u.tried.join("; ")),
                    best.map_or(Cell::Empty, |l| Cell::text(limit_text(l))),
                    best.map_or(Cell::Empty, |l| Cell::text(l.verdict.as_str())),
                ]
            })
            .collect();
        Table::new(
            "unmended",
            "Limits that the session could not mend",
            &["scenario", "symptom", "outcome", "seen", "tried", "best_found", "verdict_at_best_found"],
            rows,
        )
    }

    fn closest(&self) -> Table {
        let cells = |result: Option<&TrialResult>| -> [Cell; 3] {
            match result.map(|r| (r.closest(), r.worst())) {
                Some((Some(l), worst)) => {
                    let m = metric(&l.limit.outcome);
                    [
                        Cell::text(m.map_or("", |m| m.key)),
                        Cell::text(m.map_or_else(String::new, |m| m.say(l.value))),
                        Cell::number(Some(worst).filter(|w| w.is_finite()), 2),
                    ]
                }
                Some((None, w)) if w <= MISSED => {
                    [Cell::text("cannot be followed"), Cell::Empty, Cell::Number(w, 2)]
                }
                _ => [Cell::Empty, Cell::Empty, Cell::Empty],
            }
        };
        let rows = self
            .scenarios
            .iter()
            .enumerate()
            .map(|(i, scenario)| {
                let mut row = vec![Cell::text(&scenario.name)];
                row.extend(cells(self.session.final_results.get(i)));
                row.extend(cells(self.best.and_then(|b| b.results.get(i))));
                row
            })
            .collect();
        Table::new(
            "closest_limits",
            "Closest limit of each scenario, at the end of the session and at the best setting found",
            &[
                "scenario",
                "closest_limit",
                "value",
                "margin",
                "best_closest_limit",
                "best_value",
                "best_margin",
            ],
            rows,
        )
    }

    fn counts(&self) -> Table {
        #[allow(clippy::cast_precision_loss)] // counts
        let number = |n: usize| Cell::Number(n as f64, 0);
        let s = self.session;
        let mut rows = vec![
            vec![Cell::text("trials"), number(s.trials)],
            vec![Cell::text("unsafe trials"), number(s.unsafe_trials())],
        ];
        rows.extend(Danger::ALL.into_iter().map(|d| {
            vec![
                Cell::Text(format!("unsafe: {}", d.as_str())),
                number(s.unsafe_by.get(&d).copied().unwrap_or(0)),
            ]
        }));
        rows.extend([
            vec![Cell::text("steps"), number(s.steps)],
            vec![Cell::text("steps kept"), number(s.kept_steps)],
            vec![Cell::text("worst relative margin at the end"), Cell::number(Some(s.worst()), 3)],
            vec![
                Cell::text("worst relative margin of the best found"),
                Cell::number(self.best.map(|b| b.worst), 3),
            ],
            vec![Cell::text("gap"), Cell::number(self.best.map(|b| b.worst - s.worst()), 3)],
            vec![Cell::text("positions searched"), self.best.map_or(Cell::Empty, |b| number(b.positions))],
        ]);
        Table::new("counts", "Counts", &["what", "value"], rows)
    }
}

/// The limit at the best settings found.
fn at_best<'b>(best: &'b BestFound, u: &UnmetLimit) -> Option<&'b LimitVerdict> {
    best.results[u.scenario].binding().find(|l| l.limit == u.limit)
}
