//! `study::compare`: differences against hand calculations and against runs made one by one.

use crate::common::{library, setup, trial};
use crate::golden;
use approx::assert_abs_diff_eq;
use kneedamp::case::setup::Setup;
use kneedamp::case::variant::{Change, Model, Variant, parse};
use kneedamp::error::SimError;
use kneedamp::findings::{Cell, Findings, Table};
use kneedamp::joint::{SettingName, Settings};
use kneedamp::outcome::{Assessment, metric};
use kneedamp::study::compare::{Comparison, ComparisonStudy};
use kneedamp::units::Setting;

/// The built-in example.
pub fn example() -> Setup {
    setup("75-kg", "built-in")
}

/// A variant as the command line reads it, with shipped models.
pub fn variant(text: &str) -> Variant {
    let l = library();
    let read = |model: Model, name: &str| {
        Ok(match model {
            Model::Person => Change::Person(Box::new(l.person(name)?)),
            Model::Prosthesis => Change::Prosthesis(Box::new(l.prosthesis(name)?)),
            Model::Knee => Change::Knee(Box::new(l.knee(name)?)),
        })
    };
    Variant::resolve(text, parse(text).expect("a variant"), read).expect("shipped models")
}

pub fn compared(variants: &[&str], scenarios: &[&str]) -> Result<Comparison, SimError> {
    let l = library();
    let scenarios = scenarios.iter().map(|s| l.scenario(s).expect("shipped")).collect();
    let variants = variants.iter().map(|v| variant(v)).collect();
    ComparisonStudy { base: example(), variants, scenarios }.run(&|| {})
}

pub fn table<'a>(found: &'a Findings, key: &str) -> &'a Table {
    found.tables.iter().find(|t| t.key == key).expect("the table")
}

/// The number in a named column of the first row that holds `text` in any cell.
pub fn number(table: &Table, text: &str, column: &str) -> f64 {
    let c = table.columns.iter().position(|n| n == column).expect("the column");
    let row = table.rows.iter().find(|r| r.contains(&Cell::text(text))).expect("the row");
    match row[c] {
        Cell::Number(v, _) => v,
        ref other => panic!("{text}, {column}: {other:?}"),
    }
}

/// Half the weight times d = Lt e/(L − R) in front of the knee, and L/L1 of it at the hip; statures cancel.
#[test]
fn studies_compare_closed_form_standing_by_hand() {
    let found = compared(&["", "mass_kg=100"], &["stand"]).expect("runs").findings();
    let outcomes = table(&found, "outcomes");
    let ahead = 0.245 * 0.05 / (0.53 - 0.19);
    let moment = 0.5 * (100.0 - 75.0) * 9.81 * ahead;
    let close = |key: &str, by_hand: f64| {
        let found = number(outcomes, key, "b_minus_a");
        assert!((found - by_hand).abs() < 1e-9, "{key}: {found} by hand {by_hand}");
    };
    close("extension_moment_n_m", moment);
    close("hip_moment_to_bend_n_m", moment * 0.53 / 0.285);
    close("slope_limit_deg", 0.0);
}

/// The differences are those of two runs made without the study.
#[test]
fn studies_compare_differences_are_those_of_two_runs() {
    let found = compared(&["swing-flexion=0", "swing-flexion=80"], &["walk-fast"]).expect("runs").findings();
    let outcomes = table(&found, "outcomes");
    let file = library().knee("built-in").expect("shipped");
    let alone = |pct: f64| {
        let mut settings = Settings::default();
        settings.set(SettingName::SwingFlexion, Setting::from_pct("x", pct).expect("in range"));
        let mut t = trial("walk-fast");
        t.knee = file.resolve(&settings, None).expect("resolves");
        Assessment::of(&t).expect("runs").outcomes
    };
    let (a, b) = (alone(0.0), alone(80.0));
    assert_eq!(outcomes.rows.len(), a.iter().count(), "all outcomes");
    let mut seen = 0;
    for (m, v) in a.iter() {
        if let (Some(x), Some(y)) = (v.as_number(), b.number(m.key)) {
            assert!((number(outcomes, m.key, "b_minus_a") - (y - x)).abs() < 1e-12, "{}", m.key);
            seen += 1;
        }
    }
    assert!(seen > 15, "{seen}");
}

#[test]
fn studies_compare_with_itself_finds_no_difference() {
    let found = compared(&["", "swing-flexion=70", ""], &["walk-comfortable"]).expect("runs").findings();
    let last = found.text.last().expect("text");
    assert!(last.contains("C against A: No outcome differs"), "{last}");
    assert!(!found.text.iter().any(|t| t.contains("B against A: No outcome differs")));
    for row in &table(&found, "outcomes").rows {
        assert!(matches!(row.last(), Some(Cell::Number(0.0, _) | Cell::Empty)), "{row:?}");
    }
    // what has no part in a scenario is said to have none
    let standing = compared(&["", "temperature_c=0"], &["stand"]).expect("runs").findings();
    assert!(standing.text.iter().any(|t| t.contains("or it has no part in this scenario")));
}

/// What would be seen comes from the limits that break: the registry's words, and only those.
#[test]
fn studies_compare_sentence_follows_from_the_limits() {
    let found =
        compared(&["swing-flexion=60", "swing-flexion=60,swing-extension=0"], &["walk-fast"]).expect("runs");
    let (a, b) = (
        found.scenarios[0].runs[0].as_ref().expect("ran"),
        found.scenarios[0].runs[1].as_ref().expect("ran"),
    );
    let text = found.findings().text.join("\n");
    let told = text.split("What would be seen: ").nth(1).expect("a sentence");
    let told = told.split(". ").next().expect("its end");
    let mut broken = 0;
    for (before, after) in a.assessment.limits.iter().zip(&b.assessment.limits) {
        let newly = before.holds() && !after.holds();
        broken += usize::from(newly);
        let label = metric(&after.limit.outcome).expect("a row").label;
        assert_eq!(told.contains(&format!("({label} ")), newly, "{label} in: {told}");
        assert_eq!(told.contains(after.seen()), newly, "{} in: {told}", after.seen());
    }
    assert!(broken >= 3, "{broken}");
}

/// The curves carry the outcomes: peak and heel contact.
#[test]
fn studies_compare_curves_carry_the_outcomes() {
    let found = compared(&["swing-flexion=0", "swing-flexion=80"], &["walk-fast", "sit-down", "stand"])
        .expect("runs");
    let plots = found.findings().plots;
    assert_eq!(plots.len(), 2, "standing has no curve");
    assert_eq!(
        (plots[0].x_label.as_str(), plots[1].x_label.as_str()),
        ("Stride from heel contact to heel contact (%)", "Time (s)")
    );
    let names: Vec<&str> = plots[0].panels[0].series.iter().map(|s| s.label.as_str()).collect();
    assert_eq!(names, ["A", "B", "able-bodied mean, published"]);
    for (i, series) in plots[0].panels[0].series.iter().take(2).enumerate() {
        let outcomes = &found.scenarios[0].runs[i].as_ref().expect("ran").assessment.outcomes;
        let swing = series.points.iter().filter(|(x, _)| (60.0..=100.0).contains(x));
        let peak = swing.map(|p| p.1).fold(f64::NEG_INFINITY, f64::max);
        assert!((peak - outcomes.number("peak_flexion_deg").expect("peak")).abs() < 0.02, "{peak}");
        let landing = series.points.iter().min_by(|a, b| (a.0 - 100.0).abs().total_cmp(&(b.0 - 100.0).abs()));
        let at = landing.expect("a point").1;
        assert!((at - outcomes.number("heel_contact_flexion_deg").expect("angle")).abs() < 0.3, "{at}");
    }
}

#[test]
fn studies_compare_models_come_before_values() {
    let l = library();
    let scenario = l.scenario("stand").expect("shipped");
    let case = variant("mass_kg=61,person=50-kg").case(&example(), &scenario).expect("a case");
    assert_eq!((case.setup.person.name.as_str(), case.setup.person.mass_kg), ("50-kg", 61.0));
    assert_abs_diff_eq!(case.setup.person.stature_m(), 1.6, epsilon = 1e-12);
}

#[test]
fn studies_compare_wants_two_to_four_and_a_scenario() {
    for n in [0, 1, 5] {
        assert!(matches!(compared(&vec![""; n], &["stand"]), Err(SimError::Usage(_))), "{n}");
    }
    assert!(matches!(compared(&["", ""], &[]), Err(SimError::Usage(_))));
    assert!(compared(&["", "assist_n_m=3", "person=100-kg", "knee=reference"], &["stand"]).is_ok());
}

/// A locked knee cannot sit down: said in its place, the others stand.
#[test]
fn studies_compare_what_cannot_run_is_said_in_its_place() {
    let mut locked = example();
    locked.knee.locked = true;
    let scenarios = ["stand", "sit-down"].map(|s| library().scenario(s).expect("shipped")).to_vec();
    let free = library().knee("built-in").expect("shipped");
    let other = Variant { written: "knee=built-in".into(), changes: vec![Change::Knee(Box::new(free))] };
    let study = ComparisonStudy { base: locked, variants: vec![Variant::default(), other], scenarios };
    let found = study.run(&|| {}).expect("the study runs");
    assert!(found.scenarios[1].runs[0].is_err() && found.scenarios[1].runs[1].is_ok());
    let text = found.findings_for_people().text.join("\n");
    assert!(text.contains("sit-down, A: cannot run: the joint is locked"), "{text}");
    assert!(text.contains("sit-down, B: within all limits"), "{text}");
}

/// Half a kilogram on measured totals is half a kilogram on the parts they were measured on.
#[test]
fn studies_foot_mass_on_measured_totals() {
    let scenario = library().scenario("stand").expect("shipped");
    let parts = example();
    let shank = parts.resolve().expect("resolves").shank;
    let mut totals = parts.clone();
    totals.prosthesis.parts.clear();
    totals.prosthesis.totals = Some(kneedamp::body::prosthesis::Totals {
        mass_kg: shank.mass_kg,
        com_distance_m: shank.com_distance_m,
        com_angle_deg: shank.com_angle_rad.to_degrees(),
        inertia_kg_m2: shank.inertia_kg_m2,
    });
    let boots = variant("foot_extra_mass_kg=0.5");
    let heavy =
        |s: &Setup| boots.case(s, &scenario).expect("a case").setup.resolve().expect("resolves").shank;
    let (a, b) = (heavy(&parts), heavy(&totals));
    assert_abs_diff_eq!(a.mass_kg - shank.mass_kg, 0.5, epsilon = 1e-12);
    for (x, y) in [
        (a.mass_kg, b.mass_kg),
        (a.com_distance_m, b.com_distance_m),
        (a.com_angle_rad, b.com_angle_rad),
        (a.inertia_kg_m2, b.inertia_kg_m2),
    ] {
        assert!((x - y).abs() < 1e-12, "{x} {y}");
    }
}

#[test]
fn studies_golden_compare() {
    let found =
        compared(&["swing-flexion=60", "swing-flexion=0"], &["walk-slow", "walk-fast"]).expect("runs");
    golden::findings("compare", &found.findings());
}
