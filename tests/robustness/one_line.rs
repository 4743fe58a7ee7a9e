//! Lines of the model of which a change was seen by no other test: each test here fails for one of them.

use kneedamp::body::Person;
use kneedamp::case::inputs::Case;
use kneedamp::joint::damper::{Orifice, ValveOpening};
use kneedamp::joint::{Branch, Knee, KneeFile, OPEN_PASSAGE, Settings};
use kneedamp::library::{Kind, check_text, parse};
use kneedamp::motion::{Motion, Trial};
use kneedamp::outcome::verdict::LimitVerdict;
use kneedamp::outcome::{Assessment, OutcomeWord, Value};
use kneedamp::scenario::{Activity, Limit};
use kneedamp::study::sensitivity::setting_moves;
use kneedamp::units::DEG;

use crate::common::{library, setup, trial};

/// A shipped knee with a cylinder of twice the displacement at every flexion.
fn with_lever_of_two(name: &str) -> [Knee; 2] {
    let text = library().text(Kind::Knee, name).expect("shipped").0;
    let lever = "displacement_by_flexion: {flexion_deg: [-10, 150], relative: [2, 2]}\n";
    [text.clone(), text + "\n" + lever].map(|text| {
        let file: KneeFile = parse(&text, name).expect("good");
        file.resolve(&Settings::default(), None).expect("resolves")
    })
}

#[test]
fn robustness_lever_acts_by_its_square_on_a_and_by_its_cube_on_b() {
    let [plain, levered] = with_lever_of_two("reference");
    let torque = |knee: &Knee, omega: f64| {
        knee.torque_on(Branch { flexing: omega > 0.0, ..Branch::default() }, 0.5, omega, 0.0).damper
    };
    for sign in [1.0, -1.0] {
        // τ = −(a ω + b ω |ω|): two rates give a and b
        let ab = |knee: &Knee| {
            let [one, two] = [sign, 2.0 * sign].map(|w| -sign * torque(knee, w));
            [2.0 * one - 0.5 * two, 0.5 * two - one]
        };
        let ([a, b], [more_a, more_b]) = (ab(&plain), ab(&levered));
        assert!(a > 0.05 && b > 0.05, "{a} {b}");
        assert!(
            (more_a / a - 4.0).abs() < 1e-9 && (more_b / b - 8.0).abs() < 1e-9,
            "{} {}",
            more_a / a,
            more_b / b
        );
    }
}

#[test]
fn robustness_relief_opens_at_a_pressure_and_so_scales_with_the_lever() {
    let [plain, levered] = with_lever_of_two("built-in");
    let relief = plain.relief.expect("the built-in knee has one");
    let (phi, omega, z) = (0.5, 12.0, 1.0);
    for (knee, ratio) in [(&plain, 1.0), (&levered, 2.0)] {
        let closed = Branch { flexing: true, bent: true, ..Branch::default() };
        let oil = -knee.torque_on(closed, phi, omega, z).damper;
        let opens = relief.torque_n_m * ratio;
        assert!(oil > opens + 10.0, "the relief opens: {oil} over {opens}");
        assert!((knee.relief_excess(phi, omega, z) - (oil - opens)).abs() < 1e-9);
        let relieved = -knee.torque_on(Branch { relieved: true, ..closed }, phi, omega, z).damper;
        assert!((relieved - (opens + relief.slope * (oil - opens))).abs() < 1e-9, "{relieved}");
    }
}

/// Beside a law that is no orifice the valve adds what closing adds: nothing while it is open.
#[test]
fn robustness_valve_beside_another_law_adds_only_what_closing_adds() {
    let knee =
        library().knee("linear").expect("shipped").resolve(&Settings::default(), None).expect("resolves");
    let flexing = Branch { flexing: true, bent: true, ..Branch::default() };
    for omega in [0.5, 2.0] {
        let law = knee.swing_flexion.torque(omega, 1.0);
        let at = |z: f64| knee.torque_on(flexing, 0.5, omega, z).damper;
        assert!((at(0.0) - law).abs() < 1e-12, "open: the law alone");
        for z in [0.3, 0.7, 1.0] {
            let valve = Orifice::between(OPEN_PASSAGE, knee.stance.yielding, z).torque(omega);
            let wanted = law + valve - OPEN_PASSAGE.torque(omega);
            assert!((at(z) - wanted).abs() < 1e-9, "{z}: {} for {wanted}", at(z));
        }
    }
}

#[test]
fn robustness_closed_valve_resists_no_less_than_the_open_one() {
    let swing = Orifice { a: 5.0, b: 1.0 };
    let opening = ValveOpening::new(swing, Orifice { a: 3.0, b: 30.0 });
    for tenth in 0..=10 {
        let at = opening.at(f64::from(tenth) / 10.0);
        assert!((at.a - 5.0).abs() < 1e-12, "{at:?}");
    }
    assert!((opening.at(1.0).b - 30.0).abs() < 1e-12);
    let both = ValveOpening::new(swing, Orifice { a: 3.0, b: 0.5 }).at(1.0);
    assert!((both.a - 5.0).abs() < 1e-12 && (both.b - 1.0).abs() < 1e-12, "{both:?}");
}

/// Stumbles that bend the knee to just below and just above 60°.
#[test]
fn robustness_a_landing_gives_way_from_60_degrees() {
    let bent_to = |b: f64| {
        let mut t = trial("stumble");
        t.knee.stance.yielding.b = b;
        let Motion::Stumble(m) = t.run().expect("runs") else { panic!("a stumble") };
        (m.run.max_flexion_rad() / DEG, kneedamp::outcome::landing_word(&m.run))
    };
    let reaching = |deg: f64| {
        let (mut less, mut more) = (0.3, 60.0);
        for _ in 0..60 {
            let middle = f64::sqrt(less * more);
            if bent_to(middle).0 > deg { less = middle } else { more = middle }
        }
        bent_to(more)
    };
    let (below, above) = (reaching(59.0), reaching(61.5));
    assert!((below.0 - 59.0).abs() < 0.1 && (above.0 - 61.5).abs() < 0.1, "{below:?} {above:?}");
    assert_ne!(below.1, OutcomeWord::GivesWay);
    assert_eq!(above.1, OutcomeWord::GivesWay);
}

#[test]
fn robustness_band_of_a_judged_edge_is_a_share_of_it() {
    let mut limit: Limit = library().scenario("sit-down").expect("shipped").limits[0].clone();
    let mut in_band = |min: f64, max: f64, value: f64| {
        (limit.min, limit.max, limit.band_pct) = (Some(min), Some(max), Some(10.0));
        LimitVerdict::of(&limit, Value::Number(value)).in_band
    };
    assert!(in_band(0.1, 200.0, 215.0) && in_band(0.1, 200.0, 181.0));
    assert!(!in_band(0.1, 200.0, 225.0) && !in_band(0.1, 200.0, 175.0));
    assert!(!in_band(1.0, 5.0, 3.0) && !in_band(1.0, 5.0, 5.6) && in_band(1.0, 5.0, 5.4));
}

#[test]
fn robustness_hip_moment_widens_its_band_to_both_sides() {
    for (scenario, value) in
        [("stumble", 1.9), ("stumble", 0.01), ("ramp-down-8-deg", 1.9), ("walk-fast", 1.9)]
    {
        let scenario = library().scenario(scenario).expect("shipped");
        let mut case = Case { setup: setup("75-kg", "built-in"), scenario };
        let band = |case: &Case| {
            let hip = match &case.scenario.activity {
                Activity::Walk(w) => &w.landing.hip_moment,
                Activity::Ramp(r) => &r.hip_moment,
                Activity::Stumble(s) => &s.hip_moment,
                _ => panic!("no hip moment"),
            };
            [hip.least_n_m_per_kg, hip.used_n_m_per_kg, hip.most_n_m_per_kg]
        };
        let [least, _, most] = band(&case);
        case.set("hip_moment_n_m_per_kg", value).expect("in range");
        let wanted = [least.min(value), value, most.max(value)];
        assert!(
            band(&case).iter().zip(wanted).all(|(is, wanted)| (is - wanted).abs() < 1e-12),
            "{:?}",
            band(&case)
        );
        assert!(value < least || value > most, "beyond the shipped band");
    }
}

#[test]
fn robustness_ranges_of_parts_and_of_effort() {
    let mut prosthesis = library().prosthesis("typical").expect("shipped");
    for (radius_m, good) in [(0.0, true), (0.4, true), (0.401, false), (-0.001, false)] {
        prosthesis.parts[0].gyration_radius_m = radius_m;
        assert_eq!(prosthesis.shank().is_ok(), good, "{radius_m}");
    }
    for (effort, good) in [(0.0, true), (1.0, true), (1.01, false), (-0.01, false)] {
        let person = Person { user_effort_n_m_per_kg: effort, ..Person::default() };
        assert_eq!(person.check().is_ok(), good, "{effort}");
        assert!((person.user_effort_n_m() - 75.0 * effort).abs() < 1e-12);
    }
}

#[test]
fn robustness_ends_of_a_range_differ() {
    let text = library().text(Kind::Knee, "built-in").expect("shipped").0;
    let open = text.lines().find(|l| l.trim_start().starts_with("b_open_n_m_s2_per_rad2:")).expect("a line");
    let closed =
        text.lines().find(|l| l.trim_start().starts_with("b_closed_n_m_s2_per_rad2:")).expect("a line");
    let same = closed.replacen("b_closed", "b_open", 1);
    let said = check_text(&text.replacen(open, &same, 1), "mine.yaml").expect_err("refused").to_string();
    assert!(said.contains("closed must resist more than open"), "{said}");
    let mut limit: Limit = library().scenario("sit-down").expect("shipped").limits[0].clone();
    limit.scale = Some(1.0);
    (limit.min, limit.max) = (Some(1.0), Some(1.0));
    assert!(limit.check().is_err_and(|e| e.to_string().contains("must exceed min")));
    limit.max = Some(1.001);
    assert!(limit.check().is_ok());
}

/// Moves that gain little are named too: a fiftieth of the limit's unit is enough.
#[test]
fn robustness_small_gains_of_a_setting_count() {
    let setup = setup("75-kg", "built-in");
    let least = ["walk-comfortable", "walk-slow", "sit-down", "ramp-down-8-deg", "stairs-down", "stumble"]
        .into_iter()
        .flat_map(|name| {
            let scenario = library().scenario(name).expect("shipped");
            let trial: Trial = setup.trial(&scenario).expect("resolves");
            let now = Assessment::of(&trial).expect("runs");
            setting_moves(&setup, &scenario, &now).expect("runs")
        })
        .map(|m| m.gain)
        .fold(f64::INFINITY, f64::min);
    assert!((0.02..0.1).contains(&least), "{least}");
}
