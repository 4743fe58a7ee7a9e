//! The registry of outcomes. The column `judged` is what the study `uncertainty` finds with its default ranges for the
//! built-in example; tests/studies/uncertainty.rs finds it again.

use super::Measure::{OfMotion, OfStride};
use super::leg::LANDING;
use super::{Metric, ground, leg, sitting, standing, stride, walking, wording};
use crate::motion::stride_cache::ReferenceStride;
use crate::scenario::ActivityKind::{self, Ramp, Sit, Stairs, Stand, Stumble, Walk};
use crate::scenario::OutcomeWord::{
    self, Caught, Doubtful, GivesWay, Holds, No, Stalls, Straight, Yes, Yields,
};

const WALK: &[ActivityKind] = &[Walk];
const SIT: &[ActivityKind] = &[Sit];
const SLOPES: &[ActivityKind] = &[Ramp, Stairs];
const RAMP: &[ActivityKind] = &[Ramp];
const STAIRS: &[ActivityKind] = &[Stairs];
const STUMBLE: &[ActivityKind] = &[Stumble];
const STAND: &[ActivityKind] = &[Stand];
const MOVING: &[ActivityKind] = &[Walk, Sit, Ramp, Stairs, Stumble];
const ON_FOOT: &[ActivityKind] = &[Walk, Ramp, Stairs, Stumble];
const LANDING_BAND: &[&str] =
    &["landing_at_least_hip_moment", "landing_at_most_hip_moment", "friction_needed"];
const BAND: &[&str] =
    &["what_happens_at_least_hip_moment", "what_happens_at_most_hip_moment", "friction_needed"];
const STEP: &[OutcomeWord] = &[Yields, Holds, Stalls, GivesWay, Straight, Caught, Doubtful];
const YES_NO: &[OutcomeWord] = &[Yes, No];

/// Defaults of a row: a number without limits in the shipped scenarios.
const PLAIN: Metric = Metric {
    key: "",
    label: "",
    unit: "",
    decimals: 1,
    sign: None,
    activities: &[],
    words: &[],
    seen_below: "it lies below its limit",
    seen_above: "it lies above its limit",
    seen_missing: "it does not happen",
    beside: &[],
    not_reached: "",
    internal: false,
    missed_with: None,
    same_fault_as: None,
    compared_with: None,
    by_landing: false,
    judged: &[],
    by_hip_band: false,
    without_hip: false,
    measure: OfMotion(|_| super::Value::NotReached),
};

impl Metric {
    /// Whether an observer sees something when it lies outside a limit.
    #[must_use]
    pub fn is_seen(&self) -> bool {
        (self.seen_below, self.seen_above, self.seen_missing)
            != (PLAIN.seen_below, PLAIN.seen_above, PLAIN.seen_missing)
    }
}

/// All outcomes, in the order in which they are shown.
pub static METRICS: &[Metric] = &[
    Metric {
        key: "toe_off_flexion_deg",
        label: "flexion at toe-off",
        unit: "°",
        activities: WALK,
        judged: WALK,
        measure: OfStride(stride::toe_off_flexion),
        ..PLAIN
    },
    Metric {
        key: "peak_flexion_deg",
        label: "peak flexion in swing",
        unit: "°",
        activities: WALK,
        seen_below: "the heel hardly rises and the toe comes close to the ground",
        seen_above: "the heel flies up behind",
        judged: WALK,
        measure: OfStride(stride::peak_flexion),
        ..PLAIN
    },
    Metric {
        key: "peak_flexion_pct",
        label: "instant of peak flexion",
        unit: "% of stride",
        activities: WALK,
        judged: WALK,
        measure: OfStride(stride::peak_pct),
        ..PLAIN
    },
    Metric {
        key: "peak_vs_able_bodied_deg",
        label: "peak flexion, difference from able-bodied",
        unit: "°",
        sign: Some(wording::PEAK),
        activities: WALK,
        seen_below: "the heel rises less than on the other side",
        seen_above: "the heel rises more than on the other side",
        judged: WALK,
        measure: OfStride(stride::peak_vs_able_bodied),
        ..PLAIN
    },
    Metric {
        key: "release_pct",
        label: "instant the stance valve lets go",
        unit: "% of stride",
        activities: WALK,
        measure: OfStride(stride::release_pct),
        ..PLAIN
    },
    Metric {
        key: "late_release_loss_deg",
        label: "peak flexion lost to late release",
        unit: "°",
        activities: WALK,
        seen_above: "the knee lets go late or not at all, and bends less than it could",
        compared_with: Some(ReferenceStride::NeverClosing),
        judged: WALK,
        measure: OfStride(stride::late_release_loss),
        ..PLAIN
    },
    Metric {
        key: "full_extension_pct",
        label: "instant of full extension",
        unit: "% of stride",
        activities: WALK,
        judged: WALK,
        measure: OfStride(stride::full_extension_pct),
        ..PLAIN
    },
    Metric {
        key: "extension_margin_ms",
        label: "full extension",
        unit: "ms",
        decimals: 0,
        sign: Some(wording::EXTENSION),
        not_reached: "never straight",
        activities: WALK,
        seen_below: "the knee is straight only just before the foot lands, or after it",
        seen_above: "the knee is straight long before the foot lands and the person waits for the leg",
        seen_missing: "the knee is never straight before the foot lands",
        beside: &["flexion_before_contact_deg"],
        judged: WALK,
        measure: OfStride(stride::extension_margin),
        ..PLAIN
    },
    Metric {
        key: "flexion_before_contact_deg",
        label: "flexion 40 ms before heel contact",
        unit: "°",
        activities: WALK,
        seen_above: "the knee is still bent just before the foot lands",
        same_fault_as: Some("extension_margin_ms"),
        judged: WALK,
        measure: OfMotion(walking::flexion_before_contact),
        ..PLAIN
    },
    Metric {
        key: "terminal_speed_deg_per_s",
        label: "speed at full extension",
        unit: "°/s",
        decimals: 0,
        activities: WALK,
        judged: WALK,
        measure: OfStride(stride::terminal_speed),
        ..PLAIN
    },
    Metric {
        key: "terminal_energy_j",
        label: "energy at full extension",
        unit: "J",
        decimals: 2,
        activities: WALK,
        seen_above: "the knee knocks hard against its extension stop",
        seen_missing: "the knee does not reach its extension stop",
        missed_with: Some("extension_margin_ms"),
        judged: WALK,
        measure: OfStride(stride::terminal_energy),
        ..PLAIN
    },
    Metric {
        key: "rebound_deg",
        label: "bends again before heel contact, up to",
        not_reached: "does not bend again",
        unit: "°",
        activities: WALK,
        judged: WALK,
        measure: OfStride(stride::rebound),
        ..PLAIN
    },
    Metric {
        key: "heel_contact_flexion_deg",
        label: "flexion at heel contact",
        unit: "°",
        activities: WALK,
        seen_above: "the foot lands on a bent knee",
        judged: WALK,
        measure: OfStride(stride::heel_contact_flexion),
        ..PLAIN
    },
    Metric {
        key: "stop_torque_n_m",
        label: "greatest torque of the extension stop",
        unit: "N m",
        decimals: 0,
        activities: WALK,
        judged: WALK,
        measure: OfMotion(walking::stop_torque),
        ..PLAIN
    },
    Metric {
        key: "toe_clearance_mm",
        label: "least height of the toe over the ground in mid-swing",
        unit: "mm",
        decimals: 0,
        activities: WALK,
        seen_below: "the toe scuffs",
        judged: WALK,
        measure: OfMotion(walking::toe_clearance),
        ..PLAIN
    },
    Metric {
        key: "toe_height_loss_mm",
        label: "toe height lost against the comparison joint",
        unit: "mm",
        activities: WALK,
        seen_above: "the toe scuffs",
        compared_with: Some(ReferenceStride::ComparisonJoint),
        judged: WALK,
        measure: OfMotion(walking::toe_height_loss),
        ..PLAIN
    },
    Metric {
        key: "hip_work_j",
        label: "positive work of the hip in swing",
        unit: "J",
        activities: WALK,
        judged: WALK,
        measure: OfMotion(walking::hip_work),
        ..PLAIN
    },
    Metric {
        key: "landing",
        label: "landing",
        activities: WALK,
        words: LANDING,
        seen_above: "after landing the knee goes on bending under the weight",
        seen_missing: "what the knee does after landing cannot be followed",
        beside: LANDING_BAND,
        by_landing: true,
        judged: WALK,
        measure: OfMotion(leg::what_happens),
        ..PLAIN
    },
    Metric {
        key: "landing_max_flexion_deg",
        label: "greatest flexion after landing",
        unit: "°",
        activities: WALK,
        seen_above: "after landing the knee bends far",
        by_landing: true,
        judged: WALK,
        measure: OfMotion(leg::max_flexion),
        ..PLAIN
    },
    Metric {
        key: "landing_at_least_hip_moment",
        label: "landing with the least hip moment of the band",
        activities: WALK,
        words: LANDING,
        by_hip_band: true,
        by_landing: true,
        measure: OfMotion(leg::what_happens_least_hip),
        ..PLAIN
    },
    Metric {
        key: "landing_at_most_hip_moment",
        label: "landing with the most hip moment of the band",
        activities: WALK,
        words: LANDING,
        by_hip_band: true,
        by_landing: true,
        measure: OfMotion(leg::what_happens_most_hip),
        ..PLAIN
    },
    Metric {
        key: "landing_without_hip_moment",
        label: "landing without any hip moment",
        activities: WALK,
        words: LANDING,
        without_hip: true,
        by_landing: true,
        measure: OfMotion(leg::what_happens_without_hip),
        ..PLAIN
    },
    Metric {
        key: "sit_time_s",
        label: "time to sit down",
        unit: "s",
        decimals: 2,
        activities: SIT,
        seen_below: "the person drops into the chair",
        seen_above: "sitting down drags: the knee holds back too much",
        seen_missing: "the knee holds: the person does not reach the seat",
        measure: OfMotion(sitting::time),
        ..PLAIN
    },
    Metric {
        key: "seat_speed_m_per_s",
        label: "speed on reaching the seat",
        unit: "m/s",
        decimals: 2,
        activities: SIT,
        seen_above: "the person lands hard on the seat",
        seen_missing: "the knee holds: the person does not reach the seat",
        measure: OfMotion(sitting::seat_speed),
        ..PLAIN
    },
    Metric {
        key: "start_valve",
        label: "stance valve at the start (0 open, 1 closed)",
        decimals: 2,
        activities: SIT,
        judged: SIT,
        measure: OfMotion(sitting::start_valve),
        ..PLAIN
    },
    Metric {
        key: "supported",
        label: "stance valve closed for at least half of the time",
        activities: SIT,
        words: YES_NO,
        seen_above: "the load on the prosthesis does not close the stance valve",
        measure: OfMotion(sitting::supported),
        ..PLAIN
    },
    Metric {
        key: "what_happens",
        label: "what happens",
        activities: &[Ramp, Stairs, Stumble],
        words: STEP,
        seen_above: "under the weight the knee does not do what it should",
        beside: BAND,
        by_landing: true,
        judged: &[Ramp, Stumble],
        measure: OfMotion(leg::what_happens),
        ..PLAIN
    },
    Metric {
        key: "what_happens_at_least_hip_moment",
        label: "what happens with the least hip moment of the band",
        activities: &[Ramp, Stairs, Stumble],
        words: STEP,
        by_hip_band: true,
        measure: OfMotion(leg::what_happens_least_hip),
        ..PLAIN
    },
    Metric {
        key: "what_happens_at_most_hip_moment",
        label: "what happens with the most hip moment of the band",
        activities: &[Ramp, Stairs, Stumble],
        words: STEP,
        by_hip_band: true,
        measure: OfMotion(leg::what_happens_most_hip),
        ..PLAIN
    },
    Metric {
        key: "what_happens_without_hip_moment",
        label: "what happens without any hip moment",
        activities: STUMBLE,
        words: LANDING,
        without_hip: true,
        measure: OfMotion(leg::what_happens_without_hip),
        ..PLAIN
    },
    Metric {
        key: "knee_flexion_at_other_foot_contact_deg",
        label: "knee flexion when the other foot lands",
        unit: "°",
        activities: SLOPES,
        seen_below: "the knee hardly yields and the body falls forward over a straight leg",
        seen_above: "the knee is far bent when the other foot lands",
        seen_missing: "the other foot does not come to land",
        judged: SLOPES,
        measure: OfMotion(leg::flexion_at_other_foot),
        ..PLAIN
    },
    Metric {
        key: "peak_rate_deg_per_s",
        label: "greatest flexion rate",
        unit: "°/s",
        decimals: 0,
        activities: &[Sit, Ramp, Stairs],
        seen_above: "the knee bends fast: a drop rather than a descent",
        judged: RAMP,
        measure: OfMotion(|m| match m {
            crate::motion::Motion::Sit(_) => sitting::peak_rate(m),
            _ => leg::peak_rate(m),
        }),
        ..PLAIN
    },
    Metric {
        key: "body_drop_speed_m_per_s",
        label: "sinking speed of the body at the end",
        unit: "m/s",
        decimals: 2,
        activities: SLOPES,
        seen_above: "the body comes down hard",
        judged: SLOPES,
        measure: OfMotion(leg::drop_speed),
        ..PLAIN
    },
    Metric {
        key: "lowering_time_s",
        label: "time to lower the body",
        unit: "s",
        decimals: 2,
        activities: SLOPES,
        judged: RAMP,
        measure: OfMotion(leg::lowering_time),
        ..PLAIN
    },
    Metric {
        key: "step_length_m",
        label: "step length",
        unit: "m",
        decimals: 2,
        activities: RAMP,
        judged: RAMP,
        measure: OfMotion(leg::step_length),
        ..PLAIN
    },
    Metric {
        key: "landing_late",
        internal: true,
        label: "other foot below ground when first looked for",
        activities: RAMP,
        words: YES_NO,
        seen_above: "the body is already low when the other foot could land",
        seen_missing: "the other foot does not come to land",
        measure: OfMotion(leg::landing_late),
        ..PLAIN
    },
    Metric {
        key: "hip_past_edge_m",
        label: "hip in front of the step's edge",
        unit: "m",
        decimals: 2,
        activities: STAIRS,
        seen_below: "the body comes down too close to the step",
        seen_above: "the body falls forward beyond the next step",
        judged: STAIRS,
        measure: OfMotion(leg::hip_past_edge),
        ..PLAIN
    },
    Metric {
        key: "max_flexion_deg",
        label: "greatest flexion",
        unit: "°",
        activities: STUMBLE,
        seen_above: "the knee bends far under the weight",
        by_landing: true,
        judged: STUMBLE,
        measure: OfMotion(leg::max_flexion),
        ..PLAIN
    },
    Metric {
        key: "end_rate_deg_per_s",
        label: "flexion rate at the end",
        unit: "°/s",
        decimals: 0,
        activities: STUMBLE,
        judged: STUMBLE,
        measure: OfMotion(leg::end_rate),
        ..PLAIN
    },
    Metric {
        key: "support_after_ms",
        label: "time until the stance valve is half closed",
        unit: "ms",
        decimals: 0,
        activities: &[Walk, Stumble],
        seen_above: "the stance resistance comes late",
        seen_missing: "the stance valve does not close: no stance resistance at all",
        by_landing: true,
        judged: &[Walk, Stumble],
        measure: OfMotion(leg::support_after),
        ..PLAIN
    },
    Metric {
        key: "load_line_ahead_mm",
        label: "load line in front of the knee axis",
        unit: "mm",
        decimals: 0,
        activities: STAND,
        measure: OfMotion(standing::load_line),
        ..PLAIN
    },
    Metric {
        key: "extension_moment_n_m",
        label: "moment that keeps the knee straight",
        unit: "N m",
        activities: STAND,
        seen_below: "standing is not safe: the weight bends the knee",
        measure: OfMotion(standing::extension_moment),
        ..PLAIN
    },
    Metric {
        key: "slope_limit_deg",
        label: "downward slope at which it is lost",
        unit: "°",
        activities: STAND,
        measure: OfMotion(standing::slope_limit),
        ..PLAIN
    },
    Metric {
        key: "hip_moment_to_bend_n_m",
        label: "hip moment to start bending",
        unit: "N m",
        activities: STAND,
        measure: OfMotion(standing::moment_to_bend),
        ..PLAIN
    },
    Metric {
        key: "damper_work_j",
        label: "work taken out by the damper",
        unit: "J",
        activities: MOVING,
        judged: ON_FOOT,
        measure: OfMotion(ground::damper_work),
        ..PLAIN
    },
    Metric {
        key: "load_line_work_j",
        label: "work of the moved load line in pre-swing",
        unit: "J",
        activities: WALK,
        measure: OfMotion(walking::load_line_work),
        ..PLAIN
    },
    Metric {
        key: "pace_work_j",
        internal: true,
        label: "work of the outside force that holds the pace",
        unit: "J",
        activities: ON_FOOT,
        judged: ON_FOOT,
        by_landing: true,
        measure: OfMotion(leg::pace_work),
        ..PLAIN
    },
    Metric {
        key: "least_ground_load_bw",
        label: "least ground load",
        unit: "BW",
        decimals: 2,
        activities: MOVING,
        judged: ON_FOOT,
        by_landing: true,
        measure: OfMotion(ground::least_load),
        ..PLAIN
    },
    Metric {
        key: "greatest_ground_load_bw",
        label: "greatest ground load",
        unit: "BW",
        decimals: 2,
        activities: MOVING,
        judged: ON_FOOT,
        by_landing: true,
        measure: OfMotion(ground::greatest_load),
        ..PLAIN
    },
    Metric {
        key: "foot_held_down_bw_ms",
        internal: true,
        label: "impulse that holds the foot down while weight comes over",
        unit: "BW·ms",
        activities: ON_FOOT,
        judged: &[Walk, Ramp],
        by_landing: true,
        measure: OfMotion(leg::held_down),
        ..PLAIN
    },
    Metric {
        key: "friction_needed",
        label: "friction needed between foot and ground",
        decimals: 2,
        activities: ON_FOOT,
        judged: ON_FOOT,
        by_landing: true,
        measure: OfMotion(ground::friction_needed),
        ..PLAIN
    },
];
