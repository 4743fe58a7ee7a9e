//! Names of the scenarios in which rules are tested.

/// Walking at a comfortable speed.
pub const WALK: &str = "walk-comfortable";
pub(super) const HURRIED: &str = "walk-hurried";
pub(super) const SIT: &str = "sit-down";
pub(super) const RAMP: &str = "ramp-down-8-deg";
pub(super) const STAIRS: &str = "stairs-down";
pub(super) const STUMBLE: &str = "stumble";
pub(super) const STAND: &str = "stand";

/// All of them.
pub const SCENARIOS: [&str; 7] = [WALK, HURRIED, SIT, RAMP, STAIRS, STUMBLE, STAND];

/// Whether a scenario has a pace of its own, which no option sets.
#[must_use]
pub fn has_own_pace(scenario: &str) -> bool {
    scenario == HURRIED
}
