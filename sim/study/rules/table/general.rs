//! Rules 11 to 15: alignment, one yield setting for all, a heavier foot, cold oil, resistance in general.

use super::*;

pub(super) fn rules() -> Vec<Rule> {
    vec![
        Rule {
            catches: SAMPLED,
            ..moved(
                "11a",
                "foot, and load line, further forward: more moment keeps the standing knee straight (the model's statics: it must)",
                STAND,
                "foot_shift_m",
                (Read::Outcome("extension_moment_n_m"), 1.0, NEVER),
                Gate::None,
            )
        },
        Rule {
            catches: SAMPLED,
            ..moved(
                "11b",
                "the same: more hip moment to start bending from standing (the model's statics: it must)",
                STAND,
                "foot_shift_m",
                (Read::Outcome("hip_moment_to_bend_n_m"), 1.0, NEVER),
                Gate::None,
            )
        },
        moved(
            "11c",
            "the same in walking: harder to start bending, less flexion at toe-off",
            WALK,
            "foot_shift_m",
            (Read::Outcome("toe_off_flexion_deg"), -1.0, NEVER),
            Gate::None,
        ),
        Rule {
            claim: Claim::MostNotAll,
            ..own(
                "12",
                "one yield setting serves chair, 8° ramp and stairs (all limits, steps of 5 points): for most, not for all",
                "chair, ramp, stairs",
                ["stance-yield over its range", "all limits", "of 21 positions"],
                judge::one_yield_serves_all,
            )
        },
        Rule {
            source: NARANG,
            ..own(
                "13a",
                "0.3-0.8 kg more at the foot: swing-flexion must move by a smallest step or more for the same peak",
                WALK,
                ["added_foot_mass_kg", "swing-flexion for the same peak_flexion_deg", "points"],
                judge::heavier_foot_moves_flexion,
            )
        },
        Rule {
            source: NARANG,
            ..own(
                "13b",
                "the same: swing-extension for the same margin",
                WALK,
                ["added_foot_mass_kg", "swing-extension for the same extension_margin_ms", "points"],
                judge::heavier_foot_moves_extension,
            )
        },
        moved("14a", "colder oil: heel rises less", WALK, "temperature_c", (PEAK, 1.0, NEVER), Gate::None),
        moved(
            "14b",
            "colder oil: the damper takes out more work",
            WALK,
            "temperature_c",
            (Read::Outcome("damper_work_j"), -1.0, NEVER),
            Gate::None,
        ),
        moved(
            "14c",
            "colder oil: sitting down takes longer",
            SIT,
            "temperature_c",
            (SIT_TIME, -1.0, MOST),
            Gate::ValveCloses,
        ),
        Rule {
            source: HICKS,
            ..own(
                "15a",
                "more swing resistance both ways changes the knee's range more than the time to full extension, both relative",
                WALK,
                ["swing-flexion and swing-extension", "peak flexion; toe-off to full extension", "% more"],
                judge::resistance_changes_range_more_than_time,
            )
        },
        Rule {
            source: HICKS,
            ..own(
                "15b",
                "the same with swing-flexion alone (swing-extension alone acts after the peak)",
                WALK,
                ["swing-flexion", "peak flexion; toe-off to full extension", "% more"],
                judge::flexion_changes_range_more_than_time,
            )
        },
    ]
}
