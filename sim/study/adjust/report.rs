//! A session as findings: the log, how it ended, how far from the best, what no setting mends.

use super::narrative;
use super::search::Best;
use super::session::{End, Session, Unmended, said};
use super::symptoms::Symptom;
use super::trials::{Danger, Look};
use crate::findings::{Cell, Findings, Table};
use crate::joint::SettingName;
use crate::outcome::{LimitVerdict, MISSED, metric};
use crate::scenario::Scenario;

/// A session, its scenarios and the best that a search found, if there was one.
#[derive(Debug)]
pub struct Report<'a> {
    /// Scenarios, in the order of [`Session::looks`].
    pub scenarios: &'a [Scenario],
    /// Session.
    pub session: &'a Session,
    /// Best found.
    pub best: Option<&'a Best>,
}

/// `1 trial`, `2 trials`.
pub(super) fn count(n: usize, what: &str) -> String {
    if n == 1 { format!("{n} {what}") } else { format!("{n} {what}s") }
}

impl Report<'_> {
    /// As findings; with the log as a table of every step, or, for people, in words alone.
    #[must_use]
    pub fn findings(&self, with_log: bool) -> Findings {
        let s = self.session;
        let mut text = vec![
            format!("A fitting session in simulation, with an invented person. It starts at {}.", s.start),
            "A trial is one run of one scenario. It is unsafe if the knee gives way, if a landing or stumble is \
             doubtful, if the person drops into the chair, or if the stance valve never supports."
                .to_owned(),
        ];
        text.extend(narrative::narrated(&s.entries));
        text.push(self.ending());
        text.extend(self.gap());
        text.extend(self.not_followed());
        text.extend(self.cannot_mend());
        if s.ended == End::NothingHelps {
            text.push("Where no setting mends it, a prosthetist looks at assist spring, extension stop, alignment, or another joint.".to_owned());
        }
        let mut tables = Vec::new();
        if with_log {
            tables.extend([narrative::table_of(&s.entries), self.unmended()]);
        }
        tables.extend([self.settings(), self.closest(), self.counts()]);
        Findings { text, tables, plots: vec![] }
    }

    fn ending(&self) -> String {
        let s = self.session;
        let how = match s.ended {
            End::AllRight => "Everything looked at is right",
            End::NothingHelps => "The session ends: something is not right, and no rule of thumb helps",
            End::OutOfTrials => "The session is broken off: no trial is left",
        };
        let reasons: Vec<String> = Danger::ALL
            .into_iter()
            .filter_map(|d| s.unsafe_by.get(&d).map(|n| format!("{} {n}", d.as_str())))
            .collect();
        let reasons = if reasons.is_empty() { String::new() } else { format!(" ({})", reasons.join(", ")) };
        format!(
            "{how}. What the model shows: {}, after {}, {} of them unsafe{reasons}; {}, {} of them kept.",
            s.end,
            count(s.trials, "trial"),
            s.unsafe_trials(),
            count(s.steps, "step"),
            s.kept_steps,
        )
    }

    fn gap(&self) -> Option<String> {
        let best = self.best?;
        let worst = self.session.worst();
        let gap = best.worst - worst;
        let holds = if best.looks.iter().any(|l| l.assessment.is_err()) {
            "not even there can everything be followed, and what cannot be followed is not judged"
        } else if best.worst >= 0.0 {
            "there, every limit holds"
        } else {
            "not even there does every limit hold: with these limits no setting found is right for everything"
        };
        Some(format!(
            "Worst relative margin {worst:.2} ({}); the best setting that a search over the whole range finds \
             reaches {:.2} ({}) at {}; {holds}. The gap is at least {gap:.2}.",
            self.limiting(&self.session.looks),
            best.worst,
            self.limiting(&best.looks),
            best.at,
        ))
    }

    /// The limit that limits, with its scenario.
    fn limiting(&self, looks: &[Look]) -> String {
        let worst = self.scenarios.iter().zip(looks).min_by(|a, b| a.1.worst().total_cmp(&b.1.worst()));
        worst.map_or_else(String::new, |(scenario, look)| match look.closest() {
            Some(l) => {
                let m = metric(&l.limit.outcome);
                format!(
                    "{}: {}",
                    scenario.name,
                    m.map_or_else(String::new, |m| format!("{} {}", m.label, m.say(l.value)))
                )
            }
            None => format!("{}: cannot be followed", scenario.name),
        })
    }

    /// What cannot be followed at the last settings.
    fn not_followed(&self) -> Option<String> {
        let which: Vec<&str> = self
            .scenarios
            .iter()
            .zip(&self.session.looks)
            .filter(|(_, l)| l.assessment.is_err())
            .map(|(s, _)| s.name.as_str())
            .collect();
        (!which.is_empty())
            .then(|| format!("Not judged, as it cannot be followed there: {}.", which.join(", ")))
    }

    /// Limits that no setting mends, by symptom.
    fn cannot_mend(&self) -> Vec<String> {
        let mut symptoms: Vec<Option<&'static Symptom>> = Vec::new();
        for u in &self.session.unmended {
            if !symptoms.contains(&u.symptom) {
                symptoms.push(u.symptom);
            }
        }
        symptoms.into_iter().map(|s| self.unmended_symptom(s)).collect()
    }

    fn unmended_symptom(&self, symptom: Option<&'static Symptom>) -> String {
        let of: Vec<&Unmended> = self.session.unmended.iter().filter(|u| u.symptom == symptom).collect();
        let name = |u: &Unmended| &self.scenarios[u.scenario].name;
        let seen: Vec<String> = of.iter().map(|u| format!("{}: {}", name(u), u.seen)).collect();
        let mut out = match symptom {
            // broken off: nothing has been shown about what settings can do
            Some(s) if self.session.ended == End::OutOfTrials => {
                format!("Not right yet: {} ({}).", s.seen, seen.join("; "))
            }
            Some(s) => format!("No rule of thumb mends: {} ({}).", s.seen, seen.join("; ")),
            None => format!("Not right, and no rule of thumb is about it: {}.", seen.join("; ")),
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
            Some(s) => format!("{out} Look at: {}.", s.otherwise.join("; ")),
            None => out,
        }
    }

    fn unmended(&self) -> Table {
        let rows = self
            .session
            .unmended
            .iter()
            .map(|u| {
                let best = self.best.and_then(|b| at_best(b, u));
                vec![
                    Cell::text(&self.scenarios[u.scenario].name),
                    u.symptom.map_or(Cell::Empty, |s| Cell::text(s.name)),
                    Cell::text(&u.limit.outcome),
                    Cell::text(&u.seen),
                    Cell::Text(u.tried.join("; ")),
                    best.map_or(Cell::Empty, |l| Cell::text(said(l))),
                    best.map_or(Cell::Empty, |l| Cell::text(if l.holds() { "true" } else { "false" })),
                ]
            })
            .collect();
        Table::new(
            "unmended",
            "Limits that the session could not mend",
            &["scenario", "symptom", "outcome", "seen", "tried", "best_found", "holds_at_best_found"],
            rows,
        )
    }

    fn settings(&self) -> Table {
        let s = self.session;
        let rows = SettingName::ALL
            .into_iter()
            .filter(|n| s.end.pct(*n).is_some())
            .map(|n| {
                vec![
                    Cell::text(n.as_str()),
                    Cell::number(s.start.pct(n), 0),
                    Cell::number(s.end.pct(n), 0),
                    Cell::number(self.best.and_then(|b| b.at.pct(n)), 0),
                ]
            })
            .collect();
        Table {
            key: "settings".into(),
            title: "Settings, percent of this model's range; match no mark on any joint".into(),
            columns: ["setting", "start_pct", "end_pct", "best_found_pct"].map(str::to_owned).to_vec(),
            rows,
        }
    }

    fn closest(&self) -> Table {
        let side = |look: Option<&Look>| -> [Cell; 3] {
            match look.map(|l| (l.closest(), l.worst())) {
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
                row.extend(side(self.session.looks.get(i)));
                row.extend(side(self.best.and_then(|b| b.looks.get(i))));
                row
            })
            .collect();
        Table {
            key: "closest_limits".into(),
            title: "Closest limit of each scenario, at the end of the session and at the best setting found"
                .into(),
            columns: [
                "scenario",
                "closest_limit",
                "value",
                "margin",
                "best_closest_limit",
                "best_value",
                "best_margin",
            ]
            .map(str::to_owned)
            .to_vec(),
            rows,
        }
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
        Table {
            key: "counts".into(),
            title: "Counts".into(),
            columns: ["what", "value"].map(str::to_owned).to_vec(),
            rows,
        }
    }
}

/// A limit of the session at the best settings found.
fn at_best<'b>(best: &'b Best, u: &Unmended) -> Option<&'b LimitVerdict> {
    best.looks[u.scenario].binding().find(|l| l.limit == u.limit)
}
