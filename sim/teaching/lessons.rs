//! The teaching lessons: data rows that `compare` runs and the page shows. A row has situation, variants, and a
//! question with answers of its own; every number, every verdict and which answer is right come from running it
//! (`lesson_runs`). tests/studies/lessons.rs checks what each lesson shows, and that one answer is right.

use super::lesson_answers as answers;
pub use super::lesson_runs::{About, Lesson};

/// The lesson of a number.
#[must_use]
pub fn lesson(number: u8) -> Option<&'static Lesson> {
    LESSONS.iter().find(|l| l.number == number)
}

/// All lessons.
pub static LESSONS: &[Lesson] = &[
    Lesson {
        number: 1,
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
        about: About { scenario: "walk-fast", variant: 1 },
        answers: answers::STIFF,
        asked: &[("walk-fast", "peak_flexion_deg"), ("walk-fast", "terminal_energy_j")],
        scenarios: &["walk-fast"],
        variants: &["", "swing-flexion=85", "swing-flexion=100"],
    },
    Lesson {
        number: 3,
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
        about: About { scenario: "walk-comfortable", variant: 1 },
        answers: answers::CLIFF,
        asked: &[("walk-comfortable", "peak_flexion_deg"), ("walk-comfortable", "release_pct")],
        scenarios: &["walk-comfortable"],
        variants: &["catch-load=10", "catch-load=8", "catch-load=8,user_effort_n_m_per_kg=0.1"],
    },
    Lesson {
        number: 6,
        about: About { scenario: "sit-down", variant: 2 },
        answers: answers::LIGHT,
        asked: &[("sit-down", "sit_time_s"), ("sit-down", "seat_speed_m_per_s"), ("sit-down", "supported")],
        scenarios: &["sit-down"],
        variants: &["person=100-kg", "person=50-kg", "person=50-kg,catch-load=10"],
    },
    Lesson {
        number: 7,
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
