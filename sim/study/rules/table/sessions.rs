//! Rules 16 and 17: the counts of two whole fitting sessions. Person, prosthesis and oil temperature are sampled, and
//! so are the settings at the start that a statement leaves open.

use super::rows::*;

pub(super) const RULES: &[Rule] = &[
    sessions(
        "16a",
        "starting both swing valves open and going up takes fewer unsafe trials than starting them closed (yield \
             and catch load as the joint's file or --set has them)",
        ["swing valves at the start, 0 or 100 %", "unsafe trials of adjust", "unsafe trials fewer"],
        criteria::swing_open_is_safer,
    ),
    sessions(
        "16b",
        "starting the yield valve open does not: no fewer unsafe trials than starting it closed",
        ["yield valve at the start, 0 or 100 %", "unsafe trials of adjust", "unsafe trials more"],
        criteria::yield_open_is_not_safer,
    ),
    sessions(
        "17",
        "setting swing-flexion before swing-extension takes fewer steps than the other order",
        ["order of the two settings", "steps of adjust", "steps fewer"],
        criteria::flexion_first_is_shorter,
    ),
];
