//! The knee's curves of a comparison: one picture per scenario that moves, one curve per variant.

use super::{LETTERS, Ran, Scene};
use crate::case::setup::Setup;
use crate::case::variant::Variant;
use crate::findings::{Band, Mark, Panel, Plot, Series};
use crate::motion::sample::{KneeSample, Samples};
use crate::motion::{Motion, Trial};
use crate::study::survey::plot::able_bodied;
use crate::units::DEG;

/// Step of the curves, s.
const CURVE_STEP_S: f64 = 2e-3;

/// What one variant does in one scenario, over stride, % (walking), or time, s.
#[derive(Debug, Clone, Default)]
pub struct Curves {
    /// Knee flexion, °.
    pub flexion_deg: Vec<(f64, f64)>,
    /// Torque of the damper, N m; positive bends.
    pub damper_n_m: Vec<(f64, f64)>,
    /// Stance valve, 0 open, 1 closed.
    pub valve: Vec<(f64, f64)>,
    /// The published able-bodied knee and its scatter, for walking.
    pub able_bodied: Option<(Series, Option<Band>)>,
}

impl Curves {
    /// Empty for what does not move.
    pub(super) fn of(trial: &Trial, motion: &Motion) -> Self {
        let Some(samples) = Samples::of(motion, CURVE_STEP_S) else { return Self::default() };
        let knee = samples.knee();
        let curve = |y: fn(&KneeSample) -> f64| -> Vec<(f64, f64)> {
            knee.iter().map(|k| (k.stride_pct.unwrap_or(k.t_s), y(k))).collect()
        };
        let flexion_deg = curve(|k| 1.0 / DEG * k.flexion_rad);
        let able_bodied = match motion {
            Motion::Walk(w) => {
                let sd = trial.drive.as_ref().and_then(|d| d.knee_flexion_sd_deg);
                Some(able_bodied(&w.stride, &flexion_deg, sd))
            }
            _ => None,
        };
        Self { flexion_deg, damper_n_m: curve(|k| k.damper_n_m), valve: curve(|k| k.valve), able_bodied }
    }
}

/// The picture of a scenario; none for one that does not move.
pub(super) fn plot(base: &Setup, scene: &Scene, variants: &[Variant]) -> Option<Plot> {
    let moving: Vec<(usize, &Ran)> = scene
        .runs
        .iter()
        .enumerate()
        .filter_map(|(i, r)| r.as_ref().ok().map(|r| (i, r)))
        .filter(|(_, r)| !r.curves.flexion_deg.is_empty())
        .collect();
    let first = moving.first()?.1;
    let panel = |y_label: &str, height: f64, of: fn(&Curves) -> &Vec<(f64, f64)>| Panel {
        y_label: y_label.into(),
        // what a letter stands for is said once, in the subtitle
        series: moving
            .iter()
            .map(|(i, r)| Series { label: LETTERS[*i].into(), points: of(&r.curves).clone() })
            .collect(),
        height,
        ..Panel::default()
    };
    let mut flexion = panel("Knee flexion (deg)", 1.3, |c| &c.flexion_deg);
    flexion.marks = moving.iter().filter_map(|(i, r)| straight(LETTERS[*i], r)).collect();
    // at different paces there is no one able-bodied knee to compare with
    if let Some((series, band)) = &first.curves.able_bodied
        && moving.iter().all(|(_, r)| r.curves.able_bodied == first.curves.able_bodied)
    {
        flexion.series.push(series.clone());
        flexion.bands.extend(band.clone().map(|b| Band { around: moving.len(), ..b }));
    }
    let mut valve = panel("Stance valve (0 open, 1 closed)", 0.7, |c| &c.valve);
    valve.at_least = Some((0.0, 1.0));
    let walking = first.toe_off_pct.is_some();
    Some(Plot {
        key: scene.scenario.name.clone(),
        title: format!("Variants compared: {}", scene.scenario.name),
        subtitle: subtitle(base, variants),
        x_label: if walking { "Stride from heel contact (%)" } else { "Time (s)" }.into(),
        instants: if walking { instants(&moving) } else { vec![] },
        panels: vec![
            flexion,
            panel("Torque of the damper (N m), positive bends", 1.0, |c| &c.damper_n_m),
            valve,
        ],
    })
}

/// What the letters stand for, and what is the same for all.
fn subtitle(base: &Setup, variants: &[Variant]) -> String {
    let named = variants.iter().zip(LETTERS).map(|(v, letter)| format!("{letter}: {}", v.name()));
    format!(
        "{}. Base: person {}, prosthesis {}, knee {}",
        named.collect::<Vec<_>>().join("; "),
        base.person.name,
        base.prosthesis.name,
        base.knee.name
    )
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
    let curve = &r.curves.flexion_deg;
    let nearest = curve.iter().min_by(|a, b| (a.0 - at).abs().total_cmp(&(b.0 - at).abs()))?;
    Some(Mark { label: format!("{letter} straight"), at: *nearest })
}
