//! The foot on the ground: derivatives, ends of the arc, rolling without slip.

use kneedamp::scenario::{Footing, Region};

use super::fixtures::{row, slope};
use crate::evidence::{Check, greatest};

const L1: f64 = 0.49875;

fn footings() -> [(Footing, Region); 4] {
    let foot = Footing::rolling(1.75);
    [(foot, Region::Heel), (foot, Region::Arc), (foot, Region::Toe), (Footing::edge(1.75), Region::Arc)]
}

/// K' and K'' against differences of K and K', m per rad and rad².
fn footing_derivatives() -> f64 {
    greatest(footings().iter().flat_map(|&(footing, region)| {
        [-0.7, -0.2, 0.1, 0.5].map(|beta| {
            let k = footing.knee(region, beta, L1);
            greatest([0, 1].map(|i| {
                let first = slope(|x| footing.knee(region, beta + x, L1).at[i], 1e-3);
                let second = slope(|x| footing.knee(region, beta + x, L1).first[i], 1e-3);
                (k.first[i] - first).abs().max((k.second[i] - second).abs())
            }))
        })
    }))
}

/// Jumps of K and K' where the arc ends, m.
fn footing_jumps() -> f64 {
    let foot = Footing::rolling(1.75);
    let (heel, toe) = foot.ends_rad().expect("an arc");
    greatest([(heel, Region::Heel), (toe, Region::Toe)].map(|(beta, beyond)| {
        let (on, off) = (foot.knee(Region::Arc, beta, L1), foot.knee(beyond, beta, L1));
        greatest([0, 1].map(|i| (on.at[i] - off.at[i]).abs().max((on.first[i] - off.first[i]).abs())))
    }))
}

/// Speed of the foot's point that touches the ground, per tilt rate: rolling without slip, turning
/// about the ends and about the edge.
fn slip() -> f64 {
    greatest(footings().iter().flat_map(|&(footing, region)| {
        let (heel, toe) = footing.ends_rad().unwrap_or((0.0, 0.0));
        [-0.7, -0.2, 0.1, 0.5].map(|beta| {
            let touches = match (footing, region) {
                (Footing::Edge { .. }, _) => 0.0,
                (Footing::Rolling { radius_m, .. }, Region::Heel) => radius_m * heel,
                (Footing::Rolling { radius_m, .. }, Region::Arc) => radius_m * beta,
                (Footing::Rolling { radius_m, .. }, Region::Toe) => radius_m * toe,
            };
            let k = footing.knee(region, beta, L1);
            // tilting forward by dβ turns (x, z) into (x + z dβ, z − x dβ)
            let arm = [touches - k.at[0], -k.at[1]];
            (k.first[0] + arm[1]).hypot(k.first[1] - arm[0])
        })
    }))
}

pub fn checks() -> Vec<Check> {
    vec![
        row("A18a", "footing: K' and K''", "differences of fourth order", 1e-9, footing_derivatives(), "m"),
        row("A18b", "footing: K and K' where the arc ends", "the same point", 1e-12, footing_jumps(), "m"),
        row("A18c", "footing: speed of the touching point", "rolling without slip", 1e-12, slip(), "m"),
    ]
}

#[test]
fn closed_form_footing_agrees() {
    for check in checks() {
        check.assert();
    }
}
