//! Rules 11 to 15: alignment, one yield setting for all, a heavier foot, cold oil, resistance in general.
//!
//! Rule 13 stands beside a finding that seems to say otherwise: 0.6 kg more at the ankle changed nothing significantly
//! in ten users (Hekmatfard et al. 2013, Gait & Posture 37:78). Both can hold: a setting that must move by a step for
//! the same peak moves that peak by less than users scatter. Row M1 of the accuracy table compares the finding.

use super::rows::*;

pub(super) const RULES: &[Rule] = &[
    Rule {
        catch_loads: SAMPLED,
        ..move_input(
            "11a",
            "foot, and load line, further forward: more moment keeps the standing knee straight (the model's statics: it must)",
            STAND,
            "foot_shift_m",
            (MotionMeasure::Outcome("extension_moment_n_m"), 1.0, NEVER),
            Precondition::None,
        )
    },
    Rule {
        catch_loads: SAMPLED,
        ..move_input(
            "11b",
            "the same: more hip moment to start bending from standing (the model's statics: it must)",
            STAND,
            "foot_shift_m",
            (MotionMeasure::Outcome("hip_moment_to_bend_n_m"), 1.0, NEVER),
            Precondition::None,
        )
    },
    move_input(
        "11c",
        "the same in walking: harder to start bending, less flexion at toe-off",
        WALK,
        "foot_shift_m",
        (MotionMeasure::Outcome("toe_off_flexion_deg"), -1.0, NEVER),
        Precondition::None,
    ),
    custom(
        "11d",
        "foot 40 mm further forward than the body's ratios put it: hinders the release, the knee bends less in swing",
        WALK,
        ["foot_shift_m", "peak_flexion_deg", "° less"],
        criteria::far_forward_hinders_release,
    ),
    Rule {
        catch_loads: SAMPLED,
        ..custom(
            "11e",
            "foot 55 mm further back, the load line behind the knee axis: standing is not safe (the model's statics: it must)",
            STAND,
            ["foot_shift_m", "extension_moment_n_m", "N m bend the knee"],
            criteria::behind_the_knee_is_not_safe,
        )
    },
    Rule {
        claim: Claim::MostNotAll,
        ..custom(
            "12",
            "one yield setting serves chair, 8° ramp and stairs (all limits, steps of 5 points): for most, not for all",
            "chair, ramp, stairs",
            ["stance-yield over its range", "all limits", "of 21 positions"],
            criteria::one_yield_serves_all,
        )
    },
    Rule {
        source: FOOT_MASS,
        ..custom(
            "13a",
            "0.3-0.8 kg more at the foot: swing-flexion must move by a smallest step or more for the same peak",
            WALK,
            ["added_foot_mass_kg", "swing-flexion for the same peak_flexion_deg", "points"],
            criteria::heavier_foot_moves_flexion,
        )
    },
    Rule {
        source: FOOT_MASS,
        ..custom(
            "13b",
            "the same: swing-extension for the same margin",
            WALK,
            ["added_foot_mass_kg", "swing-extension for the same extension_margin_ms", "points"],
            criteria::heavier_foot_moves_extension,
        )
    },
    move_input(
        "14a",
        "colder oil: heel rises less",
        WALK,
        "temperature_c",
        (PEAK, 1.0, NEVER),
        Precondition::None,
    ),
    move_input(
        "14b",
        "colder oil: the damper takes out more work",
        WALK,
        "temperature_c",
        (MotionMeasure::Outcome("damper_work_j"), -1.0, NEVER),
        Precondition::None,
    ),
    move_input(
        "14c",
        "colder oil: sitting down takes longer",
        SIT,
        "temperature_c",
        (SIT_TIME, -1.0, MOST),
        Precondition::ValveCloses,
    ),
    Rule {
        source: HICKS,
        ..custom(
            "15a",
            "more swing resistance both ways changes the knee's range more than the time to full extension, both relative",
            WALK,
            ["swing-flexion and swing-extension", "peak flexion; toe-off to full extension", "% more"],
            criteria::resistance_changes_range_more_than_time,
        )
    },
    Rule {
        source: HICKS,
        ..custom(
            "15b",
            "the same with swing-flexion alone (swing-extension alone acts after the peak)",
            WALK,
            ["swing-flexion", "peak flexion; toe-off to full extension", "% more"],
            criteria::flexion_changes_range_more_than_time,
        )
    },
];
