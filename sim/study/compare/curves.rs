//! The knee's curves of a comparison: one set of axes per scenario that moves, one series per variant.

use super::{LETTERS, Ran, Scene};
use crate::findings::{Mark, Panel, Plot, Series};
use crate::motion::Motion;
use crate::motion::trace::Trace;
use crate::quantity::DEG;
use crate::study::Variant;

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
pub(super) fn plot(scene: &Scene, variants: &[Variant]) -> Option<Plot> {
    let moving: Vec<(usize, &Ran)> = scene
        .runs
        .iter()
        .enumerate()
        .filter_map(|(i, r)| r.as_ref().ok().map(|r| (i, r)))
        .filter(|(_, r)| !r.curve.is_empty())
        .collect();
    let (_, first) = moving.first()?;
    let named = |i: usize| format!("{}: {}", LETTERS[i], variants[i].name());
    let series = |(i, r): &(usize, &Ran)| Series { label: named(*i), points: r.curve.clone() };
    let panel = Panel {
        y_label: "knee flexion, °".into(),
        series: moving.iter().map(series).collect(),
        marks: moving.iter().filter_map(|(i, r)| straight(LETTERS[*i], r)).collect(),
        bands: vec![],
        height: 1.0,
    };
    let walking = first.toe_off_pct;
    Some(Plot {
        title: format!("Knee flexion, {}", scene.scenario.name),
        subtitle: moving.iter().map(|(i, _)| named(*i)).collect::<Vec<_>>().join(" · "),
        x_label: if walking.is_some() { "stride, %" } else { "time, s" }.into(),
        instants: walking
            .map(|t| vec![(t, "toe-off".to_owned()), (100.0, "heel contact".to_owned())])
            .unwrap_or_default(),
        panels: vec![panel],
    })
}

/// Where a stride is straight.
fn straight(letter: &str, r: &Ran) -> Option<Mark> {
    let at = r.assessment.outcomes.number("full_extension_pct")?;
    let nearest = r.curve.iter().min_by(|a, b| (a.0 - at).abs().total_cmp(&(b.0 - at).abs()))?;
    Some(Mark { label: format!("{letter} straight"), at: *nearest })
}
