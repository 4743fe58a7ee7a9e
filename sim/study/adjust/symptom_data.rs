//! The symptoms as data, all of it common practice of the trade without a source; whether a rule holds is
//! for the simulation to say.

use super::symptoms::Sign::{Above, Below, Beyond, Missing, Word};
use super::symptoms::Way;
use super::symptoms::Way::{Less, More};
use super::symptoms::When::{Always, DidNotGiveWay, GaveWay, NotStraight, WasStraight};
use super::symptoms::{Symptom, Turn};
use crate::joint::SettingName::{self, CatchLoad, StanceYield, SwingExtension, SwingFlexion};
use crate::outcome::OutcomeWord;
use crate::scenario::ActivityKind::{Ramp, Sit, Stairs, Stand, Stumble, Walk};

const fn turn(setting: SettingName, way: Way, why: &'static str) -> Turn {
    Turn { setting, way, why }
}

const FIRMER: Turn = turn(StanceYield, More, "more resistance under weight lets the knee bend more slowly");
const SOFTER: Turn = turn(StanceYield, Less, "less resistance under weight lets the knee yield");
const SOONER: Turn =
    turn(CatchLoad, Less, "a lower catch load closes the stance valve sooner and at less weight");
const FREER: Turn =
    turn(CatchLoad, More, "a higher catch load opens the stance valve sooner as the forefoot is loaded");

/// All symptoms, in the order in which they are listed.
pub static SYMPTOMS: &[Symptom] = &[
    Symptom {
        name: "unsafe-standing",
        seen: "the weight bends the knee while the person stands",
        means: "the load line passes behind the knee axis",
        activities: &[Stand],
        signs: &[(Below("extension_moment_n_m"), Always)],
        measure: Below("extension_moment_n_m"),
        first: &[
            "alignment: the knee axis too far forward, or the foot set toe-up",
            "a shoe with a higher heel than the one it was aligned with",
            "a flexion contracture that the socket does not take up",
        ],
        turns: &[],
        otherwise: &[
            "no setting moves the load line: alignment, heel height, the angle of the extension stop",
        ],
    },
    Symptom {
        name: "heel-flies-up",
        seen: "the heel flies up behind, or rises more than on the other side",
        means: "the shank swings back against too little resistance",
        activities: &[Walk],
        signs: &[(Above("peak_flexion_deg"), Always), (Above("peak_vs_able_bodied_deg"), Always)],
        measure: Above("peak_vs_able_bodied_deg"),
        first: &[
            "suspension: a limb that slips in the socket",
            "habit: a hip thrown forward to be sure that the knee bends",
            "a heavy foot or shoe",
        ],
        turns: &[turn(SwingFlexion, More, "more resistance against bending in swing keeps the heel down")],
        otherwise: &[
            "the assist spring: more preload",
            "training of the hip",
            "another joint if it flies up at one speed only",
        ],
    },
    Symptom {
        name: "heel-hardly-rises",
        seen: "the heel hardly rises, or less than on the other side",
        means: "the shank is held back as it swings up, or is let go too late",
        activities: &[Walk],
        signs: &[(Below("peak_flexion_deg"), Always), (Below("peak_vs_able_bodied_deg"), Always)],
        measure: Below("peak_vs_able_bodied_deg"),
        first: &[
            "habit: a careful walker who keeps the knee straight or lifts the hip",
            "alignment: a load line so far in front that the knee is hard to bend",
            "an assist spring stronger than needed",
        ],
        turns: &[
            turn(SwingFlexion, Less, "less resistance against bending in swing lets the heel rise"),
            FREER,
        ],
        otherwise: &[
            "the assist spring: less preload",
            "alignment: cost to start bending",
            "short quick steps give the shank little time: see whether it matters to the person",
        ],
    },
    Symptom {
        name: "toe-drags",
        seen: "the toe comes close to the ground or drags in swing",
        means: "the knee bends too little, or not at the right time, while the foot passes the ground",
        activities: &[Walk],
        // [J] 10 mm: a good part of the centimetre or two by which a toe clears the ground
        signs: &[(Beyond("toe_height_loss_mm", 10.0), Always)],
        measure: Beyond("toe_height_loss_mm", 10.0),
        first: &[
            "length of the prosthesis",
            "suspension: a socket that drops in swing",
            "a foot set toe-down, or a longer or heavier shoe",
            "habit: a pelvis that drops on that side",
        ],
        turns: &[
            turn(SwingFlexion, Less, "less resistance against bending in swing lifts the foot higher"),
            FREER,
            turn(SwingExtension, More, "more resistance against straightening keeps the knee bent longer"),
        ],
        otherwise: &[
            "length, suspension, foot angle again",
            "an assist spring that is too strong",
            "strength of hip flexors",
        ],
    },
    Symptom {
        name: "knee-lets-go-late",
        seen: "the knee lets go late, hardly bends, and has to be pulled off the ground",
        means: "the stance valve is still closed when the knee should begin to bend",
        activities: &[Walk],
        signs: &[(Above("late_release_loss_deg"), Always)],
        measure: Above("late_release_loss_deg"),
        first: &[
            "alignment: a foot too far back or toe-up that delays the load on the forefoot",
            "a stiff heel or a foot that does not roll over",
            "habit: steps that end before the forefoot is loaded",
        ],
        turns: &[FREER, turn(StanceYield, Less, "a softer closed valve holds back less while it is late")],
        otherwise: &["alignment", "a foot that rolls over differently", "a joint with another trigger"],
    },
    Symptom {
        name: "knee-late-straight",
        seen: "the knee is straight only just before the foot lands, or not at all",
        means: "the shank comes forward late: it rose far, or is held back on the way",
        activities: &[Walk],
        signs: &[
            (Below("extension_margin_ms"), Always),
            (Missing("extension_margin_ms"), Always),
            (Missing("terminal_energy_j"), Always),
        ],
        measure: Below("extension_margin_ms"),
        first: &[
            "suspension",
            "a hip flexion contracture that shortens the step",
            "a heavy foot or shoe",
            "habit: steps hurried beyond what the leg can follow",
        ],
        turns: &[
            turn(
                SwingExtension,
                Less,
                "less resistance against straightening brings the shank forward sooner",
            ),
            turn(SwingFlexion, More, "a heel that rises less has a shorter way back"),
        ],
        otherwise: &[
            "the assist spring: more preload",
            "a lighter foot or shoe",
            "oil too cold",
            "another joint for fast walkers",
        ],
    },
    Symptom {
        name: "waits-for-the-leg",
        seen: "the knee is straight long before the foot lands and the person waits for the leg",
        means: "the shank comes forward too soon",
        activities: &[Walk],
        signs: &[(Above("extension_margin_ms"), Always)],
        measure: Above("extension_margin_ms"),
        first: &["habit: long slow steps", "an assist spring stronger than needed"],
        turns: &[
            turn(SwingExtension, More, "more resistance against straightening lets the shank come later"),
            turn(SwingFlexion, Less, "a heel that rises more has a longer way back"),
        ],
        otherwise: &["the assist spring: less preload", "training: a quicker step"],
    },
    Symptom {
        name: "knock-at-the-end",
        seen: "the knee knocks hard against its extension stop",
        means: "the shank arrives at the stop with too much energy",
        activities: &[Walk],
        signs: &[(Above("terminal_energy_j"), Always)],
        measure: Above("terminal_energy_j"),
        first: &[
            "habit: a hip thrown forward and pulled back to be sure of a straight knee",
            "an assist spring stronger than needed",
            "a worn stop bumper or play in the joint",
        ],
        turns: &[
            turn(SwingExtension, More, "more resistance against straightening takes out energy on the way"),
            turn(SwingFlexion, More, "a heel that rises less falls back from less height"),
        ],
        otherwise: &["the assist spring: less preload", "a cushion before the stop", "training of the hip"],
    },
    Symptom {
        name: "knee-bent-at-landing",
        seen: "the foot lands on a knee that is still bent",
        means: "the shank has not come forward in time",
        activities: &[Walk],
        signs: &[(Above("heel_contact_flexion_deg"), NotStraight)],
        measure: Above("heel_contact_flexion_deg"),
        first: &[
            "a hip flexion contracture",
            "suspension",
            "a heavy foot or shoe",
            "habit: steps hurried beyond what the leg can follow",
        ],
        turns: &[
            turn(
                SwingExtension,
                Less,
                "less resistance against straightening brings the shank forward sooner",
            ),
            turn(SwingFlexion, More, "a heel that rises less has a shorter way back"),
        ],
        otherwise: &["the assist spring: more preload", "a lighter foot or shoe", "oil too cold"],
    },
    Symptom {
        name: "knee-bends-again",
        seen: "the knee was straight, but bends again before the foot lands",
        means: "the shank came early or bounced off the stop, and nothing holds it straight",
        activities: &[Walk],
        signs: &[(Above("heel_contact_flexion_deg"), WasStraight)],
        measure: Above("heel_contact_flexion_deg"),
        first: &[
            "habit: the thigh pulled back early before the foot is put down",
            "a worn or springy stop bumper",
        ],
        turns: &[
            turn(SwingExtension, More, "a shank that arrives later and slower has less time to bend again"),
            turn(SwingFlexion, Less, "a heel that rises more brings the shank forward later"),
            turn(SwingExtension, Less, "a firmer arrival at the stop"),
        ],
        otherwise: &[
            "the assist spring: more preload holds the knee straight",
            "a cushion before the stop",
            "training: put the foot down sooner",
        ],
    },
    Symptom {
        name: "knee-bends-after-landing",
        seen: "after landing the knee goes on bending under the weight",
        means: "the stance valve closes too late or resists too little, or the foot landed on a bent knee",
        activities: &[Walk],
        signs: &[
            (Word("landing", &[OutcomeWord::Doubtful, OutcomeWord::GivesWay]), Always),
            (Above("landing_max_flexion_deg"), Always),
        ],
        measure: Above("landing_max_flexion_deg"),
        first: &[
            "alignment: load line behind the knee at landing",
            "a hard heel or a shoe with a higher heel",
            "weak hip extensors or a hip flexion contracture",
            "socket pain that makes the person unload the leg",
        ],
        turns: &[
            FIRMER,
            SOONER,
            turn(SwingExtension, Less, "a knee that lands straight need not be caught"),
            turn(SwingFlexion, More, "a heel that rises less lets the knee be straight sooner"),
        ],
        otherwise: &[
            "alignment",
            "hip extension training: the hip moment decides as much as the valve",
            "a joint that locks or brakes from the first load",
        ],
    },
    Symptom {
        name: "support-comes-late",
        seen: "the stance resistance comes late, or not at all",
        means: "the load reaches the catch load late or never",
        activities: &[Walk, Stumble],
        signs: &[(Above("support_after_ms"), Always), (Missing("support_after_ms"), Always)],
        measure: Above("support_after_ms"),
        first: &[
            "weight: a light person loads the joint less",
            "socket pain or fear that makes the person unload the leg",
            "oil too cold",
        ],
        turns: &[SOONER],
        otherwise: &["a softer spring range for a light person", "training: load the leg", "another joint"],
    },
    Symptom {
        name: "stumbles",
        seen: "the foot lands early on a bent knee and the knee gives way",
        means: "the knee is not caught in time, or not firmly enough",
        activities: &[Stumble],
        signs: &[
            (Word("what_happens", &[OutcomeWord::GivesWay, OutcomeWord::Doubtful]), Always),
            (Above("max_flexion_deg"), Always),
        ],
        measure: Above("max_flexion_deg"),
        first: &["why it stumbles: toe clearance, length, shoe, ground", "alignment", "weak hip extensors"],
        turns: &[FIRMER, SOONER],
        otherwise: &[
            "hip extension training: the hip moment decides as much as the valve",
            "a joint that catches at any angle",
        ],
    },
    Symptom {
        name: "drops-into-chair",
        seen: "the person drops into the chair or lands hard on the seat",
        means: "the stance valve is open while sitting down, or resists too little",
        activities: &[Sit],
        signs: &[
            (Below("sit_time_s"), Always),
            (Above("seat_speed_m_per_s"), Always),
            (Word("supported", &[OutcomeWord::No]), Always),
        ],
        measure: Above("seat_speed_m_per_s"),
        first: &[
            "habit: most weight on the sound leg, so that the joint feels too little load",
            "a seat lower than usual",
            "a foot too far forward when sitting down",
        ],
        turns: &[FIRMER, SOONER],
        otherwise: &[
            "training: load the prosthesis while sitting down, use the armrests",
            "weight: a light person may not reach the catch load",
        ],
    },
    Symptom {
        name: "holds-in-chair",
        seen: "sitting down drags, or the knee holds and the seat is not reached",
        means: "the stance valve resists more than the load on the prosthesis can overcome",
        activities: &[Sit],
        signs: &[
            (Above("sit_time_s"), Always),
            (Missing("sit_time_s"), Always),
            (Missing("seat_speed_m_per_s"), Always),
        ],
        measure: Above("sit_time_s"),
        first: &[
            "habit: hardly any weight on the prosthesis",
            "oil too cold",
            "socket brim that presses when sitting",
        ],
        turns: &[SOFTER],
        otherwise: &["training: trust the joint with weight", "a joint whose yield is set for sitting apart"],
    },
    Symptom {
        name: "gives-way-on-ramp",
        seen: "going down the ramp the knee gives way or sinks fast",
        means: "the stance valve resists too little, or closes too late",
        activities: &[Ramp],
        signs: &[
            (Word("what_happens", &[OutcomeWord::GivesWay]), Always),
            (Above("knee_flexion_at_other_foot_contact_deg"), Always),
            (Missing("knee_flexion_at_other_foot_contact_deg"), GaveWay),
            (Above("peak_rate_deg_per_s"), Always),
            (Above("body_drop_speed_m_per_s"), Always),
            (Missing("body_drop_speed_m_per_s"), GaveWay),
            (Word("landing_late", &[OutcomeWord::Yes]), Always),
            (Missing("landing_late"), GaveWay),
        ],
        measure: Above("peak_rate_deg_per_s"),
        first: &[
            "alignment: load line behind the knee on the slope",
            "shoe: heel height, slippery sole",
            "habit: steps too long for the slope",
        ],
        turns: &[FIRMER, SOONER],
        otherwise: &["training: short steps, weight on the heel", "a rail or another way down"],
    },
    Symptom {
        name: "stiff-on-ramp",
        seen: "going down the ramp the knee hardly yields and the body goes over a straight leg",
        means: "the stance valve resists too much, or the load line keeps the knee straight",
        activities: &[Ramp],
        signs: &[
            (Word("what_happens", &[OutcomeWord::Holds, OutcomeWord::Stalls]), Always),
            (Below("knee_flexion_at_other_foot_contact_deg"), Always),
            (Missing("knee_flexion_at_other_foot_contact_deg"), DidNotGiveWay),
            (Missing("body_drop_speed_m_per_s"), DidNotGiveWay),
            (Missing("landing_late"), DidNotGiveWay),
        ],
        measure: Below("knee_flexion_at_other_foot_contact_deg"),
        first: &[
            "alignment: load line far in front of the knee",
            "habit: hip extended hard at landing, for fear of the knee",
            "oil too cold",
            "the slope: a gentle one need not bend the knee",
        ],
        turns: &[SOFTER, FREER],
        otherwise: &["training: let the knee yield, between bars first", "alignment: cost to start bending"],
    },
    Symptom {
        name: "gives-way-on-stairs",
        seen: "going down the stairs the body drops onto the other foot or comes down close to the step",
        means: "the stance valve resists too little",
        activities: &[Stairs],
        signs: &[
            (Word("what_happens", &[OutcomeWord::GivesWay]), Always),
            (Above("peak_rate_deg_per_s"), Always),
            (Above("body_drop_speed_m_per_s"), Always),
            (Missing("body_drop_speed_m_per_s"), GaveWay),
            (Below("hip_past_edge_m"), Always),
            (Missing("hip_past_edge_m"), GaveWay),
            (Above("knee_flexion_at_other_foot_contact_deg"), Always),
        ],
        measure: Above("peak_rate_deg_per_s"),
        first: &[
            "habit: where the foot stands on the edge",
            "shoe: sole and heel",
            "a rail that is not used",
        ],
        turns: &[FIRMER, SOONER],
        otherwise: &[
            "training: foot half over the edge, hand on the rail",
            "step by step with the prosthesis first",
        ],
    },
    Symptom {
        name: "stiff-on-stairs",
        seen: "going down the stairs the knee hardly yields and the body falls forward or is stopped",
        means: "the stance valve resists too much",
        activities: &[Stairs],
        signs: &[
            (Word("what_happens", &[OutcomeWord::Holds, OutcomeWord::Stalls]), Always),
            (Above("hip_past_edge_m"), Always),
            (Missing("hip_past_edge_m"), DidNotGiveWay),
            (Missing("body_drop_speed_m_per_s"), DidNotGiveWay),
            (Below("knee_flexion_at_other_foot_contact_deg"), Always),
        ],
        measure: Below("knee_flexion_at_other_foot_contact_deg"),
        first: &[
            "habit: the whole foot on the step, so that nothing bends the knee",
            "oil too cold",
            "fear: hip held extended",
        ],
        turns: &[SOFTER],
        otherwise: &["training: foot half over the edge", "a joint whose yield is set for stairs apart"],
    },
];
