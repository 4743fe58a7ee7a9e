//! Rules 8 to 10: yield resistance and catch load. All of rule 8 is about a stance valve that the load closes:
//! where it stays open, the yield setting has no effect.

use super::rows::*;

pub(super) const RULES: &[Rule] = &[
    move_input(
        "8a",
        "stance-yield up: sitting down takes longer",
        SIT,
        "stance-yield",
        (SIT_TIME, 1.0, MOST),
        Precondition::ValveCloses,
    ),
    move_input(
        "8b",
        "stance-yield up: knee bends slower on the ramp",
        RAMP,
        "stance-yield",
        (RATE, -1.0, NEVER),
        Precondition::BothYield,
    ),
    move_input(
        "8c",
        "stance-yield up: knee bends slower on stairs",
        STAIRS,
        "stance-yield",
        (RATE, -1.0, NEVER),
        Precondition::BothYield,
    ),
    move_input(
        "8d",
        "stance-yield up: body sinks slower at the end of the ramp step",
        RAMP,
        "stance-yield",
        (DROP, -1.0, NEVER),
        Precondition::ValveCloses,
    ),
    move_input(
        "8e",
        "stance-yield up: body sinks slower at the end of the stair",
        STAIRS,
        "stance-yield",
        (DROP, -1.0, NEVER),
        Precondition::ValveCloses,
    ),
    custom(
        "8f",
        "stance-yield closed: sitting down takes too long",
        SIT,
        ["stance-yield to 100 %", "sit_time_s", "s beyond"],
        criteria::closed_drags_on_the_chair,
    ),
    custom(
        "8g",
        "stance-yield closed: does not yield on the ramp",
        RAMP,
        ["stance-yield to 100 %", "knee_flexion_at_other_foot_contact_deg", "° short of yielding"],
        criteria::closed_holds,
    ),
    custom(
        "8h",
        "stance-yield closed: does not yield on stairs",
        STAIRS,
        ["stance-yield to 100 %", "knee_flexion_at_other_foot_contact_deg", "° short of yielding"],
        criteria::closed_holds_on_stairs,
    ),
    custom(
        "8i",
        "stance-yield open: drops into the chair",
        SIT,
        ["stance-yield to 0 %", "sit_time_s", "s too fast"],
        criteria::open_drops_on_the_chair,
    ),
    custom(
        "8j",
        "stance-yield open: drops on the ramp",
        RAMP,
        ["stance-yield to 0 %", "peak_rate_deg_per_s", "°/s beyond"],
        criteria::open_drops,
    ),
    custom(
        "8k",
        "stance-yield open: drops on stairs",
        STAIRS,
        ["stance-yield to 0 %", "peak_rate_deg_per_s", "°/s beyond"],
        criteria::open_drops_on_stairs,
    ),
    Rule {
        catch_loads: SAMPLED,
        ..move_input(
            "9a",
            "catch-load up: support later or not at all",
            STUMBLE,
            "catch-load",
            (SUPPORT, 1.0, MOST),
            Precondition::None,
        )
    },
    Rule {
        catch_loads: SAMPLED,
        ..move_input(
            "9b",
            "catch-load up: release earlier",
            WALK,
            "catch-load",
            (MotionMeasure::Release, -1.0, NotReachedAs::Undecided("the stance valve does not close")),
            Precondition::NotBothAtToeOff,
        )
    },
    Rule {
        catch_loads: SAMPLED,
        ..move_input(
            "9c",
            "catch-load down: lets go later, and that costs more of the peak",
            WALK,
            "catch-load",
            (MotionMeasure::Outcome("late_release_loss_deg"), -1.0, NEVER),
            Precondition::ReleasesLate,
        )
    },
    Rule {
        catch_loads: SAMPLED,
        ..custom(
            "10a",
            "the light person is supported in time only where the heavy one is",
            STUMBLE,
            ["mass and stature", "support_after_ms", "ms later"],
            criteria::light_only_where_heavy,
        )
    },
    Rule {
        catch_loads: SAMPLED,
        claim: Claim::CanHappen,
        ..custom(
            "10b",
            "the light person is not supported in time by a catch load that suits the heavy one, in stumbling and walking",
            STUMBLE,
            ["mass and stature", "support_after_ms", "ms later"],
            criteria::light_does_not_reach,
        )
    },
];
