//! The population over which rules are tested: one table of ranges, each with its reason, and the samples
//! drawn from it. Every value is drawn evenly over its range and rounded to what is printed, so that a
//! counter-example can be run again from the printed command.

use std::collections::BTreeMap;

use crate::body::anthropometry::stature_for_mass_m;
use crate::numerics::random::Draw;
use crate::numerics::statistics::rounded;

/// What a row of the population is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// An input of every run. The set-up has a value for it, so it can be fixed.
    Input,
    /// The same, but set separately: by the model's name, by the mode of the catch load, by one rule alone.
    Separate,
    /// Drawn for single rules. The set-up has no such value, so there is nothing to fix.
    RuleOnly,
}

/// A range of the population.
#[derive(Debug, Clone, Copy)]
pub struct Range {
    /// Input of `sim/case/inputs.rs`, or a name of this table.
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
    /// Role.
    pub role: Role,
}

const fn range(
    key: &'static str,
    (low, high): (f64, f64),
    unit: &'static str,
    decimals: usize,
    why: &'static str,
) -> Range {
    Range { key, low, high, unit, decimals, why, role: Role::Input }
}

const fn separate(range: Range) -> Range {
    Range { role: Role::Separate, ..range }
}

const fn rule_only(range: Range) -> Range {
    Range { role: Role::RuleOnly, ..range }
}

const SETTING: &str = "the whole range of the joint";

/// What every sample draws. New rows go to the end: a row's place decides its random numbers.
pub static POPULATION: &[Range] = &[
    range("mass_kg", (50.0, 110.0), "kg", 1, "users that such joints are fitted to"),
    rule_only(range(
        "taller_m",
        (-0.08, 0.08),
        "m",
        2,
        "stature against the one that commonly goes with the mass",
    )),
    separate(range("prosthesis", (0.0, 1.0), "", 3, "one of those at hand, all equally likely")),
    range("speed_m_per_s", (0.8, 1.4), "m/s", 2, "from slow to fast walking of the scenarios"),
    range("swing-flexion", (0.0, 100.0), "%", 0, SETTING),
    range("swing-extension", (0.0, 100.0), "%", 0, SETTING),
    range("stance-yield", (0.0, 100.0), "%", 0, SETTING),
    separate(range("catch-load", (0.0, 100.0), "%", 0, SETTING)),
    rule_only(range(
        "catch_share_bw",
        (0.22, 0.28),
        "BW",
        3,
        "catch load where it is scaled to body weight: above about 0.20, below which the joint lets go late \
         [J: this model], and below what users put on the prosthesis when sitting down",
    )),
    range("assist_n_m", (0.0, 3.0), "N m", 2, "from no spring to twice the built-in one [J]"),
    range("temperature_c", (0.0, 40.0), "°C", 0, "from a cold morning to a joint warmed by use [J]"),
    range("hip_moment_n_m_per_kg", (0.0, 0.3), "N m/kg", 2, "band of the scenarios; stumble and landing"),
    range("sitting_share", (0.30, 0.42), "", 2, "asymmetry 32-60 %, Highsmith et al. 2011"),
    range("stumble_flexion_deg", (5.0, 25.0), "°", 1, "from nearly straight to far bent at landing [J]"),
    range("stand_slope_deg", (-4.0, 4.0), "°", 1, "slopes to 1 in 14, up and down [J]"),
    rule_only(range("light_mass_kg", (50.0, 70.0), "kg", 1, "rule 10: the light person")),
    rule_only(range(
        "heavy_mass_kg",
        (85.0, 110.0),
        "kg",
        1,
        "rule 10: the heavy person, same joint and settings",
    )),
    rule_only(range(
        "added_foot_mass_kg",
        (0.3, 0.8),
        "kg",
        2,
        "rule 13: from a heavier foot to foot and boot",
    )),
    separate(range(
        "foot_shift_m",
        (-0.02, 0.02),
        "m",
        3,
        "rule 11: load line about 20 to 50 mm in front of the knee [J]",
    )),
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
pub fn range_of(key: &str) -> Option<&'static Range> {
    POPULATION.iter().find(|r| r.key == key)
}

/// Inputs that can be fixed: those for which the set-up has a value.
pub fn fixable() -> impl Iterator<Item = &'static str> {
    POPULATION.iter().filter(|r| r.role != Role::RuleOnly).map(|r| r.key).chain(["stature_m"])
}

/// Inputs by key, in the order of their names.
pub type InputValues = BTreeMap<&'static str, f64>;

/// Values drawn for single rules; every sample has all of them.
#[derive(Debug, Clone, Copy)]
pub struct RuleDraws {
    /// Catch load where it is scaled to body weight, as a share of it.
    pub catch_share_bw: f64,
    /// Rule 10: the light person, kg.
    pub light_mass_kg: f64,
    /// Rule 10: the heavy person, kg.
    pub heavy_mass_kg: f64,
    /// Rule 13: mass added at the foot, kg.
    pub added_foot_mass_kg: f64,
}

/// One sampled person with joint, pace and steps.
#[derive(Debug, Clone)]
pub struct Sample {
    /// Number of the sample, from 0.
    pub index: usize,
    /// Which prosthesis; none if it is fixed.
    pub prosthesis: Option<usize>,
    /// Inputs that every run of this sample has, without the catch load.
    pub values: InputValues,
    /// Inputs that are set separately, unless fixed: the catch load, the alignment.
    pub separate: InputValues,
    /// Values for single rules.
    pub rule_draws: RuleDraws,
    /// How far each input is moved.
    pub steps: InputValues,
}

/// First stream of the steps, beyond those of the samples.
const STEPS_FROM: u64 = 1 << 41;

impl Sample {
    /// Draws a sample. `fixed` inputs stay as in the set-up; that changes no other draw.
    #[must_use]
    pub fn draw(seed: u64, index: usize, prostheses: usize, fixed: &dyn Fn(&str) -> bool) -> Self {
        let mut draw = Draw::new(seed, index as u64);
        let all: Vec<(&Range, f64)> = POPULATION
            .iter()
            .map(|r| {
                let v = draw.within(r.low, r.high);
                (r, if r.key == "prosthesis" { v } else { rounded(v, r.decimals) })
            })
            .collect();
        // a stream of their own, so that a new row of the population does not change them
        let mut draw = Draw::new(seed, STEPS_FROM + index as u64);
        let steps = STEPS.iter().map(|r| (r.key, rounded(draw.within(r.low, r.high), r.decimals))).collect();
        let of = |key: &str| all.iter().find(|(r, _)| r.key == key).map_or(f64::NAN, |(_, v)| *v);
        let as_role = |role: Role| -> InputValues {
            let kept = all.iter().filter(|(r, _)| r.role == role && !fixed(r.key));
            kept.map(|(r, v)| (r.key, *v)).collect()
        };
        let stature = rounded(stature_for_mass_m(of("mass_kg")) + of("taller_m"), 2);
        let place = (of("prosthesis") * prostheses as f64) as usize;
        let prosthesis =
            prostheses.checked_sub(1).filter(|_| !fixed("prosthesis")).map(|last| place.min(last));
        let mut values = as_role(Role::Input);
        if !fixed("stature_m") {
            values.insert("stature_m", stature);
        }
        let rule_draws = RuleDraws {
            catch_share_bw: of("catch_share_bw"),
            light_mass_kg: of("light_mass_kg"),
            heavy_mass_kg: of("heavy_mass_kg"),
            added_foot_mass_kg: of("added_foot_mass_kg"),
        };
        Self { index, prosthesis, values, separate: as_role(Role::Separate), rule_draws, steps }
    }
}
