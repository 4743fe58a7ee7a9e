//! The limits of an activity that are broken or doubtful, grouped by symptom.

use super::stages::Stage;
use super::symptom_data::symptom_of_limit;
use super::symptoms::{Situation, Symptom};
use super::text::limit_text;
use super::trials::TrialResult;
use crate::scenario::{ActivityKind, Limit};

/// Limits not within that indicate one symptom.
pub(super) struct Problem {
    pub symptom: Option<&'static Symptom>,
    /// The limits.
    pub limits: Vec<Limit>,
    /// The worst of their relative margins.
    pub margin: f64,
    /// The worst has no number, so that a step may change nothing that can be measured.
    pub unmeasured: bool,
    /// The worst, with its value and limit.
    pub observed: String,
}

/// The problems of an activity, the worst first.
pub(super) fn problems(kind: ActivityKind, stage: &Stage, result: &TrialResult) -> Vec<Problem> {
    let Ok(a) = &result.assessment else { return Vec::new() };
    let situation = Situation::of(&a.outcomes);
    let mut problems: Vec<Problem> = Vec::new();
    for l in result.binding() {
        if l.holds() || !stage.covers(&l.limit) {
            continue;
        }
        let symptom = symptom_of_limit(kind, &l.limit, l.value, situation);
        match problems.iter_mut().find(|p| symptom.is_some() && p.symptom == symptom) {
            Some(p) => {
                p.limits.push(l.limit.clone());
                if l.relative_margin < p.margin {
                    p.margin = l.relative_margin;
                    p.observed = limit_text(l);
                    p.unmeasured = l.value.as_number().is_none();
                }
            }
            None => problems.push(Problem {
                symptom,
                limits: vec![l.limit.clone()],
                margin: l.relative_margin,
                unmeasured: l.value.as_number().is_none(),
                observed: limit_text(l),
            }),
        }
    }
    problems.sort_by(|a, b| a.margin.total_cmp(&b.margin));
    problems
}
