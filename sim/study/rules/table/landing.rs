//! Rule 18: a knee that lands bent.

use super::rows::*;

pub(super) const RULES: &[Rule] = &[
    move_input(
        "18a",
        "more bent at landing: bends on by more",
        STUMBLE,
        "stumble_flexion_deg",
        (MotionMeasure::AddedFlexion, 1.0, MOST),
        Precondition::AddsFlexion,
    ),
    move_input(
        "18b",
        "less hip moment at landing: bends on by more",
        STUMBLE,
        "hip_moment_n_m_per_kg",
        (MotionMeasure::AddedFlexion, -1.0, MOST),
        Precondition::AddsFlexion,
    ),
    custom(
        "18c",
        "of two strides the one that ends more bent bends on by more after landing",
        WALK,
        ["swing-extension", "landing_max_flexion_deg less heel_contact_flexion_deg", "°"],
        criteria::more_bent_stride_lands_worse,
    ),
];
