//! The limb below the knee and the body's ratios, against sums done by hand.

use kneedamp::body::anthropometry::{SegmentSource, intact_shank, stature_for_mass_m};
use kneedamp::body::prosthesis::Totals;
use kneedamp::body::{Part, Prosthesis, Shank};
use kneedamp::library::Kind;

use super::fixtures::{relative, row};
use crate::common::{library, person};
use crate::evidence::{Check, greatest};

fn part(mass_kg: f64, down_m: f64, ahead_m: f64, gyration_radius_m: f64) -> Part {
    Part { part: String::new(), mass_kg, down_m, ahead_m, gyration_radius_m }
}

fn deviation(found: &Shank, mass: f64, distance: f64, angle: f64, inertia: f64) -> f64 {
    greatest([
        relative(found.mass_kg, mass),
        relative(found.com_distance_m, distance),
        relative(found.com_angle_rad, angle),
        relative(found.inertia_kg_m2, inertia),
    ])
}

/// Four parts worked out on paper.
fn by_hand() -> f64 {
    let shank = Shank::from_parts(&[
        part(0.5, 0.02, 0.0, 0.04),
        part(0.4, 0.20, 0.01, 0.10),
        part(0.6, 0.42, 0.06, 0.07),
        part(0.5, 0.44, 0.08, 0.09),
    ]);
    // Σ m down = 0.010 + 0.080 + 0.252 + 0.220 = 0.562, Σ m ahead = 0 + 0.004 + 0.036 + 0.040 = 0.080
    // Σ m (d² + a² + g²) = 0.5·0.0020 + 0.4·0.0501 + 0.6·0.1849 + 0.5·0.2081 = 0.23603
    deviation(&shank, 2.0, 0.562f64.hypot(0.080) / 2.0, (0.080f64 / 0.562).atan(), 0.23603)
}

/// Every shipped prosthesis as pairs of point masses a radius of gyration to either side of each
/// part's centre, about the knee and, point by point, about the common centre of mass.
fn by_points() -> [f64; 2] {
    let library = library();
    let mut worst = [Vec::new(), Vec::new()];
    for name in library.names(Kind::Prosthesis) {
        let file = library.prosthesis(&name).expect("shipped");
        let shank = file.shank().expect("checked");
        let points: Vec<[f64; 3]> = file
            .parts
            .iter()
            .flat_map(|p| {
                // any direction will do
                let (sin, cos) = 0.7f64.sin_cos();
                [-1.0, 1.0].map(|side| {
                    let g = side * p.gyration_radius_m;
                    [0.5 * p.mass_kg, p.down_m + g * cos, p.ahead_m + g * sin]
                })
            })
            .collect();
        if points.is_empty() {
            continue;
        }
        let sum = |of: &dyn Fn(&[f64; 3]) -> f64| points.iter().map(of).sum::<f64>();
        let mass = sum(&|p| p[0]);
        let centre = [sum(&|p| p[0] * p[1]) / mass, sum(&|p| p[0] * p[2]) / mass];
        let about = |c: [f64; 2]| sum(&|p| p[0] * ((p[1] - c[0]).powi(2) + (p[2] - c[1]).powi(2)));
        let distance = centre[0].hypot(centre[1]);
        worst[0].push(deviation(&shank, mass, distance, centre[1].atan2(centre[0]), about([0.0, 0.0])));
        worst[1].push(relative(shank.central_inertia_kg_m2(), about(centre)));
    }
    worst.map(greatest)
}

/// Ratios at 80 kg and 1.8 m, on paper from the tables named in the source.
fn ratios() -> f64 {
    let who = person(80.0, 1.8);
    let lengths = [
        relative(who.thigh_length_m(), 0.441),
        relative(who.knee_to_sole_m(), 0.513),
        relative(who.leg_length_m(), 0.954),
        relative(who.weight_n(), 784.8),
        // 0.152·1.8 − 0.06·1.8/1.75
        relative(who.toe_ahead_of_ankle_m(), 0.211_885_714_285_714_3),
    ];
    // 0.061·80; 0.606·0.4428; 4.88·(0.735·0.4428)²
    let dempster = intact_shank(80.0, 1.8, SegmentSource::Dempster);
    let shank = [
        relative(dempster.mass_kg, 4.88),
        relative(dempster.com_distance_m, 0.268_336_8),
        relative(dempster.inertia_kg_m2, 4.88 * 0.325_458f64.powi(2)),
    ];
    // 0.0433·80 at 0.4395·0.45522; 0.0137·80 at 0.45522 down and 0.4415·0.26676 − 0.06·1.8/1.75 ahead
    let male = intact_shank(80.0, 1.8, SegmentSource::DeLevaMale);
    let (m1, d1, g1) = (3.464, 0.4395 * 0.45522, 0.246 * 0.45522);
    let (m2, d2, a2, g2) = (1.096, 0.45522, 0.4415 * 0.26676 - 0.06 * 1.8 / 1.75, 0.245 * 0.26676);
    let joined = [
        relative(male.mass_kg, 4.56),
        relative(male.com_distance_m, f64::hypot(m1 * d1 + m2 * d2, m2 * a2) / 4.56),
        relative(male.inertia_kg_m2, m1 * (d1 * d1 + g1 * g1) + m2 * (d2 * d2 + a2 * a2 + g2 * g2)),
    ];
    let statures = [(50.0, 1.60), (75.0, 1.75), (90.0, 1.78), (100.0, 1.80), (125.0, 1.85), (140.0, 1.85)]
        .map(|(mass, stature)| relative(stature_for_mass_m(mass), stature));
    greatest(lengths.into_iter().chain(shank).chain(joined).chain(statures))
}

pub fn checks() -> Vec<Check> {
    let [about_knee, central] = by_points();
    let r = |id, what, source, figure| row(id, what, source, 1e-12, figure, "of it");
    vec![
        r("A15a", "four parts: mass, centre, angle, moment of inertia", "sum on paper", by_hand()),
        r("A15b", "shipped prostheses: the same", "pairs of point masses", about_knee),
        r("A15c", "shipped prostheses: inertia about the centre of mass", "parallel axes (Steiner)", central),
        r("A15d", "ratios of the body at 80 kg, 1.8 m", "the tables' figures on paper", ratios()),
    ]
}

#[test]
fn closed_form_body_agrees() {
    for check in checks() {
        check.assert();
    }
}

/// Measured totals give the same limb as the parts that they were summed from, and totals whose
/// inertia the mass centre does not allow are refused.
#[test]
fn closed_form_totals_stand_for_parts() {
    let parts = library().prosthesis("typical").expect("shipped");
    let shank = parts.shank().expect("checked");
    let totals = |inertia_kg_m2: f64| Prosthesis {
        parts: Vec::new(),
        totals: Some(Totals {
            mass_kg: shank.mass_kg,
            com_distance_m: shank.com_distance_m,
            com_angle_deg: shank.com_angle_rad.to_degrees(),
            inertia_kg_m2,
        }),
        ..parts.clone()
    };
    let again = totals(shank.inertia_kg_m2).shank().expect("the same limb");
    assert!(
        deviation(&again, shank.mass_kg, shank.com_distance_m, shank.com_angle_rad, shank.inertia_kg_m2)
            < 1e-14
    );
    let point = shank.mass_kg * shank.com_distance_m.powi(2);
    assert!(totals(0.999 * point).shank().is_err());
    assert!(totals(1.001 * point).shank().is_ok());
}
