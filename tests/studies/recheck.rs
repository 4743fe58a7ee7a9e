//! `study::recheck`: shares by hand, the order, and what moved against runs made one by one.

use approx::assert_abs_diff_eq;
use std::collections::BTreeSet;

use super::compare::{example, number, table, variant};
use crate::common::library;
use crate::golden;
use kneedamp::error::SimError;
use kneedamp::library::Kind;
use kneedamp::outcome::OutcomeWord::{Caught, Doubtful, GivesWay, Holds, Stalls, Straight, Yields};
use kneedamp::outcome::{LimitVerdict, Value, metric};
use kneedamp::scenario::{Limit, Scenario, Severity};
use kneedamp::study::margin_change::{ChangeKind, MarginChange};
use kneedamp::study::recheck::{Recheck, RecheckStudy, ReviewArea, ReviewItem};
use kneedamp::study::survey;

fn scenarios() -> Vec<Scenario> {
    let l = library();
    let all = l.names(Kind::Scenario).into_iter().map(|n| l.scenario(&n).expect("shipped"));
    all.filter(|s| !s.by_name_only).collect()
}

fn recheck(change: &str, share: f64) -> Result<Recheck, SimError> {
    let study = RecheckStudy { base: example(), variant: variant(change), scenarios: scenarios(), share };
    study.run(&|| {})
}

fn after(change: &str) -> Recheck {
    recheck(change, 0.25).expect("runs")
}

fn limit(outcome: &str, min: Option<f64>, max: Option<f64>, severity: Severity) -> Limit {
    Limit {
        outcome: outcome.into(),
        min,
        max,
        allowed: vec![],
        source: "by hand".into(),
        scale: None,
        band_pct: None,
        beside_max: None,
        severity,
    }
}

fn change(limit: &Limit, before: Value, after: Value) -> MarginChange {
    MarginChange {
        metric: metric(&limit.outcome).expect("a row"),
        before: LimitVerdict::of(limit, before),
        after: LimitVerdict::of(limit, after),
    }
}

/// Shares and kinds of change worked out on paper.
#[test]
fn studies_recheck_closed_form_shares_by_hand() {
    use ChangeKind::{
        FurtherBeyond, LessBeyond, LessMargin, MoreMargin, NewlyBroken, NewlyDoubtful, NoLongerBroken,
        OtherCourse, Restored, TargetMet, TargetMissed, Unchanged,
    };
    use Value::{NotReached, Number, Word};
    let least = limit("extension_margin_ms", Some(40.0), None, Severity::Limit);
    let both = limit("peak_flexion_deg", Some(40.0), Some(70.0), Severity::Limit);
    let target = limit("peak_vs_able_bodied_deg", Some(-8.0), Some(8.0), Severity::Target);
    let warning = limit("extension_margin_ms", None, Some(200.0), Severity::Warning);
    for (limit, before, after, share, kind) in [
        (&least, Number(94.0), Number(67.0), Some(0.5), LessMargin),
        (&least, Number(94.0), Number(90.0), Some(4.0 / 54.0), Unchanged),
        (&least, Number(94.0), Number(30.0), Some(64.0 / 54.0), NewlyBroken),
        (&least, Number(60.0), Number(90.0), Some(-1.5), MoreMargin),
        (&least, Number(30.0), Number(50.0), Some(-2.0), Restored),
        (&least, Number(20.0), Number(-20.0), Some(2.0), FurtherBeyond),
        (&least, Number(-20.0), Number(20.0), Some(-40.0 / 60.0), LessBeyond),
        (&least, Number(94.0), NotReached, None, NewlyBroken),
        (&least, Number(20.0), NotReached, None, FurtherBeyond),
        (&least, NotReached, Number(20.0), None, LessBeyond),
        (&least, NotReached, NotReached, None, Unchanged),
        // from the lower half of a range to its upper half: the nearer edge is another one
        (&both, Number(50.0), Number(65.0), Some(0.5), LessMargin),
        (&both, Number(45.0), Number(55.0), Some(-2.0), MoreMargin),
        // a warning breaks nothing: only its verdict is told
        (&warning, Number(100.0), Number(199.0), Some(0.99), Unchanged),
        (&warning, Number(100.0), Number(210.0), Some(1.1), NewlyBroken),
        // a target is met or not, and breaks nothing
        (&target, Number(0.0), Number(9.0), Some(9.0 / 8.0), TargetMissed),
        (&target, Number(9.0), Number(0.0), Some(-9.0), TargetMet),
        (&target, Number(9.0), Number(12.0), Some(3.0), Unchanged),
        // half the margin, but not in the digits shown
        (&least, Number(40.0002), Number(40.0001), Some(0.5), Unchanged),
    ] {
        let m = change(limit, before, after);
        assert_eq!(m.kind(0.25), kind, "{before:?} → {after:?}");
        match (m.share(), share) {
            (Some(x), Some(y)) => assert!((x - y).abs() < 1e-6, "{before:?} → {after:?}: {x} not {y}"),
            (x, y) => assert_eq!(x, y, "{before:?} → {after:?}"),
        }
    }
    let words = Limit { allowed: vec![Straight, Caught], ..limit("landing", None, None, Severity::Limit) };
    for (before, after, kind) in [
        (Straight, Caught, LessMargin),
        (Caught, Straight, MoreMargin),
        (Caught, Doubtful, NewlyDoubtful),
        (Caught, GivesWay, NewlyBroken),
        (Doubtful, GivesWay, NewlyBroken),
        (GivesWay, Doubtful, NoLongerBroken),
        (Doubtful, Caught, Restored),
        (Caught, Caught, Unchanged),
    ] {
        assert_eq!(change(&words, Word(before), Word(after)).kind(0.25), kind, "{before:?} → {after:?}");
    }
    let ramp = Limit { outcome: "what_happens".into(), allowed: vec![Yields], ..words };
    assert_eq!(change(&ramp, Word(Holds), Word(Stalls)).kind(0.25), OtherCourse);
}

/// A limit that is missed and doubtful is below its edge even where the outcome beside it is at its best: a margin of
/// 0 is within, and scans look at the margin alone.
#[test]
fn studies_doubtful_is_never_a_margin_of_zero() {
    use kneedamp::outcome::{Reading, TrialVerdict, Verdict};
    let limit =
        Limit { beside_max: Some(5.0), ..limit("extension_margin_ms", Some(40.0), None, Severity::Limit) };
    for beside in [-1.0, 0.0, 2.0, 5.0] {
        for value in [Value::NotReached, Value::Number(-100.0), Value::Number(39.9999)] {
            let reading = Reading { value, beside: [Some(Value::Number(beside)), None, None] };
            let found = LimitVerdict::of(&limit, reading);
            assert_eq!(found.verdict, Verdict::Doubtful, "{beside} {value:?}");
            assert!(found.relative_margin < 0.0 && !found.holds(), "{beside} {value:?}");
            assert_eq!(TrialVerdict::worst([found].iter()), TrialVerdict::Doubtful);
        }
    }
}

/// The verdicts that changed are those of two surveys made without the study.
#[test]
fn studies_recheck_verdicts_are_those_of_two_surveys() {
    let found = after("foot_extra_mass_kg=1.5,temperature_c=0");
    let held = |boots: bool| -> BTreeSet<(String, usize)> {
        let mut setup = example();
        if boots {
            setup.temperature_c = Some(0.0);
            let mut boot = setup.prosthesis.parts[0].clone();
            (boot.mass_kg, boot.down_m, boot.ahead_m, boot.gyration_radius_m) = (1.5, 0.43, 0.04, 0.09);
            setup.prosthesis.parts.push(boot);
        }
        let runs = survey(setup, scenarios()).expect("runs").runs;
        runs.iter()
            .flat_map(|r| {
                let a = &r.result.as_ref().expect("ran").assessment;
                let held = a.limits.iter().enumerate().filter(|(_, l)| l.holds());
                held.map(|(i, _)| (r.scenario.name.clone(), i)).collect::<Vec<_>>()
            })
            .collect()
    };
    let (before, after) = (held(false), held(true));
    use ChangeKind::{NewlyBroken, NewlyDoubtful, Restored, TargetMet, TargetMissed};
    let items = found.items();
    let count = |kinds: &[ChangeKind]| items.iter().filter(|i| kinds.contains(&i.kind)).count();
    let lost = |i: &&ReviewItem| !i.change.after.holds() && i.change.before.holds();
    assert!(items.iter().any(|i| i.kind.verdict_changed()));
    assert_eq!(items.iter().filter(lost).count(), before.difference(&after).count());
    assert!(items.iter().filter(lost).all(|i| [NewlyBroken, NewlyDoubtful, TargetMissed].contains(&i.kind)));
    assert_eq!(count(&[Restored, TargetMet]), after.difference(&before).count());
}

/// What changed its verdict comes first, what asks for a look next; within these standing, landing,
/// walking, chair, ramp, stairs, and the greater loss first.
#[test]
fn studies_recheck_is_in_order_of_seriousness() {
    let found = after("catch-load=0,stance-yield=0,swing-extension=0");
    let items = found.items();
    let rank = |i: usize| {
        let x = &items[i];
        (!x.kind.verdict_changed(), !x.kind.needs_review(), x.area)
    };
    for i in 1..items.len() {
        assert!(rank(i - 1) <= rank(i), "{i}");
        assert!(rank(i - 1) < rank(i) || items[i - 1].change.loss() >= items[i].change.loss(), "{i}");
    }
    let broken: BTreeSet<ReviewArea> =
        items.iter().filter(|i| i.kind == ChangeKind::NewlyBroken).map(|i| i.area).collect();
    assert!(broken.len() >= 3, "{broken:?}");
    let text = found.findings().text;
    let lines: Vec<usize> = text
        .iter()
        .filter_map(|t| {
            ReviewArea::ALL.iter().position(|l| t.split_once(". ").is_some_and(|(_, n)| n == l.as_str()))
        })
        .collect();
    assert!(lines.len() >= 3 && lines.is_sorted(), "{text:?}");
}

#[test]
fn studies_recheck_says_when_nothing_moves() {
    let found = after("mass_kg=75.0001");
    assert!(found.items().is_empty());
    let text = found.findings().text.join("\n");
    assert!(text.contains("limits changes its verdict."), "{text}");
    assert!(text.contains("None moves by as much as 25 %"), "{text}");
    assert!(recheck("", 0.25).is_err());
}

/// A greater share asked for tells no more, and the columns of one change alone are its own findings.
#[test]
fn studies_recheck_share_and_changes_alone() {
    let both = after("foot_extra_mass_kg=1.5,temperature_c=0");
    let findings = both.findings();
    let cold = after("temperature_c=0");
    let cold = &cold.scenarios.iter().find(|s| s.scenario.name == "walk-fast").expect("there").after;
    let alone = cold.as_ref().expect("ran").outcomes.number("terminal_energy_j").expect("a number");
    let moved = table(&findings, "moved");
    let fast = moved.rows.iter().filter(|r| r.iter().any(|c| format!("{c:?}").contains("walk-fast")));
    let only = kneedamp::findings::Table { rows: fast.cloned().collect(), ..moved.clone() };
    assert_abs_diff_eq!(number(&only, "terminal_energy_j", "temperature_c_alone"), alone, epsilon = 1e-9);
    let told = |share: f64| {
        let found = recheck("foot_extra_mass_kg=1", share).expect("runs");
        found.items().len()
    };
    let (few, some, many) = (told(1.0), told(0.25), told(0.01));
    assert!(few < some && some < many, "{few} {some} {many}");
}

/// New boots and a cold morning.
#[test]
fn studies_golden_recheck() {
    golden::findings("recheck", &after("foot_extra_mass_kg=1.5,temperature_c=0").findings());
}
