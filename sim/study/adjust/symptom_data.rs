//! The symptoms as data, all of it common practice of the trade without a source; the simulation tests whether
//! a rule is true.

use super::symptoms::Condition::{Always, DidNotGiveWay, GaveWay, NotStraight, WasStraight};
use super::symptoms::Direction::{Less, More};
use super::symptoms::Indicator::{Above, AboveNumber, Below, NotReached, Word};
use super::symptoms::{Adjustment, Direction, Situation, Symptom};
use crate::joint::SettingName::{self, CatchLoad, StanceYield, SwingExtension, SwingFlexion};
use crate::outcome::{OutcomeWord, Value};
use crate::scenario::ActivityKind::{self, Ramp, Sit, Stairs, Stand, Stumble, Walk};
use crate::scenario::Limit;

/// The symptom with a name.
#[must_use]
pub fn symptom_by_name(name: &str) -> Option<&'static Symptom> {
    SYMPTOMS.iter().find(|s| s.name == name)
}

/// The symptom that a broken limit indicates.
#[must_use]
pub fn symptom_of_limit(
    kind: ActivityKind,
    limit: &Limit,
    value: Value,
    situation: Situation,
) -> Option<&'static Symptom> {
    SYMPTOMS.iter().find(|s| s.matches(kind, limit, value, situation))
}

const fn rule(setting: SettingName, direction: Direction, why: &'static str) -> Adjustment {
    Adjustment { setting, direction, why }
}

const FIRMER: Adjustment =
    rule(StanceYield, More, "more resistance under weight lets the knee bend more slowly");
const SOFTER: Adjustment = rule(StanceYield, Less, "less resistance under weight lets the knee yield");
const SOONER: Adjustment =
    rule(CatchLoad, Less, "a lower catch load closes the stance valve sooner and at less weight");
const FREER: Adjustment =
    rule(CatchLoad, More, "a higher catch load opens the stance valve sooner as the forefoot is loaded");

/// All symptoms, in the order in which they are listed.
pub static SYMPTOMS: &[Symptom] = &[
    Symptom {
        name: "unsafe-standing",
        description: "the weight bends the knee while the person stands",
        meaning: "the load line passes behind the knee axis",
        activities: &[Stand],
        indicators: &[(Below("extension_moment_n_m"), Always)],
        measure: Below("extension_moment_n_m"),
        rule_out_first: &[
            "alignment: the knee axis too far forward, or the foot set toe-up",
            "a shoe with a higher heel than the one it was aligned with",
            "a flexion contracture that the socket does not take up",
        ],
        adjustments: &[],
        other_causes: &[
            "no setting moves the load line: alignment, heel height, the angle of the extension stop",
        ],
    },
    Symptom {
        name: "heel-flies-up",
        description: "the heel flies up behind, or rises more than on the other side",
        meaning: "the shank swings back against too little resistance",
        activities: &[Walk],
        indicators: &[(Above("peak_flexion_deg"), Always), (Above("peak_vs_able_bodied_deg"), Always)],
        measure: Above("peak_vs_able_bodied_deg"),
        rule_out_first: &[
            "suspension: a limb that slips in the socket",
            "habit: a hip thrown forward to be sure that the knee bends",
            "a heavy foot or shoe",
        ],
        adjustments: &[rule(
            SwingFlexion,
            More,
            "more resistance against bending in swing keeps the heel down",
        )],
        other_causes: &[
            "the assist spring: more preload",
            "training of the hip",
            "another joint if it flies up at one speed only",
        ],
    },
    Symptom {
        name: "heel-hardly-rises",
        description: "the heel hardly rises, or less than on the other side",
        meaning: "the shank is held back as it swings up, or is let go too late",
        activities: &[Walk],
        indicators: &[(Below("peak_flexion_deg"), Always), (Below("peak_vs_able_bodied_deg"), Always)],
        measure: Below("peak_vs_able_bodied_deg"),
        rule_out_first: &[
            "habit: a careful walker who keeps the knee straight or lifts the hip",
            "alignment: a load line so far in front that the knee is hard to bend",
            "an assist spring stronger than needed",
        ],
        adjustments: &[
            rule(SwingFlexion, Less, "less resistance against bending in swing lets the heel rise"),
            FREER,
        ],
        other_causes: &[
            "the assist spring: less preload",
            "alignment: cost to start bending",
            "short quick steps give the shank little time: see whether it matters to the person",
        ],
    },
    Symptom {
        name: "toe-drags",
        description: "the toe comes close to the ground or drags in swing",
        meaning: "the knee bends too little, or not at the right time, while the foot passes the ground",
        activities: &[Walk],
        // [J] 10 mm: a good part of the centimetre or two by which a toe clears the ground
        // a knee that hardly bends passes the ground before the window of the toe height begins
        indicators: &[(AboveNumber("toe_height_loss_mm", 10.0), Always), (Below("peak_flexion_deg"), Always)],
        measure: AboveNumber("toe_height_loss_mm", 10.0),
        rule_out_first: &[
            "length of the prosthesis",
            "suspension: a socket that drops in swing",
            "a foot set toe-down, or a longer or heavier shoe",
            "habit: a pelvis that drops on that side",
        ],
        adjustments: &[
            rule(SwingFlexion, Less, "less resistance against bending in swing lifts the foot higher"),
            FREER,
            rule(SwingExtension, More, "more resistance against straightening keeps the knee bent longer"),
        ],
        other_causes: &[
            "length, suspension, foot angle again",
            "an assist spring that is too strong",
            "strength of hip flexors",
        ],
    },
    Symptom {
        name: "knee-lets-go-late",
        description: "the knee lets go late, hardly bends, and has to be pulled off the ground",
        meaning: "the stance valve is still closed when the knee should begin to bend",
        activities: &[Walk],
        indicators: &[(Above("late_release_loss_deg"), Always)],
        measure: Above("late_release_loss_deg"),
        rule_out_first: &[
            "alignment: a foot too far back or toe-up that delays the load on the forefoot",
            "a stiff heel or a foot that does not roll over",
            "habit: steps that end before the forefoot is loaded",
        ],
        adjustments: &[
            FREER,
            rule(StanceYield, Less, "a softer closed valve holds back less while it is late"),
        ],
        other_causes: &["alignment", "a foot that rolls over differently", "a joint with another trigger"],
    },
    Symptom {
        name: "knee-late-straight",
        description: "the knee is straight only just before the foot lands, or not at all",
        meaning: "the shank comes forward late: it rose far, or is held back on the way",
        activities: &[Walk],
        indicators: &[
            (Below("extension_margin_ms"), Always),
            (NotReached("extension_margin_ms"), Always),
            (NotReached("terminal_energy_j"), Always),
        ],
        measure: Below("extension_margin_ms"),
        rule_out_first: &[
            "suspension",
            "a hip flexion contracture that shortens the step",
            "a heavy foot or shoe",
            "habit: steps hurried beyond what the leg can follow",
        ],
        adjustments: &[
            rule(
                SwingExtension,
                Less,
                "less resistance against straightening brings the shank forward sooner",
            ),
            rule(SwingFlexion, More, "a heel that rises less has a shorter way back"),
        ],
        other_causes: &[
            "the assist spring: more preload",
            "a lighter foot or shoe",
            "oil too cold",
            "another joint for fast walkers",
        ],
    },
    Symptom {
        name: "waits-for-the-leg",
        description: "the knee is straight long before the foot lands and the person waits for the leg",
        meaning: "the shank comes forward too soon",
        activities: &[Walk],
        indicators: &[(Above("extension_margin_ms"), Always)],
        measure: Above("extension_margin_ms"),
        rule_out_first: &["habit: long slow steps", "an assist spring stronger than needed"],
        adjustments: &[
            rule(SwingExtension, More, "more resistance against straightening lets the shank come later"),
            rule(SwingFlexion, Less, "a heel that rises more has a longer way back"),
        ],
        other_causes: &["the assist spring: less preload", "training: a quicker step"],
    },
    Symptom {
        name: "knock-at-the-end",
        description: "the knee knocks hard against its extension stop",
        meaning: "the shank arrives at the stop with too much energy",
        activities: &[Walk],
        indicators: &[(Above("terminal_energy_j"), Always)],
        measure: Above("terminal_energy_j"),
        rule_out_first: &[
            "habit: a hip thrown forward and pulled back to be sure of a straight knee",
            "an assist spring stronger than needed",
            "a worn stop bumper or play in the joint",
        ],
        adjustments: &[
            rule(SwingExtension, More, "more resistance against straightening takes out energy on the way"),
            rule(SwingFlexion, More, "a heel that rises less falls back from less height"),
        ],
        other_causes: &[
            "the assist spring: less preload",
            "a cushion before the stop",
            "training of the hip",
        ],
    },
    Symptom {
        name: "knee-bent-at-landing",
        description: "the foot lands on a knee that is still bent",
        meaning: "the shank has not come forward in time",
        activities: &[Walk],
        indicators: &[
            (Above("heel_contact_flexion_deg"), NotStraight),
            (Above("flexion_before_contact_deg"), NotStraight),
            // the weight comes onto a knee that was not brought straight: that comes first
            (Word("landing", &[OutcomeWord::Doubtful, OutcomeWord::GivesWay]), NotStraight),
        ],
        measure: Above("heel_contact_flexion_deg"),
        rule_out_first: &[
            "a hip flexion contracture",
            "suspension",
            "a heavy foot or shoe",
            "habit: steps hurried beyond what the leg can follow",
        ],
        adjustments: &[
            rule(
                SwingExtension,
                Less,
                "less resistance against straightening brings the shank forward sooner",
            ),
            rule(SwingFlexion, More, "a heel that rises less has a shorter way back"),
        ],
        other_causes: &["the assist spring: more preload", "a lighter foot or shoe", "oil too cold"],
    },
    Symptom {
        name: "knee-bends-again",
        description: "the knee was straight, but bends again before the foot lands",
        meaning: "the shank came early or bounced off the stop, and nothing holds it straight",
        activities: &[Walk],
        indicators: &[
            (Above("heel_contact_flexion_deg"), WasStraight),
            (Above("flexion_before_contact_deg"), WasStraight),
        ],
        measure: Above("heel_contact_flexion_deg"),
        rule_out_first: &[
            "habit: the thigh pulled back early before the foot is put down",
            "a worn or springy stop bumper",
        ],
        adjustments: &[
            rule(SwingExtension, More, "a shank that arrives later and slower has less time to bend again"),
            rule(SwingFlexion, Less, "a heel that rises more brings the shank forward later"),
            rule(SwingExtension, Less, "a firmer arrival at the stop"),
        ],
        other_causes: &[
            "the assist spring: more preload holds the knee straight",
            "a cushion before the stop",
            "training: put the foot down sooner",
        ],
    },
    Symptom {
        name: "knee-bends-after-landing",
        description: "after landing the knee goes on bending under the weight",
        meaning: "the stance valve closes too late or resists too little, or the foot landed on a bent knee",
        activities: &[Walk],
        indicators: &[
            (Word("landing", &[OutcomeWord::Doubtful, OutcomeWord::GivesWay]), WasStraight),
            (Above("landing_max_flexion_deg"), Always),
        ],
        measure: Above("landing_max_flexion_deg"),
        rule_out_first: &[
            "alignment: load line behind the knee at landing",
            "a hard heel or a shoe with a higher heel",
            "weak hip extensors or a hip flexion contracture",
            "socket pain that makes the person unload the leg",
        ],
        adjustments: &[
            FIRMER,
            SOONER,
            rule(SwingExtension, Less, "a knee that lands straight need not be caught"),
            rule(SwingFlexion, More, "a heel that rises less lets the knee be straight sooner"),
        ],
        other_causes: &[
            "alignment",
            "hip extension training: the hip moment decides as much as the valve",
            "a joint that locks or brakes from the first load",
        ],
    },
    Symptom {
        name: "support-comes-late",
        description: "the stance resistance comes late, or not at all",
        meaning: "the load reaches the catch load late or never",
        activities: &[Walk, Stumble],
        indicators: &[(Above("support_after_ms"), Always), (NotReached("support_after_ms"), Always)],
        measure: Above("support_after_ms"),
        rule_out_first: &[
            "weight: a light person loads the joint less",
            "socket pain or fear that makes the person unload the leg",
            "oil too cold",
        ],
        adjustments: &[SOONER],
        other_causes: &[
            "a softer spring range for a light person",
            "training: load the leg",
            "another joint",
        ],
    },
    Symptom {
        name: "stumbles",
        description: "the foot lands early on a bent knee and the knee gives way",
        meaning: "the knee is not caught in time, or not firmly enough",
        activities: &[Stumble],
        indicators: &[
            (Word("what_happens", &[OutcomeWord::GivesWay, OutcomeWord::Doubtful]), Always),
            (Above("max_flexion_deg"), Always),
        ],
        measure: Above("max_flexion_deg"),
        rule_out_first: &[
            "why it stumbles: toe clearance, length, shoe, ground",
            "alignment",
            "weak hip extensors",
        ],
        adjustments: &[FIRMER, SOONER],
        other_causes: &[
            "hip extension training: the hip moment decides as much as the valve",
            "a joint that catches at any angle",
        ],
    },
    Symptom {
        name: "drops-into-chair",
        description: "the person drops into the chair or lands hard on the seat",
        meaning: "the stance valve is open while sitting down, or resists too little",
        activities: &[Sit],
        indicators: &[
            (Below("sit_time_s"), Always),
            (Above("seat_speed_m_per_s"), Always),
            (Word("supported", &[OutcomeWord::No]), Always),
        ],
        measure: Above("seat_speed_m_per_s"),
        rule_out_first: &[
            "habit: most weight on the sound leg, so that the joint feels too little load",
            "a seat lower than usual",
            "a foot too far forward when sitting down",
        ],
        adjustments: &[FIRMER, SOONER],
        other_causes: &[
            "training: load the prosthesis while sitting down, use the armrests",
            "weight: a light person may not reach the catch load",
        ],
    },
    Symptom {
        name: "holds-in-chair",
        description: "sitting down drags, or the knee holds and the seat is not reached",
        meaning: "the stance valve resists more than the load on the prosthesis can overcome",
        activities: &[Sit],
        indicators: &[
            (Above("sit_time_s"), Always),
            (NotReached("sit_time_s"), Always),
            (NotReached("seat_speed_m_per_s"), Always),
        ],
        measure: Above("sit_time_s"),
        rule_out_first: &[
            "habit: hardly any weight on the prosthesis",
            "oil too cold",
            "socket brim that presses when sitting",
        ],
        adjustments: &[SOFTER],
        other_causes: &[
            "training: trust the joint with weight",
            "a joint whose yield is set for sitting apart",
        ],
    },
    Symptom {
        name: "gives-way-on-ramp",
        description: "going down the ramp the knee gives way or sinks fast",
        meaning: "the stance valve resists too little, or closes too late",
        activities: &[Ramp],
        indicators: &[
            (Word("what_happens", &[OutcomeWord::GivesWay]), Always),
            (Above("knee_flexion_at_other_foot_contact_deg"), Always),
            (NotReached("knee_flexion_at_other_foot_contact_deg"), GaveWay),
            (Above("peak_rate_deg_per_s"), Always),
            (Above("body_drop_speed_m_per_s"), Always),
            (NotReached("body_drop_speed_m_per_s"), GaveWay),
            (Word("landing_late", &[OutcomeWord::Yes]), Always),
            (NotReached("landing_late"), GaveWay),
        ],
        measure: Above("peak_rate_deg_per_s"),
        rule_out_first: &[
            "alignment: load line behind the knee on the slope",
            "shoe: heel height, slippery sole",
            "habit: steps too long for the slope",
        ],
        adjustments: &[FIRMER, SOONER],
        other_causes: &["training: short steps, weight on the heel", "a rail or another way down"],
    },
    Symptom {
        name: "stiff-on-ramp",
        description: "going down the ramp the knee hardly yields and the body goes over a straight leg",
        meaning: "the stance valve resists too much, or the load line keeps the knee straight",
        activities: &[Ramp],
        indicators: &[
            (Word("what_happens", &[OutcomeWord::Holds, OutcomeWord::Stalls]), Always),
            (Below("knee_flexion_at_other_foot_contact_deg"), Always),
            (NotReached("knee_flexion_at_other_foot_contact_deg"), DidNotGiveWay),
            (NotReached("body_drop_speed_m_per_s"), DidNotGiveWay),
            (NotReached("landing_late"), DidNotGiveWay),
        ],
        measure: Below("knee_flexion_at_other_foot_contact_deg"),
        rule_out_first: &[
            "alignment: load line far in front of the knee",
            "habit: hip extended hard at landing, for fear of the knee",
            "oil too cold",
            "the slope: a gentle one need not bend the knee",
        ],
        adjustments: &[SOFTER, FREER],
        other_causes: &[
            "training: let the knee yield, between bars first",
            "alignment: cost to start bending",
        ],
    },
    Symptom {
        name: "gives-way-on-stairs",
        description: "going down the stairs the body drops onto the other foot or comes down close to the step",
        meaning: "the stance valve resists too little",
        activities: &[Stairs],
        indicators: &[
            (Word("what_happens", &[OutcomeWord::GivesWay]), Always),
            (Above("peak_rate_deg_per_s"), Always),
            (Above("body_drop_speed_m_per_s"), Always),
            (NotReached("body_drop_speed_m_per_s"), GaveWay),
            (Below("hip_past_edge_m"), Always),
            (NotReached("hip_past_edge_m"), GaveWay),
            (Above("knee_flexion_at_other_foot_contact_deg"), Always),
        ],
        measure: Above("peak_rate_deg_per_s"),
        rule_out_first: &[
            "habit: where the foot stands on the edge",
            "shoe: sole and heel",
            "a rail that is not used",
        ],
        adjustments: &[FIRMER, SOONER],
        other_causes: &[
            "training: foot half over the edge, hand on the rail",
            "step by step with the prosthesis first",
        ],
    },
    Symptom {
        name: "stiff-on-stairs",
        description: "going down the stairs the knee hardly yields and the body falls forward or is stopped",
        meaning: "the stance valve resists too much",
        activities: &[Stairs],
        indicators: &[
            (Word("what_happens", &[OutcomeWord::Holds, OutcomeWord::Stalls]), Always),
            (Above("hip_past_edge_m"), Always),
            (NotReached("hip_past_edge_m"), DidNotGiveWay),
            (NotReached("body_drop_speed_m_per_s"), DidNotGiveWay),
            (Below("knee_flexion_at_other_foot_contact_deg"), Always),
        ],
        measure: Below("knee_flexion_at_other_foot_contact_deg"),
        rule_out_first: &[
            "habit: the whole foot on the step, so that nothing bends the knee",
            "oil too cold",
            "fear: hip held extended",
        ],
        adjustments: &[SOFTER],
        other_causes: &["training: foot half over the edge", "a joint whose yield is set for stairs apart"],
    },
];
