//! The knee's curves of a comparison: one set of axes per scenario that moves, one series per variant.

use super::{LETTERS, Ran, Scene};
use crate::findings::{Mark, Panel, Plot, Series};
use crate::motion::Motion;
use crate::motion::trace::Trace;
use crate::quantity::DEG;
use crate::study::{Setup, Variant};

/// Step of the curves, s.
const CURVE_STEP_S: f64 = 2e-3;

/// Knee flexion over the trace's stride fraction, or over its time.
pub(super) fn curve(motion: &Motion) -> Vec<(f64, f64)> {
    let Some(trace) = Trace::of(motion, CURVE_STEP_S) else { return Vec::new() };
    let column = |name: &str| trace.columns.iter().position(|c| *c == name);
    let x = column("stride_pct").unwrap_or(0);
    let Some(y) = column("knee_rad") else { return Vec::new() };
    trace.rows.iter().map(|r| (r[x], r[y] / DEG)).collect()
}

/// The plot of a scenario; none for one that does not move.
pub(super) fn plot(base: &Setup, scene: &Scene, variants: &[Variant]) -> Option<Plot> {
    let moving: Vec<(usize, &Ran)> = scene
        .runs
        .iter()
        .enumerate()
        .filter_map(|(i, r)| r.as_ref().ok().map(|r| (i, r)))
        .filter(|(_, r)| !r.curve.is_empty())
        .collect();
    let walking = moving.first()?.1.toe_off_pct.is_some();
    let named = |i: usize| format!("{}: {}", LETTERS[i], variants[i].name());
    let series = |(i, r): &(usize, &Ran)| Series { label: named(*i), points: r.curve.clone() };
    let panel = Panel {
        y_label: "knee flexion, °".into(),
        series: moving.iter().map(series).collect(),
        marks: moving.iter().filter_map(|(i, r)| straight(LETTERS[*i], r)).collect(),
        bands: vec![],
        height: 1.0,
        at_least: None,
    };
    Some(Plot {
        title: format!("Knee flexion, {}", scene.scenario.name),
        subtitle: format!(
            "base: person {}, prosthesis {}, knee {}",
            base.person.name, base.prosthesis.name, base.knee.name
        ),
        x_label: if walking { "stride, %" } else { "time, s" }.into(),
        instants: if walking { instants(&moving) } else { vec![] },
        panels: vec![panel],
    })
}

/// Toe-off, once if it is the same for all, and heel contact.
fn instants(moving: &[(usize, &Ran)]) -> Vec<(f64, String)> {
    let at: Vec<(f64, &str)> =
        moving.iter().filter_map(|(i, r)| r.toe_off_pct.map(|t| (t, LETTERS[*i]))).collect();
    let same = at.iter().all(|(t, _)| (t - at[0].0).abs() < 0.05);
    let mut out: Vec<(f64, String)> = if same {
        at.first().map(|(t, _)| (*t, "toe-off".to_owned())).into_iter().collect()
    } else {
        at.iter().map(|(t, letter)| (*t, format!("{letter} toe-off"))).collect()
    };
    out.push((100.0, "heel contact".to_owned()));
    out
}

/// Where a stride is straight.
fn straight(letter: &str, r: &Ran) -> Option<Mark> {
    let at = r.assessment.outcomes.number("full_extension_pct")?;
    let nearest = r.curve.iter().min_by(|a, b| (a.0 - at).abs().total_cmp(&(b.0 - at).abs()))?;
    Some(Mark { label: format!("{letter} straight"), at: *nearest })
}
