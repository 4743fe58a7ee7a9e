//! C11: the ratios of the crate against tests/reference/anthropometry.csv (Dempster in Winter 2009;
//! Zatsiorsky & Seluyanov adjusted by de Leva 1996, J Biomech 29:1223; Drillis & Contini in Winter).

use std::f64::consts::FRAC_PI_2;

use super::assert_but;
use crate::common::csv_rows;
use crate::evidence::{Check, Kind, greatest};
use kneedamp::body::anthropometry::{
    FOOT_PER_STATURE, HEEL_PER_STATURE, KNEE_TO_ANKLE_PER_STATURE, KNEE_TO_SOLE_PER_STATURE, LEG_PER_STATURE,
    SegmentSource, THIGH_PER_STATURE, intact_shank,
};
use kneedamp::body::{Part, Shank};

/// Person of the comparison.
const MASS_KG: f64 = 75.0;
const STATURE_M: f64 = 1.75;

/// Mass fraction, centre of mass from proximal, central radius of gyration about the flexion axis.
fn row(source: &str, sex: &str, segment: &str) -> [f64; 3] {
    let rows = csv_rows("anthropometry.csv");
    let found = rows
        .iter()
        .find(|r| r[0].contains(source) && r[1] == sex && r[2] == segment)
        .unwrap_or_else(|| panic!("no row {source}, {sex}, {segment}"));
    [4, 5, 7].map(|i| found[i].parse().expect("a number"))
}

/// A length over stature, from the text of a LENGTHS/H row: the number after `name`.
fn length(source: &str, name: &str) -> f64 {
    let rows = csv_rows("anthropometry.csv");
    let text = &rows.iter().find(|r| r[0].contains(source) && r[2] == "LENGTHS/H").expect("lengths")[3];
    let after = text.split(name).nth(1).unwrap_or_else(|| panic!("no {name} in {text}"));
    let number: String = after.trim_start().chars().take_while(|c| c.is_ascii_digit() || *c == '.').collect();
    number.parse().expect("a number")
}

/// Greatest relative difference between the lengths of the crate and the table's.
fn lengths() -> f64 {
    let table = |name| length("Drillis", name);
    greatest(
        [
            (THIGH_PER_STATURE, table("thigh")),
            (KNEE_TO_ANKLE_PER_STATURE, table("shank")),
            (FOOT_PER_STATURE, table("foot length")),
            (KNEE_TO_SOLE_PER_STATURE, table("knee height")),
            (LEG_PER_STATURE, table("hip height")),
        ]
        .map(|(ours, theirs)| (ours / theirs - 1.0).abs()),
    )
}

fn relative(ours: Shank, theirs: Shank) -> f64 {
    greatest([
        (ours.mass_kg / theirs.mass_kg - 1.0).abs(),
        (ours.com_distance_m / theirs.com_distance_m - 1.0).abs(),
        (ours.inertia_kg_m2 / theirs.inertia_kg_m2 - 1.0).abs(),
        (ours.com_angle_rad - theirs.com_angle_rad).abs() / FRAC_PI_2,
    ])
}

/// Shank and foot as one segment from the table's own numbers; I from its central radius of gyration
/// by the parallel-axis theorem, where the crate uses the radius about the knee that Winter prints.
fn dempster() -> f64 {
    let [mass, com, gyration] = row("Dempster", "both", "Foot leg");
    let (m, length) = (mass * MASS_KG, length("Drillis", "shank") * STATURE_M);
    let theirs = Shank {
        mass_kg: m,
        com_distance_m: com * length,
        com_angle_rad: 0.0,
        inertia_kg_m2: m * length * length * (com * com + gyration * gyration),
    };
    relative(intact_shank(MASS_KG, STATURE_M, SegmentSource::Dempster), theirs)
}

/// Shank and foot put together from the table's own numbers; the table has the lengths of men only.
fn de_leva(sex: &str, source: SegmentSource) -> f64 {
    let part = |segment: &str, length: f64, hangs: bool| {
        let [mass, com, gyration] = row("de Leva", sex, segment);
        let along = com * length;
        Part {
            part: segment.to_owned(),
            mass_kg: mass * MASS_KG,
            down_m: if hangs { along } else { self::length("de Leva lengths", "KJC-AJC") * STATURE_M },
            ahead_m: if hangs { 0.0 } else { along - HEEL_PER_STATURE * STATURE_M },
            gyration_radius_m: gyration * length,
        }
    };
    let shank = length("de Leva lengths", "KJC-AJC") * STATURE_M;
    let foot = length("de Leva lengths", "foot") * STATURE_M;
    let theirs = Shank::from_parts(&[part("Shank", shank, true), part("Foot", foot, false)]);
    relative(intact_shank(MASS_KG, STATURE_M, source), theirs)
}

/// Relative difference of the two sources in m r_c and in I, what the equation of motion uses.
fn between_sources() -> [f64; 2] {
    let [a, b] =
        [SegmentSource::Dempster, SegmentSource::DeLevaMale].map(|s| intact_shank(MASS_KG, STATURE_M, s));
    [
        (b.mass_kg * b.com_distance_m) / (a.mass_kg * a.com_distance_m) - 1.0,
        b.inertia_kg_m2 / a.inertia_kg_m2 - 1.0,
    ]
}

pub fn checks() -> Vec<Check> {
    let check = |id, what, source, criterion, figure| Check {
        id,
        kind: Kind::Consistency,
        what,
        source,
        criterion,
        figure,
        unit: "(relative)",
    };
    let men = de_leva("male", SegmentSource::DeLevaMale);
    let women = de_leva("female", SegmentSource::DeLevaFemale);
    vec![
        check(
            "C11a",
            "segment lengths over stature",
            "Drillis & Contini 1966, in Winter 2009 (table in tests/reference)",
            1e-12,
            lengths(),
        ),
        // the table's radii have three digits
        check("C11b", "intact shank and foot: m, r, I", "Dempster, in Winter 2009", 1e-3, dempster()),
        check(
            "C11c",
            "intact shank and foot put together: m, r, I, men and women",
            "de Leva 1996, J Biomech 29:1223",
            1e-12,
            greatest([men, women]),
        ),
        // judged before the run [J]; fails: I differs by 19 %. The sources differ in subjects and cuts, and
        // the crate hangs de Leva's foot at the height of the ankle, a few centimetres too high
        check(
            "C11d",
            "difference of the two sources in m r and I",
            "Dempster against de Leva 1996 (men)",
            0.15,
            greatest(between_sources().map(f64::abs)),
        ),
    ]
}

#[test]
fn published_anthropometry() {
    let [moment, inertia] = between_sources();
    println!("de Leva over Dempster: m r {:+.1} %, I {:+.1} %", 1e2 * moment, 1e2 * inertia);
    assert_but(&checks(), &["C11d"]);
}
