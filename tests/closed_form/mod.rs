//! Verification against closed forms (checks A) and of the order of convergence.

mod body;
mod convergence;
mod damper;
mod driven;
mod end_stops;
mod energy;
mod event_checks;
mod exponential;
mod fixtures;
mod footing;
mod forced;
mod least_squares;
mod load_line;
mod loaded;
mod manufactured;
mod order;
mod scaling;
mod sitting;
mod stance_valve;
mod standing;
mod swing;

use crate::evidence::Check;

/// Every check of this folder; the accuracy table prints them.
pub fn checks() -> Vec<Check> {
    [
        swing::checks(),
        driven::checks(),
        damper::checks(),
        stance_valve::checks(),
        end_stops::checks(),
        body::checks(),
        footing::checks(),
        loaded::checks(),
        standing::checks(),
        sitting::checks(),
        convergence::checks(),
        manufactured::checks(),
        energy::checks(),
        load_line::checks(),
        scaling::checks(),
    ]
    .concat()
}

#[test]
fn closed_form_identifiers_are_unique() {
    let mut ids: Vec<_> = checks().into_iter().map(|c| c.id).collect();
    let count = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), count, "two checks share an identifier");
}
