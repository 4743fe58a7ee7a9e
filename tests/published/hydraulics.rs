//! D: handbook hydraulics. Orifice and laminar passage against ISO 5167-2 and Hagen-Poiseuille, values
//! of a general library in tests/reference/hydraulics.json; viscosity by ASTM D341; grades by ISO 3448.
//!
//! The discharge coefficient of the standard holds for bores above 12.5 mm and pipe Reynolds numbers
//! above 5000. A damper port (0.5-1.5 mm, Reynolds number some hundreds to some thousands) is far
//! outside: the standard checks the code here, not the choice of C_d.

use std::f64::consts::{E, PI};

use serde_json::Value;

use super::assert_but;
use crate::common::fixture;
use crate::evidence::{Check, Kind, greatest};
use kneedamp::joint::damper::Orifice;
use kneedamp::joint::{ISO_3448_GRADES, Oil};

fn num(v: &Value, key: &str) -> f64 {
    v[key].as_f64().unwrap_or_else(|| panic!("{key} is a number in {v}"))
}

/// Entries of the fixture: quantity, inputs, value of the library, within the standard's limits.
fn entries() -> Vec<(String, Value, f64, bool)> {
    let flow = fixture("hydraulics.json")["flow"].as_array().expect("entries").clone();
    flow.iter()
        .map(|e| {
            let quantity = e["quantity"].as_str().expect("quantity").to_owned();
            let within = e["within_limits"].as_bool().expect("flag");
            (quantity, e["inputs"].clone(), num(e, "library"), within)
        })
        .collect()
}

/// Discharge coefficient of an orifice plate by the Reader-Harris/Gallagher equation (ISO 5167-2:2003,
/// 5.3.2.1, from memory), for corner taps or flange taps 25.4 mm away.
fn discharge_coefficient(pipe: f64, bore: f64, reynolds: f64, flange_taps: bool) -> f64 {
    let beta = bore / pipe;
    let a = (19_000.0 * beta / reynolds).powf(0.8);
    let tap = if flange_taps { 0.0254 / pipe } else { 0.0 };
    let dam = 2.0 * tap / (1.0 - beta);
    let upstream = 0.043 + 0.080 * E.powf(-10.0 * tap) - 0.123 * E.powf(-7.0 * tap);
    let small_pipe = if pipe < 0.071_12 { 0.011 * (0.75 - beta) * (2.8 - pipe / 0.0254) } else { 0.0 };
    0.5961 + 0.0261 * beta.powi(2) - 0.216 * beta.powi(8)
        + 0.000_521 * (1e6 * beta / reynolds).powf(0.7)
        + (0.0188 + 0.0063 * a) * beta.powf(3.5) * (1e6 / reynolds).powf(0.3)
        + upstream * (1.0 - 0.11 * a) * beta.powi(4) / (1.0 - beta.powi(4))
        - 0.031 * (dam - 0.8 * dam.powf(1.1)) * beta.powf(1.3)
        + small_pipe
}

fn reynolds(i: &Value, mass_flow: f64) -> f64 {
    4.0 * mass_flow / (PI * num(i, "pipe_m") * num(i, "viscosity_pa_s"))
}

fn standard_coefficient(i: &Value, mass_flow: f64) -> f64 {
    let flange = i["taps"] == "flange";
    discharge_coefficient(num(i, "pipe_m"), num(i, "bore_m"), reynolds(i, mass_flow), flange)
}

/// Relative deviation of the equation from the library within the standard's limits.
fn coefficients() -> f64 {
    let wanted = entries().into_iter().filter(|(q, _, _, within)| q == "discharge_coefficient" && *within);
    greatest(wanted.map(|(_, i, c, _)| (standard_coefficient(&i, num(&i, "mass_flow_kg_s")) / c - 1.0).abs()))
}

/// Displacement of the built-in joint, m³/rad; any would do.
const DISPLACEMENT: f64 = 9e-6;

/// Pressure drop over a port of the crate at a flow, Pa. The crate's C_d carries the velocity of
/// approach of the standard: C_d = C/√(1 − β⁴); for a port in a damper β is small and the two agree.
fn port_pressure_pa(i: &Value, c: f64, mass_flow: f64) -> f64 {
    let (bore, rho) = (num(i, "bore_m"), num(i, "density_kg_m3"));
    let approach = (1.0 - (bore / num(i, "pipe_m")).powi(4)).sqrt();
    let b = Orifice::b_of_area(PI / 4.0 * bore * bore, DISPLACEMENT, rho, c / approach);
    let omega = mass_flow / rho / DISPLACEMENT;
    -Orifice { a: 0.0, b }.torque(omega) / DISPLACEMENT
}

/// Relative deviation of the pressure drop of the crate's orifice at the library's two mass flows.
fn orifice_pressure() -> f64 {
    let wanted = entries().into_iter().filter(|(q, ..)| q == "mass_flow_kg_s");
    greatest(wanted.map(|(_, i, flow, _)| {
        let c = i["discharge_coefficient"].as_f64().unwrap_or_else(|| standard_coefficient(&i, flow));
        (port_pressure_pa(&i, c, flow) / num(&i, "pressure_drop_pa") - 1.0).abs()
    }))
}

/// Relative deviation of the pressure drop of the crate's laminar passage.
fn laminar_pressure() -> f64 {
    let wanted = entries().into_iter().filter(|(q, ..)| q == "pressure_drop_pa");
    greatest(wanted.map(|(_, i, pressure, _)| {
        let geometry = Orifice::geometry_of_bore_per_m3(num(&i, "length_m"), num(&i, "bore_m"));
        let (nu, rho) = (num(&i, "kinematic_viscosity_m2_s"), num(&i, "density_kg_m3"));
        let a = Orifice::a_of_passage(geometry, DISPLACEMENT, nu, rho);
        let omega = num(&i, "flow_m3_s") / DISPLACEMENT;
        (-Orifice { a, b: 0.0 }.torque(omega) / DISPLACEMENT / pressure - 1.0).abs()
    }))
}

fn oil(grade: f64, at_100c: f64) -> Oil {
    Oil { grade_iso_vg: grade, viscosity_at_100c_mm2_per_s: at_100c, density_kg_per_m3: 860.0 }
}

/// Viscosity worked out by hand from ASTM D341: grade, ν(100 °C), temperature, ν as written.
const BY_HAND: [(f64, f64, f64, &str); 10] = [
    (32.0, 5.4, 0.0, "336.0"),
    (32.0, 5.4, 10.0, "161.0"),
    (32.0, 5.4, 20.0, "86.28"),
    (32.0, 5.4, 25.0, "65.42"),
    (32.0, 5.4, 60.0, "15.186"),
    (15.0, 3.4, 0.0, "102.6"),
    (15.0, 3.4, 10.0, "56.31"),
    (15.0, 3.4, 20.0, "33.83"),
    (15.0, 3.4, 25.0, "26.98"),
    (15.0, 3.4, 60.0, "8.098"),
];

/// Deviation in units of half the last digit given.
fn viscosity_by_hand() -> f64 {
    greatest(BY_HAND.map(|(grade, at_100c, t, text)| {
        let digits = text.split_once('.').map_or(0, |(_, d)| d.len());
        let half_digit = 0.5 * 0.1f64.powi(i32::try_from(digits).expect("few digits"));
        let written: f64 = text.parse().expect("a number");
        (oil(grade, at_100c).viscosity_mm2_per_s(t) - written).abs() / half_digit
    }))
}

/// Relative deviation from the fixture's own calculation.
fn viscosity_fixture() -> f64 {
    let rows = fixture("hydraulics.json")["viscosity"].as_array().expect("entries").clone();
    greatest(rows.iter().map(|v| {
        let oil = oil(num(v, "nu40_mm2_s"), num(v, "nu100_mm2_s"));
        (oil.viscosity_mm2_per_s(num(v, "temperature_c")) / num(v, "nu_mm2_s") - 1.0).abs()
    }))
}

/// Greatest ratio of the upper end of a grade (+10 %) to the lower end of the next (−10 %).
fn grade_overlap() -> f64 {
    greatest(ISO_3448_GRADES.windows(2).map(|g| 1.1 * g[0] / (0.9 * g[1])))
}

/// Relative deviation of every grade's viscosity at 40 °C from the grade.
fn grades_at_40c() -> f64 {
    greatest(ISO_3448_GRADES.map(|g| (oil(g, 0.3 * g).viscosity_mm2_per_s(40.0) / g - 1.0).abs()))
}

/// Typical sizes of a joint with V 9e-6 m³/rad, ρ 860 kg/m³ and C_d 0.62: b 0.3 is 1.65 mm², b 30 is
/// 0.165 mm² (1.68 and 0.168 mm² with the built-in joint's 0.61); 150 N m is 16.7 MPa whatever C_d is.
/// Relative deviation.
fn typical_sizes() -> f64 {
    let area_mm2 = |b: f64| 1e6 * Orifice::area_m2(b, DISPLACEMENT, 860.0, 0.62);
    let pressure_mpa = 150.0 / DISPLACEMENT * 1e-6;
    greatest([area_mm2(0.3) / 1.65, area_mm2(30.0) / 0.165, pressure_mpa / 16.7].map(|r| (r - 1.0).abs()))
}

pub fn checks() -> Vec<Check> {
    let check = |id, what, source, criterion, figure, unit| Check {
        id,
        kind: Kind::Verification,
        what,
        source,
        criterion,
        figure,
        unit,
    };
    let relative = "(relative)";
    vec![
        check(
            "D1",
            "pressure drop of the orifice, with the velocity of approach",
            "ISO 5167 by the library fluids 1.3.1",
            1e-9,
            orifice_pressure(),
            relative,
        ),
        check(
            "D2",
            "discharge coefficient in the test itself (bores above 12.5 mm, Re above 5000: no damper port)",
            "Reader-Harris/Gallagher, ISO 5167-2, by the library fluids 1.3.1",
            1e-9,
            coefficients(),
            relative,
        ),
        check(
            "D3",
            "pressure drop of the laminar passage",
            "Hagen-Poiseuille, by the library fluids 1.3.1",
            1e-9,
            laminar_pressure(),
            relative,
        ),
        check(
            "D4a",
            "viscosity of VG 32 and VG 15, 0-60 °C, to the digits given",
            "ASTM D341 by hand",
            1.0,
            viscosity_by_hand(),
            "half a last digit",
        ),
        check(
            "D4b",
            "the same to all digits",
            "ASTM D341 in Python (tests/reference)",
            1e-9,
            viscosity_fixture(),
            relative,
        ),
        check(
            "D5",
            "upper end of a grade over the lower end of the next",
            "ISO 3448: mid-points ± 10 %",
            1.0,
            grade_overlap(),
            "(ratio)",
        ),
        check("D6", "viscosity at 40 °C of every grade", "ISO 3448", 1e-12, grades_at_40c(), relative),
        // three digits are given
        check(
            "D7",
            "port area of b 0.3 and b 30, pressure at 150 N m",
            "by hand, three digits",
            5e-3,
            typical_sizes(),
            relative,
        ),
    ]
}

#[test]
fn published_hydraulics() {
    assert_but(&checks(), &[]);
}
