//! The population over which rules are tried: one table of ranges, each with its reason, and the samples
//! drawn from it. Every value is drawn evenly over its range and rounded to what is printed, so that a
//! counter-example can be typed in again.

use std::collections::BTreeMap;

use crate::body::anthropometry::stature_for_mass_m;
use crate::study::sampling::{Draw, rounded};

/// A range of the population.
#[derive(Debug)]
pub struct Range {
    /// Input of `sim/study/inputs.rs`, or a name of this table.
    pub key: &'static str,
    /// Least value.
    pub low: f64,
    /// Greatest value.
    pub high: f64,
    /// Unit as printed.
    pub unit: &'static str,
    /// Decimals that are kept.
    pub decimals: usize,
    /// Why this range.
    pub why: &'static str,
}

const fn range(
    key: &'static str,
    (low, high): (f64, f64),
    unit: &'static str,
    decimals: usize,
    why: &'static str,
) -> Range {
    Range { key, low, high, unit, decimals, why }
}

const SETTING: &str = "the whole range of the joint";

/// What every sample draws. New rows go to the end: a row's place decides its random numbers.
pub static POPULATION: &[Range] = &[
    range("mass_kg", (50.0, 110.0), "kg", 1, "users that such joints are fitted to"),
    range("taller_m", (-0.08, 0.08), "m", 2, "stature against the one that commonly goes with the mass"),
    range("prosthesis", (0.0, 1.0), "", 3, "one of those at hand, all equally likely"),
    range("speed_m_per_s", (0.8, 1.4), "m/s", 2, "from slow to fast walking of the scenarios"),
    range("swing-flexion", (0.0, 100.0), "%", 0, SETTING),
    range("swing-extension", (0.0, 100.0), "%", 0, SETTING),
    range("stance-yield", (0.0, 100.0), "%", 0, SETTING),
    range("catch-load", (0.0, 100.0), "%", 0, SETTING),
    range(
        "catch_share_bw",
        (0.22, 0.28),
        "BW",
        3,
        "catch load where it is scaled to body weight: above about 0.20, below which the joint lets go late \
         [J: this model], and below what users put on the prosthesis when sitting down",
    ),
    range("assist_n_m", (0.0, 3.0), "N m", 2, "from no spring to twice the built-in one [J]"),
    range("temperature_c", (0.0, 40.0), "°C", 0, "from a cold morning to a joint warmed by use [J]"),
    range("hip_moment_n_m_per_kg", (0.0, 0.3), "N m/kg", 2, "band of the scenarios; stumble and landing"),
    range("sitting_share", (0.30, 0.42), "", 2, "asymmetry 32-60 %, Highsmith et al. 2011"),
    range("stumble_flexion_deg", (5.0, 25.0), "°", 1, "from nearly straight to far bent at landing [J]"),
    range("stand_slope_deg", (-4.0, 4.0), "°", 1, "slopes to 1 in 14, up and down [J]"),
    range("light_mass_kg", (50.0, 70.0), "kg", 1, "rule 10: the light person"),
    range("heavy_mass_kg", (85.0, 110.0), "kg", 1, "rule 10: the heavy person, same joint and settings"),
    range("added_foot_mass_kg", (0.3, 0.8), "kg", 2, "rule 13: from a heavier foot to foot and boot"),
    range(
        "foot_shift_m",
        (-0.02, 0.02),
        "m",
        3,
        "rule 11: load line about 20 to 50 mm in front of the knee [J]",
    ),
];

const STEP: &str = "from two to eight of the smallest steps of the built-in joint";

/// How far a rule moves an input.
pub static STEPS: &[Range] = &[
    range("swing-flexion", (10.0, 40.0), "%", 0, STEP),
    range("swing-extension", (10.0, 40.0), "%", 0, STEP),
    range("stance-yield", (10.0, 40.0), "%", 0, STEP),
    range("catch-load", (10.0, 40.0), "%", 0, "54 to 216 N with the built-in joint"),
    range("assist_n_m", (0.3, 2.0), "N m", 2, "a spring changed by a part to more than the built-in one [J]"),
    range("temperature_c", (10.0, 30.0), "°C", 0, "indoors against outdoors"),
    range("hip_moment_n_m_per_kg", (0.02, 0.15), "N m/kg", 2, "up to half the band"),
    range("stumble_flexion_deg", (1.0, 10.0), "°", 1, "up to half the range [J]"),
    range("foot_shift_m", (0.005, 0.02), "m", 3, "up to half the range [J]"),
];

/// A range by its key.
#[must_use]
pub fn drawn(key: &str) -> Option<&'static Range> {
    POPULATION.iter().find(|r| r.key == key)
}

/// Inputs by key, in the order of their names.
pub type Values = BTreeMap<&'static str, f64>;

/// One sampled person with joint, pace and steps.
#[derive(Debug, Clone)]
pub struct Sample {
    /// Number of the sample, from 0.
    pub index: usize,
    /// Which prosthesis; none if it is held.
    pub prosthesis: Option<usize>,
    /// Inputs that every run of this sample has, without the catch load.
    pub values: Values,
    /// What single rules draw besides: names that are no inputs, the catch load, the alignment.
    pub besides: Values,
    /// How far each input is moved.
    pub steps: Values,
}

/// Names of the table that are no inputs of every run.
const NO_INPUTS: [&str; 8] = [
    "taller_m",
    "prosthesis",
    "catch_share_bw",
    "catch-load",
    "light_mass_kg",
    "heavy_mass_kg",
    "added_foot_mass_kg",
    "foot_shift_m",
];

/// First stream of the steps, beyond those of the samples.
const STEPS_FROM: u64 = 1 << 41;

impl Sample {
    /// Draws a sample. What is `held` stays as the set-up has it; the other draws do not change by that.
    #[must_use]
    pub fn draw(seed: u64, index: usize, prostheses: usize, held: &dyn Fn(&str) -> bool) -> Self {
        let mut draw = Draw::new(seed, index as u64);
        let mut all = Values::new();
        for r in POPULATION {
            let v = draw.within(r.low, r.high);
            all.insert(r.key, if r.key == "prosthesis" { v } else { rounded(v, r.decimals) });
        }
        // a stream of their own, so that a new row of the population does not change them
        let mut draw = Draw::new(seed, STEPS_FROM + index as u64);
        let steps = STEPS.iter().map(|r| (r.key, rounded(draw.within(r.low, r.high), r.decimals))).collect();
        let of = |key: &str| all.get(key).copied().unwrap_or(0.0);
        let stature = rounded(stature_for_mass_m(of("mass_kg")) + of("taller_m"), 2);
        let place = (of("prosthesis") * prostheses as f64) as usize;
        let prosthesis =
            prostheses.checked_sub(1).filter(|_| !held("prosthesis")).map(|last| place.min(last));
        let mut values: Values =
            all.iter().filter(|(k, _)| !NO_INPUTS.contains(*k) && !held(k)).map(|(k, v)| (*k, *v)).collect();
        if !held("stature_m") {
            values.insert("stature_m", stature);
        }
        let besides = all.into_iter().filter(|(k, _)| NO_INPUTS.contains(k) && !held(k)).collect();
        Self { index, prosthesis, values, besides, steps }
    }
}
