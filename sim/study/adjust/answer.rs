//! The short report of a session, for one screen: settings at the start and at the end, the changes that were
//! kept, the limits that are not within, the comparison with the best settings found.

use super::narrative::{Episode, episodes};
use super::session::{SessionEnd, StepOutcome};
use super::summary::SessionReport;
use crate::findings::Findings;
use crate::study::text::count;
use crate::units::percent;

/// Most lines of changes, and of limits not within.
const MAX_LISTED: usize = 5;

impl SessionReport<'_> {
    /// The short report.
    pub(super) fn answer(&self) -> Findings {
        let s = self.session;
        let mut text = vec![format!(
            "A fitting session in simulation, with an invented person: {}, {} of them unsafe{}; {}, {} of them kept.",
            count(s.trials, "trial"),
            s.unsafe_trials(),
            self.unsafe_reasons(),
            count(s.steps, "step"),
            s.kept_steps,
        )];
        text.extend(self.changes());
        text.extend(self.end());
        text.extend(self.not_followed());
        text.extend(self.gap(false));
        text.extend(self.beyond_settings());
        text.push(
            "--full prints every step with its reason, other causes of each symptom, the closest limit of each scenario, \
             and all counts."
                .to_owned(),
        );
        Findings { text, tables: vec![self.settings()], plots: vec![] }
    }

    /// The changes that were kept, one line each.
    fn changes(&self) -> Vec<String> {
        let changed: Vec<_> =
            episodes(&self.session.log).into_iter().filter_map(|episode| change_line(&episode)).collect();
        let backed_out = self.session.log.iter().filter(|e| matches!(e.outcome, StepOutcome::BackedOut(_)));
        let backed_out = match backed_out.count() {
            0 => String::new(),
            n => format!("; {} backed out", count(n, "other change")),
        };
        if changed.is_empty() {
            return vec![format!("No change was kept{backed_out}.")];
        }
        let mut lines = vec![format!("Changes kept{backed_out}:")];
        lines.extend(listed(changed, "change"));
        lines
    }

    /// How the session ended and which limits are not within then.
    fn end(&self) -> Vec<String> {
        let s = self.session;
        let ending = match (s.ended, s.unmet.is_empty()) {
            (SessionEnd::AllWithinLimits, _) => "At the end every limit is met.",
            (SessionEnd::NothingHelps, true) => {
                "At the end every limit is met, but not every scenario can be followed."
            }
            (SessionEnd::NothingHelps, false) => "Limits not within at the end, and no rule of thumb helps:",
            (SessionEnd::OutOfTrials, true) => {
                "The session is broken off, no trial is left; every limit is met."
            }
            (SessionEnd::OutOfTrials, false) => "The session is broken off, no trial is left. Not within:",
        };
        let mut lines = vec![ending.to_owned()];
        let unmet = s.unmet.iter().map(|u| format!("{}: {}", self.scenarios[u.scenario].name, u.observed));
        lines.extend(listed(unmet.collect(), "limit"));
        lines
    }
}

/// `swing-flexion 70 → 65 % in walk-comfortable: the heel hardly rises`, if the change was kept.
fn change_line(Episode { first, last, .. }: &Episode<'_>) -> Option<String> {
    let (from, to) = (first.change?, last.change?);
    let compromise = match &last.outcome {
        StepOutcome::Kept => String::new(),
        StepOutcome::Compromise(lost) => format!("; a compromise: no longer met is {lost}"),
        _ => return None,
    };
    Some(format!(
        "{} {} → {} in {}: {}{compromise}",
        from.adjustment.setting,
        percent(from.from_pct).trim_end_matches(" %"),
        percent(to.to_pct),
        first.activity,
        first.symptom.map_or("", |s| s.description),
    ))
}

/// The first lines as a list, and how many more there are.
fn listed(lines: Vec<String>, what: &str) -> Vec<String> {
    let more = lines.len().saturating_sub(MAX_LISTED);
    let mut out: Vec<String> = lines.into_iter().take(MAX_LISTED).map(|line| format!("- {line}")).collect();
    if more > 0 {
        out.push(format!("- and {}", count(more, &format!("more {what}"))));
    }
    out
}
