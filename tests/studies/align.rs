//! Alignment: the shifted foot in every engine, and the study of it.

use approx::assert_abs_diff_eq;
use std::sync::LazyLock;

use crate::common::{self, drive, knee, library, person, reference_shank, trial};
use crate::golden;
use kneedamp::body::Alignment;
use kneedamp::case::setup::Setup;
use kneedamp::error::SimError;
use kneedamp::joint::{SettingName, Settings};
use kneedamp::motion::Motion;
use kneedamp::motion::sitting::{SitRun, SitSystem, state as sit};
use kneedamp::motion::stance_leg::Segments;
use kneedamp::motion::trial::Detail;
use kneedamp::numerics::hybrid::State;
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::outcome::Outcomes;
use kneedamp::report;
use kneedamp::scenario::{Activity, Footing, Region};
use kneedamp::study::align::{AlignmentResult, AlignmentStudy, Criterion, SLOPE_DEG, ShiftRange, Tasks};
use kneedamp::units::{DEG, Setting};

fn setup() -> Setup {
    common::setup("75-kg", "built-in")
}

fn tasks() -> Tasks {
    let task = |name: &str| library().scenario(name).expect("shipped");
    Tasks {
        stand: task("stand"),
        walk: task("walk-comfortable"),
        stumble: task("stumble"),
        sit: task("sit-down"),
        ramp: task("ramp-down-8-deg"),
        stairs: task("stairs-down"),
    }
}

fn align(setup: &Setup, shifts_m: &[f64]) -> Result<AlignmentResult, SimError> {
    let study = AlignmentStudy { setup: setup.clone(), tasks: tasks(), shifts_m: shifts_m.to_vec() };
    study.run(&|| {})
}

fn found(setup: &Setup) -> AlignmentResult {
    align(setup, &[-0.06, -0.04, -0.02, -0.01, 0.0, 0.01, 0.02, 0.04, 0.06]).expect("runs")
}

/// Of the shipped example.
static FOUND: LazyLock<AlignmentResult> = LazyLock::new(|| found(&setup()));

fn range(found: &AlignmentResult, criterion: Criterion) -> ShiftRange {
    let of = found.ranges.iter().find(|(c, _)| *c == criterion).expect("every criterion");
    of.1.clone().expect("holds somewhere")
}

fn shifted(foot_shift_m: f64) -> Alignment {
    Alignment { foot_shift_m, foot_tilt_deg: 0.0 }
}

/// The picture has the limits of walking and standing, the ranges in which they hold, the foot as it is; where the valve
/// begins to let go, peak flexion jumps by more than 20°, and no line leads over it.
#[test]
fn align_plot_has_limits_ranges_position_and_no_bridged_jump() {
    let shifts = [-0.02, 0.02];
    let study = AlignmentStudy { setup: setup(), tasks: tasks(), shifts_m: shifts.to_vec() };
    let (found, curve) = (study.run(&|| {}).expect("runs"), study.curve().expect("runs"));
    let plot = found.plot(&curve);
    let release = range(&found, Criterion::ReleasesInTime);
    assert_eq!(plot.spans.len(), 2);
    assert!(plot.spans[0].range.0 <= plot.spans[1].range.0 && plot.spans[1].range.1 <= plot.spans[0].range.1);
    assert!((plot.instants[0].0 - 1e3 * found.unshifted.load_line_ahead_m).abs() < 1e-9);
    let panel = |begin: &str| plot.panels.iter().find(|p| p.y_label.starts_with(begin)).expect("a panel");
    assert_eq!(panel("Moment").limits, Some((Some(0.0), None)));
    let peak = panel("Peak flexion in swing");
    let limit = tasks().walk.limits.into_iter().find(|l| l.outcome == "peak_flexion_deg").expect("a limit");
    assert_eq!(peak.limits, Some((limit.min, limit.max)));
    let points = &peak.series[0].points;
    let steps = points.windows(2).map(|p| (p[1].1 - p[0].1).abs()).filter(|d| d.is_finite());
    let largest = steps.fold(0.0, f64::max);
    assert!(largest < 5.0, "{largest}° from one point to the next");
    let gap = points.iter().position(|p| p.1.is_nan()).expect("a gap");
    assert!(points[gap + 1].1 - points[gap - 1].1 > 20.0, "{:?}", &points[gap - 1..=gap + 1]);
    assert!((points[gap].0 - 1e3 * release.near.load_line_m).abs() < 1.5, "{:?}", points[gap]);
}

/// The knee axis moves back over the foot by the shift, at right angles to the shank, in every region;
/// the centre of pressure moves forward against it.
#[test]
fn align_footing_by_hand() {
    for (foot, region) in [
        (Footing::rolling(1.75), Region::Arc),
        (Footing::rolling(1.75), Region::Heel),
        (Footing::rolling(1.75), Region::Toe),
        (Footing::edge(1.75), Region::Arc),
    ] {
        for shift in [-0.06, -0.02, 0.0, 0.035] {
            for beta in [-0.5, -0.1, 0.0, 0.2, 0.4] {
                let moved = foot.aligned(shifted(shift), 1.75);
                let (a, b) = (foot.knee(region, beta, 0.5), moved.knee(region, beta, 0.5));
                let f = [f64::cos(beta), -f64::sin(beta)];
                let u = [f64::sin(beta), f64::cos(beta)];
                for x in 0..2 {
                    assert_abs_diff_eq!(b.at[x], (a.at[x] - shift * f[x]), epsilon = 1e-15);
                    assert_abs_diff_eq!(b.first[x], (a.first[x] + shift * u[x]), epsilon = 1e-15);
                    assert_abs_diff_eq!(b.second[x], (a.second[x] + shift * f[x]), epsilon = 1e-15);
                }
                let moved = b.centre_of_pressure_m - a.centre_of_pressure_m;
                assert_abs_diff_eq!(moved, shift, epsilon = 1e-15);
            }
        }
    }
}

/// Valve under a straight knee against a fourth-order integration of our own, with the centre of
/// pressure shifted here and w(x) written out.
#[test]
fn align_stance_valve_against_own_integration() {
    let who = person(75.0, 1.75);
    let plain = drive(&who, 1.1, None);
    let joint = knee("built-in");
    let v = &joint.stance;
    for shift in [-0.06, -0.03, 0.0, 0.02, 0.06] {
        let run = kneedamp::motion::stride::Stride::run(
            plain.clone().aligned(shifted(shift)),
            joint.clone(),
            &who,
            reference_shank(),
            0.0,
            &Tolerances::default(),
        );
        let run = run.expect("runs");
        let rate = |t: f64, z: f64| {
            let x = plain.centre_of_pressure_m(t) + shift;
            let w = ((v.release_distance_m - x) / (v.release_distance_m + 0.04)).clamp(0.0, 1.0);
            let s = plain.load_bw(t) * w;
            let arg = (s - v.catch_load_n / who.weight_n() + v.hysteresis_bw * z) / v.width_bw;
            (1.0 / (1.0 + (-arg).exp()) - z) / v.lag_s
        };
        let n = 40_000;
        let h = plain.preswing_start_s / f64::from(n);
        let mut z = 0.0;
        for i in 0..n {
            let t = h * f64::from(i);
            let a = rate(t, z);
            let b = rate(t + 0.5 * h, z + 0.5 * h * a);
            let c = rate(t + 0.5 * h, z + 0.5 * h * b);
            let d = rate(t + h, z + h * c);
            z += h / 6.0 * (a + 2.0 * b + 2.0 * c + d);
        }
        let found = run.valve_trajectory.end.1[0];
        assert!((found - z).abs() < 1e-8, "shift {shift}: {found} against {z}");
    }
}

/// Sitting on a foot further forward is sitting with the centre of pressure further forward.
#[test]
fn align_sitting_by_its_lever() {
    let shank = reference_shank();
    let Activity::Sit(plain) = library().scenario("sit-down").expect("shipped").activity else {
        panic!("sits")
    };
    let mut forward = plain.clone();
    forward.centre_of_pressure_m += 0.015;
    let level = Segments::of(&person(75.0, 1.75), &shank);
    let aligned = level.aligned(shifted(0.015));
    let run = |s, segments| {
        SitRun::run(s, segments, &knee("built-in"), None, &Tolerances::default())
            .expect("runs")
            .trajectory
            .end
    };
    let (a, b) = (run(&plain, aligned), run(&forward, level));
    assert!((a.0 - b.0).abs() < 1e-9 && (a.1 - b.1).amax() < 1e-9);
    assert!(a.0 > run(&plain, level).0 + 0.1, "and slower");
    // the bending moment at rest is smaller by ms g s
    let acc = |segments: Segments| {
        let flow = SitSystem { knee: knee("built-in").under_load(), segments, sit: plain.clone() };
        let mut y = State::<{ sit::COUNT }>::zeros();
        y[sit::PHI] = 0.5;
        let f = flow.forces(kneedamp::numerics::events::Mode::default(), &y);
        let h = flow.hip_height(0.5);
        f.acc * (flow.moved_mass() * h.first * h.first + flow.rest_inertia())
    };
    let expected = -plain.share * 75.0 * 9.81 * 0.015;
    assert_abs_diff_eq!(acc(aligned) - acc(level), expected, epsilon = 1e-9);
}

/// At 75 kg and 1.75 m on paper: R 0.3325, e 0.05, Lt 0.42875, L1 0.49875 m, N 367.875 N.
#[test]
fn align_standing_by_hand() {
    let found = &*FOUND;
    for row in &found.rows {
        let line = 0.42875 * (0.05 + row.shift_m) / 0.595;
        assert_abs_diff_eq!(row.standing.load_line_ahead_m, line, epsilon = 1e-12);
        assert_abs_diff_eq!(row.standing.extension_moment_n_m, 367.875 * line, epsilon = 1e-9);
        assert_abs_diff_eq!(row.standing.slope_limit_rad, (0.05 + row.shift_m) / 0.3325, epsilon = 1e-12);
        let to_bend = 367.875 * line * 0.9275 / 0.49875;
        assert_abs_diff_eq!(row.standing.hip_moment_to_bend_n_m, to_bend, epsilon = 1e-9);
    }
    let slope = range(found, Criterion::StandsOnSlope);
    let edge = 0.3325 * SLOPE_DEG * DEG - 0.05;
    assert!((slope.near.shift_m - edge).abs() < 1e-5, "{} against {edge}", slope.near.shift_m);
    assert_abs_diff_eq!(slope.near.load_line_m, 0.42875 * (edge + 0.05) / 0.595, epsilon = 1e-5);
    assert!(slope.far.closed_by.is_none());
}

/// Every edge is one: what closes it is broken 0.1 mm outside and holds 0.1 mm inside, by single runs.
#[test]
fn align_edges_are_edges() {
    let found = &*FOUND;
    let late = |shift: f64| {
        let mut t = trial("walk-comfortable");
        t.alignment.foot_shift_m = shift;
        t.detail = Detail { landing: false, hip_band: false, ..Detail::default() };
        Outcomes::of(&t.run().expect("runs")).number("late_release_loss_deg").expect("compared")
    };
    let release = range(found, Criterion::ReleasesInTime);
    assert!(late(release.near.shift_m + 1e-4) <= 5.0 && late(release.near.shift_m - 1e-4) > 5.0);
    let sits = |shift: f64| {
        let mut t = trial("sit-down");
        t.alignment.foot_shift_m = shift;
        Outcomes::of(&t.run().expect("runs")).number("sit_time_s").expect("sits")
    };
    let chair = range(found, Criterion::Chair);
    assert!(sits(chair.far.shift_m - 1e-4) < 2.6 && sits(chair.far.shift_m + 1e-4) > 2.6);
    // the range of several is the narrowest
    let all = found.common(&Criterion::ALL).expect("a range");
    for (_, one) in &found.ranges {
        let one = one.as_ref().expect("holds somewhere");
        assert!(one.near.shift_m <= all.near.shift_m && one.far.shift_m >= all.far.shift_m);
    }
}

/// A load line further in front: standing firmer, harder to bend, released earlier (common practice).
#[test]
fn align_trends() {
    let found = &*FOUND;
    let walk = |i: usize, key: &str| found.rows[i].runs[0].as_ref().expect("walks").outcomes.number(key);
    for i in 4..found.rows.len() {
        assert!(walk(i, "release_pct") < walk(i - 1, "release_pct"), "{i}");
    }
    assert!(walk(0, "late_release_loss_deg") > Some(20.0), "far back it is not released in time");
    assert!(walk(4, "late_release_loss_deg") < Some(0.1));
}

/// The figures in the text of `body::alignment` on masses that do not move with the foot.
#[test]
fn align_masses_of_foot_and_shoe_matter_little() {
    let walk = |ahead: f64| {
        let mut prosthesis = library().prosthesis("typical").expect("shipped");
        for part in prosthesis.parts.iter_mut().filter(|p| p.part == "foot" || p.part == "shoe") {
            part.ahead_m += ahead;
        }
        let mut t = trial("walk-comfortable");
        t.shank = prosthesis.shank().expect("checked");
        t.detail = Detail::NONE;
        let found = Outcomes::of(&t.run().expect("runs"));
        ["peak_flexion_deg", "extension_margin_ms", "heel_contact_flexion_deg", "release_pct"]
            .map(|key| found.number(key).expect("reached"))
    };
    let (plain, moved) = (walk(0.0), walk(0.03));
    for (i, (figure, half)) in [(0.57, 0.05), (-8.1, 0.5), (0.24, 0.05), (0.0, 1e-3)].into_iter().enumerate()
    {
        let change = moved[i] - plain[i];
        assert!((change - figure).abs() <= half, "{i}: {change}");
    }
}

/// Every task at every millimetre either runs or says that the foot would lift.
#[test]
fn align_no_shift_upsets_an_engine() {
    for name in ["walk-comfortable", "stumble", "sit-down", "ramp-down-8-deg", "stairs-down"] {
        for mm in (-60..=60).step_by(4) {
            let mut t = trial(name);
            t.alignment.foot_shift_m = f64::from(mm) / 1e3;
            t.tolerances = Tolerances::scan();
            t.detail = Detail { landing: true, ..Detail::NONE };
            match t.run() {
                Ok(motion) => {
                    assert!(motion.energy_residual() < 1e-6);
                    if let Motion::Walk(w) = &motion {
                        assert!(w.landing.is_ok(), "{name} {mm} mm");
                    }
                }
                Err(e) => assert!(e.to_string().contains("lift"), "{name} {mm} mm: {e}"),
            }
        }
    }
}

#[test]
fn align_says_when_a_range_is_missing() {
    let mut locked = setup();
    locked.knee.locked = true;
    let without = found(&locked);
    let text = without.findings().text.join("\n");
    assert!(text.contains("do not hold together"), "{text}");
    assert!(text.contains("release in walking"), "{text}");
    let why = report::findings::terminal(&without.findings());
    assert!(why.contains("holds nowhere: cannot run: the joint is locked straight"), "{why}");
    assert!(without.common(&Criterion::ALL).is_none());
    let mut light = setup();
    light.person = library().person("50-kg").expect("shipped");
    let text = found(&light).findings().text.join("\n");
    assert!(text.contains("mm for sitting down, else") && text.contains("mm for stairs, else"), "{text}");
    let mut stiff = setup();
    stiff.alignment.foot_shift_m = 0.07;
    assert!(align(&stiff, &[0.0]).is_err());
    assert!(align(&setup(), &[0.07]).is_err());
}

/// Reviewed findings; edges to 0.1 mm.
#[test]
fn align_golden() {
    let mut findings = FOUND.findings();
    for row in &mut findings.tables[1].rows {
        for cell in row {
            if let kneedamp::findings::Cell::Number(v, 1) = cell {
                *v = (*v * 10.0).round() / 10.0;
            }
        }
    }
    golden::findings("align", &findings);
}

/// A ramp that can be followed with the hip moment used, but not over the whole band of it.
#[test]
fn align_an_end_of_the_band_that_lifts_the_foot_does_not_void_the_run() {
    let mut t = trial("ramp-down-8-deg");
    let mut settings = Settings::default();
    settings.set(SettingName::SwingFlexion, Setting::clamped(0.0));
    settings.set(SettingName::SwingExtension, Setting::clamped(0.30));
    settings.set(SettingName::StanceYield, Setting::clamped(0.30));
    settings.set(SettingName::CatchLoad, Setting::clamped(0.12));
    t.knee = library().knee("built-in").expect("shipped").resolve(&settings, None).expect("resolves");
    let found = Outcomes::of(&t.run().expect("the run itself stays on the ground"));
    assert_eq!(
        found.get("what_happens").and_then(kneedamp::outcome::Value::as_word),
        Some(kneedamp::outcome::OutcomeWord::Yields)
    );
    let ends = ["what_happens_at_least_hip_moment", "what_happens_at_most_hip_moment"].map(|k| found.get(k));
    assert!(ends.contains(&Some(kneedamp::outcome::Value::NotReached)), "{ends:?}");
}
