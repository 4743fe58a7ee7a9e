//! Pictures of a comparison: one per scenario that moves, one curve per variant.

use super::curves::Curves;
use super::{ComparedScenario, Comparison, LETTERS, VariantRun};
use crate::case::setup::Setup;
use crate::case::variant::Variant;
use crate::findings::{Band, Mark, Panel, Plot, Series};

impl Comparison {
    /// The knee's curves: one picture per scenario that moves.
    #[must_use]
    pub fn plots(&self) -> Vec<Plot> {
        self.scenarios.iter().filter_map(|s| plot(&self.base, s, &self.variants)).collect()
    }
}

/// The picture of a scenario; none for one that does not move.
fn plot(base: &Setup, compared: &ComparedScenario, variants: &[Variant]) -> Option<Plot> {
    let moving: Vec<(usize, &VariantRun)> = compared
        .runs
        .iter()
        .enumerate()
        .filter_map(|(i, r)| r.as_ref().ok().map(|r| (i, r)))
        .filter(|(_, r)| !r.curves.flexion_deg.is_empty())
        .collect();
    let first = moving.first()?.1;
    let panel = |y_label: &str, height: f64, of: fn(&Curves) -> &Vec<(f64, f64)>| Panel {
        y_label: y_label.into(),
        // the subtitle says what the letters stand for
        series: moving
            .iter()
            .map(|(i, r)| Series { label: LETTERS[*i].into(), points: of(&r.curves).clone() })
            .collect(),
        height,
        ..Panel::default()
    };
    let mut flexion = panel("Knee flexion (deg)", 1.3, |c| &c.flexion_deg);
    flexion.marks = moving.iter().filter_map(|(i, r)| full_extension(LETTERS[*i], r)).collect();
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
        key: compared.scenario.name.clone(),
        title: format!("Variants compared: {}", compared.scenario.name),
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
fn instants(moving: &[(usize, &VariantRun)]) -> Vec<(f64, String)> {
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

/// The point of full extension.
fn full_extension(letter: &str, r: &VariantRun) -> Option<Mark> {
    let at = r.assessment.outcomes.number("full_extension_pct")?;
    let curve = &r.curves.flexion_deg;
    let nearest = curve.iter().min_by(|a, b| (a.0 - at).abs().total_cmp(&(b.0 - at).abs()))?;
    Some(Mark { label: format!("{letter} straight"), at: *nearest })
}
