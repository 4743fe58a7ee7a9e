//! The activities of a session and their order.

use super::session::Order;
use crate::error::SimError;
use crate::scenario::{ActivityKind, Limit, Scenario};

/// Outcomes of the landing, which is tested before the rest of walking.
const LANDING: &[&str] = &["landing"];

/// Usual order of the activities.
const USUAL_ORDER: [ActivityKind; 6] = [
    ActivityKind::Stand,
    ActivityKind::Stumble,
    ActivityKind::Walk,
    ActivityKind::Sit,
    ActivityKind::Ramp,
    ActivityKind::Stairs,
];

/// An activity to test.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stage {
    pub name: String,
    /// Index of the scenario.
    pub scenario: usize,
    /// Outcomes whose limits count; none for all.
    pub only: Option<&'static [&'static str]>,
}

impl Stage {
    /// All limits of a scenario.
    pub fn whole(scenario: usize, name: &str) -> Self {
        Self { name: name.to_owned(), scenario, only: None }
    }

    /// Whether a limit counts here.
    pub fn covers(&self, limit: &Limit) -> bool {
        self.only.is_none_or(|keys| keys.contains(&limit.outcome.as_str()))
    }
}

/// All stages in their order.
///
/// # Errors
/// An activity in `order` that none of the scenarios has.
pub(super) fn stages(scenarios: &[Scenario], order: &Order) -> Result<Vec<Stage>, SimError> {
    let of_kind =
        |kind: ActivityKind| scenarios.iter().enumerate().filter(move |(_, s)| s.activity.kind() == kind);
    let mut all: Vec<Stage> = Vec::new();
    for kind in USUAL_ORDER {
        if kind == ActivityKind::Walk
            && let Some((i, _)) = of_kind(kind).next()
        {
            all.push(Stage { name: "landing".into(), scenario: i, only: Some(LANDING) });
        }
        all.extend(of_kind(kind).map(|(i, s)| Stage::whole(i, &s.name)));
    }
    let known = || all.iter().map(|s| s.name.as_str()).collect::<Vec<_>>().join(", ");
    for name in &order.activities {
        if !all.iter().any(|s| s.name == *name) {
            return Err(SimError::Unknown {
                kind: "activity of this session",
                name: name.clone(),
                known: known(),
            });
        }
    }
    let rank = |s: &Stage| order.activities.iter().position(|n| *n == s.name).unwrap_or(usize::MAX);
    all.sort_by_key(rank);
    // walking once more if anything came after it
    if all.last().is_some_and(|s| scenarios[s.scenario].activity.kind() != ActivityKind::Walk) {
        all.extend(of_kind(ActivityKind::Walk).map(|(i, s)| Stage::whole(i, &format!("{} again", s.name))));
    }
    Ok(all)
}
