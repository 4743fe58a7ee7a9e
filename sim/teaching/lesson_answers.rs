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
    Answer {
        text: "It holds: the heel rises higher, and every limit is still met",
        explanation: "The heel does rise higher: {walk-hurried.B.peak_flexion_deg} instead of \
                      {walk-hurried.A.peak_flexion_deg}. But the knee is straight {walk-hurried.B.extension_margin_ms}; \
                      the limit is {walk-hurried.limit.extension_margin_ms}.",
        is_right: |r| r.holds("walk-hurried", 'B'),
    },
    Answer {
        text: "The heel flies up beyond its limit",
        explanation: "In a hurry the heel rises to {walk-hurried.B.peak_flexion_deg}, at a stroll to \
                      {walk-slow.B.peak_flexion_deg}; the limit is {walk-hurried.limit.peak_flexion_deg}. The heel is \
                      what one sees; the time that the way back takes is what one does not see.",
        is_right: |r| r.misses("walk-hurried", 'B', PEAK),
    },
    Answer {
        text: "The heel stays within its limit, but the knee is straight too late",
        explanation: "The knee is straight {walk-hurried.B.extension_margin_ms}, in A {walk-hurried.A.extension_margin_ms}; \
                      at a stroll B still had {walk-slow.B.extension_margin_ms}. The heel rises to \
                      {walk-hurried.B.peak_flexion_deg}, limit {walk-hurried.limit.peak_flexion_deg}: it has further to \
                      come back, in a stride that is shorter.",
        is_right: |r| r.meets("walk-hurried", 'B', PEAK) && r.misses("walk-hurried", 'B', MARGIN),
    },
    Answer {
        text: "The knee is straight in time, and gives way under the weight",
        explanation: "Swing flexion does nothing under the weight: the landing is \"{walk-hurried.B.landing}\", as in A. \
                      What changes is when the knee is straight: {walk-hurried.B.extension_margin_ms}.",
        is_right: |r| r.meets("walk-hurried", 'B', MARGIN) && r.is("walk-hurried", 'B', LANDING, GivesWay),
    },
];

/// 2: swing flexion closed.
pub(super) const STIFF: &[Answer] = &[
    Answer {
        text: "It becomes softer, as the way back is shorter",
        explanation: "The way is shorter, {walk-fast.B.peak_flexion_deg} instead of {walk-fast.A.peak_flexion_deg}. But \
                      the knee turns round earlier, while the thigh still drives the shank forward: \
                      {walk-fast.B.terminal_energy_j} instead of {walk-fast.A.terminal_energy_j}.",
        is_right: |r| r.more("walk-fast", 'B', ENERGY) < 0.0,
    },
    Answer {
        text: "It becomes harder, but its limit still holds",
        explanation: "The energy at full extension is {walk-fast.B.terminal_energy_j} instead of \
                      {walk-fast.A.terminal_energy_j}; the limit is {walk-fast.limit.terminal_energy_j}. A knee that turns \
                      round early comes back while the thigh still drives it. What gives out is the heel rise: \
                      {walk-fast.B.peak_flexion_deg}, limit {walk-fast.limit.peak_flexion_deg}.",
        is_right: |r| r.more("walk-fast", 'B', ENERGY) > 0.0 && r.meets("walk-fast", 'B', ENERGY),
    },
    Answer {
        text: "It becomes harder, beyond its limit",
        explanation: "The energy goes from {walk-fast.A.terminal_energy_j} to {walk-fast.B.terminal_energy_j}, and with \
                      the valve closed all the way (C) to {walk-fast.C.terminal_energy_j}; the limit is \
                      {walk-fast.limit.terminal_energy_j}. A knee that turns round early is driven by the thigh, and has \
                      bent little.",
        is_right: |r| r.more("walk-fast", 'B', ENERGY) > 0.0 && r.misses("walk-fast", 'B', ENERGY),
    },
];

/// 3: swing extension closed.
pub(super) const QUIET: &[Answer] = &[
    Answer {
        text: "It lands bent and gives way",
        explanation: "It lands bent, by {walk-fast.C.heel_contact_flexion_deg}, and bends to \
                      {walk-fast.C.landing_max_flexion_deg} under the weight; the landing is \"{walk-fast.C.landing}\". The \
                      stance valve and the hip of this model decide it; neither is a reason to rely on them.",
        is_right: |r| r.is("walk-fast", 'C', LANDING, GivesWay),
    },
    Answer {
        text: "It lands bent, beyond the limit, and is held all the same",
        explanation: "It lands bent by {walk-fast.C.heel_contact_flexion_deg}, limit \
                      {walk-fast.limit.heel_contact_flexion_deg}, and bends no further than \
                      {walk-fast.C.landing_max_flexion_deg}: the landing is \"{walk-fast.C.landing}\". It holds with this hip \
                      and this stance valve; a step on which they do not help is a fall.",
        is_right: |r| {
            let held = [Straight, Caught, Yields].iter().any(|w| r.is("walk-fast", 'C', LANDING, *w));
            r.misses("walk-fast", 'C', CONTACT) && held
        },
    },
    Answer {
        text: "It is straight as before; it has only become quiet",
        explanation: "It is quiet because it never reaches the stop: bent {walk-fast.C.heel_contact_flexion_deg} at heel \
                      contact, in A {walk-fast.A.heel_contact_flexion_deg}; the limit is \
                      {walk-fast.limit.heel_contact_flexion_deg}.",
        is_right: |r| r.meets("walk-fast", 'C', CONTACT),
    },
    Answer {
        text: "It lands bent, and is still bending when the time is up: nobody can tell",
        explanation: "The landing is \"{walk-fast.C.landing}\": from {walk-fast.C.heel_contact_flexion_deg} at heel contact \
                      the knee goes to {walk-fast.C.landing_max_flexion_deg} at most.",
        is_right: |r| r.is("walk-fast", 'C', LANDING, Doubtful),
    },
];

/// 4: swing extension open.
pub(super) const OPEN: &[Answer] = &[
    Answer {
        text: "On a straighter knee, since there was more time",
        explanation: "There is more time, {walk-fast.B-A.extension_margin_ms}. But a knee that is straight early has \
                      longer to bend again: {walk-fast.B.heel_contact_flexion_deg} at heel contact instead of \
                      {walk-fast.A.heel_contact_flexion_deg}.",
        is_right: |r| r.more("walk-fast", 'B', CONTACT) < 0.0,
    },
    Answer {
        text: "On a knee that is bent again, beyond its limit",
        explanation: "It is bent again, by {walk-fast.B.heel_contact_flexion_deg}; the limit is \
                      {walk-fast.limit.heel_contact_flexion_deg}. Only with the valve open all the way (C) it is \
                      {walk-fast.C.heel_contact_flexion_deg}, with a knock of {walk-fast.C.terminal_energy_j}.",
        is_right: |r| r.more("walk-fast", 'B', CONTACT) > 0.0 && r.misses("walk-fast", 'B', CONTACT),
    },
    Answer {
        text: "It bends again within its limit, but the knock breaks its own",
        explanation: "The knock grows from {walk-fast.A.terminal_energy_j} to {walk-fast.B.terminal_energy_j}; the limit is \
                      {walk-fast.limit.terminal_energy_j}, and the valve open all the way (C) has \
                      {walk-fast.C.terminal_energy_j}.",
        is_right: |r| r.meets("walk-fast", 'B', CONTACT) && r.misses("walk-fast", 'B', ENERGY),
    },
    Answer {
        text: "It holds: bent again a little, and every limit is met",
        explanation: "It is bent {walk-fast.B.heel_contact_flexion_deg} instead of {walk-fast.A.heel_contact_flexion_deg}, \
                      limit {walk-fast.limit.heel_contact_flexion_deg}; the knock has {walk-fast.B.terminal_energy_j}, limit \
                      {walk-fast.limit.terminal_energy_j}. A knee that is straight early has longer to bend again.",
        is_right: |r| r.more("walk-fast", 'B', CONTACT) > 0.0 && r.holds("walk-fast", 'B'),
    },
];

/// 5: one step of the catch load.
pub(super) const CLIFF: &[Answer] = &[
    Answer {
        text: "Nothing to speak of: less than 2°",
        explanation: "So it is above the edge. This step goes over it: B no longer lets go before the foot is off, and \
                      peak flexion changes by {walk-comfortable.B-A.peak_flexion_deg}.",
        is_right: |r| r.more("walk-comfortable", 'B', PEAK).abs() < 2.0,
    },
    Answer {
        text: "A little, as each step does: 2° to 10°",
        explanation: "There is no slope: a valve has let go before the foot is off, or it has not. Peak flexion changes by \
                      {walk-comfortable.B-A.peak_flexion_deg}.",
        is_right: |r| (2.0..10.0).contains(&-r.more("walk-comfortable", 'B', PEAK)),
    },
    Answer {
        text: "A lot: 10° or more",
        explanation: "From {walk-comfortable.A.peak_flexion_deg} to {walk-comfortable.B.peak_flexion_deg}: A lets go at \
                      {walk-comfortable.A.release_pct}, B does not let go at all before the foot is off. With a user who \
                      pushes half as hard (C) the same setting reaches {walk-comfortable.C.peak_flexion_deg}: the edge \
                      moves with the user.",
        is_right: |r| r.more("walk-comfortable", 'B', PEAK) <= -10.0,
    },
    Answer {
        text: "None: the knee bends 2° more, or further",
        explanation: "A lower catch load lets the stance valve catch readily, also in late stance, where it should let go. \
                      Peak flexion changes by {walk-comfortable.B-A.peak_flexion_deg}.",
        is_right: |r| r.more("walk-comfortable", 'B', PEAK) >= 2.0,
    },
];

/// 6: the light person with a lower catch load.
pub(super) const LIGHT: &[Answer] = &[
    Answer {
        text: "It holds: this person too is let down within every limit",
        explanation: "The catch load is a force, and the light person now reaches it: {sit-down.C.sit_time_s} instead of \
                      {sit-down.B.sit_time_s}, on the seat at {sit-down.C.seat_speed_m_per_s}, limit \
                      {sit-down.limit.seat_speed_m_per_s}.",
        is_right: |r| r.holds("sit-down", 'C'),
    },
    Answer {
        text: "Nothing: a light person cannot close the valve",
        explanation: "In B the valve is open for most of the way, in C it is closed (\"{sit-down.C.supported}\"): the load that \
                      closes it is what was lowered. The seat is reached at {sit-down.C.seat_speed_m_per_s} instead of \
                      {sit-down.B.seat_speed_m_per_s}.",
        is_right: |r| r.is("sit-down", 'C', "supported", No),
    },
    Answer {
        text: "Too much: the knee is held, and sitting down drags",
        explanation: "The knee is held, and sitting down takes {sit-down.C.sit_time_s}; the limit is \
                      {sit-down.limit.sit_time_s}. Resistance belongs to the stance yield, which was left alone.",
        is_right: |r| r.is("sit-down", 'C', "supported", Yes) && r.misses("sit-down", 'C', SIT),
    },
];

/// 7: stance yield closed from the middle.
pub(super) const YIELD: &[Answer] = &[
    Answer {
        text: "In all three: it holds",
        explanation: "Sitting down takes {sit-down.C.sit_time_s}, limit {sit-down.limit.sit_time_s}; on the stairs the hip \
                      is {stairs-down.C.hip_past_edge_m} in front of the edge, limit {stairs-down.limit.hip_past_edge_m}. The ramp \
                      alone has room.",
        is_right: |r| TASKS.iter().all(|t| r.holds(t, 'C')),
    },
    Answer {
        text: "In the chair alone",
        explanation: "The chair is what drags first: {sit-down.C.sit_time_s} instead of {sit-down.A.sit_time_s}, limit \
                      {sit-down.limit.sit_time_s}. The ramp loads the knee longer and at lower rates.",
        is_right: |r| r.holds(TASKS[0], 'C') && !r.holds(TASKS[1], 'C') && !r.holds(TASKS[2], 'C'),
    },
    Answer {
        text: "In none of them",
        explanation: "Chair and stairs are outside, but the ramp is not: the body sinks at \
                      {ramp-down-8-deg.C.body_drop_speed_m_per_s}, limit {ramp-down-8-deg.limit.body_drop_speed_m_per_s}. It \
                      gives out further on, in D.",
        is_right: |r| TASKS.iter().all(|t| !r.holds(t, 'C')),
    },
    Answer {
        text: "On the ramp alone",
        explanation: "On the ramp the body sinks at {ramp-down-8-deg.C.body_drop_speed_m_per_s}, limit \
                      {ramp-down-8-deg.limit.body_drop_speed_m_per_s}. Sitting down takes {sit-down.C.sit_time_s}, limit \
                      {sit-down.limit.sit_time_s}; on the stairs the hip is {stairs-down.C.hip_past_edge_m} in front of \
                      the edge, limit {stairs-down.limit.hip_past_edge_m}.",
        is_right: |r| !r.holds(TASKS[0], 'C') && r.holds(TASKS[1], 'C') && !r.holds(TASKS[2], 'C'),
    },
];

const TASKS: [&str; 3] = ["sit-down", "ramp-down-8-deg", "stairs-down"];

/// Two changes count as added where the sum is met to this, ms.
const ADDED_MS: f64 = 3.0;

/// 8: boots and cold oil.
pub(super) const BOTH: &[Answer] = &[
    Answer {
        text: "By less than the two together, and it holds: every limit is met",
        explanation: "Boots alone change it by {walk-comfortable.B-A.extension_margin_ms}, the cold by \
                      {walk-comfortable.C-A.extension_margin_ms}, both by {walk-comfortable.D-A.extension_margin_ms}: straight \
                      {walk-comfortable.D.extension_margin_ms}, limit {walk-comfortable.limit.extension_margin_ms}. The boots fling the heel \
                      higher, the thick oil holds it back: one partly hides the other.",
        is_right: |r| beyond_sum_ms(r) < -ADDED_MS && r.holds("walk-comfortable", 'D'),
    },
    Answer {
        text: "By less than the two together, but a limit is broken",
        explanation: "By less, yes: {walk-comfortable.D-A.extension_margin_ms}, where the two alone have \
                      {walk-comfortable.B-A.extension_margin_ms} and {walk-comfortable.C-A.extension_margin_ms}. The knee is straight \
                      {walk-comfortable.D.extension_margin_ms}, limit {walk-comfortable.limit.extension_margin_ms}.",
        is_right: |r| beyond_sum_ms(r) < -ADDED_MS && !r.holds("walk-comfortable", 'D'),
    },
    Answer {
        text: "By both added up, to 3 ms",
        explanation: "Boots {walk-comfortable.B-A.extension_margin_ms}, cold {walk-comfortable.C-A.extension_margin_ms}, both \
                      {walk-comfortable.D-A.extension_margin_ms}. They act on the same swing: the boots fling the heel higher, the \
                      thick oil holds it back.",
        is_right: |r| beyond_sum_ms(r).abs() <= ADDED_MS,
    },
    Answer {
        text: "By more than the two together: one makes the other worse",
        explanation: "Boots {walk-comfortable.B-A.extension_margin_ms}, cold {walk-comfortable.C-A.extension_margin_ms}, both \
                      {walk-comfortable.D-A.extension_margin_ms}. The heel that the boots fling to {walk-comfortable.B.peak_flexion_deg} the \
                      thick oil holds back to {walk-comfortable.D.peak_flexion_deg}.",
        is_right: |r| beyond_sum_ms(r) > ADDED_MS,
    },
];

/// How much later than boots and cold added up both together make the knee straight, ms.
fn beyond_sum_ms(r: &LessonRuns) -> f64 {
    let lost = |letter| -r.more("walk-comfortable", letter, MARGIN);
    lost('D') - lost('B') - lost('C')
}
