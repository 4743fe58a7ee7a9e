//! Verdicts follow from the counts, also where a rule fails, and from infinite effects.

use kneedamp::study::rules::evidence::{Abort, Agreement, CatchLoadMode, Evidence, ExperimentResult};
use kneedamp::study::rules::rule::Claim;
use kneedamp::study::rules::{RULES, Rule, RuleTally};

fn rule(claim: Claim) -> &'static Rule {
    RULES.iter().find(|r| r.claim == claim).expect("there is one")
}

#[test]
fn studies_rules_verdicts_follow_the_counts() {
    use Claim::{CanHappen, Holds, MostNotAll};
    for (claim, [agree, no_difference, opposite], text, contradicted) in [
        (Holds, [50, 0, 0], "held every time", false),
        (Holds, [40, 0, 10], "holds for most", false),
        (Holds, [40, 10, 0], "holds for most", false),
        (Holds, [25, 0, 25], "holds for about half", false),
        (Holds, [10, 0, 40], "contradicted for most", true),
        (Holds, [0, 0, 50], "contradicted every time", true),
        (Holds, [0, 0, 0], "decides nothing here", false),
        // no difference contradicts nothing
        (Holds, [10, 40, 0], "hardly acts: no difference for most", false),
        (Holds, [0, 50, 0], "hardly acts: no difference for most", false),
        (Holds, [10, 134, 56], "hardly acts: no difference for most", false),
        (Holds, [0, 97, 103], "never held: opposite or no difference", false),
        (Holds, [62, 67, 71], "holds for less than half", false),
        (Holds, [0, 10, 40], "contradicted for most", true),
        // one of one says little, but it did hold, or did not, every time
        (Holds, [1, 0, 0], "held every time", false),
        (Holds, [0, 0, 1], "contradicted every time", true),
        (CanHappen, [1, 0, 49], "happens", false),
        (CanHappen, [0, 0, 50], "never happened", false),
        (MostNotAll, [45, 0, 5], "for most, not for all: as the rule says", false),
        (MostNotAll, [50, 0, 0], "contradicted: for all", true),
        (MostNotAll, [5, 0, 45], "contradicted: not for most", true),
        (MostNotAll, [25, 0, 25], "holds for about half", false),
        (MostNotAll, [5, 45, 0], "hardly acts: no difference for most", false),
    ] {
        let t = RuleTally {
            agree,
            no_difference,
            opposite,
            ..RuleTally::new(rule(claim), CatchLoadMode::AsSampled)
        };
        assert_eq!(
            (t.verdict().as_str(), t.contradicted()),
            (text, contradicted),
            "{claim:?} {agree}/{no_difference}/{opposite}"
        );
    }
}

/// What is opposite here and agrees elsewhere in the same sample contradicts nothing.
#[test]
fn studies_rules_an_effect_that_turns_depends_where() {
    for ([agree, no_difference, opposite, agree_elsewhere], text) in [
        ([10, 0, 40, 40], "depends where"),
        ([0, 0, 50, 50], "depends where"),
        ([0, 0, 1, 1], "depends where"),
        ([25, 0, 25, 20], "depends where"),
        ([10, 0, 40, 2], "contradicted for most"),
        ([0, 0, 50, 1], "contradicted for most"),
        // neither the opposite throughout nor turning is shown
        ([25, 0, 25, 10], "holds for about half"),
        ([40, 0, 10, 10], "holds for most"),
        ([5, 45, 0, 0], "hardly acts: no difference for most"),
    ] {
        let t = RuleTally {
            agree,
            no_difference,
            opposite,
            agree_elsewhere,
            ..RuleTally::new(rule(Claim::Holds), CatchLoadMode::AsSampled)
        };
        assert_eq!(t.verdict().as_str(), text, "{agree}/{no_difference}/{opposite}/{agree_elsewhere}");
    }
}

fn evidence(effect: f64) -> ExperimentResult {
    Ok(Evidence { agreement: Agreement::of(effect, 0.1), effect, description: String::new(), runs: vec![] })
}

fn tally(results: Vec<ExperimentResult>) -> RuleTally {
    RuleTally::of(rule(Claim::Holds), CatchLoadMode::AsSampled, results.into_iter()).expect("no error")
}

/// An infinite disagreement is the strongest, the first of equals; no difference is none.
#[test]
fn studies_rules_strongest_counter_example_may_be_infinite() {
    let inf = f64::INFINITY;
    let t = tally(vec![
        evidence(0.0),
        evidence(-3.0),
        evidence(-inf),
        evidence(2.0),
        evidence(-inf),
        evidence(-0.05),
    ]);
    assert_eq!((t.agree, t.opposite, t.no_difference), (1, 3, 2));
    let (index, strongest) = t.counter_example.expect("one disagrees");
    assert!(index == 2 && strongest.effect.is_infinite());
    assert!(
        tally(vec![evidence(0.0), evidence(0.05), evidence(1.0)]).counter_example.is_none(),
        "no difference is no example"
    );
}

/// By hand: infinite effects take part in the median.
#[test]
fn studies_rules_median_keeps_infinite_effects() {
    let inf = f64::INFINITY;
    let median = |all: &[f64]| tally(all.iter().map(|e| evidence(*e)).collect()).median_effect;
    for (all, wanted) in [
        (vec![1.0, inf, 3.0], 3.0),
        (vec![1.0, 2.0, inf, inf], inf),
        (vec![inf, inf, inf, 1.0], inf),
        (vec![-inf, -inf, 1.0], -inf),
        (vec![-inf, 1.0, 2.0, inf], 1.5),
    ] {
        let got = median(&all).expect("a median");
        assert!(got.total_cmp(&wanted).is_eq(), "{all:?}: {got}");
    }
    assert!(median(&[]).is_none() && median(&[-inf, inf]).is_none());
    let undecided =
        tally(vec![Err(Abort::Undecided("because")), evidence(1.0), Err(Abort::Undecided("because"))]);
    assert_eq!((undecided.undecided["because"], undecided.decided()), (2, 1));
}
