//! Scenarios as data of the page: limits, outcomes, and where sliders begin.

use serde_json::{Map, Value as Json, json};

use crate::case::inputs::Case;
use crate::outcome::{LimitVerdict, METRICS, Value, metric};
use crate::scenario::{Activity, Limit, Scenario};
use crate::teaching::model_set::ModelSet;

/// Outcomes that are summed over the steps of the integration. At the looser tolerances of the page their last digits
/// differ from those of `run`, so the page does not show them.
pub(super) const BY_STEPS: [&str; 2] = ["friction_needed", "foot_held_down_bw_ms"];

/// A scenario with its limits and what is measured in it.
pub(super) fn scenario(models: &ModelSet, s: &Scenario) -> Json {
    let case = Case { setup: models.base.clone(), scenario: s.clone() };
    let kind = s.activity.kind();
    let own: Map<String, Json> = ["speed_m_per_s", "foot_shift_m", "stand_slope_deg"]
        .into_iter()
        .filter_map(|key| case.get(key).map(|v| (key.to_owned(), json!(v))))
        .collect();
    let measured = METRICS.iter().filter(|m| m.activities.contains(&kind) && !BY_STEPS.contains(&m.key));
    json!({
        "name": s.name,
        "about": s.about,
        "kind": match s.activity {
            Activity::Walk(_) => "walk",
            Activity::Sit(_) => "sit",
            Activity::Ramp(_) => "ramp",
            Activity::Stairs(_) => "stairs",
            Activity::Stumble(_) => "stumble",
            Activity::Stand(_) => "stand",
        },
        // initial values of the sliders on the first screen; a speed set by hand would override a pace by factors
        "own": own,
        "paced_by_factor": matches!(&s.activity, Activity::Walk(w) if w.speed_factor.or(w.cadence_factor).is_some()),
        "limits": s.limits.iter().filter_map(limit).collect::<Vec<_>>(),
        "outcomes": measured
            .map(|m| json!({ "key": m.key, "label": m.table_label(), "judged": m.judged.contains(&kind) }))
            .collect::<Vec<_>>(),
    })
}

fn limit(l: &Limit) -> Option<Json> {
    let m = metric(&l.outcome)?;
    Some(json!({
        "label": m.table_label(),
        "bounds": LimitVerdict::of(l, Value::NotReached).bounds(),
        "source": l.source,
    }))
}
