//! Rules of the trade as statements about sampled inputs (checks E): common practice of fitters unless a
//! source is named. Persons, prostheses, speeds and settings are drawn at random, always the same; every
//! test prints the share of the sampled inputs for which its statement holds and the size of the effect.
//! Inputs for which a statement means nothing (a knee that is never straight has no impact) are counted
//! apart. Where the model contradicts a rule, the range is cut for a physical reason that is written down
//! with a counter-example, never by a wider tolerance. The tests draw 64 inputs each; with 500, run once by
//! hand, none of the statements as they stand here was contradicted either, and the counts of what lies
//! outside their ranges come from such runs.

mod catch_load;
mod loaded;
mod walking;

use std::sync::LazyLock;

use proptest::prelude::*;
use proptest::sample::select;
use proptest::strategy::ValueTree;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

use crate::common::library;
use kneedamp::body::{Person, Shank, anthropometry::stature_for_mass_m};
use kneedamp::joint::{Knee, KneeFile, SettingName, Settings};
use kneedamp::motion::Trial;
use kneedamp::motion::trial::Detail;
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::outcome::Outcomes;
use kneedamp::scenario::{Activity, Scenario, WalkingDrive};
use kneedamp::units::{GRAVITY_M_PER_S2, Setting};

const CASES: u32 = 64;

/// The integrator's errors stay below 1e-5 rad (Tolerances::scan); differences below these are noise.
const NOISE_DEG: f64 = 2e-3;

/// What one sampled input shows.
enum Seen {
    /// The statement holds, with the size of the effect.
    Holds(f64),
    /// It does not, and how.
    Contradicts(String),
    /// It says nothing about this input.
    Outside,
}

/// `Holds` with the difference, or what was seen instead.
fn grows(less: f64, more: f64, noise: f64, what: &str) -> Seen {
    if more > less + noise {
        Seen::Holds(more - less)
    } else {
        Seen::Contradicts(format!("{what}: {less:.4} -> {more:.4}"))
    }
}

/// Judges a statement on sampled inputs: none may contradict it, and it has to say something about at
/// least a third of them.
fn rule<S: Strategy>(statement: &str, unit: &str, inputs: S, judge: impl Fn(&S::Value) -> Seen)
where
    S::Value: std::fmt::Debug,
{
    let (_, contradictions) = sampled(statement, unit, inputs, judge);
    assert!(contradictions.is_empty(), "{statement}: contradicted by\n{}", contradictions.join("\n"));
}

/// The same for a statement that some inputs contradict: it holds for three of four, and not for all.
fn mostly<S: Strategy>(statement: &str, unit: &str, inputs: S, judge: impl Fn(&S::Value) -> Seen)
where
    S::Value: std::fmt::Debug,
{
    let (held, contradictions) = sampled(statement, unit, inputs, judge);
    assert!(held >= 3 * contradictions.len(), "{statement}: contradicted by\n{}", contradictions.join("\n"));
    assert!(!contradictions.is_empty(), "{statement}: holds for all, so say so");
}

/// How many inputs the statement holds for, and how the others contradict it.
fn sampled<S: Strategy>(
    statement: &str,
    unit: &str,
    inputs: S,
    judge: impl Fn(&S::Value) -> Seen,
) -> (usize, Vec<String>)
where
    S::Value: std::fmt::Debug,
{
    let config = Config { cases: CASES, failure_persistence: None, ..Config::default() };
    let mut runner = TestRunner::new_with_rng(config, TestRng::deterministic_rng(RngAlgorithm::ChaCha));
    let (mut effects, mut contradictions) = (Vec::new(), Vec::new());
    for _ in 0..CASES {
        let input = inputs.new_tree(&mut runner).expect("inputs can be drawn").current();
        match judge(&input) {
            Seen::Holds(effect) => effects.push(effect),
            Seen::Contradicts(how) => contradictions.push(format!("{how}; {input:.4?}")),
            Seen::Outside => {}
        }
    }
    effects.sort_by(f64::total_cmp);
    let judged = effects.len() + contradictions.len();
    let at = |share: f64| effects.get((share * effects.len() as f64) as usize).copied().unwrap_or(f64::NAN);
    println!(
        "{statement}: {} of {judged} ({CASES} sampled), effect {:.3} to {:.3}, half of them above {:.3} {unit}",
        effects.len(),
        at(0.0),
        effects.last().copied().unwrap_or(f64::NAN),
        at(0.5),
    );
    assert!(3 * judged >= CASES as usize, "{statement}: says something about {judged} inputs only");
    (effects.len(), contradictions)
}

/// A user: 50-110 kg, the range of users such joints are fitted to; stature within 8 cm of what commonly
/// goes with the mass; one of the three shipped prostheses; 0.8-1.4 m/s, the speeds of the limits.
#[derive(Debug, Clone)]
struct User {
    mass_kg: f64,
    stature_m: f64,
    prosthesis: &'static str,
    speed_m_per_s: f64,
}

fn user() -> impl Strategy<Value = User> {
    (50.0..110.0, -0.08..0.08, select(vec!["light", "typical", "heavy"]), 0.8..1.4).prop_map(
        |(mass_kg, taller_m, prosthesis, speed_m_per_s)| User {
            mass_kg,
            stature_m: stature_for_mass_m(mass_kg) + taller_m,
            prosthesis,
            speed_m_per_s,
        },
    )
}

/// Settings of the built-in joint, percent, and its assist spring, N m.
#[derive(Debug, Clone, Copy)]
struct Fit {
    swing_flexion: f64,
    swing_extension: f64,
    stance_yield: f64,
    catch_load: f64,
    assist_n_m: f64,
}

/// Position of the catch load that is this share of a user's weight, percent.
fn catch_pct(share_bw: f64, user: &User) -> f64 {
    let (least_n, greatest_n) = (SHOP.knee.stance.catch_load.least_n, SHOP.knee.stance.catch_load.greatest_n);
    let wanted_n = share_bw * user.mass_kg * GRAVITY_M_PER_S2;
    (100.0 * (wanted_n - least_n) / (greatest_n - least_n)).clamp(0.0, 100.0)
}

impl Fit {
    /// About as shipped.
    const SHIPPED: Self = Self {
        swing_flexion: 50.0,
        swing_extension: 53.0,
        stance_yield: 40.0,
        catch_load: 20.4,
        assist_n_m: 1.5,
    };

    fn knee(&self) -> Knee {
        let mut settings = Settings::default();
        for (name, pct) in [
            (SettingName::SwingFlexion, self.swing_flexion),
            (SettingName::SwingExtension, self.swing_extension),
            (SettingName::StanceYield, self.stance_yield),
            (SettingName::CatchLoad, self.catch_load),
        ] {
            settings.set(name, Setting::from_pct(name.as_str(), pct).expect("0 to 100"));
        }
        let mut knee = SHOP.knee.resolve(&settings, None).expect("resolves");
        knee.assist.torque_n_m = self.assist_n_m;
        knee
    }
}

/// Shipped files, read once.
struct Shop {
    knee: KneeFile,
    drive: WalkingDrive,
    shanks: Vec<(&'static str, Shank)>,
    scenarios: Vec<Scenario>,
}

static SHOP: LazyLock<Shop> = LazyLock::new(|| {
    let library = library();
    let shank = |name| library.prosthesis(name).expect("shipped").shank().expect("checked");
    Shop {
        knee: library.knee("built-in").expect("shipped"),
        drive: library.walking_drive("users-2020").expect("shipped"),
        shanks: ["light", "typical", "heavy"].map(|name| (name, shank(name))).to_vec(),
        scenarios: ["walk-comfortable", "sit-down", "ramp-down-8-deg", "stairs-down", "stumble"]
            .map(|name| library.scenario(name).expect("shipped"))
            .to_vec(),
    }
});

/// A trial of a shipped scenario, without comparisons and without the band over the hip moment.
fn trial(scenario: &str, user: &User, fit: &Fit) -> Trial {
    let knee = fit.knee();
    Trial {
        scenario: SHOP.scenarios.iter().find(|s| s.name == scenario).expect("read").clone(),
        person: Person { mass_kg: user.mass_kg, stature_given_m: Some(user.stature_m), ..Person::default() },
        shank: SHOP.shanks.iter().find(|s| s.0 == user.prosthesis).expect("read").1,
        alignment: kneedamp::body::Alignment::default(),
        comparison_knee: knee.clone(),
        knee,
        drive: Some(SHOP.drive.clone()),
        tolerances: Tolerances::scan(),
        deadline: None,
        detail: Detail { landing: true, ..Detail::NONE },
        stride_cache: None,
    }
}

/// Outcomes of level walking.
fn walk(user: &User, fit: &Fit) -> Outcomes {
    let mut trial = trial("walk-comfortable", user, fit);
    let Activity::Walk(walk) = &mut trial.scenario.activity else { panic!("walks") };
    walk.speed_m_per_s = Some(user.speed_m_per_s);
    Outcomes::of(&trial.run().expect("runs"))
}

/// A number that is there in every run.
fn number(outcomes: &Outcomes, key: &str) -> f64 {
    outcomes.number(key).unwrap_or_else(|| panic!("{key} is a number"))
}

/// A lower and a higher position of a setting, 10-40 points apart, percent.
fn positions() -> impl Strategy<Value = (f64, f64)> {
    (0.0..60.0, 10.0..40.0).prop_map(|(low, step)| (low, low + step))
}

/// What is called noise above is more than the looser precision of these runs brings in.
#[test]
fn trend_noise_is_less_than_what_is_judged() {
    let user = User { mass_kg: 80.0, stature_m: 1.76, prosthesis: "typical", speed_m_per_s: 1.1 };
    for (scenario, key, noise) in [
        ("walk-comfortable", "peak_flexion_deg", NOISE_DEG),
        ("walk-comfortable", "extension_margin_ms", walking::NOISE_MS),
        ("walk-comfortable", "terminal_energy_j", walking::NOISE_J),
        ("ramp-down-8-deg", "peak_rate_deg_per_s", loaded::NOISE_DEG_PER_S),
        ("stairs-down", "peak_rate_deg_per_s", loaded::NOISE_DEG_PER_S),
        ("stumble", "max_flexion_deg", NOISE_DEG),
    ] {
        let as_judged = trial(scenario, &user, &Fit::SHIPPED);
        let fine = Trial { tolerances: Tolerances::default(), ..as_judged.clone() };
        let [a, b] = [as_judged, fine].map(|t| number(&Outcomes::of(&t.run().expect("runs")), key));
        assert!((a - b).abs() < noise, "{scenario}, {key}: {a} {b}");
    }
}
