//! The end of a session compared with the best settings found: what the short and the full report share.

use super::search::BestFound;
use super::session::{Session, SessionEnd};
use super::trials::{Danger, TrialResult};
use crate::findings::{Cell, Table};
use crate::joint::SettingName;
use crate::outcome::metric;
use crate::scenario::Scenario;

/// A session, its scenarios and the best that a search found, if there was one.
#[derive(Debug)]
pub struct SessionReport<'a> {
    /// Scenarios, in the order of [`Session::final_results`].
    pub scenarios: &'a [Scenario],
    /// Session.
    pub session: &'a Session,
    /// Best settings found.
    pub best: Option<&'a BestFound>,
}

impl SessionReport<'_> {
    /// ` (gives way 1, landing or stumble doubtful 3)`; empty without unsafe trials.
    pub(super) fn unsafe_reasons(&self) -> String {
        let counted: Vec<String> = Danger::ALL
            .into_iter()
            .filter_map(|d| self.session.unsafe_by.get(&d).map(|n| format!("{} {n}", d.as_str())))
            .collect();
        if counted.is_empty() { String::new() } else { format!(" ({})", counted.join(", ")) }
    }

    /// The worst margin at the end and at the best settings found. The settings themselves are left out where a
    /// table has them.
    pub(super) fn gap(&self, with_settings: bool) -> Option<String> {
        let best = self.best?;
        let worst = self.session.worst();
        let gap = best.worst - worst;
        let verdict = if best.results.iter().any(|r| r.assessment.is_err()) {
            "even there some scenario cannot be followed, and is not judged"
        } else if best.worst >= 0.0 {
            "there, every limit is met"
        } else {
            "not even there is every limit met: with these limits no setting found is right for everything"
        };
        let settings = if with_settings { format!(" at {}", best.at) } else { String::new() };
        Some(format!(
            "Worst relative margin {worst:.2} ({}); the best setting that a search over the whole range finds \
             reaches {:.2} ({}){settings}; {verdict}. The gap is at least {gap:.2}.",
            self.limiting(&self.session.final_results),
            best.worst,
            self.limiting(&best.results),
        ))
    }

    /// The limit with the least margin, with its scenario.
    fn limiting(&self, results: &[TrialResult]) -> String {
        let worst = self.scenarios.iter().zip(results).min_by(|a, b| a.1.worst().total_cmp(&b.1.worst()));
        worst.map_or_else(String::new, |(scenario, result)| match result.closest() {
            Some(l) => {
                let m = metric(&l.limit.outcome);
                let outcome = m.map_or_else(String::new, |m| m.sentence(l.value));
                format!("{}: {outcome}", scenario.name)
            }
            None => format!("{}: cannot be followed", scenario.name),
        })
    }

    /// What cannot be followed at the last settings.
    pub(super) fn not_followed(&self) -> Option<String> {
        let which: Vec<&str> = self
            .scenarios
            .iter()
            .zip(&self.session.final_results)
            .filter(|(_, r)| r.assessment.is_err())
            .map(|(s, _)| s.name.as_str())
            .collect();
        (!which.is_empty())
            .then(|| format!("Not judged, as it cannot be followed there: {}.", which.join(", ")))
    }

    /// What to look at where no setting helps.
    pub(super) fn beyond_settings(&self) -> Option<String> {
        (self.session.ended == SessionEnd::NothingHelps).then(|| {
            "Where no setting mends it, a prosthetist looks at assist spring, extension stop, alignment, or another joint."
                .to_owned()
        })
    }

    /// Settings at the start, at the end, and the best found.
    pub(super) fn settings(&self) -> Table {
        let s = self.session;
        let rows = SettingName::ALL
            .into_iter()
            .filter(|n| s.end.pct(*n).is_some())
            .map(|n| {
                vec![
                    Cell::text(n.as_str()),
                    Cell::number(s.start.pct(n), 1),
                    Cell::number(s.end.pct(n), 1),
                    Cell::number(self.best.and_then(|b| b.at.pct(n)), 1),
                ]
            })
            .collect();
        Table::new(
            "settings",
            "Settings, percent of this model's range; match no mark on any joint",
            &["setting", "start_pct", "end_pct", "best_found_pct"],
            rows,
        )
    }
}
