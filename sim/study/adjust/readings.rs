//! What a trial shows of a symptom: every indicator with its value, how far it lies from its edge, and whether it shows.

use super::symptoms::{Indicator, Situation, Symptom};
use super::text::limit_text;
use super::trials::TrialResult;
use crate::outcome::{Assessment, LimitVerdict, Value, Verdict, metric};
use crate::scenario::{Limit, Scenario};

/// An outcome that shows a symptom, or could.
pub(super) struct Reading {
    /// Index of the scenario.
    pub scenario: usize,
    /// The indicator.
    pub indicator: Indicator,
    /// Value of its outcome.
    pub value: Value,
    /// What counts as one unit.
    pub unit: f64,
    /// Units inside the limit; negative outside; none where no limit or number says it.
    pub margin: Option<f64>,
    /// The limit's own margin, which also says how near an outcome is that is not reached.
    pub relative_margin: Option<f64>,
    /// It shows the symptom.
    pub shown: bool,
    /// Its limit is doubtful.
    pub doubtful: bool,
    /// Scenario, outcome, value, limit.
    pub text: String,
}

/// Every indicator of a symptom in every scenario in which it can occur.
pub(super) fn readings(symptom: &Symptom, scenarios: &[Scenario], results: &[TrialResult]) -> Vec<Reading> {
    let mut all = Vec::new();
    for (i, (scenario, result)) in scenarios.iter().zip(results).enumerate() {
        let Ok(a) = &result.assessment else { continue };
        all.extend(of_scenario(symptom, i, scenario, a));
        let can_occur = symptom.activities.contains(&scenario.activity.kind());
        if can_occur && !symptom.indicators.iter().any(|(s, _)| *s == symptom.measure) {
            all.extend(reading(i, scenario, a, symptom.measure, false));
        }
    }
    all
}

fn of_scenario(symptom: &Symptom, i: usize, scenario: &Scenario, a: &Assessment) -> Vec<Reading> {
    if !symptom.activities.contains(&scenario.activity.kind()) {
        return vec![];
    }
    let situation = Situation::of(&a.outcomes);
    let of = |(indicator, condition): &(Indicator, _)| {
        reading(i, scenario, a, *indicator, situation.meets(*condition))
    };
    symptom.indicators.iter().filter_map(of).collect()
}

/// Excess of a symptom that has no number, as where the knee gives way; where an outcome is not reached, up to 1 more.
pub const MOST_EXCESS: f64 = 2.0;

/// How far a trial lies beyond the edge at which a symptom begins, in units of the limit's own scale: above 0 it shows;
/// none where it cannot occur in this scenario.
#[must_use]
pub fn excess(symptom: &Symptom, scenario: &Scenario, a: &Assessment) -> Option<f64> {
    let of = |r: Reading| match (r.shown, r.margin) {
        (true, Some(margin)) => (-margin).clamp(0.0, MOST_EXCESS),
        // what is not reached can be nearer or further: its limit is judged with an outcome beside it
        (true, None) if r.value == Value::NotReached => {
            MOST_EXCESS + 0.1 * r.relative_margin.map_or(10.0, |m| (-m).clamp(0.0, 10.0))
        }
        (true, None) => MOST_EXCESS,
        (false, Some(margin)) => (-margin).clamp(-MOST_EXCESS, 0.0),
        (false, None) => -1.0,
    };
    of_scenario(symptom, 0, scenario, a).into_iter().map(of).reduce(f64::max)
}

fn reading(
    scenario_index: usize,
    scenario: &Scenario,
    a: &Assessment,
    indicator: Indicator,
    condition_met: bool,
) -> Option<Reading> {
    let value = a.outcomes.get(indicator.outcome())?;
    let about = |l: &&LimitVerdict| l.limit.outcome == indicator.outcome() && has_edge(indicator, &l.limit);
    let verdict = a.limits.iter().find(about);
    let limit = verdict.map(|v| &v.limit);
    let text = match (verdict, metric(indicator.outcome())) {
        (Some(v), _) => format!("{}: {}", scenario.name, limit_text(v)),
        (None, Some(m)) => format!("{}: {}", scenario.name, m.sentence(value)),
        (None, None) => return None,
    };
    let (unit, margin) = unit_and_margin(indicator, limit, value);
    let said_elsewhere = verdict.is_some_and(|v| a.said_elsewhere(v));
    let shown = condition_met
        && !said_elsewhere
        && match (indicator, limit) {
            (_, Some(l)) => indicator.matches(l, value),
            (Indicator::AboveNumber(_, edge), None) => value.as_number().is_some_and(|v| v > edge),
            (Indicator::Word(_, words), None) => value.as_word().is_some_and(|w| words.contains(&w)),
            (Indicator::NotReached(_), None) => value == Value::NotReached,
            (Indicator::Below(_) | Indicator::Above(_), None) => false,
        };
    let relative_margin = verdict.map(|v| v.relative_margin);
    let doubtful = verdict.is_some_and(|v| v.verdict == Verdict::Doubtful);
    Some(Reading {
        scenario: scenario_index,
        indicator,
        value,
        unit,
        margin,
        relative_margin,
        shown,
        doubtful,
        text,
    })
}

/// Whether a limit has the edge that an indicator is about.
fn has_edge(indicator: Indicator, limit: &Limit) -> bool {
    match indicator {
        Indicator::Below(_) => limit.min.is_some(),
        Indicator::Above(_) | Indicator::AboveNumber(..) => limit.max.is_some(),
        Indicator::NotReached(_) | Indicator::Word(..) => true,
    }
}

/// Unit of an outcome, and how many of them it lies inside the edge that the indicator is about.
fn unit_and_margin(indicator: Indicator, limit: Option<&Limit>, value: Value) -> (f64, Option<f64>) {
    let number = value.as_number();
    let unit = match (limit, indicator) {
        (Some(l), _) => l.unit_margin(),
        (None, Indicator::AboveNumber(_, edge)) => edge,
        (None, _) => number.map_or(1.0, f64::abs).max(1.0),
    };
    let inside = match (indicator, limit) {
        (Indicator::Below(_), Some(l)) => l.min.zip(number).map(|(min, v)| v - min),
        (Indicator::Above(_) | Indicator::AboveNumber(..), Some(l)) => {
            l.max.zip(number).map(|(max, v)| max - v)
        }
        (Indicator::AboveNumber(_, edge), None) => number.map(|v| edge - v),
        _ => None,
    };
    (unit, inside.map(|x| x / unit))
}
