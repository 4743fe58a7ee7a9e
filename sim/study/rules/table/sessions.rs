//! Rules 16 and 17: how a fitting session goes, counted over two whole sessions each. Person, prosthesis and oil
//! are drawn, and so are the settings at the start that a statement leaves open.

use super::*;

fn session(
    id: &'static str,
    statement: &'static str,
    [changed, outcome, unit]: [&'static str; 3],
    test: fn(&Try) -> Judged,
) -> Rule {
    let scenario = "a whole session";
    Rule {
        catches: SAMPLED,
        test: Test::Sessions(test),
        ..own(id, statement, scenario, [changed, outcome, unit], test)
    }
}

pub(super) fn rules() -> Vec<Rule> {
    vec![
        session(
            "16a",
            "starting both swing valves open and going up takes fewer unsafe trials than starting them closed (yield \
             and catch load as the joint's file or --set has them)",
            ["swing valves at the start, 0 or 100 %", "unsafe trials of adjust", "unsafe trials fewer"],
            judge::swing_open_is_safer,
        ),
        session(
            "16b",
            "starting the yield valve open does not: no fewer unsafe trials than starting it closed",
            ["yield valve at the start, 0 or 100 %", "unsafe trials of adjust", "unsafe trials more"],
            judge::yield_open_is_not_safer,
        ),
        session(
            "17",
            "setting swing-flexion before swing-extension takes fewer steps than the other order",
            ["order of the two settings", "steps of adjust", "steps fewer"],
            judge::flexion_first_is_shorter,
        ),
    ]
}
