//! Rules 1 to 7: the swing valves, the assist spring, speed and cadence.

use super::rows::*;

pub(super) const RULES: &[Rule] = &[
    Rule {
        source: MANUAL,
        ..move_input(
            "1",
            "swing-flexion up: heel rises less",
            WALK,
            "swing-flexion",
            (PEAK, -1.0, NEVER),
            Precondition::None,
        )
    },
    move_input(
        "2a",
        "swing-flexion down: full extension later",
        WALK,
        "swing-flexion",
        (MARGIN, 1.0, LEAST),
        Precondition::None,
    ),
    custom(
        "2b",
        "the delay of 2a is greater at 1.4 than at 0.8 m/s",
        WALK,
        ["swing-flexion and speed", "extension_margin_ms", "ms"],
        criteria::later_most_at_fast_speed,
    ),
    move_input(
        "3",
        "swing-extension down: harder terminal impact",
        WALK,
        "swing-extension",
        (IMPACT, -1.0, NOT_STRAIGHT),
        Precondition::None,
    ),
    move_input(
        "4a",
        "swing-extension up: full extension later",
        WALK,
        "swing-extension",
        (MARGIN, -1.0, LEAST),
        Precondition::None,
    ),
    custom(
        "4b",
        "swing-extension closed: bent at heel contact by more than the limit",
        WALK,
        ["swing-extension to 100 %", "heel_contact_flexion_deg", "° beyond"],
        criteria::closed_is_bent_at_contact,
    ),
    move_input(
        "5a",
        "assist up: full extension earlier",
        WALK,
        "assist_n_m",
        (MARGIN, 1.0, LEAST),
        Precondition::None,
    ),
    move_input(
        "5b",
        "assist up: heel rises less",
        WALK,
        "assist_n_m",
        (PEAK, -1.0, NEVER),
        Precondition::None,
    ),
    move_input(
        "5c",
        "assist up: harder terminal impact",
        WALK,
        "assist_n_m",
        (IMPACT, 1.0, NOT_STRAIGHT),
        Precondition::None,
    ),
    Rule {
        source: TSAI,
        ..custom(
            "6a",
            "peak flexion changes less over 0.8-1.4 m/s than with constant friction set for the same swing at 1.1",
            WALK,
            ["joint", "peak_flexion_deg", "° less spread"],
            criteria::hydraulic_peaks_spread_less,
        )
    },
    Rule {
        source: TSAI,
        ..custom(
            "6b",
            "extension margin changes less, as 6a",
            WALK,
            ["joint", "extension_margin_ms", "ms less spread"],
            criteria::hydraulic_margins_spread_less,
        )
    },
    Rule {
        source: CONTESTED,
        ..custom(
            "7a",
            "0.77 of the speed at 1.1 of the cadence leaves less margin than comfortable walking",
            HURRIED,
            ["speed and cadence", "extension_margin_ms", "ms less"],
            criteria::hurried_leaves_less,
        )
    },
    Rule {
        source: CONTESTED,
        ..custom(
            "7b",
            "the same as a share of the stride",
            HURRIED,
            ["speed and cadence", "full_extension_pct", "% of stride less"],
            criteria::hurried_leaves_less_of_the_stride,
        )
    },
    Rule {
        source: CONTESTED,
        ..custom(
            "7c",
            "1.1 of the cadence at the same speed leaves less margin",
            WALK,
            ["cadence", "extension_margin_ms", "ms less"],
            criteria::short_steps_leave_less,
        )
    },
];
