//! The rules of the trade as statements, one row each. A new statement is one row.

use super::judges as judge;
use super::reading::{Missing, Read};
use super::trying::{Catch, Judged, Try};

/// Scenarios that rules are tried in.
pub const WALK: &str = "walk-comfortable";
pub(super) const CROWD: &str = "walk-crowded";
pub(super) const SIT: &str = "sit-down";
pub(super) const RAMP: &str = "ramp-down-8-deg";
pub(super) const STAIRS: &str = "stairs-down";
pub(super) const STUMBLE: &str = "stumble";
pub(super) const STAND: &str = "stand";

/// All of them.
pub const SCENARIOS: [&str; 7] = [WALK, CROWD, SIT, RAMP, STAIRS, STUMBLE, STAND];

/// What a rule claims about people.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Claim {
    /// It holds.
    Holds,
    /// It can happen.
    CanHappen,
    /// It holds for most and not for all.
    MostNotAll,
}

/// When a move of an input decides something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gate {
    /// Always.
    None,
    /// Sitting: the stance valve carries with one of the two at least.
    Supported,
    /// Ramp and stairs: the knee yields with both.
    BothYield,
    /// Stumble: the knee bends on with one of the two at least, and could bend further than with the other.
    Bends,
    /// Release: not at toe-off with both.
    NotBothAtToeOff,
}

/// How a statement is tried.
#[derive(Debug, Clone, Copy)]
pub enum Test {
    /// One input is moved up, one reading compared.
    Move {
        /// Input moved.
        input: &'static str,
        /// Reading.
        read: Read,
        /// +1 if the reading should rise, −1 if it should fall.
        sign: f64,
        /// What a missing reading counts as.
        missing: Missing,
        /// When it decides something.
        gate: Gate,
    },
    /// Its own judge.
    Own(fn(&Try) -> Judged),
    /// Not tried here.
    Elsewhere(&'static str),
}

/// One statement.
#[derive(Debug)]
pub struct Rule {
    /// Number of the rule and letter of the statement.
    pub id: &'static str,
    /// What is said.
    pub statement: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// What is changed between the runs.
    pub changed: &'static str,
    /// What is compared.
    pub outcome: &'static str,
    /// Unit of the effect.
    pub unit: &'static str,
    /// Scenario.
    pub scenario: &'static str,
    /// Ways to set the catch load.
    pub catches: &'static [Catch],
    /// What it claims.
    pub claim: Claim,
    /// How it is tried.
    pub test: Test,
}

impl Rule {
    /// Number of the rule.
    #[must_use]
    pub fn number(&self) -> u32 {
        self.id.trim_end_matches(|c: char| c.is_alphabetic()).parse().unwrap_or(0)
    }
}

const CP: &str = "common practice";
const BOTH: &[Catch] = &[Catch::AsSampled, Catch::Scaled];
const SAMPLED: &[Catch] = &[Catch::AsSampled];
const NOT_STRAIGHT: Missing = Missing::Undecided("not straight before heel contact");

const EMPTY: Rule = Rule {
    id: "",
    statement: "",
    source: CP,
    changed: "",
    outcome: "",
    unit: "",
    scenario: WALK,
    catches: BOTH,
    claim: Claim::Holds,
    test: Test::Elsewhere(""),
};

/// A move of one input, up by a drawn step.
const fn moved(
    id: &'static str,
    statement: &'static str,
    scenario: &'static str,
    input: &'static str,
    (read, sign, missing): (Read, f64, Missing),
    gate: Gate,
) -> Rule {
    Rule {
        id,
        statement,
        scenario,
        changed: input,
        test: Test::Move { input, read, sign, missing, gate },
        ..EMPTY
    }
}

const NEVER: Missing = Missing::Undecided("not reached");
const LEAST: Missing = Missing::Least;
const MOST: Missing = Missing::Most;
const MARGIN: Read = Read::MarginInTime;
const IMPACT: Read = Read::ImpactInTime;
const PEAK: Read = Read::Outcome("peak_flexion_deg");
const SIT_TIME: Read = Read::Outcome("sit_time_s");
const RATE: Read = Read::Outcome("peak_rate_deg_per_s");
const DROP: Read = Read::Outcome("body_drop_speed_m_per_s");
const SUPPORT: Read = Read::Outcome("support_after_ms");
const FURTHEST: Read = Read::Outcome("max_flexion_deg");

/// A statement with a judge of its own.
const fn own(
    id: &'static str,
    statement: &'static str,
    scenario: &'static str,
    [changed, outcome, unit]: [&'static str; 3],
    test: fn(&Try) -> Judged,
) -> Rule {
    Rule { id, statement, scenario, changed, outcome, unit, test: Test::Own(test), ..EMPTY }
}

const TSAI: &str = "Tsai & Mansour 1986, J Biomech Eng 108:65 (from memory)";
const NARANG: &str = "Narang et al. 2016, J Biomech Eng 138:121002 (from memory)";
const HICKS: &str = "Hicks 1985, J Orthop Res 3:198 (from memory)";
const MANUAL: &str = "common practice; ICRC gait manual 2014 (from memory)";
const CONTESTED: &str = "common practice, contested";
const BY_ADJUST: Test = Test::Elsewhere("not evaluated here: takes whole sessions of `adjust`");

/// All statements, in order.
pub static RULES: &[Rule] = &[
    Rule {
        source: MANUAL,
        ..moved(
            "1",
            "swing-flexion up: heel rises less",
            WALK,
            "swing-flexion",
            (PEAK, -1.0, NEVER),
            Gate::None,
        )
    },
    moved(
        "2a",
        "swing-flexion down: full extension later",
        WALK,
        "swing-flexion",
        (MARGIN, 1.0, LEAST),
        Gate::None,
    ),
    own(
        "2b",
        "the delay of 2a is greater at 1.4 than at 0.8 m/s",
        WALK,
        ["swing-flexion and speed", "extension_margin_ms", "ms"],
        judge::later_most_at_fast_speed,
    ),
    moved(
        "3",
        "swing-extension down: harder terminal impact",
        WALK,
        "swing-extension",
        (IMPACT, -1.0, NOT_STRAIGHT),
        Gate::None,
    ),
    moved(
        "4a",
        "swing-extension up: full extension later",
        WALK,
        "swing-extension",
        (MARGIN, -1.0, LEAST),
        Gate::None,
    ),
    own(
        "4b",
        "swing-extension closed: bent at heel contact by more than the limit",
        WALK,
        ["swing-extension to 100 %", "heel_contact_flexion_deg", "° beyond"],
        judge::closed_is_bent_at_contact,
    ),
    moved("5a", "assist up: full extension earlier", WALK, "assist_n_m", (MARGIN, 1.0, LEAST), Gate::None),
    moved("5b", "assist up: heel rises less", WALK, "assist_n_m", (PEAK, -1.0, NEVER), Gate::None),
    moved(
        "5c",
        "assist up: harder terminal impact",
        WALK,
        "assist_n_m",
        (IMPACT, 1.0, NOT_STRAIGHT),
        Gate::None,
    ),
    Rule {
        source: TSAI,
        ..own(
            "6a",
            "peak flexion changes less over 0.8-1.4 m/s than with constant friction set for the same swing at 1.1",
            WALK,
            ["joint", "peak_flexion_deg", "° less spread"],
            judge::hydraulic_peaks_spread_less,
        )
    },
    Rule {
        source: TSAI,
        ..own(
            "6b",
            "extension margin changes less, as 6a",
            WALK,
            ["joint", "extension_margin_ms", "ms less spread"],
            judge::hydraulic_margins_spread_less,
        )
    },
    Rule {
        source: CONTESTED,
        ..own(
            "7a",
            "0.77 of the speed at 1.1 of the cadence leaves less margin than comfortable walking",
            CROWD,
            ["speed and cadence", "extension_margin_ms", "ms less"],
            judge::crowd_leaves_less,
        )
    },
    Rule {
        source: CONTESTED,
        ..own(
            "7b",
            "the same as a share of the stride",
            CROWD,
            ["speed and cadence", "full_extension_pct", "% of stride less"],
            judge::crowd_leaves_less_of_the_stride,
        )
    },
    Rule {
        source: CONTESTED,
        ..own(
            "7c",
            "1.1 of the cadence at the same speed leaves less margin",
            WALK,
            ["cadence", "extension_margin_ms", "ms less"],
            judge::short_steps_leave_less,
        )
    },
    moved(
        "8a",
        "stance-yield up: sitting down takes longer",
        SIT,
        "stance-yield",
        (SIT_TIME, 1.0, MOST),
        Gate::Supported,
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
        Gate::None,
    ),
    moved(
        "8e",
        "stance-yield up: body sinks slower at the end of the stair",
        STAIRS,
        "stance-yield",
        (DROP, -1.0, NEVER),
        Gate::None,
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
        ..own(
            "9c",
            "catch-load at its least: late release, peak lost beyond the limit",
            WALK,
            ["catch-load to 0 %", "late_release_loss_deg", "° beyond"],
            judge::least_catch_load_lets_go_late,
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
            "the light person is not supported in time by a catch load that suits the heavy one",
            STUMBLE,
            ["mass and stature", "support_after_ms", "ms later"],
            judge::light_does_not_reach,
        )
    },
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
            ["stance-yield over its range", "all limits", "points wide"],
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
        Gate::Supported,
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
    Rule {
        id: "16a",
        statement: "starting the swing valves open and going up takes fewer unsafe trials than starting closed",
        catches: SAMPLED,
        test: BY_ADJUST,
        ..EMPTY
    },
    Rule { id: "16b", statement: "starting the yield valve open does not", test: BY_ADJUST, ..EMPTY },
    Rule {
        id: "17",
        statement: "setting swing-flexion before swing-extension takes fewer steps than the other order",
        catches: SAMPLED,
        test: BY_ADJUST,
        ..EMPTY
    },
    moved(
        "18a",
        "more bent at landing: bends further",
        STUMBLE,
        "stumble_flexion_deg",
        (FURTHEST, 1.0, NEVER),
        Gate::Bends,
    ),
    moved(
        "18b",
        "less hip moment at landing: bends further",
        STUMBLE,
        "hip_moment_n_m_per_kg",
        (FURTHEST, -1.0, NEVER),
        Gate::Bends,
    ),
    own(
        "18c",
        "of two strides the one that ends more bent bends further after landing",
        WALK,
        ["swing-extension", "landing_max_flexion_deg", "°"],
        judge::more_bent_stride_lands_worse,
    ),
];
