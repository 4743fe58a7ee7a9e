//! The teaching lessons: data rows that `compare` runs and the page shows. A row has situation, variants, and a
//! question with answers of its own; every number, every verdict and which answer is right come from running it
//! (`lesson_runs`). tests/studies/lessons.rs checks what each lesson shows, and that one answer is right.

use super::lesson_answers as answers;
pub use super::lesson_runs::{About, Lesson};

/// The person, prosthesis and knee that the lessons were made with: the defaults of the program.
pub const MADE_WITH: &str = "the invented person of 75 kg with the typical prosthesis and the built-in knee";

/// The lesson of a number.
#[must_use]
pub fn lesson(number: u8) -> Option<&'static Lesson> {
    LESSONS.iter().find(|l| l.number == number)
}

/// All lessons.
pub static LESSONS: &[Lesson] = &[
    Lesson {
        number: 1,
        title: "Swing flexion opened all the way",
        situation: "Swing flexion is opened all the way. At a stroll everybody is content.",
        watch: "How high the heel rises, and whether the knee is straight when the foot lands.",
        question: "At a stroll every limit holds. What happens to B when the person hurries?",
        why: "The harder the hip drives, the higher an open knee flings the heel; a shank that has further to \
              come back needs more time, and a hurried stride has less of it.",
        consider: "To look at the fastest pace that the person really walks before swing flexion is left alone.",
        about: About { scenario: "walk-hurried", variant: 1 },
        answers: answers::FLUNG,
        asked: &[
            ("walk-slow", "peak_flexion_deg"),
            ("walk-hurried", "peak_flexion_deg"),
            ("walk-slow", "extension_margin_ms"),
            ("walk-hurried", "extension_margin_ms"),
        ],
        scenarios: &["walk-slow", "walk-hurried"],
        variants: &["", "swing-flexion=0"],
    },
    Lesson {
        number: 2,
        title: "Swing flexion closed further and further",
        situation: "The heel flew up, so swing flexion was closed further and further.",
        watch: "The toe in mid-swing; the energy at full extension.",
        question: "A knee that bends less has a shorter way back. What becomes of the knock in B?",
        why: "A knee that hardly bends turns round early, and reaches full extension while the braking of the \
              thigh still drives the shank forward; a knee that comes later meets the end of that drive.",
        consider: "To open swing flexion again before swing extension is closed against the knock.",
        about: About { scenario: "walk-fast", variant: 1 },
        answers: answers::STIFF,
        asked: &[("walk-fast", "peak_flexion_deg"), ("walk-fast", "terminal_energy_j")],
        scenarios: &["walk-fast"],
        variants: &["", "swing-flexion=85", "swing-flexion=100"],
    },
    Lesson {
        number: 3,
        title: "Swing extension closed against the knock",
        situation: "The person disliked the knock; swing extension was closed until nothing could be heard.",
        watch: "Whether the knee is straight at heel contact, and what it does under the weight.",
        question: "Nothing knocks any more. In C the foot comes down at a fast walk: what does the knee do?",
        why: "An extension valve that is closed too far holds the shank back until the foot is down; the weight \
              then comes onto a bent knee, and what the hip and the stance valve can do decides.",
        consider: "To accept a soft knock; to listen less and to look at heel contact more, at the fastest pace.",
        about: About { scenario: "walk-fast", variant: 2 },
        answers: answers::QUIET,
        asked: &[
            ("walk-fast", "heel_contact_flexion_deg"),
            ("walk-fast", "landing"),
            ("walk-fast", "landing_max_flexion_deg"),
        ],
        scenarios: &["walk-comfortable", "walk-fast"],
        variants: &["", "swing-extension=80", "swing-extension=100"],
    },
    Lesson {
        number: 4,
        title: "Swing extension wide open",
        situation: "Swing extension is wide open: the knee is straight in good time.",
        watch: "The energy at full extension, and what the knee does between the knock and the ground.",
        question: "B has swing extension a little more open, and is straight earlier. How does its foot land at a fast walk?",
        why: "What the valve does not take out, the extension stop has to. A knee that is straight early then has \
              longer to bend again before the foot is down: the prescribed hip of this model cannot hold it.",
        consider: "To close swing extension by small steps until the knock softens, and to look at the fastest pace \
                   each time.",
        about: About { scenario: "walk-fast", variant: 1 },
        answers: answers::OPEN,
        asked: &[
            ("walk-fast", "extension_margin_ms"),
            ("walk-fast", "heel_contact_flexion_deg"),
            ("walk-fast", "terminal_energy_j"),
        ],
        scenarios: &["walk-comfortable", "walk-fast"],
        variants: &["", "swing-extension=45", "swing-extension=0"],
    },
    Lesson {
        number: 5,
        title: "The catch load, one step at a time",
        situation: "The catch load is lowered by one small step at a time, so that the joint catches readily.",
        watch: "When the stance valve lets go in late stance, and how far the knee bends in swing. B is one step \
                below A; C is B with a user who pushes half as hard.",
        question: "How much peak flexion does the step of two points from A to B take?",
        why: "A valve that has let go stays released until the foot is off; one that has not, feels more load the \
              further the knee is bent, and holds on. Pushing harder bends the caught knee sooner and does not help.",
        consider: "To stay several steps away from the edge, since the edge moves with the person's weight and effort.",
        about: About { scenario: "walk-comfortable", variant: 1 },
        answers: answers::CLIFF,
        asked: &[("walk-comfortable", "peak_flexion_deg"), ("walk-comfortable", "release_pct")],
        scenarios: &["walk-comfortable"],
        variants: &["catch-load=10", "catch-load=8", "catch-load=8,user_effort_n_m_per_kg=0.1"],
    },
    Lesson {
        number: 6,
        title: "Two people, one joint",
        situation: "The same joint with the same settings, under a heavy and under a light person.",
        watch: "Time and speed on the way to the seat, and whether the stance valve is closed. C is the light person \
                with the catch load lowered.",
        question: "The heavy person is held, the light one drops into the chair. What does the lower catch load do in C?",
        why: "The catch load is a force: the same spring is a larger share of a light person, who carries only part of \
              the weight on the prosthesis. A knee that begins to fold cannot build up the load that would catch it.",
        consider: "To try the catch load on this person, sitting down included, between bars.",
        about: About { scenario: "sit-down", variant: 2 },
        answers: answers::LIGHT,
        asked: &[("sit-down", "sit_time_s"), ("sit-down", "seat_speed_m_per_s"), ("sit-down", "supported")],
        scenarios: &["sit-down"],
        variants: &["person=100-kg", "person=50-kg", "person=50-kg,catch-load=10"],
    },
    Lesson {
        number: 7,
        title: "One valve, three jobs",
        situation: "One stance yield serves the chair, the ramp and the stairs.",
        watch: "Which of the three gives way as the yield is closed from B to D. A is the middle.",
        question: "In A all three tasks are within their limits. In which are they still in C, with the yield closed further?",
        why: "The chair, the ramp and the stairs load the knee for different times at different rates. Too open and the \
              body drops; too closed and sitting drags, while on ramp and stairs the body falls forward over a leg \
              that hardly bends.",
        consider: "To look at all three after each change of stance yield, and to say which matters most to this person.",
        about: About { scenario: "ramp-down-8-deg", variant: 2 },
        answers: answers::YIELD,
        asked: &[
            ("sit-down", "sit_time_s"),
            ("ramp-down-8-deg", "body_drop_speed_m_per_s"),
            ("stairs-down", "hip_past_edge_m"),
        ],
        scenarios: &["sit-down", "ramp-down-8-deg", "stairs-down"],
        variants: &["stance-yield=40", "stance-yield=20", "stance-yield=60", "stance-yield=80"],
    },
    Lesson {
        number: 8,
        title: "New boots and a cold morning",
        situation: "Nothing on the joint was touched. B has boots that are half a kilogram heavier, C oil at 0 °C, D both.",
        watch: "Heel rise, full extension before heel contact, energy at full extension.",
        question: "Boots make the knee straight later, and so does the cold. By how much do both together in D, at a comfortable walk?",
        why: "A heavier foot swings with more momentum, against which the valves do less, so the heel rises more; \
              thick oil holds it back, and most where the knee is slow, at the end of extension. The one partly hides \
              the other.",
        consider: "To look again after any change of shoe or foot, and at a joint that has been out in the cold, before \
                   a setting is touched.",
        about: About { scenario: "walk-comfortable", variant: 3 },
        answers: answers::BOTH,
        asked: &[
            ("walk-comfortable", "extension_margin_ms"),
            ("walk-comfortable", "peak_flexion_deg"),
            ("walk-comfortable", "terminal_energy_j"),
        ],
        scenarios: &["walk-comfortable", "walk-fast", "sit-down"],
        variants: &[
            "",
            "foot_extra_mass_kg=0.5",
            "temperature_c=0",
            "foot_extra_mass_kg=0.5,temperature_c=0",
        ],
    },
];
