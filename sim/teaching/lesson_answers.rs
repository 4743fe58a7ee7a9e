//! The answers of each lesson. A row says when the runs bear it out; a threshold in a text is also in its condition,
//! every other number is a hole that the runs fill. The conditions of one lesson exclude each other.

use super::lesson_runs::{Answer, LessonRuns};
use crate::outcome::OutcomeWord::{Caught, Doubtful, GivesWay, No, Straight, Yes, Yields};

const CONTACT: &str = "heel_contact_flexion_deg";
const ENERGY: &str = "terminal_energy_j";
const LANDING: &str = "landing";
const MARGIN: &str = "extension_margin_ms";
const PEAK: &str = "peak_flexion_deg";
const SIT: &str = "sit_time_s";

/// 1: swing flexion open, in a hurry.
pub(super) const FLUNG: &[Answer] = &[
    Answer { key: "holds", is_right: |r| r.holds("walk-hurried", 'B') },
    Answer { key: "heel", is_right: |r| r.misses("walk-hurried", 'B', PEAK) },
    Answer {
        key: "late",
        is_right: |r| r.meets("walk-hurried", 'B', PEAK) && r.misses("walk-hurried", 'B', MARGIN),
    },
    Answer {
        key: "gives_way",
        is_right: |r| r.meets("walk-hurried", 'B', MARGIN) && r.is("walk-hurried", 'B', LANDING, GivesWay),
    },
];

/// 2: swing flexion closed.
pub(super) const STIFF: &[Answer] = &[
    Answer { key: "softer", is_right: |r| r.more("walk-fast", 'B', ENERGY) < 0.0 },
    Answer {
        key: "harder",
        is_right: |r| r.more("walk-fast", 'B', ENERGY) > 0.0 && r.meets("walk-fast", 'B', ENERGY),
    },
    Answer {
        key: "beyond",
        is_right: |r| r.more("walk-fast", 'B', ENERGY) > 0.0 && r.misses("walk-fast", 'B', ENERGY),
    },
];

/// 3: swing extension closed.
pub(super) const QUIET: &[Answer] = &[
    Answer { key: "gives_way", is_right: |r| r.is("walk-fast", 'C', LANDING, GivesWay) },
    Answer {
        key: "held",
        is_right: |r| {
            let held = [Straight, Caught, Yields].iter().any(|w| r.is("walk-fast", 'C', LANDING, *w));
            r.misses("walk-fast", 'C', CONTACT) && held
        },
    },
    Answer { key: "straight", is_right: |r| r.meets("walk-fast", 'C', CONTACT) },
    Answer { key: "doubtful", is_right: |r| r.is("walk-fast", 'C', LANDING, Doubtful) },
];

/// 4: swing extension open.
pub(super) const OPEN: &[Answer] = &[
    Answer { key: "straighter", is_right: |r| r.more("walk-fast", 'B', CONTACT) < 0.0 },
    Answer {
        key: "bent_again",
        is_right: |r| r.more("walk-fast", 'B', CONTACT) > 0.0 && r.misses("walk-fast", 'B', CONTACT),
    },
    Answer {
        key: "knock",
        is_right: |r| r.meets("walk-fast", 'B', CONTACT) && r.misses("walk-fast", 'B', ENERGY),
    },
    Answer {
        key: "holds",
        is_right: |r| r.more("walk-fast", 'B', CONTACT) > 0.0 && r.holds("walk-fast", 'B'),
    },
];

/// 5: one step of the catch load.
pub(super) const CLIFF: &[Answer] = &[
    Answer { key: "nothing", is_right: |r| r.more("walk-comfortable", 'B', PEAK).abs() < 2.0 },
    Answer { key: "little", is_right: |r| (2.0..10.0).contains(&-r.more("walk-comfortable", 'B', PEAK)) },
    Answer { key: "lot", is_right: |r| r.more("walk-comfortable", 'B', PEAK) <= -10.0 },
    Answer { key: "more", is_right: |r| r.more("walk-comfortable", 'B', PEAK) >= 2.0 },
];

/// 6: the light person with a lower catch load.
pub(super) const LIGHT: &[Answer] = &[
    Answer { key: "holds", is_right: |r| r.holds("sit-down", 'C') },
    Answer { key: "open", is_right: |r| r.is("sit-down", 'C', "supported", No) },
    Answer {
        key: "drags",
        is_right: |r| r.is("sit-down", 'C', "supported", Yes) && r.misses("sit-down", 'C', SIT),
    },
];

/// 7: stance yield closed from the middle.
pub(super) const YIELD: &[Answer] = &[
    Answer { key: "all", is_right: |r| TASKS.iter().all(|t| r.holds(t, 'C')) },
    Answer {
        key: "chair",
        is_right: |r| r.holds(TASKS[0], 'C') && !r.holds(TASKS[1], 'C') && !r.holds(TASKS[2], 'C'),
    },
    Answer { key: "none", is_right: |r| TASKS.iter().all(|t| !r.holds(t, 'C')) },
    Answer {
        key: "ramp",
        is_right: |r| !r.holds(TASKS[0], 'C') && r.holds(TASKS[1], 'C') && !r.holds(TASKS[2], 'C'),
    },
];

const TASKS: [&str; 3] = ["sit-down", "ramp-down-8-deg", "stairs-down"];

/// Two changes count as added where the sum is met to this, ms.
const ADDED_MS: f64 = 3.0;

/// 8: boots and cold oil.
pub(super) const BOTH: &[Answer] = &[
    Answer {
        key: "less_holds",
        is_right: |r| beyond_sum_ms(r) < -ADDED_MS && r.holds("walk-comfortable", 'D'),
    },
    Answer {
        key: "less_broken",
        is_right: |r| beyond_sum_ms(r) < -ADDED_MS && !r.holds("walk-comfortable", 'D'),
    },
    Answer { key: "sum", is_right: |r| beyond_sum_ms(r).abs() <= ADDED_MS },
    Answer { key: "more", is_right: |r| beyond_sum_ms(r) > ADDED_MS },
];

/// How much later than boots and cold added up both together make the knee straight, ms.
fn beyond_sum_ms(r: &LessonRuns) -> f64 {
    let lost = |letter| -r.more("walk-comfortable", letter, MARGIN);
    lost('D') - lost('B') - lost('C')
}
