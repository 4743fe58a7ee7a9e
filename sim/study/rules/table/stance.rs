//! Rules 8 to 10: yield resistance and catch load. All of rule 8 is about a stance valve that the load closes:
//! where it stays open, no yield setting acts.

use super::*;

pub(super) fn rules() -> Vec<Rule> {
    vec![
        moved(
            "8a",
            "stance-yield up: sitting down takes longer",
            SIT,
            "stance-yield",
            (SIT_TIME, 1.0, MOST),
            Gate::ValveCloses,
        ),
        moved(
            "8b",
            "stance-yield up: knee bends slower on the ramp",
            RAMP,
            "stance-yield",
            (RATE, -1.0, NEVER),
            Gate::BothYield,
        ),
        moved(
            "8c",
            "stance-yield up: knee bends slower on stairs",
            STAIRS,
            "stance-yield",
            (RATE, -1.0, NEVER),
            Gate::BothYield,
        ),
        moved(
            "8d",
            "stance-yield up: body sinks slower at the end of the ramp step",
            RAMP,
            "stance-yield",
            (DROP, -1.0, NEVER),
            Gate::ValveCloses,
        ),
        moved(
            "8e",
            "stance-yield up: body sinks slower at the end of the stair",
            STAIRS,
            "stance-yield",
            (DROP, -1.0, NEVER),
            Gate::ValveCloses,
        ),
        own(
            "8f",
            "stance-yield closed: sitting down takes too long",
            SIT,
            ["stance-yield to 100 %", "sit_time_s", "s beyond"],
            judge::closed_drags_on_the_chair,
        ),
        own(
            "8g",
            "stance-yield closed: does not yield on the ramp",
            RAMP,
            ["stance-yield to 100 %", "knee_flexion_at_other_foot_contact_deg", "° short of yielding"],
            judge::closed_holds,
        ),
        own(
            "8h",
            "stance-yield closed: does not yield on stairs",
            STAIRS,
            ["stance-yield to 100 %", "knee_flexion_at_other_foot_contact_deg", "° short of yielding"],
            judge::closed_holds_on_stairs,
        ),
        own(
            "8i",
            "stance-yield open: drops into the chair",
            SIT,
            ["stance-yield to 0 %", "sit_time_s", "s too fast"],
            judge::open_drops_on_the_chair,
        ),
        own(
            "8j",
            "stance-yield open: drops on the ramp",
            RAMP,
            ["stance-yield to 0 %", "peak_rate_deg_per_s", "°/s beyond"],
            judge::open_drops,
        ),
        own(
            "8k",
            "stance-yield open: drops on stairs",
            STAIRS,
            ["stance-yield to 0 %", "peak_rate_deg_per_s", "°/s beyond"],
            judge::open_drops_on_stairs,
        ),
        Rule {
            catches: SAMPLED,
            ..moved(
                "9a",
                "catch-load up: support later or not at all",
                STUMBLE,
                "catch-load",
                (SUPPORT, 1.0, MOST),
                Gate::None,
            )
        },
        Rule {
            catches: SAMPLED,
            ..moved(
                "9b",
                "catch-load up: release earlier",
                WALK,
                "catch-load",
                (Read::Release, -1.0, Missing::Undecided("the stance valve does not close")),
                Gate::NotBothAtToeOff,
            )
        },
        Rule {
            catches: SAMPLED,
            ..moved(
                "9c",
                "catch-load down: lets go later, and that costs more of the peak",
                WALK,
                "catch-load",
                (Read::Outcome("late_release_loss_deg"), -1.0, NEVER),
                Gate::LetsGoLate,
            )
        },
        Rule {
            catches: SAMPLED,
            ..own(
                "10a",
                "the light person is supported in time only where the heavy one is",
                STUMBLE,
                ["mass and stature", "support_after_ms", "ms later"],
                judge::light_only_where_heavy,
            )
        },
        Rule {
            catches: SAMPLED,
            claim: Claim::CanHappen,
            ..own(
                "10b",
                "the light person is not supported in time by a catch load that suits the heavy one, in stumbling and walking",
                STUMBLE,
                ["mass and stature", "support_after_ms", "ms later"],
                judge::light_does_not_reach,
            )
        },
    ]
}
