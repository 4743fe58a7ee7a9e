//! Windows: ranges by hand, edges against trials run one by one at full precision, what must show on its
//! own, and what does not.

use std::path::PathBuf;
use std::sync::{Arc, OnceLock};

use serde_json::{Value as Json, json};

use crate::common::{self, library};
use kneedamp::case::inputs::Case;
use kneedamp::case::setup::Setup;
use kneedamp::error::SimError;
use kneedamp::joint::SettingName::{self, CatchLoad, StanceYield, SwingFlexion};
use kneedamp::library::Kind;
use kneedamp::motion::stride_cache::StrideCache;
use kneedamp::motion::trial::Detail;
use kneedamp::motion::{Motion, Trial};
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::outcome::{Assessment, TrialVerdict};
use kneedamp::scenario::{Activity, Scenario, Severity};
use kneedamp::study::window::case_limits::LimitRef;
use kneedamp::study::window::population::{mass_overlap, overlap};
use kneedamp::study::window::ranges::{LAST, Ranges, UNIT_PCT, coarse};
use kneedamp::study::window::variations::{JUDGED, Variation};
use kneedamp::study::window::{Plan, PositionRange, Question, SettingWindow, Windows, joint_map};

/// One position of the fine grid either side of an edge, and a bit.
const ONE_STEP_PCT: f64 = 1.5 * UNIT_PCT;

fn setup() -> Setup {
    common::setup("75-kg", "built-in")
}

fn scenarios(names: &[&str]) -> Vec<Scenario> {
    names.iter().map(|n| library().scenario(n).expect("shipped")).collect()
}

/// Everything but the scenarios that run by name only.
fn all_scenarios() -> Vec<Scenario> {
    let names = library().names(Kind::Scenario);
    let all = names.iter().map(|n| library().scenario(n).expect("shipped"));
    all.filter(|s| !s.by_name_only).collect()
}

fn question(scenarios: Vec<Scenario>) -> Question {
    Question {
        setup: setup(),
        scenarios,
        without: vec![],
        masses_kg: vec![],
        cadences_steps_per_min: vec![],
        bands: false,
    }
}

fn windows(question: &Question) -> Windows {
    Plan::new(question).expect("a plan").run(&|| ()).expect("runs")
}

/// All scenarios without the limit that the example cannot keep: several tests read these.
fn without_able_bodied() -> &'static Windows {
    static FOUND: OnceLock<Windows> = OnceLock::new();
    FOUND.get_or_init(|| {
        windows(&Question { without: vec!["peak_vs_able_bodied_deg".into()], ..question(all_scenarios()) })
    })
}

/// Walking, stairs and stumble, with bands.
fn banded() -> &'static (Question, Windows) {
    static FOUND: OnceLock<(Question, Windows)> = OnceLock::new();
    FOUND.get_or_init(|| {
        let names = ["walk-comfortable", "stairs-down", "stumble"];
        let without = vec!["peak_vs_able_bodied_deg".into()];
        let q = Question { without, bands: true, ..question(scenarios(&names)) };
        let found = windows(&q);
        (q, found)
    })
}

fn of(windows: &Windows, setting: SettingName) -> &SettingWindow {
    windows.people[0].settings.iter().find(|s| s.setting == setting).expect("the knee has it")
}

fn only(s: &SettingWindow) -> &PositionRange {
    match s.all.window.ranges.as_slice() {
        [range] => range,
        ranges => panic!("{}: {} ranges", s.setting, ranges.len()),
    }
}

fn key(limit: Option<&LimitRef>) -> String {
    limit.map_or_else(|| "end".into(), LimitRef::key)
}

/// A trial of its own, at full precision.
fn assess(setup: &Setup, scenario: &Scenario, setting: SettingName, pct: f64) -> Assessment {
    let mut case = Case { setup: setup.clone(), scenario: scenario.clone() };
    case.set(setting.as_str(), pct).expect("in range");
    case.assess(Detail::default(), Tolerances::default()).expect("runs")
}

#[test]
fn studies_window_ranges_by_hand() {
    // two ranges, with edges off the coarse grid
    let holds = |i: u32| (13..=101).contains(&i) || i >= 300;
    let found = Ranges::find(&mut { holds });
    assert_eq!(found.parts(), [(13, 101), (300, LAST)]);
    assert!((0..=LAST).all(|i| holds(i) == found.parts().iter().any(|p| (p.0..=p.1).contains(&i))));
    let other = Ranges::find(&mut |i| (90..=310).contains(&i));
    assert_eq!(found.intersection(&other).parts(), [(90, 101), (300, 310)]);
    assert_eq!(found.gap(&other), None);
    let between = Ranges::find(&mut |i| (120..=250).contains(&i));
    assert!(found.intersection(&between).is_empty());
    // 101 to 120 is the nearer gap, 250 to 300 the other
    assert_eq!(found.gap(&between), Some(19));
    assert!(Ranges::find(&mut |_| true).is_whole());
    assert_eq!(coarse().count(), 41);
    // honest about its resolution: what is narrower than a coarse step is missed
    assert!(Ranges::find(&mut |i| (3..=5).contains(&i)).is_empty());
}

#[test]
fn studies_window_needs_few_trials_per_edge() {
    let mut trials = 0;
    Ranges::find(&mut |i| {
        trials += 1;
        (50..=200).contains(&i)
    });
    assert!(trials <= 41 + 2 * 3, "{trials}");
    const { assert!(UNIT_PCT <= 0.5) };
}

/// Standing does not know the settings: moment 13.3 N m, by hand N d.
#[test]
fn studies_window_of_standing_is_everything() {
    let found = windows(&question(scenarios(&["stand"])));
    let s = &found.people[0].settings;
    assert_eq!(s.len(), 4);
    assert!(s.iter().all(|s| s.all.window.is_whole() && s.rest.is_none() && s.excluding.is_empty()));
    // margin over the limit's scale of 10 N m
    let d = 0.245 * 1.75 * 0.05 / (0.53 * 1.75 - 0.19 * 1.75);
    let moment = 0.5 * 75.0 * 9.81 * d;
    assert!((found.people[0].now.margin - moment / 10.0).abs() < 1e-9, "{}", found.people[0].now.margin);
}

/// Just inside an edge the limit that closes it holds, just outside it is broken: trials of their own.
#[test]
fn studies_window_edges_are_where_trials_turn() {
    let names = ["walk-hurried", "sit-down", "stairs-down"];
    let q = Question { without: vec!["peak_vs_able_bodied_deg".into()], ..question(scenarios(&names)) };
    let found = windows(&q);
    let mut edges = 0;
    for s in &found.people[0].settings {
        for l in &s.limits {
            let scenario = q.scenarios.iter().find(|x| x.name == l.limit.scenario).expect("asked for");
            let outcome = l.limit.outcome.expect("runs");
            let holds = |pct: f64| {
                let a = assess(&q.setup, scenario, s.setting, pct.clamp(0.0, 100.0));
                let own = a
                    .limits
                    .iter()
                    .find(|v| v.limit.outcome == outcome && v.limit.severity == Severity::Limit);
                own.expect("a limit").holds()
            };
            for p in &l.window.window.ranges {
                for (edge, closed, out) in
                    [(p.min_pct, &p.min_closed_by, -1.0), (p.max_pct, &p.max_closed_by, 1.0)]
                {
                    assert!(holds(edge), "{} {} at {edge}", s.setting, l.limit.key());
                    if closed.is_some() {
                        edges += 1;
                        assert!(
                            !holds(edge + out * UNIT_PCT),
                            "{} {} beyond {edge}",
                            s.setting,
                            l.limit.key()
                        );
                    } else {
                        assert!(edge <= 0.0 || edge >= 100.0);
                    }
                }
            }
        }
        // the window is the overlap: its closing limits have that very edge
        for p in &s.all.window.ranges {
            for (edge, closed) in [(p.min_pct, &p.min_closed_by), (p.max_pct, &p.max_closed_by)] {
                let Some(limit) = closed else { continue };
                let own = s.limits.iter().find(|l| l.limit == *limit).expect("a limit of the question");
                assert!(
                    own.window
                        .window
                        .ranges
                        .iter()
                        .any(|x| x.min_pct.total_cmp(&edge).is_eq() || x.max_pct.total_cmp(&edge).is_eq()),
                    "{edge}"
                );
            }
        }
    }
    println!("{edges} edges tried");
    assert!(edges >= 20, "{edges}");
}

/// Must show on its own: the catch load has a lower edge (late release) and an upper one (the chair).
#[test]
fn studies_window_of_the_catch_load_is_two_sided() {
    let p = only(of(without_able_bodied(), CatchLoad));
    println!(
        "catch-load {:.1} to {:.1} %, {} / {}",
        p.min_pct,
        p.max_pct,
        key(p.min_closed_by.as_ref()),
        key(p.max_closed_by.as_ref())
    );
    assert!(p.min_pct > 5.0 && p.max_pct < 50.0 && p.max_pct - p.min_pct > 5.0);
    assert_eq!(key(p.min_closed_by.as_ref()), "walk-fast: late_release_loss_deg");
    assert_eq!(key(p.max_closed_by.as_ref()), "sit-down: sit_time_s");
}

/// Must show on its own: swing-flexion has a lower edge from hurried walking. The upper edge was expected
/// from heel rise or toe height; it comes from the knee that bends again before heel contact. The heel's
/// own limit closes a little further up, as does that of the toe where one is set.
#[test]
fn studies_window_of_swing_flexion() {
    let s = of(without_able_bodied(), SwingFlexion);
    let p = only(s);
    assert_eq!(key(p.min_closed_by.as_ref()), "walk-hurried: extension_margin_ms");
    assert_eq!(key(p.max_closed_by.as_ref()), "walk-fast: heel_contact_flexion_deg");
    let rise = s
        .limits
        .iter()
        .find(|l| l.limit.key() == "walk-hurried: peak_flexion_deg")
        .and_then(|l| l.window.window.ranges.last())
        .expect("holds somewhere");
    println!("swing-flexion {:.1} to {:.1} %, heel rise to {:.1} %", p.min_pct, p.max_pct, rise.max_pct);
    assert!(rise.max_closed_by.is_some() && rise.max_pct > p.max_pct && rise.max_pct < p.max_pct + 10.0);
}

/// Must show on its own: one yield setting suits chair, 8° ramp and stairs for each mass from 50 to 125 kg
/// (with a catch load that the lightest reaches), but 50 and 125 kg share none.
#[test]
fn studies_window_of_yield_over_mass() {
    let mut q = question(scenarios(&["sit-down", "ramp-down-8-deg", "stairs-down"]));
    q.masses_kg = (0..7).map(|i| 50.0 + 12.5 * f64::from(i)).collect();
    q.setup.settings.set(CatchLoad, kneedamp::units::Setting::from_pct("catch-load", 5.0).expect("in range"));
    let found = windows(&q);
    assert_eq!(found.people.len(), 7);
    let yields =
        mass_overlap(&found).settings.into_iter().find(|s| s.setting == StanceYield).expect("has it");
    // b = 4 · 150^s, percent to N m s²: the prototype's range at 1.75 m, read to a digit or two (its foot is the same
    // for everybody, so that the others differ)
    let b = |pct: f64| 4.0 * 150.0_f64.powf(pct / 100.0);
    let mut before = (0.0, 0.0);
    for (mass, spans) in &yields.of_mass {
        assert_eq!(spans.len(), 1, "{mass} kg");
        let (low, high) = (b(spans[0].0), b(spans[0].1));
        println!("{mass} kg: b {low:.1} to {high:.1}");
        if (mass - 75.0).abs() < 1e-9 {
            assert!((low / 18.0 - 1.0).abs() < 0.15 && (high / 49.0 - 1.0).abs() < 0.15, "{low} {high}");
        }
        assert!(low > before.0 && high > before.1, "a heavier person wants more");
        before = (low, high);
    }
    let (light, heavy) = (&yields.of_mass[0].1, &yields.of_mass[6].1);
    let shared: f64 = overlap(light, heavy).iter().map(|(from, to)| to - from).sum();
    assert!(shared < 1.0, "{light:?} {heavy:?}");
    let ((from, to), count) = yields.most.expect("some");
    // six share a stretch, all of them no more than a point
    assert!(count == 6 || to - from < 1.0, "{count}: {from} to {to}");
    // the catch load of the example is too high for the lightest: no window there at all
    q.setup.settings = kneedamp::joint::Settings::default();
    q.masses_kg = vec![50.0, 62.5];
    let found = windows(&q);
    let empty = |i: usize| found.people[i].settings[2].all.window.is_empty();
    assert!(empty(0) && !empty(1));
}

/// A catch load that the lightest person does not reach: no yield saves the chair, which asks for another setting; what
/// excludes what is said, not hidden.
#[test]
fn studies_window_says_which_limits_exclude_each_other() {
    let light = Question { setup: common::setup("50-kg", "built-in"), ..question(all_scenarios()) };
    let found = windows(&light);
    let s = of(&found, StanceYield);
    assert!(s.all.window.is_empty() && !s.rest.as_ref().expect("others hold").window.is_empty());
    assert!(!s.nowhere.is_empty());
    for limit in &s.nowhere {
        let scenario = light.scenarios.iter().find(|x| x.name == limit.scenario).expect("asked for");
        for pct in [0.0, 35.0, 70.0, 100.0] {
            let a = assess(&light.setup, scenario, StanceYield, pct);
            let own = a.limits.iter().find(|v| Ok(v.limit.outcome.as_str()) == limit.outcome);
            assert!(!own.expect("a limit").holds(), "{} at {pct}", limit.key());
        }
    }
    let pairs: Vec<_> = found.people[0].settings.iter().flat_map(|s| &s.excluding).collect();
    assert!(!pairs.is_empty());
    for pair in pairs {
        let gap = pair.upper_window.ranges[0].min_pct - pair.lower_window.ranges[0].max_pct;
        assert!((pair.gap_pct - gap).abs() < 1e-9 && gap > 0.0, "{}: {gap}", pair.lower.key());
    }
    let said = found.findings().text.join(" ");
    assert!(said.contains("exclude each other") && said.contains("the cause lies elsewhere"));
}

/// The summary of the built-in example fits a screen of 40 lines of 100 columns and has the answer of every
/// setting; the full report has the bands, every limit that is met somewhere but not everywhere, and every
/// variation.
#[test]
fn studies_window_summary_fits_a_screen() {
    let found = windows(&Question { bands: true, ..question(all_scenarios()) });
    let [summary, report] =
        [found.summary(), found.report()].map(|f| kneedamp::report::findings::terminal(&f));
    let lines: usize = summary.lines().map(|l| l.trim_end().chars().count().div_ceil(100).max(1)).sum();
    assert!(lines <= 40, "{lines} lines:\n{summary}");
    let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let (summary, report) = (flat(&summary), flat(&report));
    for s in &found.people[0].settings {
        assert!(summary.contains(&s.answer()), "{summary}");
        assert!(report.contains(&s.sentence()), "{report}");
        for range in &s.reachable().window.ranges {
            let row = format!("{:.1} to {:.1} %", range.min_pct, range.max_pct);
            assert!(summary.contains(&row), "{row} in {summary}");
        }
        for l in s.limits.iter().filter(|l| !l.window.window.is_whole()) {
            let row = format!("{} {}", s.setting, l.limit.label());
            assert!(report.contains(&row), "{row} in {report}");
        }
    }
    for v in &found.variations {
        assert!(report.contains(&v.in_words()), "{}", v.in_words());
    }
}

/// Bands: the window as set lies within them, tighter edges within wider ones.
#[test]
fn studies_window_bands() {
    let (q, found) = banded();
    assert_eq!(found.variations.len(), 1 + 2 * JUDGED.len() + 2);
    for s in &found.people[0].settings {
        for b in s.limits.iter().map(|l| &l.window).chain([&s.all]) {
            assert_eq!(b.variations.len(), found.variations.len() - 1);
            for p in &b.window.ranges {
                let [min, max] = b.bands(p);
                assert!(min.least_pct <= p.min_pct && p.min_pct <= min.most_pct);
                assert!(max.least_pct <= p.max_pct && p.max_pct <= max.most_pct);
            }
        }
    }
    let s = of(found, StanceYield);
    let drop = s
        .limits
        .iter()
        .find(|l| l.limit.key() == "stairs-down: peak_rate_deg_per_s")
        .expect("a limit of the stairs");
    let edge = |v: Variation| {
        let w = &drop.window.variations.iter().find(|x| x.0 == v).expect("varied").1;
        w.ranges[0].min_pct
    };
    let (tighter, wider) =
        (edge(Variation::Edges { tighter: true }), edge(Variation::Edges { tighter: false }));
    let own = drop.window.window.ranges[0].min_pct;
    assert!(wider < own && own < tighter, "{wider} {own} {tighter}");
    // the rate at the moved edge is the moved limit: 0.8 of it, by a trial of its own
    let stairs = &q.scenarios[1];
    let rate = assess(&q.setup, stairs, StanceYield, tighter).outcomes.number("peak_rate_deg_per_s");
    assert!((rate.expect("a rate") / (0.8 * 171.887) - 1.0).abs() < 0.02, "{rate:?}");
}

/// What a variation does not reach is not run again: the same as running it.
#[test]
fn studies_window_shortcuts_change_nothing() {
    let (q, with) = banded();
    let mut moved = Question { bands: false, ..q.clone() };
    moved.scenarios.truncate(1);
    let Activity::Walk(w) = &mut moved.scenarios[0].activity else { panic!("walks") };
    w.landing.hip_moment.used_n_m_per_kg = 0.3;
    let own = windows(&moved);
    let variation = Variation::Judged { key: "hip_moment_n_m_per_kg", value: 0.3 };
    for (a, b) in with.people[0].settings.iter().zip(&own.people[0].settings) {
        for (x, y) in a.limits.iter().zip(&b.limits) {
            let varied = &x.window.variations.iter().find(|v| v.0 == variation).expect("varied").1;
            assert_eq!(*varied, y.window.window, "{} {}", a.setting, x.limit.key());
        }
    }
}

#[test]
fn studies_window_map_agrees_with_trials_and_windows() {
    let q = Question { bands: true, ..question(scenarios(&["walk-hurried", "stairs-down"])) };
    let map = joint_map(&q, [SwingFlexion, StanceYield], 3, &|| ()).expect("runs");
    assert_eq!(map.cells.len(), 9);
    for (i, cell) in map.cells.iter().enumerate() {
        let (x, y) = map.at(i);
        let mut setup = q.setup.clone();
        setup.settings.set(StanceYield, kneedamp::units::Setting::clamped(y / 100.0));
        let worst = q.scenarios.iter().map(|s| assess(&setup, s, SwingFlexion, x).worst_margin());
        let worst = worst.fold(f64::INFINITY, f64::min);
        assert!((cell.tightest.margin - worst).abs() < 1e-3, "{x} {y}: {} {worst}", cell.tightest.margin);
        let (least, most) = cell.band.expect("bands");
        assert!(least <= cell.tightest.margin && cell.tightest.margin <= most);
    }
    let picture = map.map(&q);
    assert_eq!(picture.panels[0].cells.len(), 9);
    assert!(
        picture.panels[0]
            .cells
            .iter()
            .all(|c| picture.letters.iter().any(|l| l.0.eq_ignore_ascii_case(&c.letter)))
    );
}

/// Every cell has the verdict of a run of its own; what is doubtful is neither counted as within nor framed.
#[test]
fn studies_window_map_has_three_verdicts() {
    use kneedamp::findings::CellMark;
    let q = question(scenarios(&["stumble"]));
    let map = joint_map(&q, [StanceYield, CatchLoad], 5, &|| ()).expect("runs");
    let picture = map.map(&q);
    let mut within = 0;
    let mut doubtful = 0;
    for (i, cell) in map.cells.iter().enumerate() {
        let (x, y) = map.at(i);
        let mut setup = q.setup.clone();
        setup.settings.set(CatchLoad, kneedamp::units::Setting::clamped(y / 100.0));
        let alone = assess(&setup, &q.scenarios[0], StanceYield, x).verdict();
        assert_eq!(cell.tightest.verdict, alone, "{x} {y}");
        let mark = picture.panels[0].cells[i].mark;
        assert_eq!(mark == CellMark::Within, alone == TrialVerdict::Within, "{x} {y}");
        assert_eq!(mark == CellMark::Doubtful, alone == TrialVerdict::Doubtful, "{x} {y}");
        within += usize::from(alone == TrialVerdict::Within);
        doubtful += usize::from(alone == TrialVerdict::Doubtful);
    }
    assert!(within > 0 && doubtful > 0, "{within} within, {doubtful} doubtful");
    assert_eq!((map.count(TrialVerdict::Within), map.count(TrialVerdict::Doubtful)), (within, doubtful));
}

/// The labels of the axes of a small map end within the cells that they name.
#[test]
fn studies_window_small_map_has_room_for_its_labels() {
    let q = question(scenarios(&["stand"]));
    let map = joint_map(&q, [StanceYield, CatchLoad], 2, &|| ()).expect("runs");
    let text = kneedamp::report::map::svg(&map.map(&q));
    let picture = roxmltree::Document::parse(&text).expect("well formed");
    let number =
        |n: &roxmltree::Node, key: &str| n.attribute(key).expect(key).parse::<f64>().expect("number");
    let cells: Vec<_> = picture
        .descendants()
        .filter(|n| n.has_tag_name("rect") && n.attribute("x").is_some())
        .take(4)
        .collect();
    let right = cells.iter().map(|n| number(n, "x") + number(n, "width")).fold(0.0, f64::max);
    let label = picture
        .descendants()
        .find(|n| n.has_tag_name("text") && n.text().is_some_and(|t| t.starts_with("stance-yield, %")))
        .expect("the label of x");
    let half = 0.5 * 12.0 * 0.5 * label.text().expect("text").chars().count() as f64;
    assert!(number(&label, "x") + half <= right + 1.0, "{right}: {label:?}");
    assert!(number(&label, "x") - half >= 0.0);
}

/// Chair, ramp and stairs know no cadence: their ranges are the same at each.
#[test]
fn studies_window_over_cadence() {
    let mut q = question(scenarios(&["walk-comfortable", "sit-down"]));
    q.cadences_steps_per_min = vec![90.0, 110.0];
    let found = windows(&q);
    let [slow, quick] = found.people.as_slice() else { panic!("two") };
    let flexion = |c: &kneedamp::study::window::PersonWindows, key: &str| {
        let l = c.settings[0].limits.iter().find(|l| l.limit.key() == key).expect("a limit");
        l.window.window.clone()
    };
    assert_eq!(flexion(slow, "sit-down: sit_time_s"), flexion(quick, "sit-down: sit_time_s"));
    let margin = "walk-comfortable: extension_margin_ms";
    let edge = |c| flexion(c, margin).ranges[0].min_pct;
    assert!(
        edge(quick) > edge(slow) + 10.0,
        "quick steps want more resistance: {} {}",
        edge(slow),
        edge(quick)
    );
}

#[test]
fn studies_window_refuses_what_makes_no_sense() {
    let said = |q: Question| Plan::new(&q).expect_err("refused").to_string();
    let q = || question(scenarios(&["sit-down"]));
    assert!(said(Question { without: vec!["sit_time".into()], ..q() }).contains("sit_time_s"));
    let all = vec!["sit_time_s".to_owned(), "seat_speed_m_per_s".to_owned()];
    assert!(said(Question { without: all, ..q() }).contains("no binding limit"));
    assert!(said(Question { masses_kg: vec![20.0], ..q() }).contains("30 to 200"));
    let mut locked = q();
    locked.setup.knee.locked = true;
    let error = Plan::new(&locked).and_then(|p| p.run(&|| ())).expect_err("cannot run");
    assert!(matches!(&error, SimError::Usage(m) if m.contains("locked")), "{error}");
    let twice = joint_map(&q(), [CatchLoad, CatchLoad], 3, &|| ());
    assert!(twice.expect_err("refused").to_string().contains("two different"));
    assert!(joint_map(&q(), [CatchLoad, StanceYield], 1, &|| ()).is_err());
    assert!(joint_map(&q(), [CatchLoad, StanceYield], 1000, &|| ()).is_err());
}

/// A scenario that runs at some positions only counts as outside where it does not, and says so.
#[test]
fn studies_window_where_a_scenario_cannot_run() {
    let mut q = question(scenarios(&["walk-comfortable", "sit-down"]));
    q.setup.speed_m_per_s = Some(4.5);
    let found = windows(&q);
    assert!(
        found.notes.iter().any(|n| n.contains("walk-comfortable") && n.contains("outside")),
        "{:?}",
        found.notes
    );
    let s = of(&found, StanceYield);
    let nowhere: Vec<String> = s.nowhere.iter().map(LimitRef::key).collect();
    assert!(s.all.window.is_empty());
    assert_eq!(nowhere, ["walk-comfortable: cannot run"]);
    assert!(!s.rest.as_ref().expect("the chair").window.is_empty());
}

#[test]
fn golden_window_of_the_built_in_example() {
    let q = Question { bands: true, ..question(scenarios(&["sit-down", "stairs-down", "stumble"])) };
    let found = windows(&q);
    let edges = |w: &kneedamp::study::window::Window| -> Json {
        let part = |p: &PositionRange| {
            json!([p.min_pct, p.max_pct, key(p.min_closed_by.as_ref()), key(p.max_closed_by.as_ref())])
        };
        w.ranges.iter().map(part).collect()
    };
    let setting = |s: &SettingWindow| {
        let varied: Vec<Json> =
            s.reachable().variations.iter().map(|(v, w)| json!([v.label(), edges(w)])).collect();
        json!({
            "setting": s.setting.as_str(),
            "all": edges(&s.all.window),
            "rest": s.rest.as_ref().map(|r| edges(&r.window)),
            "nowhere": s.nowhere.iter().map(LimitRef::key).collect::<Vec<_>>(),
            "limits": s.limits.iter().map(|l| json!([l.limit.key(), edges(&l.window.window)])).collect::<Vec<_>>(),
            "varied": varied,
        })
    };
    let now: Json = found.people[0].settings.iter().map(setting).collect();
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/golden/studies/window.json");
    if std::env::var_os("KNEEDAMP_BLESS").is_some() {
        std::fs::write(&path, serde_json::to_string_pretty(&now).expect("JSON") + "\n").expect("writes");
        return;
    }
    let was: Json =
        serde_json::from_str(&std::fs::read_to_string(&path).expect("golden file")).expect("JSON");
    close(&now, &was, "windows");
}

/// Equal but for edges one step of the fine grid apart.
fn close(a: &Json, b: &Json, at: &str) {
    match (a, b) {
        (Json::Number(x), Json::Number(y)) => {
            let (x, y) = (x.as_f64().expect("number"), y.as_f64().expect("number"));
            assert!((x - y).abs() <= ONE_STEP_PCT, "{at}: {x} was {y}");
        }
        (Json::Array(x), Json::Array(y)) => {
            assert_eq!(x.len(), y.len(), "{at}");
            x.iter().zip(y).enumerate().for_each(|(i, (p, q))| close(p, q, &format!("{at}[{i}]")));
        }
        (Json::Object(x), Json::Object(y)) => {
            assert!(x.keys().eq(y.keys()), "{at}");
            x.iter().for_each(|(k, v)| close(v, &y[k], &format!("{at}.{k}")));
        }
        _ => assert_eq!(a, b, "{at}"),
    }
}

/// Strides that are remembered are the ones that would have been run: along a stance setting the stride with a valve
/// that never closes is one, along a swing setting it is another each time.
#[test]
fn studies_window_remembered_strides_change_nothing() {
    let scenario = &scenarios(&["walk-comfortable"])[0];
    let detail = Detail { never_closing: true, ..Detail::NONE };
    for (setting, same) in [(CatchLoad, true), (StanceYield, true), (SwingFlexion, false)] {
        let cache = Arc::new(StrideCache::default());
        let strides: Vec<_> = [10.0, 30.0, 50.0]
            .map(|pct| {
                let mut case = Case { setup: setup(), scenario: scenario.clone() };
                case.set(setting.as_str(), pct).expect("within its range");
                let trial = case.trial(detail, Tolerances::scan()).expect("runs");
                let loss = |t: &Trial| {
                    let Motion::Walk(w) = t.run().expect("runs") else { panic!("walks") };
                    let beside = w.never_closing.expect("asked for");
                    ((beside.peak().1 - w.stride.peak().1).to_bits(), beside)
                };
                let (anew, remembered) =
                    (loss(&trial), loss(&Trial { stride_cache: Some(cache.clone()), ..trial }));
                assert_eq!(anew.0, remembered.0, "{setting} {pct}");
                remembered.1
            })
            .into_iter()
            .collect();
        assert_eq!(Arc::ptr_eq(&strides[0], &strides[2]), same, "{setting}");
    }
}
